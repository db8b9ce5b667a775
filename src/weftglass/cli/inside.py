"""`weftglass inside`: which vessel is inside, from an evidence file."""

from __future__ import annotations

from pathlib import Path

import click

from weftglass.cli.options import FILE, WholeNumber, forms_option, json_option, library_from
from weftglass.cli.printing import percent, print_json, print_table, warn
from weftglass.desk.explaining import (
    excluded_sentences,
    foretold_lines,
    hinge_sentence,
    item_words,
    no_more_looks_sentence,
    tip_sentences,
    track_record_sentence,
)
from weftglass.evidence import read_evidence
from weftglass.inside import Answer, identify
from weftglass.vessels import FormLibrary


@click.command()
@click.argument("evidence", type=FILE)
@forms_option
@click.option("--top", type=WholeNumber(1, 48), default=10, show_default=True, help="Most candidates to name.")
@click.option("--equal-commonness", is_flag=True, help="Take all forms as equally common.")
@json_option
def inside(evidence: Path, forms: Path | None, top: int, equal_commonness: bool, as_json: bool) -> None:
    """
    Name the vessels that may be inside, with probabilities and reasons.

    EVIDENCE is a JSON file with the evidence for one piece, or JSON Lines with one piece a line: outlines,
    measurements, sightings, covering. Probabilities of all forms and of 'none of the forms listed' sum to 1.

    \b
    Example:
      weftglass inside piece.json --top 5
    """
    pieces = read_evidence(evidence)
    library = library_from(forms)
    for i, piece in enumerate(pieces):
        answer = identify(piece, library, top=top, with_commonness=not equal_commonness)
        if as_json:
            print_json(answer.to_record())
            warn(f"{answer.piece}: {sentence}" for sentence in answer.warnings)
        else:
            if i:
                click.echo()
            show(answer, library)


def show(answer: Answer, library: FormLibrary) -> None:
    """The answer for people."""
    click.echo(f"{answer.piece}: what is inside ({answer.forms_weighed} forms weighed)")
    rows = [
        [
            percent(candidate.probability),
            f"{candidate.name}, {candidate.size}" if candidate.size else candidate.name,
            candidate.form,
            f"{candidate.cover.mean_mm:.1f} ± {candidate.cover.sd_mm:.1f} mm",
            "fits"
            if candidate.misfit is None
            else f"{candidate.misfit[1]:.1f} mm outside at {candidate.misfit[0]:.0f} mm",
            f"{candidate.decibans:+.0f} dB",
        ]
        for candidate in answer.candidates
        if candidate.probability >= 0.001
    ]
    rows.append([percent(answer.unlisted), "none of the forms listed", "", "", "", ""])
    print_table(["", "vessel", "form", "covering", "glass in covering", "evidence"], rows, right=frozenset({0, 5}))
    if answer.candidates and answer.candidates[0].evidence:
        explain(answer, library)
    for group in answer.groups:
        click.echo("Not to be told apart by this evidence: " + ", ".join(group))
    advise(answer)
    warn(answer.warnings)


def explain(answer: Answer, library: FormLibrary) -> None:
    """Why the leading form leads, what would change that, and what can be checked."""
    best = answer.candidates[0]
    items = "; ".join(f"{item_words(weight.item)} {weight.decibans:+.1f} dB" for weight in best.evidence)
    click.echo(f"For {best.name}: {items} (10 dB = ten times as likely as the library's average)")
    said = (
        track_record_sentence(answer),
        hinge_sentence(answer, library),
        *tip_sentences(answer, library),
        *excluded_sentences(answer),
    )
    for sentence in filter(None, said):
        click.echo(sentence)
    click.echo(f"If it is {best.name}, then also, though not measured:")
    rows = [[line.what, line.value, line.interval, line.check] for line in foretold_lines(best)]
    print_table(["", "should be", "in 9 cases of 10", "to check"], rows)


def advise(answer: Answer) -> None:
    """What to look at next, for the owner and as a question to a seller; or that nothing more is needed."""
    if not answer.next_looks:
        click.echo(no_more_looks_sentence(answer))
        return
    click.echo("Worth looking at next:")
    for look in answer.next_looks:
        caution = f" Caution: {look.caution}" if look.caution else ""
        expected = f" Expected: {look.expected}." if look.expected else ""
        click.echo(f"  {look.look} ({look.expected_words}; about {look.minutes:g} min).{expected}{caution}")
        if look.seller:
            click.echo(f"    To ask a seller: {look.seller}")
