"""A spike on an outline: a leaf, a twig, a gap between things behind that was taken for a part of the piece."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from weftglass.photos.rows import dense, rows_of
from weftglass.photos.top_edge import NARROWEST

FloatArray = NDArray[np.float64]

POINTS = 1500

WITHIN = (0.01, 0.6)
"""A spike is narrower than any neck (see `top_edge`) somewhere between these shares of the height from the top."""

OF_THE_LIP = 0.4
"""And thinner than this share of the lip under it: a stopper's stem is not."""

LIP_WITHIN, WIDENS, ROUNDED = 0.02, 0.1, 0.5
"""The lip is where over the next so much of the height the outline widens by less than the second; seen from above it
is round, and its top where it is wider than the third of that."""


def without_spike(polygon: FloatArray) -> FloatArray:
    """
    The closed polygon (n, 2), x right and y down, without a spike that rises above its lip; the same if it has none.

    Examples
    --------
    >>> half = np.r_[np.full(20, 1.0), np.full(20, 7.0), np.full(60, 20.0)]
    >>> y = np.arange(100.0)
    >>> bottle = np.vstack([np.column_stack([half, y]), np.column_stack([-half, y])[::-1]])
    >>> 19.0 < float(without_spike(bottle)[:, 1].min()) < 20.5
    True
    >>> whole = bottle[20:-20]
    >>> without_spike(whole) is whole
    True
    """
    rows = rows_of(polygon, 400)
    width = rows.right - rows.left
    first, last = (round(share * len(width)) for share in WITHIN)
    thin = np.flatnonzero(width[first:last] < NARROWEST * width.max())
    if not len(thin):
        return polygon
    reach = round(LIP_WITHIN * len(width))
    start = first + int(thin[-1])
    later = np.lib.stride_tricks.sliding_window_view(width[start:], reach + 1).max(axis=1)
    lip = start + int(np.argmax(later < (1.0 + WIDENS) * width[start : start + len(later)]))
    if width[start] > OF_THE_LIP * width[lip]:
        return polygon
    top = start + int(np.argmax(width[start : lip + 1] > ROUNDED * width[lip]))
    points = dense(polygon, POINTS)
    return np.asarray(points[points[:, 1] >= rows.y[top]])
