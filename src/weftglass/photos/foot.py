"""Where a piece ends and the dark line begins in which it stands."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.photos.appearance import Features, Map, features_of, sharp_edges
from weftglass.photos.beside import unlike_shaded
from weftglass.photos.decode import Pixels
from weftglass.photos.rows import rows_of
from weftglass.photos.snap import snapped

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

FOOT = 0.13
"""Share of the height over which the outline of the foot is looked for again."""

GAP = 0.05
"""Gaps between strands are narrower than this share of the piece's width: darkness that is wider is shadow."""

REACH = 0.013
"""How far the foot's edge may move, in heights of the piece."""

LIGHTER_BEYOND = 0.3
"""What an edge counts beyond which the picture is lighter: at its foot a piece borders on its own darkness first, and
only then that on the table."""

KEPT_PX = 1.2


def stood(polygon: FloatArray, pixels: Pixels) -> FloatArray:
    """
    The outline with its foot moved from the far edge of the dark line below it to the near one.

    Parameters
    ----------
    polygon : array, shape (n, 2)
        Closed outline in pixels of the picture, clockwise.
    pixels : array, shape (h, w, 3), uint8

    Returns
    -------
    array, shape (m, 2)
        Unchanged above the foot, within a pixel.

    Notes
    -----
    Darkness between strands is filled first, by the greatest and then the least value over a level line a little longer
    than such gaps: the line below the foot is longer and stays dark.
    """
    rows = rows_of(polygon, 300)
    tall, wide = float(rows.y[-1] - rows.y[0]), float(np.max(rows.right - rows.left))
    low = round(rows.y[-1] - FOOT * tall)
    y = np.arange(pixels.shape[0])
    left, right = np.interp(y, rows.y, rows.left), np.interp(y, rows.y, rows.right)
    features = features_of(_filled_gaps(pixels, max(5, round(GAP * wide))))
    mask = np.zeros(features.shape, dtype=np.uint8)
    cv2.fillPoly(mask, [np.round(polygon * 16).astype(np.int32)], 1, shift=4)
    odds = _shaded_odds(features, mask, left, right, float(rows.y[-1]), tall)
    line = np.zeros(features.shape, dtype=np.float32)
    cv2.polylines(line, [np.round(polygon * 16).astype(np.int32)], True, 1.0, shift=4)
    line = np.asarray(cv2.GaussianBlur(line, (0, 0), KEPT_PX), dtype=np.float32)
    edge = _dark_beyond(features, (left + right) / 2, low)
    edge[:low] = 4.0 * line[:low]
    odds[:low] = 0.0
    return snapped(polygon, odds, edge, reach_px=max(4, round(REACH * tall)), mirrored=0.7)


def _filled_gaps(pixels: Pixels, gap_px: int) -> Pixels:
    level = cv2.morphologyEx(pixels, cv2.MORPH_CLOSE, np.ones((1, gap_px), np.uint8))
    return np.asarray(cv2.morphologyEx(level, cv2.MORPH_CLOSE, np.ones((3, 1), np.uint8)), dtype=np.uint8)


def _shaded_odds(
    features: Features, mask: NDArray[np.uint8], left: FloatArray, right: FloatArray, bottom: float, tall: float
) -> Map:
    """Log odds by the piece just above its foot and the ground about it, lit or in shadow."""
    height, width = features.shape
    y, x = np.arange(height)[:, None], np.arange(width)[None, :]
    above = (y > bottom - 0.2 * tall) & (y < bottom - 0.015 * tall)
    piece = (mask > 0) & above
    around = (y > bottom - 0.08 * tall) & (y < bottom + 0.08 * tall)
    reach = 0.25 * float(np.max(right - left))
    near = (x > np.min(left) - reach) & (x < np.max(right) + reach)
    ground = around & near & (cv2.dilate(mask, np.ones((7, 7), np.uint8)) == 0)
    if piece.sum() < 50 or ground.sum() < 50:
        return np.zeros((height, width), dtype=np.float32)
    return unlike_shaded(features, piece, ground)


def _dark_beyond(features: Features, middle: FloatArray, low: int) -> Map:
    """Fine edges of the foot, those counting less beyond which it is lighter."""
    light = features.lab[:, :, 0]
    across, down = (cv2.Scharr(light, cv2.CV_32F, *order) for order in ((1, 0), (0, 1)))
    outward = np.sign(np.arange(features.shape[1])[None, :] - middle[:, None])
    lighter = down + 0.5 * outward * across > 0
    return np.asarray(np.where(lighter, LIGHTER_BEYOND, 1.0) * sharp_edges(features), dtype=np.float32)
