"""Where an outline runs along edges that are out of focus: they are not the piece's but of something behind it."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.photos.appearance import Map, lab_of
from weftglass.photos.decode import Pixels
from weftglass.photos.reduce import working_copy
from weftglass.photos.rows import dense, runs

FloatArray = NDArray[np.float64]

SIDE_PX = 1600
POINTS, ABOUT = 600, 5
"""Points along the outline, and over how many on either side of each the median is taken."""

FINE_PX, COARSE_PX = 1.0, 2.5
"""Two blurs; how much more of an edge's steepness the first leaves tells how blurred the edge was before."""

NEAR_PX = 4
"""How far from the outline its edge is looked for."""

SHARPEST_PX, BLURRED_PX = 1.05, 0.8
"""Edges in focus are blurred by the first (standard deviation, in a picture of at most 1,600 pixels); both sides of
what is behind by so much more than the body's. On 250 right outlines none was over a tenth of the height."""

SOFT_PX = (0.4, 0.6)
"""Edges count less from the first beyond the sharpest on, and nothing when more blurred by the second again."""

FAINT = 0.8
"""Steepness (L*a*b* units a pixel) of half an edge."""

LEVELS = 60
BODY = (0.4, 0.95)
"""Where, as shares of the height from the top, the edges of the body are."""

LEAST, TOP = 6, 3
"""Over so many levels, a tenth of the height, edges out of focus are told, if they begin above the second. Lower down
an outline drawn by hand, a little off the edge, looked blurred on three pictures of 42."""


def out_of_focus(polygon_px: FloatArray, pixels: Pixels) -> float | None:
    """
    How far down from its top both sides of an outline are out of focus while the body is in focus.

    Parameters
    ----------
    polygon_px : array, shape (n, 2)
        Outline, x right, y down.
    pixels : array, shape (height, width, 3), uint8

    Returns
    -------
    float or None
        Share of the height; None where it is less than a tenth.
    """
    at, blur = _blur_along(polygon_px, pixels)
    top, tall = float(at[:, 1].min()), float(np.ptp(at[:, 1]))
    share, left = (at[:, 1] - top) / tall, at[:, 0] < (at[:, 0].min() + at[:, 0].max()) / 2
    sides = np.array([_by_levels(share[side], blur[side]) for side in (left, ~left)])
    usual = float(np.nanmedian(sides[:, round(BODY[0] * LEVELS) : round(BODY[1] * LEVELS)]))
    both = np.all(sides > max(usual, SHARPEST_PX) + BLURRED_PX, axis=0)
    mostly = np.convolve(both, np.ones(5), mode="same") > 2.5
    found = runs(mostly, LEAST)
    return (found[0][1] + 1) / LEVELS if found and found[0][0] < TOP else None


def edges_in_focus(pixels: Pixels, shape: tuple[int, int]) -> Map:
    """Strength (0 to 1) of the edges of a picture that are in focus, reduced to a shape (h, w)."""
    copy, _ = working_copy(pixels, SIDE_PX)
    lab = lab_of(copy)
    fine, coarse = _steepness(lab, FINE_PX), _steepness(lab, COARSE_PX)
    sharp = np.clip(1.0 - (_blur_before(fine, coarse) - SHARPEST_PX - SOFT_PX[0]) / SOFT_PX[1], 0.0, 1.0)
    ridges = cv2.dilate((fine * sharp).astype(np.float32), np.ones((3, 3), np.uint8))
    small = cv2.resize(ridges, shape[::-1], interpolation=cv2.INTER_AREA)
    strength = small / (small + max(FAINT, 2.5 * float(np.median(small))))
    smooth = cv2.GaussianBlur(strength.astype(np.float32), (0, 0), 0.8)
    return np.asarray(np.minimum(1.2 * smooth, 1.0), dtype=np.float32)


def _blur_before(fine: Map, coarse: Map) -> FloatArray:
    """Blur of edges as they were, from how steep they are under the two blurs."""
    ratio = np.clip(fine / np.maximum(coarse, 1e-6), 1.02, COARSE_PX / FINE_PX).astype(np.float64)
    return np.asarray(np.sqrt(np.maximum(COARSE_PX**2 - ratio**2 * FINE_PX**2, 0.0) / (ratio**2 - 1.0)))


def _by_levels(share: FloatArray, blur: FloatArray) -> FloatArray:
    """Median at each level, (60,); not a number where there is no point."""
    level = np.arange(LEVELS) / LEVELS
    near = (share[None, :] >= level[:, None] - 0.01) & (share[None, :] < level[:, None] + 1 / LEVELS + 0.01)
    return np.array([np.median(blur[row]) if row.any() else np.nan for row in near])


def _blur_along(polygon_px: FloatArray, pixels: Pixels) -> tuple[FloatArray, FloatArray]:
    """
    Points along an outline (n, 2) in a reduced picture, and the blur there (n,), standard deviation in its pixels.

    An edge blurred by b is, blurred again by s, as steep as ``1 / sqrt(b² + s²)``; two blurs again tell b.
    """
    copy, factor = working_copy(pixels, SIDE_PX)
    points = (dense(polygon_px, POINTS) + 0.5) * factor - 0.5
    low = np.maximum(np.floor(points.min(axis=0)).astype(int) - 4 * NEAR_PX, 0)
    high = np.ceil(points.max(axis=0)).astype(int) + 4 * NEAR_PX
    lab = lab_of(copy[low[1] : high[1], low[0] : high[0]])
    along = np.roll(points, -3, axis=0) - np.roll(points, 3, axis=0)
    along /= np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-9)
    off = np.arange(-NEAR_PX, NEAR_PX + 1)
    x, y = (
        np.asarray(points[:, k, None] - low[k] + across[:, None] * off, dtype=np.float32)
        for k, across in ((0, -along[:, 1]), (1, along[:, 0]))
    )
    fine, coarse = (cv2.remap(_steepness(lab, blur), x, y, cv2.INTER_LINEAR) for blur in (FINE_PX, COARSE_PX))
    row, at = np.arange(len(points)), np.argmax(fine, axis=1)
    blur = _blur_before(fine[row, at], coarse[row, at])
    wrapped = np.concatenate([blur[-ABOUT:], blur, blur[:ABOUT]])
    return points, np.median(np.lib.stride_tricks.sliding_window_view(wrapped, 2 * ABOUT + 1), axis=1)


def _steepness(lab: Map, blur: float) -> Map:
    smooth = cv2.GaussianBlur(lab, (0, 0), blur)
    across, down = (cv2.Sobel(smooth, cv2.CV_32F, *order, ksize=3) for order in ((1, 0), (0, 1)))
    return np.asarray(np.sqrt((across**2 + down**2).sum(axis=2)), dtype=np.float32)
