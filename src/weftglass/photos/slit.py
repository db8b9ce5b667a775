"""Slits in an outline: it runs inward along the rim of a covering and comes straight back."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from weftglass.photos.rows import dense

FloatArray = NDArray[np.float64]

POINTS = 800

MOUTH = 0.02
"""Of the height: a wider mouth may be a groove or a waist."""

LEAST_LONG, MOST_LONG = 0.04, 1.0
"""Way in and out, of the height: less is a notch between strands, more no slit."""

NARROW = 3.0
"""A slit begins where this many times its mouth, taken from the way in and out, leaves most."""


def without_slits(polygon: FloatArray) -> FloatArray:
    """
    The closed polygon (n, 2), x right and y down, with slits closed where they begin; the same if it has none.

    Examples
    --------
    >>> side = np.array([[20.0, 0.0], [20.0, 49.8], [8.0, 50.0], [20.0, 50.2], [20.0, 100.0]])
    >>> jar = np.vstack([side, side[::-1] * [-1.0, 1.0]])
    >>> closed = without_slits(jar)
    >>> float(np.abs(closed[(closed[:, 1] > 45) & (closed[:, 1] < 55), 0]).min())
    20.0
    """
    points = dense(polygon, POINTS)
    tall = float(np.ptp(points[:, 1]))
    steps = np.hypot(*np.diff(points, axis=0).T)
    way = np.concatenate([[0.0], np.cumsum(steps)])
    near = cKDTree(points).query_pairs(MOUTH * tall, output_type="ndarray")
    start, end = near[np.lexsort(near.T[::-1])].T
    long, mouth = way[end] - way[start], np.hypot(*(points[end] - points[start]).T)
    may_be = (long > LEAST_LONG * tall) & (long < MOST_LONG * tall)
    start, end, gain = start[may_be], end[may_be], (long - NARROW * mouth)[may_be]
    off = np.abs(points[:, 0] - (points[:, 0].min() + points[:, 0].max()) / 2)
    kept = np.ones(len(points), dtype=bool)
    for k in np.argsort(-gain, kind="stable").tolist():
        i, j = int(start[k]), int(end[k])
        if kept[i : j + 1].all() and off[i + 1 : j].min() < min(off[i], off[j]):
            kept[i : j + 1] = False
    return polygon if kept.all() else points[kept]
