"""When the covering was made: never before its glass, mostly soon after, and what its own items say."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from weftglass.dating.combine import prior_years, together
from weftglass.dating.item import Item
from weftglass.dating.years import LAST_YEAR, YEARS, FloatArray, normal, not_after

SOON_SHARE, SOON_YEARS = 0.8, 8.0  # covered when new: mean wait; household ware lies about 15 years (Adams 2003)
LATE_YEARS = 30.0  # an old bottle covered again or late: mean wait; working figure, no source


def waiting_law() -> FloatArray:
    """Probability of the years from the making of a vessel to that of its covering, 0 upward; sums to 1."""
    wait = np.arange(len(YEARS), dtype=np.float64)
    soon, late = np.exp(-wait / SOON_YEARS), np.exp(-wait / LATE_YEARS)
    return np.asarray(SOON_SHARE * soon / soon.sum() + (1.0 - SOON_SHARE) * late / late.sum())


def after_glass(glass: FloatArray) -> FloatArray:
    """Year curve of a covering of which only the glass's year curve is known; sums to 1."""
    return normal(np.convolve(glass, waiting_law())[: len(YEARS)])


def covering_curve(glass: FloatArray | None, items: Sequence[Item], until: int = LAST_YEAR) -> FloatArray:
    """
    Year curve of the covering, sums to 1.

    Parameters
    ----------
    glass : array (Y,) or None
        Of the glass; None: nothing is known of it.
    items : sequence of Item
        Of the covering.
    until : int
        Nothing is later.
    """
    start = prior_years(until) if glass is None else after_glass(glass)
    cap = not_after(until, within=0.0, floor=1e-12) * (until >= YEARS)
    curve = start * together(items) * cap
    return normal(curve if curve.sum() > 0 else together(items) * cap)


def glass_given_covering(glass: FloatArray, items: Sequence[Item]) -> FloatArray:
    """Year curve of the glass when its covering's items are known too: no later than the covering; sums to 1."""
    said = together(items)
    reach = np.convolve(said[::-1], waiting_law())[: len(YEARS)][::-1]  # chance of the items given the glass's year
    curve = glass * reach
    return normal(curve if curve.sum() > 0 else glass)
