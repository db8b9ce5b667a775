"""`weftglass holdings`, `rarity`, `whereabouts` and `wants`: what a collection shows, and what it lacks."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from weftglass.cli.options import ABOVE_0, OneOf, WholeNumber, collection_argument, existing_collection, json_option
from weftglass.cli.printing import percent, print_json, print_table
from weftglass.cli.selecting import file_option, pairs, save, selection_from, selection_options
from weftglass.desk import (
    TERMS,
    Shown,
    how_complete,
    objectives,
    plan_offers,
    show,
    wants_of,
)
from weftglass.desk.drawn import rarity_svg, table_svg
from weftglass.desk.holdings_words import against_first, gain_name, gain_sentence, gain_text
from weftglass.desk.lists import rarity_records, span_records, spot_records
from weftglass.desk.rarity import how_rare, rarities
from weftglass.desk.selection import selected
from weftglass.desk.whereabouts import lifespans, map_of
from weftglass.holdings import Estimate
from weftglass.publish import map_svg, timeline_svg

TERM = OneOf(list(TERMS))
rows_option = click.option("--rows", type=TERM, default="community", show_default=True, help="Term of the rows.")
columns_option = click.option("--columns", type=TERM, default="family", show_default=True, help="Term of the columns.")


@click.command()
@collection_argument
@rows_option
@columns_option
@selection_options
@file_option("--svg", "Also write the table as a picture (SVG).")
@json_option
def holdings(
    collection: Path, rows: str, columns: str, whose: str, only: tuple[str, ...], svg: Path | None, as_json: bool
) -> None:
    """
    Count the pieces of COLLECTION by two terms, and say what goes together and how complete it is.

    \b
    Examples:
      weftglass holdings my-pieces
      weftglass holdings my-pieces --rows technique --columns period --json
      weftglass holdings my-pieces --whose all --only community=Delmuine --only signed=yes --svg table.svg
    """
    with existing_collection(collection) as opened:
        held = selected(opened, selection_from(whose, only))
        shown, complete = show(held, rows, columns), how_complete(held, rows, columns)
    save(svg, table_svg(shown))
    if as_json:
        print_json(_record(shown, None if complete is None else complete[0].kinds_at_least))
        return
    table = shown.table
    lines = [[name, *(str(count) if count else "·" for count in table.counts[i])] for i, name in enumerate(table.rows)]
    numbers = [str(number) for number in range(1, len(table.columns) + 1)]
    print_table([rows, *numbers], lines, right=frozenset(range(1, len(table.columns) + 1)))
    for number, name in zip(numbers, table.columns, strict=True):
        click.echo(f"  {number}: {name}")
    click.echo(f"{table.total} pieces counted, {len(table.left_out)} left out since a term is not known", err=True)
    for preference, warning in shown.preferences:
        odds = preference.odds_ratio
        click.echo(
            f"{preference.sentence} Odds {odds.low:.1f} to {odds.high:.0f} times; q {preference.q:.4f}. {warning}"
        )
    if complete is not None:
        found = complete[0]
        click.echo(
            f"{found.kinds} kinds; the next piece is of a new one with probability {percent(found.unseen_mass)}; "
            f"at least {found.kinds_at_least.value:.0f} kinds in all "
            f"({found.kinds_at_least.low:.0f} to {found.kinds_at_least.high:.0f})"
        )


def _record(shown: Shown, kinds: Estimate | None) -> dict[str, object]:
    together = shown.together
    return {
        "rows": shown.table.row_term,
        "columns": shown.table.column_term,
        "cells": [{"row": row, "column": column, "pieces": count} for row, column, count in shown.table.cells()],
        "left_out": list(shown.table.left_out),
        "association": None
        if together is None
        else {
            "cramers_v": together.strength.value,
            "low": together.strength.low,
            "high": together.strength.high,
            "p": together.p,
        },
        "preferences": [
            {
                "row": one.row,
                "column": one.column,
                "pieces": one.count,
                "by_chance": one.expected,
                "p": one.p,
                "q": one.q,
            }
            | {"sentence": one.sentence, "warning": warning or None}
            for one, warning in shown.preferences
        ],
        "kinds_at_least": None if kinds is None else {"value": kinds.value, "low": kinds.low, "high": kinds.high},
    }


@click.command()
@collection_argument
@rows_option
@columns_option
@click.option(
    "--objective",
    type=OneOf(list(objectives("community", "family"))),
    default="cells",
    show_default=True,
    help="What it should become: one of each row, of each column, every pair, shares as out there, best examples.",
)
@click.option("--budget", type=ABOVE_0, help="Also plan the best set of open offers for this sum.")
@click.option(
    "--currency", default="USD", show_default=True, help="Currency of the sum and of the offers planned with."
)
@click.option("--keep-for-wants", is_flag=True, help="With a sum: keep money for gaps of which nothing is on offer.")
@click.option("--top", type=WholeNumber(1), default=15, show_default=True, help="How many gaps to name.")
@json_option
def wants(
    collection: Path,
    rows: str,
    columns: str,
    objective: str,
    budget: float | None,
    currency: str,
    keep_for_wants: bool,
    top: int,
    as_json: bool,
) -> None:
    """
    Name the gaps of COLLECTION most worth filling; with a sum, the best set of the offers written down.

    \b
    Examples:
      weftglass wants my-pieces --objective rows
      weftglass wants my-pieces --budget 500 --currency USD
    """
    with existing_collection(collection) as opened:
        gaps = wants_of(opened, rows, columns, objective)[:top]
        today = date.today() if keep_for_wants else None
        plan = (
            None
            if budget is None
            else plan_offers(opened, budget, currency, rows, columns, objective, keep_for_wants=today)
        )
    if as_json:
        print_json(
            {
                "wants": [
                    {"row": one.row, "column": one.column, "held": one.held, "worth": one.worth}
                    | {"in_100": [100 * end for end in (one.gain.value, one.gain.low, one.gain.high)]}
                    | {"share": one.share.value, "turns_up": one.turns_up}
                    for one in gaps
                ],
                "plan": None
                if plan is None
                else {
                    "pieces": [one.id for one in plan.plan.chosen if one.id not in plan.wanted],
                    "keep_for": [plan.names[one.id] for one in plan.plan.chosen if one.id in plan.wanted],
                    "cost": plan.plan.cost,
                    "proven": plan.plan.proven,
                },
            }
        )
        return
    print_table(
        [rows, columns, "held", gain_name(objective).lower(), "against the first", "in the next 20"],
        [
            [
                one.row,
                one.column,
                str(one.held),
                gain_text(one.gain),
                against_first(one, gaps[0]),
                percent(one.turns_up),
            ]
            for one in gaps
        ],
        right=frozenset({2, 3, 5}),
    )
    if gaps:
        click.echo(gain_sentence(objective), err=True)
    if plan is not None:
        for one in plan.plan.chosen:
            deed = "keep for" if one.id in plan.wanted else "buy"
            click.echo(f"{deed} {plan.names[one.id]}, {one.price:.2f} {plan.currency}: {plan.reasons[one.id]}")
        click.echo(f"{plan.plan.cost:.2f} {plan.currency} in all{', proven best' if plan.plan.proven else ''}")
        for step in plan.steps:
            click.echo(f"with {step.more:.2f} {plan.currency} more: {plan.beyond(step)}")


@click.command()
@collection_argument
@click.option("--with", "with_", multiple=True, metavar="TERM=VALUE", help="What the piece is. Repeatable.")
@selection_options
@file_option("--svg", "Also write the shares as a picture (SVG).")
@json_option
def rarity(
    collection: Path, with_: tuple[str, ...], whose: str, only: tuple[str, ...], svg: Path | None, as_json: bool
) -> None:
    """
    Say how unusual a combination is among the pieces of COLLECTION and in the published holdings entered.

    \b
    Examples:
      weftglass rarity my-pieces
      weftglass rarity my-pieces --with community=Delmuine --with signed=yes
    """
    wanted, selection = pairs(with_, "--with"), selection_from(whose, only)
    with existing_collection(collection) as opened:
        found = [how_rare(opened, wanted, selection)] if wanted else list(rarities(opened, selection))
    save(svg, rarity_svg(found))
    if as_json:
        print_json(rarity_records(found))
        return
    for one in found:
        click.echo(one.words)
        for among, rare in one.groups.items():
            click.echo(f"  {among}: {rare.sentence}")


@click.command()
@collection_argument
@selection_options
@file_option("--map", "Also write the map as a picture (SVG).")
@file_option("--years", "Also write the time line as a picture (SVG).")
@json_option
def whereabouts(
    collection: Path, whose: str, only: tuple[str, ...], map: Path | None, years: Path | None, as_json: bool
) -> None:
    """Say where and when: the map and the time line of the pieces of COLLECTION."""
    selection = selection_from(whose, only)
    with existing_collection(collection) as opened:
        spots, spans = map_of(opened, selection), lifespans(opened, selection)
    save(map, map_svg(spots) if spots else None)
    save(years, timeline_svg(spans) if spans else None)
    if as_json:
        print_json({"spots": spot_records(spots), "years": span_records(spans)})
        return
    print_table(
        ["where", "says", "latitude", "longitude", "within km", "pieces"],
        [
            [one.name, one.standing, f"{one.point[0]:.2f}", f"{one.point[1]:.2f}", f"{one.within_km:g}",
             str(len(one.pieces))]
            for one in spots
        ],
        right=frozenset({2, 3, 4, 5}),
    )  # fmt: skip
    click.echo("")
    print_table(
        ["piece", "glass", "covering", "by"],
        [
            [one.name, *(f"{span[0]}-{span[1]}" if span else "" for span in (one.glass, one.covering)),
             "signed dating" if one.signed else "form and entry"]
            for one in spans
        ],
    )  # fmt: skip
