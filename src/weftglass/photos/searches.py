"""Ways of looking for a piece: by its colours, about other axes, by edges alone, cut out by all colours at once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache, partial

import numpy as np
from numpy.typing import NDArray

from weftglass.photos.appearance import Features, Map, features_of, unlike_the_border
from weftglass.photos.axis_search import (
    GUESSED,
    best_about,
    best_axis,
    best_whatever_its_colours,
    between_sides,
    upright_or_leaning,
)
from weftglass.photos.decode import Photograph, Pixels
from weftglass.photos.fine_detail import edges_against_light, in_three_widths, with_chroma
from weftglass.photos.focus import edges_in_focus
from weftglass.photos.graph_cut import cut_about, cut_of_box, symmetric_within
from weftglass.photos.learning import against_ground, relearnt, row_by_row, unlearnt
from weftglass.photos.patches import filled, resized
from weftglass.photos.reduce import working_copy
from weftglass.photos.rows import rows_of, straight_middle
from weftglass.photos.set_upright import SetUpright
from weftglass.photos.silhouette import (
    NOTHING_FOUND,
    ODD_SHAPE,
    SURE_ENOUGH,
    Silhouette,
    judged,
    nothing,
    trust,
)
from weftglass.photos.stage import (
    Reduced,
    Stage,
    barred,
    carried,
    polygon_of,
    reduced_to,
    same_outline,
)
from weftglass.photos.symmetric import SymmetricOutline, best_outline, row_costs
from weftglass.photos.to_the_edges import FINE_SIDE_PX, cut_to_the_edges, to_the_edges
from weftglass.photos.woven import core_of

BoolArray = NDArray[np.bool_]

SEARCH_SIDE_PX = 320
COARSE_SIDE_PX = 560
FOCUS_SIDE_PX = 800

LEAST_HEIGHT = 0.08
"""A piece takes up at least this share of the picture's height (working figure)."""

OTHER_AXES, MIDDLE = 3, 0.8
"""How many other axes are tried where an outline is doubtful, none within this share of the width of one tried."""

SIDELIT = (0.0, 0.5, 1.0)
"""How far light from one side is allowed for (see `symmetric.unlike_mirror`): more only where less gives no sure
outline, for then different things left and right of a piece pass for one."""

SURE = 0.7
"""An outline of this confidence is not tried again in another light."""

LEANS_DEG = (0, -2, 2, -4, 4, -6, 6)
"""By how much a piece may lean in a picture that gave no sure outline; the best is then looked for a degree closer."""

TILTED = 10.0
"""A picture turned so must gain more, a hundredth at 1.8 degrees: people hold cameras level (common practice, no
source)."""

UNKNOWN = -0.3
"""Where nothing was guessed, all outside an outline may be learnt from: just below `DOUBTED`."""


def by_colours(photo: Photograph, inside: BoolArray) -> Silhouette:
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
    return max(tried, key=trust)


def about_other_axes(photo: Photograph, inside: BoolArray, found: Silhouette) -> Silhouette:
    """A surer outline about an axis that is not within the middle of the one found, nor of those tried since."""
    reduced = cache(partial(reduced_to, photo.pixels, inside))
    tried, middles = [found], []
    while len(tried) <= OTHER_AXES and tried[-1].found and max(tried, key=trust).confidence < SURE_ENOUGH:
        rows = rows_of(tried[-1].polygon_px, 100)
        reach = MIDDLE * float(np.max(rows.right - rows.left)) / 2
        middles.append((float(np.median(rows.middle)), reach))
        tried.append(_refined(photo, reduced, _coarse(reduced, 0.0, tuple(middles))))
    best = max(tried, key=trust)
    return best if best.confidence > ODD_SHAPE else found


def by_edges(photo: Photograph, inside: BoolArray) -> Silhouette:
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
    polygon, odds = to_the_edges(turned.pixels, reduced, stage)
    return judged(photo, turned.back(polygon), turned.layer_back(odds, reduced[2]))


def _upright_by_edges(pixels: Pixels, inside: BoolArray) -> tuple[Stage, float]:
    """The best outline by edges alone at low resolution, and by how much the picture was turned for it, in degrees."""
    copy, factor = working_copy(pixels, SEARCH_SIDE_PX)
    small = resized(inside, copy.shape[:2])

    @cache
    def turned_by(deg: int) -> tuple[float, Stage]:
        turned = SetUpright.by(copy, small, deg)
        features = features_of(turned.pixels)
        none = barred(np.zeros(features.shape, dtype=np.float32), turned.inside)
        stage = _nowhere(features, none, factor, sidelit=1.0)
        stage = best_about(stage, [(float(x), 0.0) for x in _columns(turned.inside, 6)])
        return stage.outline.gain * (1.0 - TILTED * np.radians(deg) ** 2), stage

    best = max(LEANS_DEG, key=lambda deg: turned_by(deg)[0])
    best = max((best, best - 1, best + 1), key=lambda deg: turned_by(deg)[0])
    return turned_by(best)[1], float(best)


def by_cut(photo: Photograph, inside: BoolArray, body: BoolArray) -> Silhouette:
    """The outline cut out by all colours at once about the woven body, moved to the edges close to it."""
    return _cut_out(photo, inside, cut_about(photo.pixels, inside, body))


def by_box(photo: Photograph, inside: BoolArray) -> Silhouette:
    """The outline cut out of a box drawn round the piece, all about it taken for ground, moved to the edges."""
    return _cut_out(photo, inside, cut_of_box(photo.pixels, inside))


