"""An outline reduced to as few points as a person can drag."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

FEWEST, MOST = 12, 60


def handles_of(polygon_px: ArrayLike, *, fewest: int = FEWEST, most: int = MOST) -> FloatArray:
    """
    Corners that keep a closed outline within the least distance that `most` of them allow.

    The way back needs no step of its own: the handles, moved or not, are a polygon and are measured like any other.

    Parameters
    ----------
    polygon_px : array, shape (n, 2), n >= 3
        Closed outline in pixels.
    fewest, most : int
        How many handles are wanted, 3 <= fewest < most. An outline of fewer points is returned as it is.

    Returns
    -------
    array, shape (m, 2)
        Some of the polygon's own points, in its order.

    References
    ----------
    .. [1] Douglas and Peucker (1973), Cartographica 10, 112-122.

    Examples
    --------
    >>> t = np.linspace(0, 2 * np.pi, 400, endpoint=False)
    >>> 12 <= len(handles_of(np.column_stack([100 * np.cos(t), 300 * np.sin(t)]))) <= 60
    True
    """
    polygon = np.asarray(polygon_px, dtype=np.float64)
    if len(polygon) <= fewest:
        return polygon
    size = float(np.max(np.ptp(polygon, axis=0)))
    low, high = 0.0, 0.1 * size
    best = polygon
    for _ in range(24):
        tolerance = (low + high) / 2
        corners = cv2.approxPolyDP(polygon.astype(np.float32)[:, None], tolerance, True)[:, 0]
        if len(corners) > most:
            low = tolerance
        else:
            high = tolerance
            if len(corners) >= fewest:
                best = corners.astype(np.float64)
    return best
