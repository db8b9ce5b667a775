"""Gaps that are worth filling, and the chance that such a piece turns up."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import betaln
from scipy.stats import beta

from weftglass.errors import InputError
from weftglass.holdings.crosstable import CrossTable
from weftglass.holdings.merit import Merit
from weftglass.holdings.unseen import Estimate

OBJECTIVES: dict[str, str] = {
    "rows": "one of each row",
    "columns": "one of each column",
    "cells": "every pair that is likely to exist",
    "mirror": "shares as they are out there",
    "best": "best examples of every pair",
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
        The middle of ``gain`` against that of the best gap, which has 1: an order to plan by, no measure to show.
    gain : Estimate
        What filling it is worth by the objective, as a share of all pieces that are met: of pieces that would then have
        one like them (``rows``, ``columns``, ``cells``), that the collection is short of (``mirror``), or, times what
        the best one held falls short of a perfect one, of better examples (``best``).
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
    gain: Estimate
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


def likely_share(met: int, total: int, by_chance: float) -> float:
    """The middle of `share_met` by itself, above 0 and below 1."""
    one, other = _law(met, total, by_chance)
    return one / (one + other)


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


def wants(
    held: CrossTable,
    met: CrossTable,
    *,
    objective: str = "cells",
    offers: int = 20,
    best: Mapping[tuple[str, str], Merit] | None = None,
) -> tuple[Want, ...]:
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
    best : mapping, optional
        For ``best``: how good the best piece held in a cell is.

    Notes
    -----
    ``rows`` and ``columns`` value each empty row or column by its share of what is met; ``cells`` values each empty
    cell by its share; ``mirror`` by how far the collection's own share lies below it, filled cells included; ``best``
    values every cell by its share times what the best piece held there falls short of the best there could be.
    """
    if objective not in OBJECTIVES:
        raise InputError("wants", "objective", objective, "one of: " + ", ".join(OBJECTIVES))
    rows, columns = sorted({*held.rows, *met.rows}), sorted({*held.columns, *met.columns})
    own, out = _laid_out(held, rows, columns), _laid_out(met, rows, columns)
    gaps = _gaps(rows, columns, own, out, objective)
    total = met.total
    one = np.array([gap.met + PRIOR_PIECES * gap.by_chance for gap in gaps])
    other = total + PRIOR_PIECES - one
    share = one / (one + other)
    low, high = np.asarray(beta.ppf(0.025, one, other)), np.asarray(beta.ppf(0.975, one, other))
    coming = np.asarray(-np.expm1(betaln(one, other + offers) - betaln(one, other)))
    merits, times, less = best or {}, np.ones(len(gaps)), np.zeros(len(gaps))
    if objective == "mirror":
        less = np.array([gap.held for gap in gaps]) / max(held.total, 1)
    elif objective == "best":
        times = np.array([1 - _merit(gap, merits) for gap in gaps])
    worth = share * times - less
    most = max(float(worth.max(initial=0.0)), 1e-300)
    found = [
        Want(
            gap.row,
            gap.column,
            gap.held,
            float(worth[i]) / most,
            Estimate(*(float(end[i] * times[i] - less[i]) for end in (share, low, high))),
            Estimate(float(share[i]), float(low[i]), float(high[i])),
            float(coming[i]),
            _why(gap, total, merits.get((gap.row, gap.column)) if objective == "best" else None),
        )
        for i, gap in enumerate(gaps)
        if worth[i] > 0
    ]
    return tuple(sorted(found, key=lambda want: (-want.worth, want.row, want.column)))


@dataclass(frozen=True)
class _Gap:
    row: str
    column: str
    held: int
    met: int
    by_chance: float


def _laid_out(table: CrossTable, rows: Sequence[str], columns: Sequence[str]) -> NDArray[np.int64]:
    """The counts of a table with rows and columns in another order; those it lacks are 0."""
    laid = np.zeros((len(rows), len(columns)), dtype=np.int64)
    at_row = {name: i for i, name in enumerate(rows)}
    at_column = {name: j for j, name in enumerate(columns)}
    for (row, column), ids in table.pieces.items():
        laid[at_row[row], at_column[column]] = len(ids)
    return laid


def _gaps(
    rows: Sequence[str], columns: Sequence[str], own: NDArray[np.int64], out: NDArray[np.int64], objective: str
) -> list[_Gap]:
    """Cells, or whole rows or columns, that the objective asks about; half a piece is added: nothing is impossible."""
    total = int(out.sum())
    of_row, of_column = (out.sum(axis=1) + 0.5) / (total + 1), (out.sum(axis=0) + 0.5) / (total + 1)
    if objective == "rows":
        empty = np.flatnonzero(own.sum(axis=1) == 0).tolist()
        return [_Gap(rows[i], "", 0, int(out[i].sum()), min(float(of_row[i]), 1 - 1e-9)) for i in empty]
    if objective == "columns":
        empty = np.flatnonzero(own.sum(axis=0) == 0).tolist()
        return [_Gap("", columns[j], 0, int(out[:, j].sum()), min(float(of_column[j]), 1 - 1e-9)) for j in empty]
    cells = np.argwhere((own == 0) | (objective in ("mirror", "best"))).tolist()
    return [
        _Gap(rows[i], columns[j], int(own[i, j]), int(out[i, j]), min(float(of_row[i] * of_column[j]), 1 - 1e-9))
        for i, j in cells
    ]


def _merit(gap: _Gap, merits: Mapping[tuple[str, str], Merit]) -> float:
    found = merits.get((gap.row, gap.column))
    return 0.0 if found is None else found.value


def _why(gap: _Gap, total: int, best: Merit | None) -> str:
    seen = f"{gap.met} of {total} pieces met" if gap.met else f"none of {total} pieces met, a guess from its terms"
    good = "" if best is None else f"; the best scores {best.value:.2f} of 1 ({best.why})"
    return f"{gap.held or 'None'} held{good}; {seen}."
