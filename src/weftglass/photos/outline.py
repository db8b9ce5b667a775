"""Finding the outline of the one piece in a photograph, with a box drawn round it or with nothing at all."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache, partial

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.errors import InputError
from weftglass.photos.appearance import Features, Map, features_of, log_odds, sharp_edges, unlike_the_border
from weftglass.photos.beside import unlike_beside
from weftglass.photos.decode import Photograph, Pixels
from weftglass.photos.foot import stood
from weftglass.photos.ground import unlike_ground
from weftglass.photos.odd_shape import is_strip, steps_inward
from weftglass.photos.reduce import working_copy
from weftglass.photos.rows import Rows, rows_of, straight_middle
from weftglass.photos.set_upright import SetUpright
from weftglass.photos.snap import snapped
from weftglass.photos.symmetric import SymmetricOutline, best_outlines, row_costs
from weftglass.photos.top_edge import doubted_top

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
Reduced = tuple[Features, BoolArray, float]

SEARCH_SIDE_PX = 320
COARSE_SIDE_PX = 560
FINE_SIDE_PX = 1400

LOW_CONFIDENCE = 0.47
SIDELIT = (0.0, 0.5, 1.0)
"""How far light from one side is allowed for (see `symmetric.unlike_mirror`): more only where less gives no sure
outline, for then different things left and right of a piece pass for one."""

SURE_ENOUGH = 0.55
"""An outline of this confidence is not tried again in another light."""

LEANS_DEG = (0, -2, 2, -4, 4, -6, 6)
"""By how much a piece may lean in a picture that gave no sure outline; the best is then looked for a degree closer."""

TILTED = 10.0
"""A picture turned so must gain more, a hundredth at 1.8 degrees: people hold cameras level (common practice, no
source)."""

UNKNOWN = -0.3
"""Where nothing was guessed, all outside an outline may be learnt from: just below `DOUBTED`."""

CLEARLY = 0.1
"""An outline that is not in doubt gives way only to one by edges that is surer by so much."""

ODD_SHAPE = 0.4
"""Most confidence in an outline that looks like a ruler, like a piece with something behind both its sides, or as if
it ended above the piece."""

STRIP_MARGIN_PX = 6

DOUBTFUL = "The outline is doubtful: compare it with the photograph and correct it by hand."
NOTHING_FOUND = "No piece stands out from what is behind it: draw the outline by hand."

CROOKED = 40.0
"""How fast confidence falls with the middle's distance from a straight line, in widths of the piece."""

DOUBTED = -0.25
FIRST_GUESS = 0.7
"""How unlike the margin a place may be before it is not learnt from, and how much that still counts later."""

BASE_SLACK = 0.03
"""By how much of its height the piece may still grow downward once its colours are learnt: the table before it is not
the table beside it."""

MOST_GROWN = 1.3
"""Beyond so many times its width before, an outline has run out into the wall: the one before is kept."""

LEARNT_FOR, LEARNT_AGAINST = 0.6, 0.3
"""What colours learnt anywhere count where the ground beside the piece is asked; glass has the colour of the ground."""

LEANING = 30.0
"""A leaning axis must gain more, a twentieth at 2.3 degrees: people hold cameras level (common practice, no source)."""

SPREAD = 0.02
"""Over what share of its height the colours of a row of the piece are gathered, standard deviation."""

ANYWHERE = 0.4
"""What colours learnt anywhere count beside those of the same height."""

