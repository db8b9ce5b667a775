"""`weftglass holdings` and `weftglass wants`: what a collection shows, and what it lacks."""

from __future__ import annotations

from pathlib import Path

import click

from weftglass.cli.options import collection_argument, existing_collection, json_option
from weftglass.cli.printing import percent, print_json, print_table
from weftglass.desk import (
    TERMS,
    Shown,
    holdings_of,
    how_complete,
    objectives,
    plan_offers,
    show,
    wants_of,
)
from weftglass.holdings import Estimate

TERM = click.Choice(list(TERMS))
rows_option = click.option("--rows", type=TERM, default="community", show_default=True, help="Term of the rows.")
columns_option = click.option("--columns", type=TERM, default="family", show_default=True, help="Term of the columns.")


@click.command()
@collection_argument
@rows_option
@columns_option
@click.option("--on-offer", is_flag=True, help="Count the pieces on offer too.")
@json_option
def holdings(collection: Path, rows: str, columns: str, on_offer: bool, as_json: bool) -> None:
    """
    Count the pieces of COLLECTION by two terms, and say what goes together and how complete it is.

    \b
    Examples:
      weftglass holdings my-pieces
      weftglass holdings my-pieces --rows technique --columns period --json
    """
    with existing_collection(collection) as opened:
        held = holdings_of(opened, status=None if on_offer else "owned")
        shown, complete = show(held, rows, columns), how_complete(held, rows, columns)
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
    type=click.Choice(list(objectives("community", "family"))),
    default="cells",
    show_default=True,
    help="What the collection should become: one of each row, one of each column, every pair, or shares as out there.",
)
@click.option("--budget", type=float, help="Also plan the best set of open offers for this sum.")
@click.option(
    "--currency", default="USD", show_default=True, help="Currency of the sum and of the offers planned with."
)
@click.option("--top", type=click.IntRange(1), default=15, show_default=True, help="How many gaps to name.")
@json_option
def wants(
    collection: Path,
    rows: str,
    columns: str,
    objective: str,
    budget: float | None,
    currency: str,
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
        plan = None if budget is None else plan_offers(opened, budget, currency, rows, columns, objective)
    if as_json:
        print_json(
            {
                "wants": [
                    {"row": one.row, "column": one.column, "held": one.held, "worth": one.worth}
                    | {"share": one.share.value, "turns_up": one.turns_up}
                    for one in gaps
                ],
                "plan": None
                if plan is None
                else {
                    "pieces": [one.id for one in plan.plan.chosen],
                    "cost": plan.plan.cost,
                    "proven": plan.plan.proven,
                },
            }
        )
        return
    print_table(
        [rows, columns, "held", "worth", "in the next 20"],
        [[one.row, one.column, str(one.held), f"{one.worth:.2f}", percent(one.turns_up)] for one in gaps],
        right=frozenset({2, 3, 4}),
    )
    if plan is not None:
        for one in plan.plan.chosen:
            click.echo(f"buy {plan.names[one.id]} for {one.price:.2f} {currency}: {plan.reasons[one.id]}")
        click.echo(f"{plan.plan.cost:.2f} {currency} in all{', proven best' if plan.plan.proven else ''}")
