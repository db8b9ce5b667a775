"""Finding the outline of the one piece in a photograph, with a box drawn round it or with nothing at all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.errors import InputError
from weftglass.photos.appearance import Features, Map, features_of, log_odds, sharp_edges, unlike_the_border
from weftglass.photos.decode import Photograph, Pixels
from weftglass.photos.reduce import working_copy
from weftglass.photos.rows import rows_of, straight_middle
from weftglass.photos.snap import snapped
from weftglass.photos.symmetric import SymmetricOutline, best_outline

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

SEARCH_SIDE_PX = 320
COARSE_SIDE_PX = 560
FINE_SIDE_PX = 1400

LOW_CONFIDENCE = 0.5
DOUBTED = -0.25
FIRST_GUESS = 0.7
"""How unlike the margin a place may be before it is not learnt from, and how much that still counts later."""


@dataclass(frozen=True, eq=False)
class Silhouette:
    """
    The outline of a piece as found on a photograph.

    Parameters
    ----------
    polygon_px : array, shape (n, 2)
        Closed (the last point joins the first), x right, y down, pixels of the whole photograph; (0, 2) if none.
    mask : array, shape (height, width), bool
        The pixels within.
    confidence : float
        0 to 1; below 0.5 the outline should be drawn by hand.
    warnings : tuple of str
    """

    polygon_px: FloatArray
    mask: BoolArray
    confidence: float
    warnings: tuple[str, ...] = ()

    @property
    def found(self) -> bool:
        """Whether there is an outline at all."""
        return len(self.polygon_px) >= 3


@dataclass(frozen=True, eq=False)
class _Stage:
    """A reduced picture with what is known of it so far: first guess, log odds, features, leaning axis, outline."""

    features: Features
    guess: Map
    odds: Map
    factor: float
    lean: float
    outline: SymmetricOutline


def trace_outline(photo: Photograph, *, box: Sequence[float] | None = None) -> Silhouette:
    """
    Find the outline of the piece in a photograph.

    Parameters
    ----------
    photo : Photograph
    box : (x0, y0, x1, y1), optional
        Pixels within which the piece lies. Default: anywhere.

    Returns
    -------
    Silhouette
        If nothing is found, without points, with confidence 0 and a warning.

    Raises
    ------
    InputError
        If the box is not a box within the photograph.

    Notes
    -----
    A vessel and its covering are symmetric about a nearly upright axis; its shadow, the scale bar and the things behind
    it are not. So the best symmetric outline about the best axis is found first (exactly, see `symmetric`), colours are
    learnt from it, it is found again, and then each side is moved to the edge beside it.
    """
    inside = _inside(photo, box)
    coarse = _coarse(photo.pixels, inside)
    first, last = coarse.outline.rows
    if last - first < 0.08 * coarse.features.shape[0] or coarse.outline.gain <= 0:
        return _nothing(photo, "No piece stands out from what is behind it: draw the outline by hand.")
    polygon, odds = _fine(photo.pixels, inside, coarse)
    return _silhouette(photo, polygon, odds)


def _inside(photo: Photograph, box: Sequence[float] | None) -> BoolArray:
    inside = np.zeros((photo.height_px, photo.width_px), dtype=bool)
    if box is None:
        inside[:] = True
        return inside
    x0, y0, x1, y1 = box
    if not (np.all(np.isfinite(box)) and x1 - x0 >= 16 and y1 - y0 >= 16):
        raise InputError("outline", "box", box, "x0, y0, x1, y1 in pixels, at least 16 wide and high")
    inside[max(0, round(y0)) : max(0, round(y1) + 1), max(0, round(x0)) : max(0, round(x1) + 1)] = True
    if inside.sum() < 256:
        raise InputError("outline", "box", box, f"a box within {photo.width_px} × {photo.height_px} pixels")
    return inside


def _reduced(pixels: Pixels, inside: BoolArray, side: int) -> tuple[Features, BoolArray, float]:
    copy, factor = working_copy(pixels, side)
    size = (copy.shape[1], copy.shape[0])
    small = cv2.resize(inside.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST).astype(bool)
    return features_of(copy), small, factor


def _coarse(pixels: Pixels, inside: BoolArray) -> _Stage:
    """Axis and symmetric outline at low resolution, colours learnt anew from each answer."""
    features, small, factor = _reduced(pixels, inside, SEARCH_SIDE_PX)
    odds = _barred(unlike_the_border(features, small), small)
    columns = np.flatnonzero(small.any(axis=0))
    span = int(columns[-1] - columns[0])
    places = np.arange(columns[0] + span // 6, columns[-1] - span // 6 + 1, 4)
    tried = [best_outline(odds, features.upright, features.level, features.soft, int(x)) for x in places]
    start = max(tried, key=lambda outline: outline.gain)
    stage = _upright_or_leaning(_Stage(features, odds, odds, factor, 0.0, start))
    features, small, finer = _reduced(pixels, inside, COARSE_SIDE_PX)
    stage = _carried(stage, features, _barred(unlike_the_border(features, small), small), finer)
    for _ in range(3):
        stage = _between_sides(_best_axis(stage))
        stage = _relearnt(stage, small)
    return _best_axis(_between_sides(_best_axis(stage)))


def _barred(odds: Map, inside: BoolArray) -> Map:
    return np.asarray(np.where(inside, odds, np.float32(-3.0)), dtype=np.float32)


def _carried(stage: _Stage, features: Features, odds: Map, factor: float) -> _Stage:
    ratio = factor / stage.factor
    half = np.interp(
        (np.arange(features.shape[0]) + 0.5) / ratio - 0.5,
        np.arange(len(stage.outline.half_width)),
        stage.outline.half_width * ratio,
    )
    axis_x = (stage.outline.axis_x + 0.5) * ratio - 0.5
    outline = SymmetricOutline(axis_x, np.round(half).astype(np.int32), stage.outline.gain)
    return _Stage(features, odds, odds, factor, stage.lean, outline)


def _best_axis(stage: _Stage) -> _Stage:
    """Try axes a little to the left and right and leaning a little; keep the best."""
    best = stage
    best_gain = -np.inf
    x, lean = stage.outline.axis_x, stage.lean
    for step_x, step_lean in ((3.0, 0.02), (1.0, 0.008)):
        for dx, dlean in ((0, 0), (-1, 0), (1, 0), (0, -1), (0, 1)):
            there = _about(stage, x + dx * step_x, lean + dlean * step_lean)
            if there.outline.gain > best_gain:
                best, best_gain = there, there.outline.gain
        x, lean = best.outline.axis_x, best.lean
    return best


def _upright_or_leaning(stage: _Stage) -> _Stage:
    """The best of a grid of axes near the one found, leaning up to two degrees either way."""
    x = stage.outline.axis_x
    tried = [_about(stage, x + dx, lean) for dx in (-6, -3, 0, 3, 6) for lean in (-0.036, -0.018, 0.0, 0.018, 0.036)]
    return max(tried, key=lambda one: one.outline.gain)


def _between_sides(stage: _Stage) -> _Stage:
    """Move each side to the edge beside it on its own; if the line half-way between them is a better axis, take it."""
    first, last = stage.outline.rows
    if last - first < 20:
        return stage
    edge = np.maximum(stage.features.upright, stage.features.level)
    sides = snapped(_polygon(stage), stage.odds, edge, reach_px=max(6, edge.shape[1] // 40), mirrored=0.0)
    at_zero, lean = straight_middle(rows_of(sides, 200))
    middle = (stage.features.shape[0] - 1) / 2
    other = _about(stage, at_zero + lean * middle, lean)
    same = _about(stage, stage.outline.axis_x, stage.lean)
    return other if other.outline.gain > same.outline.gain else same


def _about(stage: _Stage, axis_x: float, lean: float) -> _Stage:
    """Best outline about an axis through (axis_x, middle row), leaning by `lean` pixels a row."""
    known = stage.features
    axis_x = float(np.clip(axis_x, 3.0, known.shape[1] - 4.0))
    layers = (stage.odds, known.upright, known.level, known.soft)
    odds, upright, level, soft = (_sheared(layer, axis_x, lean) for layer in layers)
    outline = best_outline(odds, upright, level, soft, round(axis_x))
    outline = SymmetricOutline(axis_x, outline.half_width, outline.gain)
    return _Stage(stage.features, stage.guess, stage.odds, stage.factor, lean, outline)


def _sheared(layer: Map, axis_x: float, lean: float) -> Map:
    """The picture with its rows moved so that the axis is upright at a whole column."""
    height, width = layer.shape[:2]
    middle = (height - 1) / 2
    matrix = np.array([[1.0, lean, axis_x - round(axis_x) - lean * middle], [0.0, 1.0, 0.0]])
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    moved = cv2.warpAffine(layer, matrix, (width, height), flags=flags, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(moved, dtype=np.float32)


def _polygon(stage: _Stage) -> FloatArray:
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


def _filled(polygon: FloatArray, shape: tuple[int, int]) -> BoolArray:
    mask = np.zeros(shape, dtype=np.uint8)
    cv2.fillPoly(mask, [np.round(polygon * 16).astype(np.int32)], 1, shift=4)
    return mask.astype(bool)


def _relearnt(stage: _Stage, small: BoolArray) -> _Stage:
    """Log odds from the colours within the outline and around it, those nearby counting as well as the margin."""
    first, last = stage.outline.rows
    if last <= first:
        return stage
    mask = _filled(_polygon(stage), stage.features.shape)
    width = max(4, int(np.sqrt(mask.sum()) / 30))
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * width + 1, 2 * width + 1))
    piece = cv2.erode(mask.astype(np.uint8), kernel).astype(bool)
    ground = ~cv2.dilate(mask.astype(np.uint8), kernel).astype(bool)
    if piece.sum() < 50 or ground.sum() < 50:
        return stage
    # Where the first guess says piece and the outline says ground, nothing is learnt: it may be a part cut off.
    guess = np.asarray(cv2.GaussianBlur(stage.guess, (0, 0), max(1.5, width / 2)), dtype=np.float32)
    trust = np.where(ground & (guess > DOUBTED), np.float32(0.0), np.float32(1.0)).astype(np.float32)
    learnt = log_odds(stage.features, piece, ground, trust=trust)
    odds = np.asarray(learnt + FIRST_GUESS * np.minimum(guess, 1.5), dtype=np.float32)
    return _Stage(stage.features, stage.guess, _barred(odds, small), stage.factor, stage.lean, stage.outline)


def _fine(pixels: Pixels, inside: BoolArray, coarse: _Stage) -> tuple[FloatArray, Map]:
    """The outline moved to the edges of a finer picture; in pixels of the photograph."""
    features, small, factor = _reduced(pixels, inside, FINE_SIDE_PX)
    ratio = factor / coarse.factor
    polygon = (_polygon(coarse) + 0.5) * ratio - 0.5
    size = (features.shape[1], features.shape[0])
    guess = np.asarray(cv2.resize(coarse.guess, size, interpolation=cv2.INTER_LINEAR), dtype=np.float32)
    stage = _carried(coarse, features, guess, factor)
    odds = _relearnt(stage, small).odds
    edge = np.maximum(features.upright, features.level)
    reach = max(4, round(2.5 * ratio) + 3)
    moved = snapped(polygon, odds, edge, reach_px=reach, mirrored=0.7)
    sharp = np.asarray(0.6 * sharp_edges(features) + 0.4 * edge, dtype=np.float32)
    for reach_now in (reach, max(3, reach // 2)):
        near = _colours_nearby(features, moved)
        moved = snapped(moved, _barred(near, small), sharp, reach_px=reach_now, mirrored=0.7)
    return (moved + 0.5) / factor - 0.5, odds


def _colours_nearby(features: Features, polygon: FloatArray) -> Map:
    """Log odds by colour alone, the ground learnt close to the outline, where the shadow at the foot is."""
    mask = _filled(polygon, features.shape).astype(np.uint8)
    size = int(np.sqrt(mask.sum()))
    near, far = (cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * r + 1, 2 * r + 1)) for r in (4, max(12, size // 12)))
    piece = cv2.erode(mask, near).astype(bool)
    ground = cv2.dilate(mask, far).astype(bool) & ~cv2.dilate(mask, near).astype(bool)
    return log_odds(features, piece, ground, by_roughness=False)


def _silhouette(photo: Photograph, polygon: FloatArray, odds: Map) -> Silhouette:
    limit = np.array([photo.width_px - 1, photo.height_px - 1], dtype=np.float64)
    polygon = np.clip(polygon, 0.0, limit)
    mask = _filled(polygon, (photo.height_px, photo.width_px))
    small = cv2.resize(mask.astype(np.uint8), (odds.shape[1], odds.shape[0]), interpolation=cv2.INTER_AREA) > 0
    confidence = _confidence(polygon, small, odds)
    warnings = []
    if confidence < LOW_CONFIDENCE:
        warnings.append("The outline is doubtful: compare it with the photograph and correct it by hand.")
    polygon.setflags(write=False)
    mask.setflags(write=False)
    return Silhouette(polygon, mask, confidence, tuple(warnings))


def _confidence(polygon: FloatArray, mask: BoolArray, odds: Map) -> float:
    """Colours told apart by the outline, and how straight its middle is."""
    within = float(np.mean(odds[mask] > 0)) if mask.any() else 0.0
    ring = cv2.dilate(mask.astype(np.uint8), np.ones((25, 25), np.uint8)).astype(bool) & ~mask
    without = float(np.mean(odds[ring] < 0)) if ring.any() else 0.0
    rows = rows_of(polygon, 200)
    at_zero, lean = straight_middle(rows)
    off = np.median(np.abs(rows.middle - at_zero - lean * rows.y)) / max(1.0, float(np.ptp(polygon[:, 0])))
    return float(np.clip(within * without * np.exp(-12 * off), 0.0, 1.0))


def _nothing(photo: Photograph, why: str) -> Silhouette:
    mask = np.zeros((photo.height_px, photo.width_px), dtype=bool)
    return Silhouette(np.zeros((0, 2)), mask, 0.0, (why,))
