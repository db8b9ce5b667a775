"""The symmetric outline that suits a picture best about a given upright axis: exact, row by row."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Map = NDArray[np.float32]
IntArray = NDArray[np.int32]

EDGE_WEIGHT = 12.0
"""What a row with a full edge on both sides is worth, in pairs of pixels with log odds of 1."""

LEVEL_WEIGHT = 5.0
LEVEL_FLOOR = 0.12
"""Cost for each pixel that the outline runs level without and with a level edge there, as a share of the weight."""

CLEAR_LIMIT = -0.4
"""Least log odds of a pair within: clear glass and openwork look like what is behind them, so that tells little."""

SURE_LIMIT = 1.5
"""Greatest log odds of a pair: a few sure pixels must not buy a leap over many doubtful ones."""

ALIKE = 9.0
"""Colour difference (CIE L*a*b*, lightness reduced) that mirrored parts of one piece easily have."""

THINNEST = 0.012
"""Least half-width, as a share of the picture's height."""

MISSING_EDGE = 0.35
"""A row whose sides have no edge costs this share of `EDGE_WEIGHT`."""


@dataclass(frozen=True, eq=False)
class SymmetricOutline:
    """Half-width in pixels for every row (0 where the piece is not), and what it gains over no outline at all."""

    axis_x: float
    half_width: IntArray
    gain: float

    @property
    def rows(self) -> tuple[int, int]:
        """First and last row of the piece; (0, -1) if there is none."""
        inside = np.flatnonzero(self.half_width > 0)
        return (int(inside[0]), int(inside[-1])) if len(inside) else (0, -1)


def folded(picture: Map, axis_x: int, reach: int) -> tuple[Map, Map]:
    """Left and right half of a picture (h, w) as (h, reach), both counted outward from the axis; zero beyond."""
    height, width = picture.shape
    left = np.zeros((height, reach), dtype=np.float32)
    right = np.zeros((height, reach), dtype=np.float32)
    n_left, n_right = min(reach, axis_x + 1), min(reach, width - axis_x)
    left[:, :n_left] = picture[:, axis_x - n_left + 1 : axis_x + 1][:, ::-1]
    right[:, :n_right] = picture[:, axis_x : axis_x + n_right]
    return left, right


def unlike_mirror(colour: Map, axis_x: int, reach: int) -> Map:
    """
    How far the smoothed colours (h, w, 3) of mirrored pixels differ, as log odds (0 to 2.5) against the piece.

    Lightness counts a fifth: light falls from one side. What stands left and right of a piece is not the same thing.
    """
    squares = np.zeros((colour.shape[0], reach), dtype=np.float32)
    for channel, weight in ((0, 0.2), (1, 1.0), (2, 1.0)):
        left, right = folded(colour[:, :, channel], axis_x, reach)
        squares += (weight * (left - right)) ** 2
    return np.clip((np.sqrt(squares) - ALIKE) / 5.0, 0.0, 2.5)


def best_outline(odds: Map, upright: Map, level: Map, colour: Map, axis_x: int) -> SymmetricOutline:
    """
    Best symmetric outline about the axis column.

    Parameters
    ----------
    odds : array, shape (h, w)
        Log odds that a pixel belongs to the piece; -inf is not allowed, strongly negative where it cannot be.
    upright, level : array, shape (h, w)
        Strength of upright and of level edges, 0 to 1.
    colour : array, shape (h, w, 3)
        Smoothed CIE L*a*b* colour.
    axis_x : int
        Column of the axis.

    Returns
    -------
    SymmetricOutline
        The maximum over all of: pairs of pixels inside, edges at both sides of each row, less what it costs to run
        level, which is little where there is a level edge.

    Notes
    -----
    A pair of mirrored pixels counts by the less likely of the two (with a tenth of the other): a shadow or a scale bar
    lies on one side only. The change of half-width from row to row costs the sum, along the way, of a price for each
    pixel, so the best predecessor is found by running minima in both directions: time and memory grow with h * w.
    """
    height, width = odds.shape
    reach = min(axis_x, width - 1 - axis_x) + 1
    odds_left, odds_right = folded(odds, axis_x, reach)
    pair = 0.9 * np.minimum(odds_left, odds_right) + 0.1 * np.maximum(odds_left, odds_right)
    pair = np.clip(pair, CLEAR_LIMIT, SURE_LIMIT) - unlike_mirror(colour, axis_x, reach)
    edge_left, edge_right = folded(upright, axis_x, reach)
    edge = np.sqrt(edge_left * edge_right)
    level_left, level_right = folded(level, axis_x, reach)
    price = LEVEL_WEIGHT * (LEVEL_FLOOR + (1 - LEVEL_FLOOR) * (1 - np.sqrt(level_left * level_right)))
    row_cost = -np.cumsum(pair, axis=1) - EDGE_WEIGHT * (edge - MISSING_EDGE)
    thinnest = max(2, round(THINNEST * height))
    row_cost[:, :thinnest] = 1e6
    return _traced(row_cost, np.cumsum(price, axis=1), axis_x)


def _traced(row_cost: Map, way: Map, axis_x: int) -> SymmetricOutline:
    """One piece, begun once and ended once; -1 in `came_from` is its beginning."""
    height, reach = row_cost.shape
    at = np.arange(reach, dtype=np.int32)
    came_from = np.full((height, reach), -1, dtype=np.int32)
    total = way[0] + row_cost[0]
    best, best_end = 0.0, (-1, 0)
    for y in range(1, height):
        g = way[y]
        end = total + g
        state = int(np.argmin(end))
        if end[state] < best:
            best, best_end = float(end[state]), (y - 1, state)
        from_less, less_at = _running_min(total - g, at)
        back, back_at = _running_min((total + g)[::-1], at[::-1])
        grow, shrink = from_less + g, back[::-1] - g
        options = np.minimum(grow, shrink)
        came_from[y] = np.where(options <= g, np.where(grow <= shrink, less_at, back_at[::-1]), -1)
        total = np.minimum(options, g) + row_cost[y]
    y, state = best_end
    half = np.zeros(height, dtype=np.int32)
    while y >= 0 and state >= 0:
        half[y] = state
        y, state = y - 1, int(came_from[y, state])
    return SymmetricOutline(float(axis_x), half, -best)


def _running_min(values: Map, at: IntArray) -> tuple[Map, IntArray]:
    low = np.minimum.accumulate(values)
    new = np.empty(len(values), dtype=bool)
    new[0] = True
    new[1:] = low[1:] < low[:-1]
    where = np.maximum.accumulate(np.where(new, np.arange(len(values)), 0))
    return low, at[where]
