"""The symmetric outline that suits a picture best about a given upright axis: exact, row by row."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Map = NDArray[np.float32]
IntArray = NDArray[np.int32]

EDGE_WEIGHT = 16.0
"""What a row with a full edge on both sides is worth, in pairs of pixels with log odds of 1."""

LEVEL_WEIGHT = 5.0
LEVEL_FLOOR = 0.12
"""Cost for each pixel that the outline runs level without and with a level edge there, as a share of the weight."""

CLEAR_LIMIT, OPAQUE_LIMIT = -0.3, -1.5
"""Least log odds of a pair within: clear glass and openwork look like what is behind them, so that tells little; where
the piece is seen to be opaque it tells more."""

SHUT = -3.5
"""Log odds below this are no judgement: there the piece is not looked for, whatever else speaks for it."""

ALIKE = 9.0
"""Colour difference (CIE L*a*b*, lightness reduced) that mirrored parts of one piece easily have."""

THINNEST = 0.012
"""Least half-width, as a share of the picture's height."""

MISSING_EDGE = 0.35
"""A row whose sides have no edge costs this share of `EDGE_WEIGHT`."""

TWIN_EDGES = 0.8
"""Log odds of a pair for a full upright edge on both sides: an outline must not leave such edges unexplained."""

AT_FRAME = 0.35
"""What it costs to begin or end at the frame of the picture, as a share of the cost elsewhere: it cuts pieces off."""

BARRED = 1e6


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
    return _half(picture[:, axis_x::-1], reach), _half(picture[:, axis_x:], reach)


def _half(outward: Map, reach: int) -> Map:
    half = np.empty((len(outward), reach), dtype=np.float32)
    known = min(reach, outward.shape[1])
    half[:, :known], half[:, known:] = outward[:, :known], 0.0
    return half


def unlike_mirror(colour: Map, axis_x: int, reach: int, sidelit: float = 0.0) -> Map:
    """
    How far the smoothed colours (h, w, 3) of mirrored pixels differ, as log odds (0 to 2.5) against the piece.

    Lightness counts a fifth: light falls from one side. What stands left and right of a piece is not the same thing.
    Weaker light takes both chroma axes down with L* + 16; `sidelit` is the share of that which is taken out before
    they are compared.
    """
    (light_left, light_right), *chroma = (folded(colour[:, :, channel], axis_x, reach) for channel in range(3))
    squares = (0.2 * (light_left - light_right)) ** 2
    weaker = np.minimum(light_left, light_right) + 16.0
    keep_left, keep_right = (1.0 - sidelit * (1.0 - weaker / (side + 16.0)) for side in (light_left, light_right))
    for left, right in chroma:
        squares += (keep_left * left - keep_right * right) ** 2
    return np.asarray(np.clip((np.sqrt(squares) - ALIKE) / 5.0, 0.0, 2.5), dtype=np.float32)


@dataclass(frozen=True, eq=False)
class RowCosts:
    """
    What each half-width costs at each row about one axis: `row` (h, reach), `way` (h, reach) as running sums.

    The cost of stepping from half-width a to b between two rows is ``abs(way[b] - way[a])``.
    """

    axis_x: int
    row: Map
    way: Map


def row_costs(
    odds: Map,
    left: Map,
    right: Map,
    level: Map,
    colour: Map,
    axis_x: int,
    *,
    most: float,
    sidelit: float = 0.0,
    opaque: NDArray[np.float64] | None = None,
) -> RowCosts:
    """
    Costs of a symmetric outline about the axis column.

    Parameters
    ----------
    odds : array, shape (h, w)
        Log odds that a pixel belongs to the piece; -inf is not allowed, less than -3.5 where it is not looked for.
    left, right, level : array, shape (h, w)
        Strength of upright edges as left and as right border, and of level edges, 0 to 1.
    colour : array, shape (h, w, 3)
        Smoothed CIE L*a*b* colour.
    axis_x : int
        Column of the axis.
    most : float
        Greatest log odds of a pair: neighbours err together, so many sure pixels must not buy a leap over missing
        edges.
    sidelit : float
        How far light from one side is allowed for, 0 to 1; see `unlike_mirror`.
    opaque : array, shape (h,), optional
        How far the piece is known to look unlike the ground at each height, 0 to 1. Default: 0.

    Returns
    -------
    RowCosts

    Notes
    -----
    A pair of mirrored pixels counts by the less likely of the two (with a tenth of the other): a shadow or a scale bar
    lies on one side only.
    """
    height, width = odds.shape
    reach = min(axis_x, width - 1 - axis_x) + 1
    odds_left, odds_right = folded(odds, axis_x, reach)
    pair = 0.9 * np.minimum(odds_left, odds_right) + 0.1 * np.maximum(odds_left, odds_right)
    least = CLEAR_LIMIT if opaque is None else (CLEAR_LIMIT + (OPAQUE_LIMIT - CLEAR_LIMIT) * opaque)[:, None]
    pair = np.clip(pair, least, most) - unlike_mirror(colour, axis_x, reach, sidelit)
    pair = np.where(np.minimum(odds_left, odds_right) < SHUT, np.float32(SHUT), pair)
    edge = np.sqrt(_half(left[:, axis_x::-1], reach) * _half(right[:, axis_x:], reach))
    pair = pair + TWIN_EDGES * np.maximum(edge - MISSING_EDGE, 0.0)
    level_left, level_right = folded(level, axis_x, reach)
    price = LEVEL_WEIGHT * (LEVEL_FLOOR + (1 - LEVEL_FLOOR) * (1 - np.sqrt(level_left * level_right)))
    row = -np.cumsum(pair, axis=1) - EDGE_WEIGHT * (edge - MISSING_EDGE)
    thinnest = max(2, round(THINNEST * height))
    row[:, :thinnest] = BARRED
    return RowCosts(axis_x, row.astype(np.float32), np.cumsum(price, axis=1).astype(np.float32))


