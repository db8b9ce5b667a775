"""Dates of a group of pieces: the mean date of a counted assemblage, and the years all its types share."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from weftglass.dating.span import DateSpan, mean_and_sd, span_of
from weftglass.dating.years import FloatArray, normal
from weftglass.errors import InputError


@dataclass(frozen=True)
class GroupRange:
    """
    Bounds of a group from the years of its types.

    Parameters
    ----------
    latest_start, earliest_end : float
        Years CE: the last type to begin, the first to end.
    """

    latest_start: float
    earliest_end: float

    @property
    def shares_years(self) -> bool:
        """True when some year lies within every type's years; else the group grew over a span."""
        return self.latest_start <= self.earliest_end


def mean_date(counts: ArrayLike, ranges: ArrayLike) -> float:
    """
    Mean date of a group of objects of dated types.

    Parameters
    ----------
    counts : array (n,)
        How many of each type, from 0; not all 0.
    ranges : array (n, 2)
        First and last year of making of each type.

    Returns
    -------
    float
        Year CE: the mean of the types' middle years, weighted by counts. It has no error of its own: it says where the
        middle of the types' years lies, not how long the group took to grow.

    References
    ----------
    .. [1] S. South (1977), Method and Theory in Historical Archeology, Academic Press: mean ceramic date.

    Examples
    --------
    >>> round(mean_date([31, 22, 56], [[1771, 1771], [1758, 1758], [1760, 1760]]), 2)
    1762.72
    """
    count, years = _checked(counts, ranges)
    return float(count @ years.mean(axis=1) / count.sum())


def shared_range(counts: ArrayLike, ranges: ArrayLike) -> GroupRange:
    """Latest start and earliest end of the types that occur; parameters as `mean_date`."""
    count, years = _checked(counts, ranges)
    there = years[count > 0]
    return GroupRange(float(there[:, 0].max()), float(there[:, 1].min()))


@dataclass(frozen=True, eq=False)
class GroupDate:
    """
    The date of a group of dated pieces.

    Parameters
    ----------
    names : tuple of str
    mean, mean_sd : float
        Mean of the pieces' mean years, and its standard deviation from the width of their curves, years.
    spread : float
        Standard deviation of the pieces' mean years about it, years; 0 for one piece.
    curve : array (Y,)
        Share of the group made in each year, sums to 1.
    not_before : int
        Year before which the youngest piece was hardly made: the group was not whole earlier.
    """

    names: tuple[str, ...]
    mean: float
    mean_sd: float
    spread: float
    curve: FloatArray
    not_before: int

    @property
    def span(self) -> DateSpan:
        """Four years of the group's making."""
        return span_of(self.curve)

    def to_record(self) -> dict[str, Any]:
        """For JSON."""
        return {
            "pieces": list(self.names),
            "mean": round(self.mean, 2),
            "mean_sd": round(self.mean_sd, 2),
            "spread": round(self.spread, 2),
            **self.span.to_record(),
            "not_whole_before": self.not_before,
        }


def group_date(curves: Mapping[str, FloatArray] | Sequence[tuple[str, FloatArray]]) -> GroupDate:
    """
    Mean and range of a group of pieces from their year curves.

    Parameters
    ----------
    curves : mapping of name to array (Y,)
        One piece each; at least one.
    """
    pairs = list(curves.items()) if isinstance(curves, Mapping) else list(curves)
    if not pairs:
        raise InputError("group", "pieces", 0, "at least one dated piece")
    laws = np.array([mean_and_sd(curve) for _, curve in pairs])
    share = normal(np.mean([normal(curve) for _, curve in pairs], axis=0))
    starts = [span_of(curve).earliest for _, curve in pairs]
    mean_sd = float(np.sqrt((laws[:, 1] ** 2).sum()) / len(pairs))
    spread = float(laws[:, 0].std(ddof=1)) if len(pairs) > 1 else 0.0
    return GroupDate(tuple(name for name, _ in pairs), float(laws[:, 0].mean()), mean_sd, spread, share, max(starts))


def _checked(counts: ArrayLike, ranges: ArrayLike) -> tuple[FloatArray, FloatArray]:
    count, years = np.asarray(counts, dtype=np.float64), np.asarray(ranges, dtype=np.float64)
    if years.ndim != 2 or years.shape != (len(count), 2) or (years[:, 0] > years[:, 1]).any():
        raise InputError("group", "ranges", years.shape, "as many pairs (first year, last year) as counts")
    if (count < 0).any() or not count.sum() > 0 or not np.isfinite(count).all():
        raise InputError("group", "counts", list(count), "numbers from 0, not all 0")
    return count, years


__all__ = ["GroupDate", "GroupRange", "group_date", "mean_date", "shared_range"]
