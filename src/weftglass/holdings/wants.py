"""Gaps that are worth filling, and the chance that such a piece turns up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import betaln
from scipy.stats import beta

from weftglass.errors import InputError
from weftglass.holdings.crosstable import CrossTable
from weftglass.holdings.unseen import Estimate

OBJECTIVES: dict[str, str] = {
    "rows": "one of each row",
    "columns": "one of each column",
    "cells": "every pair that is likely to exist",
    "mirror": "shares as they are out there",
}
"""What a collection may want to be; the words are filled with the terms of the table."""
PRIOR_PIECES = 5.0
"""Weight, in pieces, of the guess that rows and columns are independent (working figure, no source)."""


@dataclass(frozen=True)
class Want:
    """
    One gap.

    Parameters
    ----------
    row, column : str
        The cell; one of them is empty where any would do.
    held : int
        Pieces the collection has there.
    worth : float
        By the objective, 0 to 1; the best gap has 1.
    share : Estimate
        Of such pieces among all that are met, 0 to 1.
    turns_up : float
        Probability that at least one is among the next offers.
    why : str
        One sentence.
    """

    row: str
    column: str
    held: int
    worth: float
    share: Estimate
    turns_up: float
    why: str


def share_met(met: int, total: int, by_chance: float, *, level: float = 0.95) -> Estimate:
    """
    Share of a kind among pieces that are met, from those met so far.

    Parameters
    ----------
    met, total : int
        Pieces of this kind, and all pieces, 0 <= met <= total.
    by_chance : float
        Share expected if its two terms had nothing to do with each other, above 0 and below 1.

    Notes
    -----
    The law is a beta distribution: the pieces met, beside a guess worth 5 pieces at ``by_chance``.
    """
    one, other = _law(met, total, by_chance)
    law = beta(one, other)
    side = (1 - level) / 2
    return Estimate(one / (one + other), float(law.ppf(side)), float(law.ppf(1 - side)), level)


def turns_up(met: int, total: int, by_chance: float, offers: int) -> float:
    """Probability, 0 to 1, that at least one of so many further offers is of this kind (beta-binomial law)."""
    if offers < 0:
        raise InputError("wants", "offers", offers, "0 or more")
    one, other = _law(met, total, by_chance)
    return float(-np.expm1(betaln(one, other + offers) - betaln(one, other)))


def _law(met: int, total: int, by_chance: float) -> tuple[float, float]:
    if not (0 <= met <= total and 0 < by_chance < 1):
        raise InputError("wants", "met", (met, total, by_chance), "0 <= met <= total and a share between 0 and 1")
    return met + PRIOR_PIECES * by_chance, total - met + PRIOR_PIECES * (1 - by_chance)


def wants(held: CrossTable, met: CrossTable, *, objective: str = "cells", offers: int = 20) -> tuple[Want, ...]:
    """
    Gaps of a collection, the one most worth filling first.

    Parameters
    ----------
    held : CrossTable
        Own pieces.
    met : CrossTable
        Own pieces and every offer ever written down: what is out there, as far as this user meets it.
    objective : str
        One of `OBJECTIVES`.
    offers : int
        How many further offers ``turns_up`` looks ahead.

    Notes
    -----
    ``rows`` and ``columns`` value each empty row or column by its share of what is met; ``cells`` values each empty
    cell by its share; ``mirror`` by how far the collection's own share lies below it, filled cells included.
    """
    if objective not in OBJECTIVES:
        raise InputError("wants", "objective", objective, "one of: " + ", ".join(OBJECTIVES))
    pairs = _gaps(held, met, objective)
    found = [_want(held, met, row, column, objective, offers) for row, column in pairs]
    most = max((one.worth for one in found), default=0.0)
    scaled = [Want(**{**vars(one), "worth": one.worth / most}) for one in found if most > 0 and one.worth > 0]
    return tuple(sorted(scaled, key=lambda one: (-one.worth, one.row, one.column)))


def _gaps(held: CrossTable, met: CrossTable, objective: str) -> list[tuple[str, str]]:
    rows, columns = sorted({*held.rows, *met.rows}), sorted({*held.columns, *met.columns})
    if objective == "rows":
        return [(row, "") for row in rows if not _count(held, row, "")]
    if objective == "columns":
        return [("", column) for column in columns if not _count(held, "", column)]
    cells = [(row, column) for row in rows for column in columns]
    return [cell for cell in cells if objective == "mirror" or not _count(held, *cell)]


def _count(table: CrossTable, row: str, column: str) -> int:
    """Pieces in a cell, or in a whole row or column where the other is left empty."""
    if row and column:
        return len(table.pieces.get((row, column), ()))
    if row:
        return int(table.counts[table.rows.index(row)].sum()) if row in table.rows else 0
    return int(table.counts[:, table.columns.index(column)].sum()) if column in table.columns else 0


def _want(held: CrossTable, met: CrossTable, row: str, column: str, objective: str, offers: int) -> Want:
    total, here = met.total, _count(met, row, column)
    chance = _by_chance(met, row, column)
    share = share_met(here, total, chance)
    own = _count(held, row, column)
    lacking = share.value - (own / held.total if held.total else 0.0)
    worth = max(lacking, 0.0) if objective == "mirror" else share.value
    seen = f"{here} of {total} pieces met" if here else f"none of {total} pieces met, a guess from its terms"
    why = f"{own or 'None'} held; {seen}."
    return Want(row, column, own, worth, share, turns_up(here, total, chance, offers), why)


def _by_chance(met: CrossTable, row: str, column: str) -> float:
    """Share by the totals alone, each with half a piece added so that nothing is impossible."""
    total = met.total
    of_row = (_count(met, row, "") + 0.5) / (total + 1) if row else 1.0
    of_column = (_count(met, "", column) + 0.5) / (total + 1) if column else 1.0
    return min(of_row * of_column, 1 - 1e-9)
