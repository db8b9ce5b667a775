"""Finding the outline of the one piece in a photograph, with a box drawn round it or with nothing at all."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache, partial

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.errors import InputError
from weftglass.photos.appearance import Features, Map, features_of, log_odds, sharp_edges, unlike_the_border
from weftglass.photos.axis_search import GUESSED, best_about, best_axis, between_sides, upright_or_leaning
from weftglass.photos.backdrop import Backdrop, backdrop_of
from weftglass.photos.decode import Photograph, Pixels
from weftglass.photos.foot import stood
from weftglass.photos.graph_cut import cut_free, symmetric_within
from weftglass.photos.ground import unlike_ground
from weftglass.photos.learning import against_ground, relearnt, row_by_row, unlearnt
from weftglass.photos.ledge import without_false_bulges
from weftglass.photos.odd_shape import is_strip
from weftglass.photos.patches import disc, filled
from weftglass.photos.reduce import working_copy
from weftglass.photos.rows import rows_of
from weftglass.photos.set_upright import SetUpright
from weftglass.photos.silhouette import (
    DOUBTFUL,
    LOW_CONFIDENCE,
    NOTHING_FOUND,
    ODD_SHAPE,
    Silhouette,
    judged,
    nothing,
)
from weftglass.photos.snap import snapped
from weftglass.photos.stage import (
    Reduced,
    Stage,
    axis_and_half,
    barred,
    carried,
    polygon_of,
    reduced_to,
    same_outline,
)
from weftglass.photos.symmetric import SymmetricOutline, best_outline, row_costs
from weftglass.photos.thing_behind import thing_behind
from weftglass.photos.thread import without_thread
from weftglass.photos.top_edge import doubted_top

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

SEARCH_SIDE_PX = 320
COARSE_SIDE_PX = 560
FINE_SIDE_PX = 1400

LEAST_HEIGHT = 0.08
"""A piece takes up at least this share of the picture's height (working figure)."""

OTHER_AXES, MIDDLE = 3, 0.8
"""How many other axes are tried where an outline is doubtful, none within this share of the width of one tried."""

SIDELIT = (0.0, 0.5, 1.0)
"""How far light from one side is allowed for (see `symmetric.unlike_mirror`): more only where less gives no sure
outline, for then different things left and right of a piece pass for one."""

SURE_ENOUGH, SURE = 0.55, 0.7
"""An outline of the first confidence is not sought by edges alone, of the second not tried again in another light."""

LEANS_DEG = (0, -2, 2, -4, 4, -6, 6)
"""By how much a piece may lean in a picture that gave no sure outline; the best is then looked for a degree closer."""

TILTED = 10.0
"""A picture turned so must gain more, a hundredth at 1.8 degrees: people hold cameras level (common practice, no
source)."""

UNKNOWN = -0.3
"""Where nothing was guessed, all outside an outline may be learnt from: just below `DOUBTED`."""

CLEARLY = 0.1
"""An outline that is not in doubt gives way only to one by edges that is surer by so much."""

MOST_THINGS = 3
"""How many things behind a lip, each seen above the other, are taken away."""

MOSTLY, SAME = 0.95, 0.5
"""An outline without what stands behind it lies within the one before, and is still most of it."""