def best_outline(costs: Sequence[RowCosts], worth: Sequence[float] | None = None) -> tuple[int, SymmetricOutline]:
    """
    Best symmetric outline about any of several axes on pictures of one height.

    Parameters
    ----------
    costs : sequence of RowCosts
    worth : sequence of float, optional
        What a gain about each axis is worth. Default: 1.

    Returns
    -------
    tuple of int and SymmetricOutline
        Which of the axes, the first of equals, and the outline: the maximum over all of pairs of pixels inside, edges
        at both sides of each row, less what it costs to run level, which is little where there is a level edge. Begun
        once and ended once.

    Notes
    -----
    The change of half-width from row to row costs the sum, along the way, of a price for each pixel, so the best
    predecessor is found by running minima in both directions: time and memory grow with h * w. Which predecessor it was
    is asked again on the way back, about the best axis alone.
    """
    reach = max(one.row.shape[1] for one in costs)
    height = costs[0].row.shape[0]
    row = np.full((height, len(costs), reach), BARRED, dtype=np.float32)
    way = np.zeros((height, len(costs), reach), dtype=np.float32)
    for k, one in enumerate(costs):
        width = one.row.shape[1]
        row[:, k, :width], way[:, k, :width] = one.row, one.way
        way[:, k, width:] = one.way[:, -1:]
    total = _totals(row, way)
    ended = np.empty((height, len(costs)), dtype=np.float32)
    ended[:-1] = (total[:-1] + way[1:]).min(axis=2)
    ended[-1] = (total[-1] + AT_FRAME * way[-1]).min(axis=1)
    gains = -np.minimum(ended.min(axis=0), 0.0).astype(np.float64)
    k = int(np.argmax(gains if worth is None else gains * np.asarray(worth)))
    half = np.zeros(height, dtype=np.int32)
    if gains[k] > 0.0:
        last = int(np.argmin(ended[:, k]))
        end = total[last, k] + (way[last + 1, k] if last + 1 < height else AT_FRAME * way[-1, k])
        _walked_back(total[:, k], way[:, k], last, int(np.argmin(end)), half)
    return k, SymmetricOutline(float(costs[k].axis_x), half, float(gains[k]))


def _totals(row: Map, way: Map) -> Map:
    """Least cost (h, k, reach) of an outline down to each row that has each half-width there."""
    total = np.empty_like(row)
    np.add(AT_FRAME * way[0], row[0], out=total[0])
    grow, shrink = np.empty_like(row[0]), np.empty_like(row[0])
    backward = shrink[:, ::-1]
    for before, now, cost, g in zip(total[:-1], total[1:], row[1:], way[1:], strict=True):
        np.subtract(before, g, out=grow)
        np.minimum.accumulate(grow, axis=1, out=grow)
        np.add(grow, g, out=grow)
        np.add(before, g, out=shrink)
        np.minimum.accumulate(backward, axis=1, out=backward)
        np.subtract(shrink, g, out=shrink)
        np.minimum(grow, shrink, out=now)
        np.minimum(now, g, out=now)  # or the piece begins here
        np.add(now, cost, out=now)
    return total


def _walked_back(total: Map, way: Map, y: int, state: int, half: IntArray) -> None:
    """Half-widths of the outline (h,) about one axis that ends at a row with a half-width, written into `half`."""
    half[y] = state
    while y > 0:
        g, before = way[y], total[y - 1]
        less, more = (before - g)[: state + 1], (before + g)[::-1][: len(g) - state]
        less_at, more_at = int(np.argmin(less)), int(np.argmin(more))
        grow, shrink = less[less_at] + g[state], more[more_at] - g[state]
        if min(grow, shrink) > g[state]:
            return
        state = less_at if grow <= shrink else len(g) - 1 - more_at
        y -= 1
        half[y] = state
