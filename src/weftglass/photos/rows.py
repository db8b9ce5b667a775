"""The left and right edge of an outline at each height of the picture, its axis, and where it bulges on one side."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Rows:
    """Edges by rows: `y` (n,) rising downward, `left` and `right` (n,) outermost crossings, any one unit."""

    y: FloatArray
    left: FloatArray
    right: FloatArray

    @property
    def middle(self) -> FloatArray:
        """Half-way between the edges."""
        return (self.left + self.right) / 2


def dense(polygon: ArrayLike, n: int = 1500) -> FloatArray:
    """A closed polygon (m, 2) walked in `n` equal steps of length; its corners are kept if they are fewer than `n`."""
    corners = np.asarray(polygon, dtype=np.float64)
    closed = np.vstack([corners, corners[:1]])
    length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    at = np.linspace(0.0, length[-1], n, endpoint=False)
    if len(corners) < n:
        at = np.union1d(at, length[:-1])
    return np.column_stack([np.interp(at, length, closed[:, 0]), np.interp(at, length, closed[:, 1])])


def rows_of(polygon: ArrayLike, n: int = 400) -> Rows:
    """
    Outermost crossings of a closed polygon with `n` level lines between its top and its bottom.

    Parameters
    ----------
    polygon : array, shape (m, 2), m >= 3
        Rows of (x, y), y downward.
    n : int
        Number of lines.

    Returns
    -------
    Rows

    Examples
    --------
    >>> rows = rows_of([[0, 0], [4, 0], [4, 10], [0, 10]], 5)
    >>> rows.left.tolist(), rows.right.tolist()
    ([0.0, 0.0, 0.0, 0.0, 0.0], [4.0, 4.0, 4.0, 4.0, 4.0])
    """
    start = np.asarray(polygon, dtype=np.float64)
    end = np.roll(start, -1, axis=0)
    low, high = start[:, 1].min(), start[:, 1].max()
    y = low + (np.arange(n) + 0.5) / n * (high - low)
    step = max((high - low) / n, 1e-300)
    upper, lower = np.minimum(start[:, 1], end[:, 1]), np.maximum(start[:, 1], end[:, 1])
    first = np.clip(np.ceil((upper - low) / step - 0.5).astype(int) - 1, 0, n)
    count = np.clip(np.ceil((lower - low) / step - 0.5).astype(int) + 1, 0, n) - first
    count = np.maximum(count, 0)
    side = np.repeat(np.arange(len(start)), count)
    row = np.arange(len(side)) - (np.cumsum(count) - count - first)[side]
    crosses = (start[side, 1] <= y[row]) != (end[side, 1] <= y[row])
    side, row = side[crosses], row[crosses]
    x = start[side, 0] + (y[row] - start[side, 1]) / (end[side, 1] - start[side, 1]) * (end[side, 0] - start[side, 0])
    left, right = np.full(n, np.inf), np.full(n, -np.inf)
    np.minimum.at(left, row, x)
    np.maximum.at(right, row, x)
    return Rows(y, left, right)


def rows_within(mask: BoolArray) -> Rows:
    """
    The outermost pixels of a mask (h, w), in each of its rows that has any.

    Examples
    --------
    >>> rows = rows_within(np.array([[False, False, False], [False, True, True], [True, False, True]]))
    >>> rows.y.tolist(), rows.left.tolist(), rows.right.tolist()
    ([1.0, 2.0], [1.0, 0.0], [2.0, 2.0])
    """
    y = np.flatnonzero(mask.any(axis=1))
    left = np.argmax(mask[y], axis=1)
    right = mask.shape[1] - 1 - np.argmax(mask[y][:, ::-1], axis=1)
    return Rows(y.astype(np.float64), left.astype(np.float64), right.astype(np.float64))


def straight_middle(rows: Rows, weight: FloatArray | None = None) -> tuple[float, float]:
    """
    The line ``x = at_zero + lean * y`` through the middles, by repeated reweighting (rows off the line count less).

    A handle or strap on one side moves the middle of its rows and is outvoted by the rest.

    Returns
    -------
    at_zero, lean : float
    """
    trust = np.ones(len(rows.y)) if weight is None else weight.astype(np.float64)
    at_zero, lean = float(np.median(rows.middle)), 0.0
    tolerance = 0.02 * float(np.median(rows.right - rows.left)) + 1e-12
    for _ in range(25):
        off = (rows.middle - at_zero - lean * rows.y) / tolerance
        share = trust / (1.0 + off**2) ** 2
        mean_y = float(np.average(rows.y, weights=share))
        mean_x = float(np.average(rows.middle, weights=share))
        spread = float(np.average((rows.y - mean_y) ** 2, weights=share))
        lean = float(np.average((rows.y - mean_y) * (rows.middle - mean_x), weights=share)) / spread
        at_zero = mean_x - lean * mean_y
    return at_zero, lean


def runs(flags: ArrayLike, at_least: int = 1) -> list[tuple[int, int]]:
    """
    First and last index of each unbroken run of true values, of `at_least` that many.

    Examples
    --------
    >>> runs([0, 1, 1, 0, 1], at_least=2)
    [(1, 2)]
    """
    padded = np.concatenate([[0], np.asarray(flags, dtype=np.int8), [0]])
    starts, stops = np.flatnonzero(np.diff(padded) == 1), np.flatnonzero(np.diff(padded) == -1)
    return [(int(a), int(b) - 1) for a, b in zip(starts, stops, strict=True) if b - a >= at_least]
