"""A piece cut out of its ground by all colours at once: what nets and clear glass leave of an outline by colours."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.photos.appearance import Map
from weftglass.photos.axis_search import best_whatever_its_colours
from weftglass.photos.decode import Pixels
from weftglass.photos.patches import filled, largest, overlap, resized
from weftglass.photos.reduce import working_copy
from weftglass.photos.rows import rows_of, straight_middle
from weftglass.photos.stage import Stage, barred, polygon_of
from weftglass.photos.woven import core_of

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

CUT_SIDE_PX = 400
BESIDE, ABOVE, BELOW = 0.25, 1.5, 0.1
"""How far beyond the woven body the piece may reach, in widths of the body: on both sides, above and below."""

NECK_TALL, NECK_WIDE = 0.3, 0.3
"""What is seen right above the body, over so many of its widths, is taken for the piece at first: it may be a neck."""

ROUNDS = 5
THREAD_PX = 2
"""Parts that are not twice so thick are no part of the piece."""

AT_BORDER_PX = 3
"""A cut that comes so near to where it was allowed has run out into the ground."""

NEARLY_ALL, IN_THE_MIDDLE = (0.04, 0.04), (0.3, 0.1)
"""Where a cut of a box begins: shares taken off it beside and below (see `cut_of_box`)."""

AS_ONE = 0.95
"""Least overlap of the two cuts of a box: of 39 pieces on busy grounds 36 of boxes drawn close, 15 of loose ones."""

MIRRORED = 0.9
"""Least overlap of a cut and the best symmetric outline within it."""

MOST_LEAN = 0.08
FEWEST_ROWS = 20
FEWEST_PX = 100
"""From fewer pixels on either side no colours are learnt."""


def cut_about(pixels: Pixels, inside: BoolArray, body: BoolArray) -> BoolArray | None:
    """
    The piece in a reduced picture (h, w), cut out about its woven body; None if it runs out into the ground.

    Parameters
    ----------
    pixels : array, shape (height, width, 3), uint8
    inside : array, shape (height, width), bool
        Where the piece may be.
    body : array, shape (k, l), bool
        The woven body in the picture of any size (see `woven`).

    Notes
    -----
    Five mixed colours are learnt for the piece and five for the ground, together with the cheapest border between the
    two (C. Rother, V. Kolmogorov and A. Blake, ACM Transactions on Graphics 23, 2004, as OpenCV has it). So a piece
    may have several colours next to each other, glass and strands, in no order. Clear glass that looks like what is
    behind it is easily lost.
    """
    copy, _ = working_copy(pixels, CUT_SIDE_PX)
    shape = copy.shape[:2]
    small, woven, core = resized(inside, shape), resized(body, shape), resized(core_of(body), shape)
    y, x = np.nonzero(woven)
    if len(y) < FEWEST_PX or core.sum() < FEWEST_PX:
        return None
    wide = float(np.ptp(x))
    around = _box(
        shape, x.min() - BESIDE * wide, x.max() + BESIDE * wide, y.min() - ABOVE * wide, y.max() + BELOW * wide
    )
    around &= small
    if (~around).sum() < FEWEST_PX:
        return None
    middle = float(np.median(x))
    neck = _box(
        shape, middle - NECK_WIDE * wide / 2, middle + NECK_WIDE * wide / 2, y.min() - NECK_TALL * wide, y.min()
    )
    kind = np.where(around, np.uint8(cv2.GC_PR_BGD), np.uint8(cv2.GC_BGD))
    kind[around & (woven | neck)] = cv2.GC_PR_FGD
    kind[around & core] = cv2.GC_FGD
    piece = largest(_parted(copy, kind), THREAD_PX)
    tight = cv2.erode(around.astype(np.uint8), np.ones((2 * AT_BORDER_PX + 1,) * 2, np.uint8)).astype(bool)
    return None if (piece & ~tight).any() else piece


def cut_of_box(pixels: Pixels, inside: BoolArray) -> BoolArray | None:
    """
    The piece in a reduced picture (h, w), cut out of a box drawn round it; None where it is not clear.

    Parameters
    ----------
    pixels : array, shape (height, width, 3), uint8
    inside : array, shape (height, width), bool
        The box. What lies about it, as far as it is wide and high, is ground for sure.

    Notes
    -----
    What lies between the piece and a loosely drawn box is both about the piece and within the box. So it is cut twice,
    beginning with nearly all of the box and with its middle: only where both come to the same is it told.
    """
    y, x = (np.flatnonzero(inside.any(axis=axis)) for axis in (1, 0))
    reach = [slice(max(0, 2 * int(at[0]) - int(at[-1])), 2 * int(at[-1]) - int(at[0]) + 1) for at in (y, x)]
    near = np.asarray(pixels[reach[0], reach[1]])
    copy, factor = working_copy(near, CUT_SIDE_PX)
    box = resized(inside[reach[0], reach[1]], copy.shape[:2])
    kinds = [_begun(box, *share) for share in (NEARLY_ALL, IN_THE_MIDDLE)]
    if min((~box).sum(), *((kind == cv2.GC_PR_FGD).sum() for kind in kinds)) < FEWEST_PX:
        return None
    first, piece = (largest(_parted(copy, kind), THREAD_PX) for kind in kinds)
    if overlap(first, piece) < AS_ONE:
        return None
    tall, wide = (round(side * factor) for side in inside.shape)
    top, left = (round(one.start * factor) for one in reach)
    whole = np.zeros((max(tall, top + piece.shape[0]), max(wide, left + piece.shape[1])), dtype=bool)
    whole[top : top + piece.shape[0], left : left + piece.shape[1]] = piece
    return whole[:tall, :wide]


def _begun(box: BoolArray, beside: float, below: float) -> NDArray[np.uint8]:
    """Where a cut begins: in what is left of a box less shares of it on both sides and below, half of that above."""
    y, x = (np.flatnonzero(box.any(axis=axis)) for axis in (1, 0))
    side, foot = beside * len(x), below * len(y)
    middle = _box(box.shape, x[0] + side, x[-1] - side, y[0] + foot / 2, y[-1] - foot)
    kind = np.where(box, np.uint8(cv2.GC_PR_BGD), np.uint8(cv2.GC_BGD))
    kind[box & middle] = cv2.GC_PR_FGD
    return kind


def _parted(copy: Pixels, kind: NDArray[np.uint8]) -> BoolArray:
    """Piece and ground parted by colours learnt from what is surely or perhaps either (see `cut_about`)."""
    cv2.setRNGSeed(0)  # its first guess at the colours is drawn: the same picture gives the same outline
    ground, own = np.zeros((1, 65)), np.zeros((1, 65))
    cv2.grabCut(np.ascontiguousarray(copy), kind, (0, 0, 1, 1), ground, own, ROUNDS, cv2.GC_INIT_WITH_MASK)
    return np.asarray((kind == cv2.GC_FGD) | (kind == cv2.GC_PR_FGD))


def _box(shape: tuple[int, int], left: float, right: float, top: float, bottom: float) -> BoolArray:
    y, x = np.ogrid[: shape[0], : shape[1]]
    return np.asarray((x >= left) & (x <= right) & (y >= top) & (y <= bottom))


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
    found = best_whatever_its_colours(replace(stage, guess=odds, odds=odds), nothing, axes)
    first, last = found.outline.rows
    if last - first < FEWEST_ROWS or overlap(filled(polygon_of(found), (height, width)), odds > 0) < MIRRORED:
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
