"""A piece cut out of its ground by all colours at once: what nets and clear glass leave of an outline by colours."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.photos.appearance import Map
from weftglass.photos.decode import Pixels
from weftglass.photos.patches import filled, largest, resized
from weftglass.photos.reduce import working_copy
from weftglass.photos.rows import rows_of, straight_middle
from weftglass.photos.stage import Stage, barred, polygon_of, sheared
from weftglass.photos.symmetric import SymmetricOutline, best_outline, row_costs

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

CUT_SIDE_PX = 400
BEYOND = (0.2, 0.35, 0.6, 1.0, 1.6)
"""How far beyond an outline the piece is looked for, in its widths: two cuts next to each other must agree."""

ABOVE = 0.4
"""Above and below, so much of that."""

ROUNDS = 5
THREAD_PX = 2
"""Parts that are not twice so thick are no part of the piece."""

AT_BORDER_PX = 3
"""A cut that comes so near to where it was allowed has run out into the ground."""

AGREEING = 0.95
"""Least overlap of two cuts from different surroundings."""

HELD = 0.5
"""Least share of the outline, wrong as it may be, that a cut holds."""

MIRRORED = 0.9
"""Least overlap of a cut and the best symmetric outline within it."""

MOST_LEAN = 0.08
FEWEST_ROWS = 20
FEWEST_PX = 100
"""From fewer pixels on either side no colours are learnt."""


def cut_free(pixels: Pixels, inside: BoolArray, polygon_px: FloatArray) -> BoolArray | None:
    """
    The piece in a reduced picture, cut out near an outline that may be wrong.

    Parameters
    ----------
    pixels : array, shape (height, width, 3), uint8
    inside : array, shape (height, width), bool
        Where the piece may be.
    polygon_px : array, shape (n, 2)
        The outline, x right, y down: it tells where to look and nothing else.

    Returns
    -------
    array, shape (h, w), bool, or None
        None where no two cuts that begin with more and with less around the outline agree, or they run out into the
        ground.

    Notes
    -----
    Five mixed colours are learnt for the piece and five for the ground, together with the cheapest border between the
    two (C. Rother, V. Kolmogorov and A. Blake, ACM Transactions on Graphics 23, 2004, as OpenCV has it). So a piece
    may have several colours next to each other, glass and strands, in no order.
    """
    copy, factor = working_copy(pixels, CUT_SIDE_PX)
    small = resized(inside, copy.shape[:2])
    cuts = (_cut(copy, small, (polygon_px + 0.5) * factor - 0.5, beyond) for beyond in BEYOND)
    for less, more in pairwise(cuts):
        if less is not None and more is not None and _overlap(less, more) > AGREEING:
            return more
    return None


def _cut(copy: Pixels, small: BoolArray, polygon: FloatArray, beyond: float) -> BoolArray | None:
    low, high = np.floor(polygon.min(axis=0)), np.ceil(polygon.max(axis=0))
    margin = np.maximum(2.0 * AT_BORDER_PX, beyond * (high[0] - low[0]) * np.array([1.0, ABOVE]))
    x0, y0 = np.maximum(low - margin, 0).astype(int).tolist()
    x1, y1 = (high + margin).astype(int).tolist()
    around = np.zeros(small.shape, dtype=bool)
    around[y0:y1, x0:x1] = True
    around &= small
    if min(around.sum(), (~around).sum()) < FEWEST_PX:
        return None
    kind = np.where(around, np.uint8(cv2.GC_PR_FGD), np.uint8(cv2.GC_BGD))
    cv2.setRNGSeed(0)  # its first guess at the colours is drawn: the same picture gives the same outline
    ground, own = np.zeros((1, 65)), np.zeros((1, 65))
    cv2.grabCut(np.ascontiguousarray(copy), kind, (0, 0, 1, 1), ground, own, ROUNDS, cv2.GC_INIT_WITH_MASK)
    piece = largest((kind == cv2.GC_FGD) | (kind == cv2.GC_PR_FGD), THREAD_PX)
    tight = cv2.erode(around.astype(np.uint8), np.ones((2 * AT_BORDER_PX + 1,) * 2, np.uint8)).astype(bool)
    before = filled(polygon, small.shape)
    held = float((piece & before).sum()) > HELD * float(before.sum())
    return piece if held and not (piece & ~tight).any() else None


def _overlap(one: BoolArray, other: BoolArray) -> float:
    return float((one & other).sum() / max(1, (one | other).sum()))


def symmetric_within(cut: BoolArray, stage: Stage, small: BoolArray) -> Stage | None:
    """
    The best symmetric outline within a cut, edges and colours not asked.

    Parameters
    ----------
    cut : array, shape (k, l), bool
        The picture of any size.
    stage : Stage
        Its picture (h, w) gets the outline.
    small : array, shape (h, w), bool
        Where the piece may be.

    Returns
    -------
    Stage or None
        With log odds of 1 within the cut and -1 without; None where the cut is not symmetric.
    """
    height, width = stage.features.shape
    signs = np.where(cut, np.float32(1.0), np.float32(-1.0))
    odds = np.asarray(cv2.resize(signs, (width, height), interpolation=cv2.INTER_LINEAR), dtype=np.float32)
    axes = _axes(odds > 0)
    if not axes:
        return None
    odds = barred(odds, small)
    nothing: Map = np.zeros((height, width), dtype=np.float32)
    plain: Map = np.zeros((height, width, 3), dtype=np.float32)
    costs = [
        row_costs(sheared(odds, x, lean), nothing, nothing, nothing, plain, round(x), most=1.0) for x, lean in axes
    ]
    k, outline = best_outline(costs)
    x, lean = axes[k]
    found = replace(
        stage, guess=odds, odds=odds, lean=lean, outline=SymmetricOutline(x, outline.half_width, outline.gain)
    )
    first, last = outline.rows
    if last - first < FEWEST_ROWS or _overlap(filled(polygon_of(found), (height, width)), odds > 0) < MIRRORED:
        return None
    return found


def _axes(cut: BoolArray) -> list[tuple[float, float]]:
    """Axes near the line half-way between a cut's sides: column at the middle row, lean in pixels a row."""
    y = np.flatnonzero(cut.any(axis=1))
    if len(y) < FEWEST_ROWS:
        return []
    contours, _ = cv2.findContours(cut.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    rows = rows_of(max(contours, key=len)[:, 0].astype(np.float64), 200)
    at_zero, lean = straight_middle(rows)
    lean = lean if abs(lean) < MOST_LEAN else 0.0
    x = at_zero + lean * (cut.shape[0] - 1) / 2 if lean else float(np.median(rows.middle))
    limits = 3.0, cut.shape[1] - 4.0
    return [
        (float(np.clip(x + dx, *limits)), lean + turn)
        for turn in (0.0, -0.02, 0.02)
        for dx in (0.0, -2.0, 2.0, -4.0, 4.0)
    ]