def by_detail(photo: Photograph, inside: BoolArray, body: BoolArray) -> Silhouette:
    """
    The outline cut out by fine detail about the woven body, moved to the edges close to it.

    Neither hue nor light is asked; where that gives nothing, how strongly places are coloured.
    """
    edges, core = edges_against_light(photo.pixels), core_of(body)
    found = _cut_out(photo, inside, cut_about(in_three_widths(edges, core), inside, body))
    if found.found:
        return found
    return _cut_out(photo, inside, cut_about(with_chroma(edges, core, photo.pixels), inside, body))


def brought_closer(photo: Photograph, inside: BoolArray, found: Silhouette) -> Silhouette:
    """A coarse outline moved to the edges by what colours tell at each height; as it was if that is unsure."""
    features, small, factor = reduced_to(photo.pixels, inside, COARSE_SIDE_PX)
    unknown: Map = np.zeros(features.shape, dtype=np.float32)
    stage = symmetric_within(found.mask, _nowhere(features, unknown, factor), small)
    if stage is None:
        return found
    fine = reduced_to(photo.pixels, inside, FINE_SIDE_PX)
    closer = judged(photo, *to_the_edges(photo.pixels, fine, replace(stage, by_edges=True)))
    return closer if closer.confidence >= SURE_ENOUGH and not closer.odd else found


def _cut_out(photo: Photograph, inside: BoolArray, cut: BoolArray | None) -> Silhouette:
    """The symmetric outline of a cut (any size), moved to the edges close to it."""
    if cut is None:
        return nothing(photo, NOTHING_FOUND)
    features, small, factor = reduced_to(photo.pixels, inside, COARSE_SIDE_PX)
    unknown: Map = np.zeros(features.shape, dtype=np.float32)
    stage = symmetric_within(cut, _nowhere(features, unknown, factor), small)
    if stage is None:
        return nothing(photo, NOTHING_FOUND)
    polygon, odds = cut_to_the_edges(reduced_to(photo.pixels, inside, FINE_SIDE_PX), stage)
    return judged(photo, polygon, odds)


def by_focus(photo: Photograph, found: Silhouette, down_to: float) -> Silhouette:
    """
    The outline within one whose top is out of focus, down to a share of its height, along edges in focus.

    Colours are not asked there: what stands behind clear glass has them, and the glass has not.
    """
    features, small, factor = reduced_to(photo.pixels, found.mask, FOCUS_SIDE_PX)
    rows = rows_of(found.polygon_px, 300)
    bottom = (rows.y[0] + down_to * (rows.y[-1] - rows.y[0])) * factor
    below = (np.arange(len(small)) > bottom)[:, None]
    edges = edges_in_focus(photo.pixels, features.shape)
    odds = barred(np.where(below, np.float32(1.0), np.float32(0.0)) * small, small)
    at_zero, lean = straight_middle(rows)
    x = (at_zero + lean * (photo.height_px - 1) / 2 + 0.5) * factor - 0.5
    axes = [(float(np.clip(x + dx, 3.0, features.shape[1] - 4.0)), lean) for dx in (0.0, -1.0, 1.0, -2.0, 2.0)]
    stage = best_whatever_its_colours(_nowhere(features, odds, factor), edges, axes)
    if _is_too_low(stage):
        return nothing(photo, NOTHING_FOUND)
    signs = np.where(filled(polygon_of(stage), features.shape), np.float32(1.0), np.float32(-1.0))
    polygon, learnt = cut_to_the_edges(reduced_to(photo.pixels, found.mask, FINE_SIDE_PX), replace(stage, odds=signs))
    return judged(photo, polygon, learnt)


def _refined(photo: Photograph, reduced: Callable[[int], Reduced], coarse: Stage) -> Silhouette:
    if _is_too_low(coarse) or coarse.outline.gain <= 0:
        return nothing(photo, NOTHING_FOUND)
    polygon, odds = to_the_edges(photo.pixels, reduced(FINE_SIDE_PX), coarse)
    return judged(photo, polygon, odds)


def _nowhere(features: Features, odds: Map, factor: float, sidelit: float = 0.0) -> Stage:
    """A stage without an outline."""
    none = SymmetricOutline(0.0, np.zeros(features.shape[0], dtype=np.int32), 0.0)
    return Stage(features, odds, odds, factor, 0.0, none, sidelit)


def _columns(inside: BoolArray, step: int) -> NDArray[np.intp]:
    """Where axes are tried at first: the middle two thirds of where the piece may be."""
    columns = np.flatnonzero(inside.any(axis=0))
    span = int(columns[-1] - columns[0])
    return np.arange(columns[0] + span // 6, columns[-1] - span // 6 + 1, step)


def _is_too_low(stage: Stage) -> bool:
    """Whether what was found takes up so little of the picture's height that it is no piece."""
    first, last = stage.outline.rows
    return last - first < LEAST_HEIGHT * stage.features.shape[0]


def _coarse(
    reduced: Callable[[int], Reduced], sidelit: float, not_about: tuple[tuple[float, float], ...] = ()
) -> Stage:
    """
    Axis and symmetric outline at low resolution, colours learnt anew from each answer.

    Axes begin nowhere within the reach of a column, both in pixels of the photograph, that is not to be tried.
    """
    features, small, factor = reduced(SEARCH_SIDE_PX)
    odds = barred(unlike_the_border(features, small), small)
    places = _columns(small, 4)
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