GUESSED, LEARNT = 0.3, 0.8
"""Greatest log odds of a pair of pixels before and after colours are learnt."""


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
        0 to 1; below 0.47 the outline should be drawn by hand.
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
    sidelit: float = 0.0
    learnt: bool = False
    opaque: FloatArray | None = None
    by_edges: bool = False


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
    learnt from it, it is found again, and then each side is moved to the edge beside it. Where that gives no
    sure outline, edges alone are asked first, in the picture turned by a few degrees, and colours only height by
    height.
    """
    inside = _inside(photo, box)
    found, inside = _beside_strips(_found, photo, inside)
    if found.confidence < SURE_ENOUGH:
        other, _ = _beside_strips(_found_by_edges, photo, inside)
        lead = 0.0 if found.confidence < LOW_CONFIDENCE else CLEARLY
        found = other if other.confidence > found.confidence + lead else found
    return _with_its_top_doubted(photo, found)


def _with_its_top_doubted(photo: Photograph, found: Silhouette) -> Silhouette:
    """The same, doubtful where a thing above or behind the lip seems to have been taken for a part of it."""
    if not found.found or doubted_top(found.polygon_px, photo.pixels) is None:
        return found
    return replace(found, confidence=min(found.confidence, ODD_SHAPE), warnings=(DOUBTFUL,))


def _beside_strips(
    find: Callable[[Photograph, BoolArray], Silhouette], photo: Photograph, inside: BoolArray
) -> tuple[Silhouette, BoolArray]:
    """
    What is found, and where it was looked for.

    A ruler or a scale bar on its card is as symmetric as a bottle: without it the piece may be found.
    """
    found = find(photo, inside)
    if not found.found or not is_strip(found.polygon_px):
        return found, inside
    around = np.ones((2 * STRIP_MARGIN_PX + 1,) * 2, np.uint8)
    without = inside & ~cv2.dilate(found.mask.astype(np.uint8), around).astype(bool)
    other = find(photo, without)
    better = other.found and not is_strip(other.polygon_px) and other.mask.sum() > found.mask.sum()
    return (other, without) if better else (found, inside)


def _found(photo: Photograph, inside: BoolArray) -> Silhouette:
    """The surest outline, light from one side allowed for as far as it must be."""
    reduced = cache(partial(_reduced, photo.pixels, inside))
    tried = []
    for sidelit in SIDELIT:
        tried.append(_found_in_light(photo, reduced, sidelit))
        if tried[-1].confidence >= SURE_ENOUGH:
            break
    return max(tried, key=lambda one: one.confidence)


def _found_by_edges(photo: Photograph, inside: BoolArray) -> Silhouette:
    """
    The outline whose edges suit each other best, whatever its colours, in a picture turned until the piece is upright.

    Where half a piece has the colour of the table, colours lead to the other half. And what leans by more than a little
    is no longer symmetric row by row: its left shoulder stands higher than its right one.
    """
    start, lean_deg = _upright_by_edges(photo.pixels, inside)
    if start.outline.gain <= 0:
        return _nothing(photo, NOTHING_FOUND)
    turned = SetUpright.by(photo.pixels, inside, lean_deg)
    features, small, factor = _reduced(turned.pixels, turned.inside, COARSE_SIDE_PX)
    none = _barred(np.zeros(features.shape, dtype=np.float32), small)
    stage = replace(_carried(start, features, none, factor), guess=none + np.float32(UNKNOWN), by_edges=True)
    stage = _best_axis(stage, ((3.0, 0.016), (1.5, 0.008)))
    for _ in range(2):
        stage = replace(_row_by_row(_unlearnt(stage, small), small), learnt=True)
        stage = _best_axis(_between_sides(stage), ((1.5, 0.008), (0.8, 0.004)))
    stage = _against_ground(stage, small)
    first, last = stage.outline.rows
    if last - first < 0.08 * features.shape[0]:
        return _nothing(photo, NOTHING_FOUND)
    reduced = _reduced(turned.pixels, turned.inside, FINE_SIDE_PX)
    polygon, odds = _fine(turned.pixels, reduced, stage)
    return _silhouette(photo, turned.back(polygon), turned.layer_back(odds, reduced[2]))


def _upright_by_edges(pixels: Pixels, inside: BoolArray) -> tuple[_Stage, float]:
    """The best outline by edges alone at low resolution, and by how much the picture was turned for it, in degrees."""
    copy, factor = working_copy(pixels, SEARCH_SIDE_PX)
    small = cv2.resize(inside.astype(np.uint8), (copy.shape[1], copy.shape[0]), interpolation=cv2.INTER_NEAREST)

    @cache
    def turned_by(deg: int) -> tuple[float, _Stage]:
        turned = SetUpright.by(copy, small.astype(bool), deg)
        features = features_of(turned.pixels)
        none = _barred(np.zeros(features.shape, dtype=np.float32), turned.inside)
        columns = np.flatnonzero(turned.inside.any(axis=0))
        span = int(columns[-1] - columns[0])
        places = range(int(columns[0]) + span // 6, int(columns[-1]) - span // 6 + 1, 6)
        nowhere = SymmetricOutline(0.0, np.zeros(features.shape[0], dtype=np.int32), 0.0)
        stage = _Stage(features, none, none, factor, 0.0, nowhere, sidelit=1.0)
        stage = _best_about(stage, [(float(x), 0.0) for x in places])
        return stage.outline.gain * (1.0 - TILTED * np.radians(deg) ** 2), stage

    best = max(LEANS_DEG, key=lambda deg: turned_by(deg)[0])
    best = max((best, best - 1, best + 1), key=lambda deg: turned_by(deg)[0])
    return turned_by(best)[1], float(best)


def _unlearnt(stage: _Stage, small: BoolArray) -> _Stage:
    """The stage with no colours known."""
    return replace(stage, odds=_barred(np.zeros(stage.features.shape, dtype=np.float32), small))


def _found_in_light(photo: Photograph, reduced: Callable[[int], Reduced], sidelit: float) -> Silhouette:
    coarse = _coarse(reduced, sidelit)
    first, last = coarse.outline.rows
    if last - first < 0.08 * coarse.features.shape[0] or coarse.outline.gain <= 0:
        return _nothing(photo, NOTHING_FOUND)
    polygon, odds = _fine(photo.pixels, reduced(FINE_SIDE_PX), coarse)
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


def _reduced(pixels: Pixels, inside: BoolArray, side: int) -> Reduced:
    copy, factor = working_copy(pixels, side)
    size = (copy.shape[1], copy.shape[0])
    small = cv2.resize(inside.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST).astype(bool)
    return features_of(copy), small, factor


def _coarse(reduced: Callable[[int], Reduced], sidelit: float) -> _Stage:
    """Axis and symmetric outline at low resolution, colours learnt anew from each answer."""
    features, small, factor = reduced(SEARCH_SIDE_PX)
    odds = _barred(unlike_the_border(features, small), small)
    columns = np.flatnonzero(small.any(axis=0))
    span = int(columns[-1] - columns[0])
    places = np.arange(columns[0] + span // 6, columns[-1] - span // 6 + 1, 4)
    costs = [
        row_costs(
            odds, features.left, features.right, features.level, features.soft, int(x), most=GUESSED, sidelit=sidelit
        )
        for x in places
    ]
    start = max(best_outlines(costs), key=lambda outline: outline.gain)
    stage = _upright_or_leaning(_Stage(features, odds, odds, factor, 0.0, start, sidelit))
    features, small, finer = reduced(COARSE_SIDE_PX)
    stage = _carried(stage, features, _barred(unlike_the_border(features, small), small), finer)
    for steps in (((3.0, 0.016), (1.5, 0.008)), ((1.5, 0.008), (0.8, 0.004))):
        stage = _between_sides(_best_axis(stage, steps))
        stage = _relearnt(stage, small)
    for _ in range(2):
        stage = _best_axis(_between_sides(_row_by_row(stage, small)), ((1.5, 0.008), (0.8, 0.004)))
    return _against_ground(stage, small)


def _row_by_row(stage: _Stage, small: BoolArray) -> _Stage:
    """Log odds by what was learnt anywhere and by what piece and ground look like at each height."""
    first, last = stage.outline.rows
    if last - first < 20:
        return stage
    axis, half = _axis_and_half(stage)
    left, right = axis - half, axis + half
    spread = SPREAD * (last - first)
    beside = unlike_beside(stage.features, left, right, rows=(first, last), spread_px=spread, known=stage.odds)
    share = beside.told[:, None]
    odds = np.clip((1.0 - share * (1.0 - ANYWHERE)) * stage.odds + share * beside.odds, -3.0, 3.0)
    return replace(stage, odds=_barred(np.asarray(odds, dtype=np.float32), small), opaque=beside.told)


def _against_ground(stage: _Stage, small: BoolArray) -> _Stage:
    """The outline found once more, each row judged by the ground beside it: clear glass and pale weaves come back."""
    first, last = stage.outline.rows
    if last - first < 20:
        return stage
    axis, half = _axis_and_half(stage)
    widest = float(half.max())
    # What was found may be the inner edge of a neck's glass: the ground is looked for well outside it.
    beyond: FloatArray = np.maximum(1.12 * half, np.minimum(1.7 * half, 0.9 * widest)).astype(np.float64)
    foot = (first + 0.6 * (last - first)) / len(half)
    unlike = unlike_ground(
        stage.features,
        axis - beyond,
        axis + beyond,
        gap_px=3.0,
        strip_px=max(10.0, 0.4 * widest),
        shaded_from=foot,
    )
    learnt = np.where(stage.odds > 0, LEARNT_FOR, LEARNT_AGAINST) * np.clip(stage.odds, -1.0, 1.0)
    share = 0.0 if stage.opaque is None else stage.opaque[:, None]
    odds = np.asarray((1.0 - share) * (unlike + learnt) + share * stage.odds, dtype=np.float32)
    odds[min(len(half), last + 2 + round(BASE_SLACK * (last - first))) :] = -3.0
    found = _best_axis(replace(stage, odds=_barred(odds, small)), ((3.0, 0.012), (1.0, 0.004)))
    grown = float(found.outline.half_width.max()) > MOST_GROWN * widest
    return stage if grown else replace(found, odds=stage.odds)


def _axis_and_half(stage: _Stage) -> tuple[FloatArray, FloatArray]:
    """Column of the axis and the piece's half-width in every row; beyond the piece its end rows', (h,) each."""
    first, last = stage.outline.rows
    half = stage.outline.half_width.astype(np.float64)
    half[:first], half[last + 1 :] = half[first], half[last]
    axis = stage.outline.axis_x + stage.lean * (np.arange(len(half)) - (len(half) - 1) / 2)
    return np.asarray(axis, dtype=np.float64), half


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
    return _Stage(features, odds, odds, factor, stage.lean, outline, stage.sidelit)


def _best_axis(stage: _Stage, steps: Sequence[tuple[float, float]]) -> _Stage:
    """Try axes a little to the left and right and leaning a little; keep the best."""
    best = stage
    x, lean = stage.outline.axis_x, stage.lean
    for step_x, step_lean in steps:
        ways = sorted(((i, j) for i in (-1, 0, 1) for j in (-1, 0, 1)), key=lambda way: abs(way[0]) + abs(way[1]))
        best = _best_about(stage, [(x + dx * step_x, lean + dlean * step_lean) for dx, dlean in ways])
        x, lean = best.outline.axis_x, best.lean
    return best


def _upright_or_leaning(stage: _Stage) -> _Stage:
    """The best of a grid of axes near the one found, leaning up to two degrees either way."""
    x = stage.outline.axis_x
    return _best_about(
        stage, [(x + dx, lean) for dx in (-6, -3, 0, 3, 6) for lean in (-0.036, -0.018, 0.0, 0.018, 0.036)]
    )


def _between_sides(stage: _Stage) -> _Stage:
    """Move each side to the edge beside it on its own; if the line half-way between them is a better axis, take it."""
    first, last = stage.outline.rows
    if last - first < 20:
        return stage
    edge = stage.features.edge
    sides = snapped(_polygon(stage), stage.odds, edge, reach_px=max(6, edge.shape[1] // 40), mirrored=0.0)
    at_zero, lean = straight_middle(rows_of(sides, 200))
    middle = (stage.features.shape[0] - 1) / 2
    axes = [(stage.outline.axis_x, stage.lean), (at_zero + lean * middle, lean)]
    likely = _likely_rows(stage) if stage.learnt else None
    if likely is not None:
        at_zero, lean = straight_middle(likely)
        axes += [(at_zero + lean * middle, lean), (at_zero + lean * middle, stage.lean)]
    return _best_about(stage, axes)


def _likely_rows(stage: _Stage) -> Rows | None:
    """Edges of the largest patch of likely pixels that the outline touches, thin threads cut."""
    likely = cv2.morphologyEx((stage.odds > 0.5).astype(np.uint8), cv2.MORPH_OPEN, np.ones((9, 9), np.uint8))
    count, labels = cv2.connectedComponents(likely)
    within = labels[_filled(_polygon(stage), stage.features.shape)]
    sizes = np.bincount(within, minlength=count)
    sizes[0] = 0
    if sizes.max() < 0.3 * len(within):
        return None
    patch = labels == int(np.argmax(sizes))
    y = np.flatnonzero(patch.any(axis=1))
    if len(y) < 20:
        return None
    left = np.argmax(patch[y], axis=1)
    right = patch.shape[1] - 1 - np.argmax(patch[y][:, ::-1], axis=1)
    return Rows(y.astype(np.float64), left.astype(np.float64), right.astype(np.float64))


def _best_about(stage: _Stage, axes: Sequence[tuple[float, float]]) -> _Stage:
    """Best outline about any of the axes (x at the middle row, lean in pixels a row); the first of equals."""
    known = stage.features
    layers = (stage.odds, known.left, known.right, known.level, known.soft)
    axes = [(float(np.clip(x, 3.0, known.shape[1] - 4.0)), lean) for x, lean in axes]
    most = LEARNT if stage.learnt else GUESSED
    costs = []
    for x, lean in axes:
        odds, left, right, level, soft = (_sheared(layer, x, lean) for layer in layers)
        known_of = (odds, left, right, level, soft, round(x))
        costs.append(row_costs(*known_of, most=most, sidelit=stage.sidelit, opaque=stage.opaque))
    tried = best_outlines(costs)
    k = max(range(len(tried)), key=lambda i: tried[i].gain * (1.0 - LEANING * axes[i][1] ** 2))
    outline = SymmetricOutline(axes[k][0], tried[k].half_width, tried[k].gain)
    return replace(stage, lean=axes[k][1], outline=outline)


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
    # Where it says ground and the outline says piece, little is: it may be a shadow, or clear glass.
    trust = np.where(ground & (guess > DOUBTED), np.float32(0.0), np.float32(1.0)).astype(np.float32)
    trust[piece & (guess < 0.0)] = 0.3
    learnt = log_odds(stage.features, piece, ground, trust=trust)
    odds = np.asarray(learnt + FIRST_GUESS * np.minimum(guess, 1.5), dtype=np.float32)
    return replace(stage, odds=_barred(odds, small), learnt=True)


def _fine(pixels: Pixels, reduced: Reduced, coarse: _Stage) -> tuple[FloatArray, Map]:
    """The outline moved to the edges of a finer picture, in pixels of the photograph, and log odds learnt anywhere."""
    features, small, factor = reduced
    ratio = factor / coarse.factor
    polygon = (_polygon(coarse) + 0.5) * ratio - 0.5
    size = (features.shape[1], features.shape[0])
    guess = np.asarray(cv2.resize(coarse.guess, size, interpolation=cv2.INTER_LINEAR), dtype=np.float32)
    stage = replace(_carried(coarse, features, guess, factor), by_edges=coarse.by_edges)
    learnt = _relearnt(stage, small)
    odds = _row_by_row(_unlearnt(learnt, small) if stage.by_edges else learnt, small).odds
    edge = features.edge
    reach = max(4, round(2.5 * ratio) + 3)
    moved = snapped(polygon, odds, edge, reach_px=reach, mirrored=0.7)
    sharp = np.asarray(0.6 * sharp_edges(features) + 0.4 * edge, dtype=np.float32)
    for reach_now in (reach, max(3, reach // 2)):
        near = _colours_nearby(features, moved)
        near = np.asarray(0.5 * near + _ground_nearby(features, moved), dtype=np.float32)
        moved = snapped(moved, _barred(near, small), sharp, reach_px=reach_now, mirrored=0.7)
    moved = stood(moved, working_copy(pixels, FINE_SIDE_PX)[0])
    return (moved + 0.5) / factor - 0.5, learnt.odds


def _ground_nearby(features: Features, polygon: FloatArray) -> Map:
    """Log odds by the ground just outside the outline, at each row and side."""
    rows = rows_of(polygon, 300)
    y = np.arange(features.shape[0])
    left, right = np.interp(y, rows.y, rows.left), np.interp(y, rows.y, rows.right)
    wide = float(np.max(right - left))
    foot = (rows.y[0] + 0.6 * (rows.y[-1] - rows.y[0])) / len(y)
    return unlike_ground(features, left, right, gap_px=5.0, strip_px=max(10.0, 0.12 * wide), shaded_from=foot)


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
    if is_strip(polygon) or steps_inward(polygon):
        confidence = min(confidence, ODD_SHAPE)
    warnings = []
    if confidence < LOW_CONFIDENCE:
        warnings.append(DOUBTFUL)
    polygon.setflags(write=False)
    mask.setflags(write=False)
    return Silhouette(polygon, mask, confidence, tuple(warnings))


def _confidence(polygon: FloatArray, mask: BoolArray, odds: Map) -> float:
    """
    Colours told apart by the outline, wherever they are, and how straight its middle is.

    The odds are not those that found the outline, so that they can doubt it.
    """
    within = float(np.mean(odds[mask] > 0)) if mask.any() else 0.0
    ring = cv2.dilate(mask.astype(np.uint8), np.ones((25, 25), np.uint8)).astype(bool) & ~mask
    without = float(np.mean(odds[ring] < 0)) if ring.any() else 0.0
    rows = rows_of(polygon, 200)
    at_zero, lean = straight_middle(rows)
    off = np.median(np.abs(rows.middle - at_zero - lean * rows.y)) / max(1.0, float(np.ptp(polygon[:, 0])))
    return float(np.clip(within * without * np.exp(-CROOKED * off), 0.0, 1.0))


def _nothing(photo: Photograph, why: str) -> Silhouette:
    mask = np.zeros((photo.height_px, photo.width_px), dtype=bool)
    return Silhouette(np.zeros((0, 2)), mask, 0.0, (why,))