STRIP_MARGIN_PX = 6


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
    learnt from it, it is found again, and then each side is moved to the edge beside it. Where that gives no sure
    outline, edges alone are asked first, in the picture turned by a few degrees, and colours only height by height. At
    last a ruler, or what stands behind the lip and was taken for the top, is shut out and the piece sought without it.
    A doubtful outline gives way to one cut out by all colours at once (`graph_cut`) if that one is sure; if not, it is
    compared with those about axes further off, for it may be half a piece.
    """
    anywhere = _inside(photo, box)
    found, inside = _beside_strips(_found, photo, anywhere)
    if found.confidence < SURE_ENOUGH:
        other, _ = _beside_strips(_found_by_edges, photo, inside)
        found = _by_edges_or_not(found, other)
    found = _before_a_thing(photo, inside, found)
    if found.found and found.confidence < LOW_CONFIDENCE:
        cut = _with_its_top_doubted(photo, _found_by_cut(photo, anywhere, found))
        if cut.confidence >= SURE_ENOUGH and not cut.odd:
            return cut
        found = _about_other_axes(photo, inside, found)
    return _with_its_top_doubted(photo, found)


def _by_edges_or_not(found: Silhouette, by_edges: Silhouette) -> Silhouette:
    """The one that has the shape of a vessel; of two that have, or have not, the surer."""
    if found.found and by_edges.found and found.odd != by_edges.odd:
        return by_edges if found.odd else found
    lead = 0.0 if found.confidence < LOW_CONFIDENCE else CLEARLY
    return by_edges if by_edges.confidence > found.confidence + lead else found


def _before_a_thing(photo: Photograph, inside: BoolArray, found: Silhouette) -> Silhouette:
    """The outline found without the book or board behind the lip that was taken for its top, if that is better."""
    before = found
    for _ in range(MOST_THINGS):
        thing = thing_behind(before.polygon_px, photo.pixels) if before.found else None
        if thing is None:
            break
        inside = inside & ~thing
        before = _found(photo, inside)
    if before is found or not before.found or _more_doubted(before, found, photo):
        return found
    of_the_same = float(np.mean(found.mask[before.mask])) > MOSTLY and before.mask.sum() > SAME * found.mask.sum()
    return before if of_the_same and before.confidence > found.confidence - CLEARLY else found


def _more_doubted(one: Silhouette, other: Silhouette, photo: Photograph) -> bool:
    """Whether more of an outline's height is in doubt than of another's, or as much."""
    doubts = [doubted_top(each.polygon_px, photo.pixels) for each in (one, other)]
    return doubts[0] is not None and (doubts[1] is None or doubts[0].open_by >= doubts[1].open_by)


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
    """The surest outline, light from one side allowed for as far as it must be and as long as that changes anything."""
    reduced = cache(partial(reduced_to, photo.pixels, inside))
    tried: list[Silhouette] = []
    before: Stage | None = None
    for sidelit in SIDELIT:
        coarse = _coarse(reduced, sidelit)
        if before is not None and same_outline(coarse, before):
            break
        before = coarse
        tried.append(_refined(photo, reduced, coarse))
        if tried[-1].confidence >= (SURE if len(tried) == 1 else SURE_ENOUGH):
            break
    return max(tried, key=_trust)


def _trust(found: Silhouette) -> tuple[bool, float]:
    """What the better of two outlines has more of: the shape of a vessel, then confidence."""
    return found.found and not found.odd, found.confidence


def _about_other_axes(photo: Photograph, inside: BoolArray, found: Silhouette) -> Silhouette:
    """A surer outline about an axis that is not within the middle of the one found, nor of those tried since."""
    reduced = cache(partial(reduced_to, photo.pixels, inside))
    tried, middles = [found], []
    while len(tried) <= OTHER_AXES and tried[-1].found and max(tried, key=_trust).confidence < SURE_ENOUGH:
        rows = rows_of(tried[-1].polygon_px, 100)
        reach = MIDDLE * float(np.max(rows.right - rows.left)) / 2
        middles.append((float(np.median(rows.middle)), reach))
        tried.append(_refined(photo, reduced, _coarse(reduced, 0.0, tuple(middles))))
    best = max(tried, key=_trust)
    return best if best.confidence > ODD_SHAPE else found


def _found_by_edges(photo: Photograph, inside: BoolArray) -> Silhouette:
    """
    The outline whose edges suit each other best, whatever its colours, in a picture turned until the piece is upright.

    Where half a piece has the colour of the table, colours lead to the other half. And what leans by more than a little
    is no longer symmetric row by row: its left shoulder stands higher than its right one.
    """
    start, lean_deg = _upright_by_edges(photo.pixels, inside)
    if start.outline.gain <= 0:
        return nothing(photo, NOTHING_FOUND)
    turned = SetUpright.by(photo.pixels, inside, lean_deg)
    features, small, factor = reduced_to(turned.pixels, turned.inside, COARSE_SIDE_PX)
    none = barred(np.zeros(features.shape, dtype=np.float32), small)
    stage = replace(carried(start, features, none, factor), guess=none + np.float32(UNKNOWN), by_edges=True)
    stage = best_axis(stage, ((3.0, 0.016), (1.5, 0.008)))
    for _ in range(2):
        stage = replace(row_by_row(unlearnt(stage, small), small), learnt=True)
        stage = best_axis(between_sides(stage), ((1.5, 0.008), (0.8, 0.004)))
    stage = against_ground(stage, small)
    if _is_too_low(stage):
        return nothing(photo, NOTHING_FOUND)
    reduced = reduced_to(turned.pixels, turned.inside, FINE_SIDE_PX)
    polygon, odds = _fine(turned.pixels, reduced, stage)
    return judged(photo, turned.back(polygon), turned.layer_back(odds, reduced[2]))


def _found_by_cut(photo: Photograph, inside: BoolArray, near: Silhouette) -> Silhouette:
    """The outline cut out by all colours at once near one that is doubtful, moved to the edges close to it."""
    cut = cut_free(photo.pixels, inside, near.polygon_px)
    features, small, factor = reduced_to(photo.pixels, inside, COARSE_SIDE_PX)
    unknown: Map = np.zeros(features.shape, dtype=np.float32)
    stage = None if cut is None else symmetric_within(cut, _nowhere(features, unknown, factor), small)
    if stage is None:
        return nothing(photo, NOTHING_FOUND)
    features, small, finer = reduced_to(photo.pixels, inside, FINE_SIDE_PX)
    ratio = finer / factor
    size = (features.shape[1], features.shape[0])
    odds = np.asarray(cv2.resize(stage.odds, size, interpolation=cv2.INTER_LINEAR), dtype=np.float32)
    sharp = np.asarray(0.6 * sharp_edges(features) + 0.4 * features.edge, dtype=np.float32)
    reach = max(4, round(2.5 * ratio) + 3)
    moved = snapped((polygon_of(stage) + 0.5) * ratio - 0.5, odds, features.edge, reach_px=reach, mirrored=0.7)
    near_by = np.asarray(0.5 * _colours_nearby(features, moved) + 0.5 * odds, dtype=np.float32)
    moved = snapped(moved, barred(near_by, small), sharp, reach_px=max(3, reach // 2), mirrored=0.7)
    learnt = relearnt(carried(stage, features, odds, finer), small)
    return judged(photo, (moved + 0.5) / finer - 0.5, learnt.odds)


def _upright_by_edges(pixels: Pixels, inside: BoolArray) -> tuple[Stage, float]:
    """The best outline by edges alone at low resolution, and by how much the picture was turned for it, in degrees."""
    copy, factor = working_copy(pixels, SEARCH_SIDE_PX)
    small = cv2.resize(inside.astype(np.uint8), (copy.shape[1], copy.shape[0]), interpolation=cv2.INTER_NEAREST)

    @cache
    def turned_by(deg: int) -> tuple[float, Stage]:
        turned = SetUpright.by(copy, small.astype(bool), deg)
        features = features_of(turned.pixels)
        none = barred(np.zeros(features.shape, dtype=np.float32), turned.inside)
        columns = np.flatnonzero(turned.inside.any(axis=0))
        span = int(columns[-1] - columns[0])
        places = range(int(columns[0]) + span // 6, int(columns[-1]) - span // 6 + 1, 6)
        stage = _nowhere(features, none, factor, sidelit=1.0)
        stage = best_about(stage, [(float(x), 0.0) for x in places])
        return stage.outline.gain * (1.0 - TILTED * np.radians(deg) ** 2), stage

    best = max(LEANS_DEG, key=lambda deg: turned_by(deg)[0])
    best = max((best, best - 1, best + 1), key=lambda deg: turned_by(deg)[0])
    return turned_by(best)[1], float(best)


def _refined(photo: Photograph, reduced: Callable[[int], Reduced], coarse: Stage) -> Silhouette:
    if _is_too_low(coarse) or coarse.outline.gain <= 0:
        return nothing(photo, NOTHING_FOUND)
    polygon, odds = _fine(photo.pixels, reduced(FINE_SIDE_PX), coarse)
    return judged(photo, polygon, odds)


def _nowhere(features: Features, odds: Map, factor: float, sidelit: float = 0.0) -> Stage:
    """A stage without an outline."""
    none = SymmetricOutline(0.0, np.zeros(features.shape[0], dtype=np.int32), 0.0)
    return Stage(features, odds, odds, factor, 0.0, none, sidelit)


def _is_too_low(stage: Stage) -> bool:
    """Whether what was found takes up so little of the picture's height that it is no piece."""
    first, last = stage.outline.rows
    return last - first < LEAST_HEIGHT * stage.features.shape[0]


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


