"""A straight upper part that stands aside of what is below it: a book behind the lip, as wide as a neck."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from weftglass.photos.rows import Rows, rows_of, straight_middle

FloatArray = NDArray[np.float64]

LEAST_JUMP = 0.014
"""By so much of the greatest width the middle leaps where such a part ends: 0.019 and 0.024 where a book was taken for
a neck, 0.010 at most on 253 other outlines of rendered photographs with parts as long."""

LEAST_LONG = 1.6
"""It is so many times as long as wide: lips and stoppers, which may stand aside, are shorter."""

EVEN, EVENLY = 0.12, 0.9
"""Its width differs by less than the first from its middle one, over so much of its length."""

ROWS, ROUND, STEP = 200, 4, 2
"""Rows that are read, how many at the top are not asked, and how many apart an end is looked for."""

NEARLY = 0.9
"""Ends with so much of the greatest leap are equally good: the middle one is taken."""

LOWEST = 0.5
"""It ends above the middle of the outline."""

ABOVE, BETWEEN, BELOW = 10, 2, 10
"""Rows compared above and below its end, and those left out between."""


def standing_aside(polygon_px: FloatArray) -> float | None:
    """
    The row down to which the upper part of an outline stands aside of the rest.

    Parameters
    ----------
    polygon_px : array, shape (n, 2)
        x right, y down.

    Returns
    -------
    float or None
        None where the middle of the upper part goes on in that of the rest, as it does in a vessel, or begins there, as
        in one whose neck is bent.

    Examples
    --------
    >>> half = np.r_[np.full(30, 6.0), np.full(30, 7.0), np.full(60, 20.0)]
    >>> y, aside = np.arange(120.0), np.r_[np.full(30, 1.5), np.zeros(90)]
    >>> book = np.vstack([np.column_stack([aside + half, y]), np.column_stack([aside - half, y])[::-1]])
    >>> 27 < standing_aside(book) < 33
    True
    >>> neck = np.vstack([np.column_stack([half, y]), np.column_stack([-half, y])[::-1]])
    >>> standing_aside(neck) is None
    True
    """
    rows = rows_of(polygon_px, ROWS)
    width = rows.right - rows.left
    ends = range(ROUND + ABOVE, round(LOWEST * ROWS), STEP)
    jumps = np.array([_jump(rows, width, end) for end in ends])
    if float(jumps.max()) < LEAST_JUMP * float(width.max()):
        return None
    return float(np.median(rows.y[np.asarray(ends)[jumps > NEARLY * jumps.max()]]))


def _jump(rows: Rows, width: FloatArray, end: int) -> float:
    """By how much the middle leaps at the end of an upper part; 0 where that is not straight, long or aside."""
    part = width[ROUND:end]
    usual = float(np.median(part))
    if rows.y[end] - rows.y[0] < LEAST_LONG * usual:
        return 0.0
    if float(np.quantile(np.abs(part - usual), EVENLY)) > EVEN * usual:
        return 0.0
    rest = slice(end + BETWEEN, round(0.95 * ROWS))
    at_zero, lean = straight_middle(Rows(rows.y[rest], rows.left[rest], rows.right[rest]))
    off = rows.middle - at_zero - lean * rows.y
    just_above = float(np.median(off[max(ROUND, end - ABOVE) : end]))
    just_below = float(np.median(off[end + BETWEEN : end + BETWEEN + BELOW]))
    side = np.sign(just_above)
    return float(min(side * (just_above - just_below), abs(just_above), side * np.median(off[ROUND:end])))
