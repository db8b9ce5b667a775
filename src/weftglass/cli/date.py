"""`weftglass date`: when the glass and its covering were made, from an evidence file."""

from __future__ import annotations

from pathlib import Path

import click

from weftglass.cli.options import forms_option, json_option, library_from
from weftglass.cli.printing import print_json, print_table, warn
from weftglass.dating import Dating, PartDate
from weftglass.desk.dating import date_evidence
from weftglass.evidence import read_evidence


@click.command()
@click.argument("evidence", type=click.Path(dir_okay=False, path_type=Path))
@forms_option
@click.option("--without-forms", is_flag=True, help="Leave out the years of the forms that may be inside.")
@click.option("--region", help="Where the glass was made, such as Britain or 'North America'.")
@json_option
def date(evidence: Path, forms: Path | None, without_forms: bool, region: str | None, as_json: bool) -> None:
    """
    Date the glass and its covering, with reasons and contradictions.

    EVIDENCE is a JSON file with the evidence for one piece, or JSON Lines with one piece a line. Sightings of lip,
    base, seam, closure, colour, marks, statements, dyes, inscriptions, documents and collecting history date a piece,
    and so do the covering's material and the forms that may be inside.

    \b
    Example:
      weftglass date piece.json --region Britain
    """
    library = None if without_forms else library_from(forms)
    for i, piece in enumerate(read_evidence(evidence)):
        dating = date_evidence(piece, library, region=region)
        if as_json:
            print_json(dating.to_record())
            warn(f"{dating.piece}: {note}" for note in dating.notes)
        else:
            if i:
                click.echo()
            show(dating)


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
