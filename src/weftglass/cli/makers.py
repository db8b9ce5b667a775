"""`weftglass makers`: who may have made each piece, and how far the rule can be trusted."""

from __future__ import annotations

from pathlib import Path

import click

from weftglass.cli.options import collection_argument, existing_collection, json_option
from weftglass.cli.printing import percent, print_json, print_table, warn
from weftglass.desk import list_pieces
from weftglass.desk.makers import ANOTHER, Learning, MakerAnswer, attribute_piece, learn, scores_record
from weftglass.weave.judging import Scores


@click.command()
@collection_argument
@click.option("--piece", help="Only this piece, with the traits for and against.")
@click.option("--without-vessel", is_flag=True, help="Leave out which vessel is inside.")
@json_option
def makers(collection: Path, piece: str | None, without_vessel: bool, as_json: bool) -> None:
    """
    Say who may have made each piece, from what the pieces with documented makers show.

    Two rules are judged on the collection itself, each piece foretold without itself and its maker's others; the better
    one is used and both scores are printed. With too few documented pieces nothing is ranked.

    \b
    Example:
      weftglass makers my-collection --piece p-28
    """
    with existing_collection(collection) as opened:
        learning = learn(opened, with_vessel=not without_vessel)
        wanted = [piece] if piece else [row.piece.id for row in list_pieces(opened)]
        found = [attribute_piece(opened, one, with_vessel=not without_vessel) for one in wanted]
    if as_json:
        scores = None if learning.choice is None else scores_record(learning.choice)
        print_json({"scores": scores, "pieces": [one.to_record() for one in found]})
        return
    show_scores(learning)
    if piece:
        show_piece(found[0])
    else:
        show_all(found)


def show_scores(learning: Learning) -> None:
    """Both rules' scores under cross-validation."""
    choice = learning.choice
    if choice is None:
        warn([learning.documented.too_few])
        return
    click.echo(f"Judged on {choice.baseline.pieces} documented pieces, each left out with its maker's others:")
    rows = [_score_row("baseline", choice.baseline), _score_row("other", choice.other)]
    print_table(
        ["", "right", "stated", "log score", "calibration error", "by chance alone", "another: known / left out"], rows
    )
    for name, scores in (("baseline", choice.baseline), ("other", choice.other)):
        click.echo(f"  {name}: {scores.rule.name}")
    click.echo(choice.sentence)


def _score_row(name: str, scores: Scores) -> list[str]:
    return [
        name,
        f"{scores.right} of {scores.pieces}",
        percent(scores.stated),
        f"{scores.log_score / 0.6931471805599453:+.2f} bits",
        f"{100 * scores.calibration_error:.1f} %",
        f"{100 * scores.calibration_floor:.1f} %",
        f"{percent(scores.another_known)} / {percent(scores.another_left_out)}",
    ]


def show_all(found: list[MakerAnswer]) -> None:
    """The leading community of every piece beside its entry."""
    rows = []
    for one in found:
        best = one.attribution.chances[0] if one.attribution.chances else None
        name = "can't tell" if best is None else best.community
        chance = "" if best is None else percent(best.probability)
        if best is not None and one.attribution.another > best.probability:
            name, chance = ANOTHER, percent(one.attribution.another)
        rows.append([one.attribution.piece, one.entry, name, chance])
    click.echo()
    print_table(["piece", "entry says", "its traits say", ""], rows, right=frozenset({3}))


def show_piece(found: MakerAnswer) -> None:
    """One piece with the traits for and against."""
    attribution = found.attribution
    click.echo(f"\n{attribution.piece}: who may have made it ({attribution.documented} documented pieces)")
    if attribution.refusal:
        click.echo(attribution.refusal)
        return
    rows = [[percent(one.probability), one.community, f"{one.documented} pieces"] for one in attribution.chances]
    print_table(
        ["", "community", "rests on"], [*rows, [percent(attribution.another), ANOTHER, ""]], right=frozenset({0})
    )
    best = attribution.chances[0]
    click.echo(f"For and against {best.community}:")
    for weight in best.weights:
        seen = f"{weight.seen:.1f} of {weight.pieces} documented pieces show it"
        click.echo(f"  {weight.trait} {weight.shown}: {weight.decibans:+.1f} dB ({seen})")
