"""Moving an outline to the edge beside it: each point along its normal, all points together, to parts of a pixel."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.photos.appearance import Map
from weftglass.photos.rows import dense

FloatArray = NDArray[np.float64]

BEND = 0.35
"""Cost of stepping one pixel sideways between neighbouring points, against 1 for a full edge."""

REGION = 0.06
"""Worth of one pixel with log odds 1 on its right side, against 1 for a full edge."""


def snapped(
    polygon: FloatArray, odds: Map, edge: Map, *, reach_px: int, mirrored: float, step_px: float = 2.0
) -> FloatArray:
    """
    The closed polygon moved to the best edge within reach.

    Parameters
    ----------
    polygon : array, shape (n, 2)
        Closed, clockwise as seen on the picture (x right, y down).
    odds : array, shape (h, w)
        Log odds that a pixel belongs to the piece.
    edge : array, shape (h, w)
        Strength of edges, 0 to 1.
    reach_px : int
        How far a point may move either way.
    mirrored : float
        How much a point listens to its mirror image, 0 to 1. The polygon must then begin on its axis.
    step_px : float
        Distance between the points of the result.

    Returns
    -------
    array, shape (m, 2)
    """
    length = float(np.sum(np.hypot(*(np.roll(polygon, -1, 0) - polygon).T)))
    points = _rounded(dense(polygon, max(60, int(length / step_px))), 3.0)
    normal = _outward(points)
    offsets = np.arange(-reach_px, reach_px + 1, dtype=np.float64)
    place = points[:, None, :] + offsets[:, None] * normal[:, None, :]
    edge_strip, odds_strip = (_sampled(picture, place) for picture in (edge, odds))
    worth = edge_strip + REGION * np.cumsum(odds_strip, axis=1)
    worth = worth + mirrored * np.roll(worth[::-1], 1, axis=0)
    choice = _closed_path(-worth / (1 + mirrored))
    moved = offsets[choice] + _between_pixels(edge_strip, choice)
    moved = _smooth_closed(moved, 1.2)
    return np.asarray(points + moved[:, None] * normal)


def _sampled(picture: Map, place: FloatArray) -> FloatArray:
    x, y = place[..., 0].astype(np.float32), place[..., 1].astype(np.float32)
    return np.asarray(cv2.remap(picture, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), dtype=np.float64)


def _closed_path(cost: FloatArray) -> NDArray[np.intp]:
    """Cheapest way round, one offset a point, neighbours at most one apart; the loop is walked one and a half times."""
    n, m = cost.shape
    order = np.arange(n + n // 2) % n
    total = np.full((len(order), m + 2), np.inf)  # with a column beyond either end that is never taken
    total[0, 1:-1] = cost[0]
    step = np.empty(m)
    for before, now, i in zip(total[:-1], total[1:, 1:-1], order[1:], strict=True):
        np.minimum(before[:-2], before[2:], out=step)
        step += BEND
        np.minimum(step, before[1:-1], out=step)
        np.add(step, cost[i], out=now)
    state = int(np.argmin(total[-1, 1:-1]))
    path = np.zeros(n, dtype=np.intp)
    known = total.tolist()
    for k in range(len(order) - 1, n // 4, -1):
        if k <= n + n // 4:
            path[order[k]] = state
        left, here, right = known[k - 1][state : state + 3]
        options = (left + BEND, here, right + BEND)
        state += options.index(min(options)) - 1
    return path


def _between_pixels(strip: FloatArray, choice: NDArray[np.intp]) -> FloatArray:
    """Top of the parabola through three values, at most half a pixel away; 0 where there is no top."""
    at = np.arange(len(choice))
    inner = np.clip(choice, 1, strip.shape[1] - 2)
    low, mid, high = strip[at, inner - 1], strip[at, inner], strip[at, inner + 1]
    bend = low - 2 * mid + high
    shift = np.where(bend < -1e-6, 0.5 * (low - high) / np.where(bend < -1e-6, bend, 1.0), 0.0)
    return np.where(inner == choice, np.clip(shift, -0.5, 0.5), 0.0)


def _outward(points: FloatArray) -> FloatArray:
    along = np.roll(points, -2, 0) - np.roll(points, 2, 0)
    along /= np.maximum(np.hypot(*along.T), 1e-9)[:, None]
    normal = np.column_stack([along[:, 1], -along[:, 0]])
    area = float(np.sum(points[:, 0] * np.roll(points[:, 1], -1) - np.roll(points[:, 0], -1) * points[:, 1]))
    return np.asarray(normal if area > 0 else -normal)


def _smooth_closed(values: FloatArray, sigma: float) -> FloatArray:
    reach = int(3 * sigma) + 1
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sigma) ** 2)
    padded = np.concatenate([values[-reach:], values, values[:reach]])
    return np.asarray(np.convolve(padded, kernel / kernel.sum(), mode="valid"))


def _rounded(points: FloatArray, sigma: float) -> FloatArray:
    return np.column_stack([_smooth_closed(points[:, i], sigma) for i in (0, 1)])
