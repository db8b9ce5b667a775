"""`weftglass date`: when the glass and its covering were made, from an evidence file."""

from __future__ import annotations

from pathlib import Path

import click

from weftglass.cli.options import FILE, forms_option, json_option, library_from
from weftglass.cli.printing import print_json, print_table, warn
from weftglass.dating import REGIONS, Dating, GroupDate, PartDate, group_date, region_named
from weftglass.desk.dating import date_evidence
from weftglass.evidence import read_evidence


@click.command()
@click.argument("evidence", type=FILE)
@forms_option
@click.option("--without-forms", is_flag=True, help="Leave out the years of the forms that may be inside.")
@click.option("--region", help=f"Where the glass was made: {', '.join(REGIONS)}; left out for anywhere else.")
@click.option("--group", is_flag=True, help="Date the pieces as a group too: mean date and span.")
@json_option
def date(
    evidence: Path, forms: Path | None, without_forms: bool, region: str | None, group: bool, as_json: bool
) -> None:
    """
    Date the glass and its covering, with reasons and contradictions.

    EVIDENCE is a JSON file with the evidence for one piece, or JSON Lines with one piece a line. Sightings of lip,
    base, seam, closure, colour, marks, statements, dyes, inscriptions, documents and collecting history date a piece,
    and so do the covering's material and the forms that may be inside.

    \b
    Example:
      weftglass date piece.json --region Britain
    """
    made_in = None if region is None else region_named(region)
    library = None if without_forms else library_from(forms)
    datings = []
    for i, piece in enumerate(read_evidence(evidence)):
        dating = date_evidence(piece, library, region=made_in)
        datings.append(dating)
        if as_json:
            print_json(dating.to_record())
            warn(f"{dating.piece}: {note}" for note in dating.notes)
        else:
            if i:
                click.echo()
            show(dating)
    if group:
        show_group(datings, as_json)


def show_group(datings: list[Dating], as_json: bool) -> None:
    """The pieces as a group, glass and covering apart; pieces that nothing dates are left out."""
    found: dict[str, GroupDate] = {}
    for part in ("glass", "covering"):
        known = {dating.piece: getattr(dating, part) for dating in datings}
        curves = [(name, one.curve) for name, one in known.items() if one.span is not None]
        if curves:
            found[part] = group_date(curves)
    if as_json:
        print_json({"group": {part: one.to_record() for part, one in found.items()}})
        return
    click.echo(f"\nAs a group ({len(datings)} pieces):")
    for part, one in found.items():
        click.echo(
            f"{part}: mean date {one.mean:.0f} ± {one.mean_sd:.0f}, spread {one.spread:.0f} years, {one.span.words}; "
            f"not whole before {one.not_before} ({len(one.names)} dated)"
        )
    if not found:
        click.echo("can't tell: nothing dates any of them")


def show(dating: Dating) -> None:
    """The dates for people."""
    click.echo(f"{dating.piece}: when it was made")
    rows = [_row("glass", dating.glass), _row("covering", dating.covering)]
    print_table(["", "earliest", "likely from", "likely to", "latest", "as an extended date"], rows)
    items = [*dating.glass.items, *dating.covering.items]
    if items:
        click.echo()
        print_table(
            ["what dates it", "taken for", "years", "one change"],
            [[f"{item.part}: {item.name}", item.means, item.years_words, item.cause] for item in items],
        )
    for clash in dating.clashes:
        click.echo(f"Contradiction: {clash.sentence}")
    warn(dating.notes)


def _row(name: str, part: PartDate) -> list[str]:
    if part.span is None:
        return [name, "can't tell", "", "", "", ""]
    span = part.span
    return [name, *(str(y) for y in (span.earliest, span.likely_from, span.likely_to, span.latest)), span.edtf]