def _coarse(
    reduced: Callable[[int], Reduced], sidelit: float, not_about: tuple[tuple[float, float], ...] = ()
) -> Stage:
    """
    Axis and symmetric outline at low resolution, colours learnt anew from each answer.

    Axes begin nowhere within the reach of a column, both in pixels of the photograph, that is not to be tried.
    """
    features, small, factor = reduced(SEARCH_SIDE_PX)
    odds = barred(unlike_the_border(features, small), small)
    columns = np.flatnonzero(small.any(axis=0))
    span = int(columns[-1] - columns[0])
    places = np.arange(columns[0] + span // 6, columns[-1] - span // 6 + 1, 4)
    for x, reach in not_about:
        places = places[np.abs(places - x * factor) > reach * factor]
    if not len(places):
        return _nowhere(features, odds, factor, sidelit)
    left, right = features.borders
    costs = [
        row_costs(odds, left, right, features.level, features.soft, int(x), most=GUESSED, sidelit=sidelit)
        for x in places
    ]
    _, start = best_outline(costs)
    stage = upright_or_leaning(Stage(features, odds, odds, factor, 0.0, start, sidelit))
    features, small, finer = reduced(COARSE_SIDE_PX)
    stage = carried(stage, features, barred(unlike_the_border(features, small), small), finer)
    for steps in (((3.0, 0.016), (1.5, 0.008)), ((1.5, 0.008), (0.8, 0.004))):
        stage = between_sides(best_axis(stage, steps))
        stage = relearnt(stage, small)
    for _ in range(2):
        stage = best_axis(between_sides(row_by_row(stage, small)), ((1.5, 0.008), (0.8, 0.004)))
    return against_ground(stage, small)


def _fine(pixels: Pixels, reduced: Reduced, coarse: Stage) -> tuple[FloatArray, Map]:
    """The outline moved to the edges of a finer picture, in pixels of the photograph, and log odds learnt anywhere."""
    features, small, factor = reduced
    ratio = factor / coarse.factor
    polygon = (polygon_of(coarse) + 0.5) * ratio - 0.5
    size = (features.shape[1], features.shape[0])
    guess = np.asarray(cv2.resize(coarse.guess, size, interpolation=cv2.INTER_LINEAR), dtype=np.float32)
    stage = replace(carried(coarse, features, guess, factor), by_edges=coarse.by_edges)
    learnt = relearnt(stage, small)
    odds = row_by_row(unlearnt(learnt, small) if stage.by_edges else learnt, small).odds
    axis, half = axis_and_half(stage)
    backdrop = backdrop_of(features, axis, half, stage.outline.rows)
    odds = backdrop.kept(odds)
    edge = features.edge
    reach = max(4, round(2.5 * ratio) + 3)
    moved = snapped(polygon, odds, edge, reach_px=reach, mirrored=0.7)
    sharp = np.asarray(0.6 * sharp_edges(features) + 0.4 * edge, dtype=np.float32)
    near_by = max(3, reach // 2)

    def moved_nearby(outline: FloatArray, reach_px: int) -> FloatArray:
        near = barred(_told_nearby(features, outline, backdrop), small)
        return snapped(outline, near, sharp, reach_px=reach_px, mirrored=0.7)

    moved = moved_nearby(moved_nearby(moved, reach), near_by)
    cut = without_false_bulges(moved, features.lab)
    if cut is not None:
        moved = moved_nearby(cut, near_by)
    moved = without_thread(stood(moved, working_copy(pixels, FINE_SIDE_PX)[0]))
    return (moved + 0.5) / factor - 0.5, learnt.odds


def _told_nearby(features: Features, polygon: FloatArray, backdrop: Backdrop) -> Map:
    """Log odds by the colours and the ground close to the outline, and by what stands behind its neck."""
    near, ground = _colours_nearby(features, polygon), _ground_nearby(features, polygon)
    return np.asarray(0.5 * backdrop.kept(near) + backdrop.told_by(ground), dtype=np.float32)


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
    mask = filled(polygon, features.shape).astype(np.uint8)
    size = int(np.sqrt(mask.sum()))
    near, far = disc(4), disc(max(12, size // 12))
    piece = cv2.erode(mask, near).astype(bool)
    ground = cv2.dilate(mask, far).astype(bool) & ~cv2.dilate(mask, near).astype(bool)
    return log_odds(features, piece, ground, by_roughness=False)
