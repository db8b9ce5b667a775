"""A thread that rises from an outline's top: the border of a thing behind, followed up from the lip."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from weftglass.photos.rows import rows_of

FloatArray = NDArray[np.float64]

THREAD = 0.05
"""What is narrower than this share of the greatest width is no part of a vessel: of the starter library's 256 forms the
narrowest neck takes 0.11."""

LEAST_LONG = 0.02
"""Of the height: less is the round of a top."""


def without_thread(polygon: FloatArray) -> FloatArray:
    """
    The closed polygon (n, 2), x right and y down, with its points above the thread's foot laid level with it.

    Examples
    --------
    >>> half = np.r_[np.full(30, 0.5), np.full(70, 20.0)]
    >>> y = np.arange(100.0)
    >>> jar = np.vstack([np.column_stack([half, y]), np.column_stack([-half, y])[::-1]])
    >>> float(without_thread(jar)[:, 1].min()) > 29.0
    True
    >>> float(without_thread(jar[30:-30])[:, 1].min())
    30.0
    """
    rows = rows_of(polygon, 400)
    width = rows.right - rows.left
    foot = float(rows.y[int(np.argmax(width >= THREAD * width.max()))])
    if foot - rows.y[0] < LEAST_LONG * np.ptp(rows.y):
        return polygon
    return np.column_stack([polygon[:, 0], np.maximum(polygon[:, 1], foot)])
