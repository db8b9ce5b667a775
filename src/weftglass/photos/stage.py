"""A reduced picture with what is known of its piece so far, on the way to an outline."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.photos.appearance import Features, Map, features_of
from weftglass.photos.decode import Pixels
from weftglass.photos.patches import resized
from weftglass.photos.reduce import working_copy
from weftglass.photos.symmetric import SymmetricOutline

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
Reduced = tuple[Features, BoolArray, float]
"""Features of a reduced picture, where in it the piece may be, and the factor it was reduced by."""

BARRED = -4.0
"""Log odds where the piece is not looked for."""


@dataclass(frozen=True, eq=False)
class Stage:
    """
    A reduced picture (h, w) with what is known of it so far.

    Parameters
    ----------
    features : Features
    guess, odds : array, shape (h, w)
        Log odds that a pixel belongs to the piece: at first sight, and by what was learnt since.
    factor : float
        Size over that of the photograph.
    lean : float
        Of the axis, pixels to the right for each row down.
    outline : SymmetricOutline
        About the axis, whose column is that of the middle row.
    sidelit : float
        How far light from one side is allowed for, 0 to 1.
    learnt : bool
        Whether colours are known.
    opaque : array, shape (h,), or None
        How far the piece is seen to look unlike the ground at each height, 0 to 1.
    by_edges : bool
        Whether edges alone led to the outline.
    """

    features: Features
    guess: Map
    odds: Map
    factor: float
    lean: float
    outline: SymmetricOutline
    sidelit: float = 0.0
    learnt: bool = False
    opaque: FloatArray | None = None
    by_edges: bool = False


def reduced_to(pixels: Pixels, inside: BoolArray, side: int) -> Reduced:
    """A photograph (height, width, 3) and where in it the piece may be, reduced to a longest side of so many pixels."""
    copy, factor = working_copy(pixels, side)
    return features_of(copy), resized(inside, copy.shape[:2]), factor


def barred(odds: Map, inside: BoolArray) -> Map:
    """Log odds (h, w), those outside shut out."""
    return np.asarray(np.where(inside, odds, np.float32(BARRED)), dtype=np.float32)


def carried(stage: Stage, features: Features, odds: Map, factor: float) -> Stage:
    """The outline of a stage on a picture reduced by another factor, with the log odds known there."""
    ratio = factor / stage.factor
    half = np.interp(
        (np.arange(features.shape[0]) + 0.5) / ratio - 0.5,
        np.arange(len(stage.outline.half_width)),
        stage.outline.half_width * ratio,
    )
    axis_x = (stage.outline.axis_x + 0.5) * ratio - 0.5
    outline = SymmetricOutline(axis_x, np.round(half).astype(np.int32), stage.outline.gain)
    return Stage(features, odds, odds, factor, stage.lean, outline, stage.sidelit)


def same_outline(one: Stage, other: Stage) -> bool:
    """Whether two stages of one picture have the same outline about the same axis."""
    axes = [(each.outline.axis_x, each.lean) for each in (one, other)]
    return axes[0] == axes[1] and np.array_equal(one.outline.half_width, other.outline.half_width)


def axis_and_half(stage: Stage) -> tuple[FloatArray, FloatArray]:
    """Column of the axis and the piece's half-width in every row; beyond the piece its end rows', (h,) each."""
    first, last = stage.outline.rows
    half = stage.outline.half_width.astype(np.float64)
    half[:first], half[last + 1 :] = half[first], half[last]
    axis = stage.outline.axis_x + stage.lean * (np.arange(len(half)) - (len(half) - 1) / 2)
    return np.asarray(axis, dtype=np.float64), half


def sheared(layer: Map, axis_x: float, lean: float) -> Map:
    """The picture with its rows moved so that the axis is upright at a whole column."""
    height, width = layer.shape[:2]
    middle = (height - 1) / 2
    matrix = np.array([[1.0, lean, axis_x - round(axis_x) - lean * middle], [0.0, 1.0, 0.0]])
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    moved = cv2.warpAffine(layer, matrix, (width, height), flags=flags, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(moved, dtype=np.float32)


def polygon_of(stage: Stage) -> FloatArray:
    """The symmetric outline as a closed polygon in pixels of its stage, clockwise."""
    first, last = stage.outline.rows
    y = np.arange(first, last + 1, dtype=np.float64)
    half = _without_foot(stage.outline.half_width[first : last + 1].astype(np.float64))
    axis = stage.outline.axis_x + stage.lean * (y - (stage.features.shape[0] - 1) / 2)
    right = np.column_stack([axis + half, y])
    left = np.column_stack([axis - half, y])
    top = np.array([[axis[0], y[0] - 0.5]])
    bottom = np.array([[axis[-1], y[-1] + 0.5]])
    return np.vstack([top, right, bottom, left[::-1]])


def _without_foot(half: FloatArray) -> FloatArray:
    """Take off a flare in the lowest eighth: the shadow where the piece touches the table, on both sides alike."""
    low = len(half) // 8
    if low < 2:
        return half
    slack = 0.015 * float(np.max(half))
    return np.concatenate([half[:-low], np.minimum(half[-low:], np.minimum.accumulate(half[-low:]) + slack)])
