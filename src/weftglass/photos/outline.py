"""Finding the outline of the one piece in a photograph, with a box drawn round it or with nothing at all."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.errors import InputError
from weftglass.photos.agreement import (
    MOST,
    Cuts,
    agree,
    chosen,
    doubted,
    fills,
    holds,
    in_question,
    is_sure,
    same,
    spike_cut_off,
    sure_of_both,
    top_stands,
    with_doubts,
)
from weftglass.photos.aside import standing_aside
from weftglass.photos.decode import Photograph
from weftglass.photos.focus import out_of_focus
from weftglass.photos.odd_shape import is_strip
from weftglass.photos.searches import about_other_axes, by_box, by_colours, by_cut, by_detail, by_edges, by_focus
from weftglass.photos.silhouette import LOW_CONFIDENCE, SURE_ENOUGH, Silhouette, trust
from weftglass.photos.thing_behind import thing_behind
from weftglass.photos.top_edge import doubted_top
from weftglass.photos.woven import woven_body

BoolArray = NDArray[np.bool_]

CLEARLY = 0.1
"""An outline that is not in doubt gives way only to one by edges that is surer by so much."""

MOST_THINGS = 3
"""How many things behind a lip, each seen above the other, are taken away."""

STRIP_MARGIN_PX = 6
LEAST_BOX_PX = 16


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
    The woven body, which nothing else in a picture is as full of detail as, and focus, which things behind are out of,
    call an outline in question that is not theirs. Then the piece is cut out about that body by all colours at once
    (`graph_cut`) and, neither hue nor light asked, by fine detail alone (`fine_detail`). Where two ways agree they are
    sure; what is still doubtful is compared with outlines about axes further off, for it may be half a piece. Where no
    two agree, an outline that is elsewhere, in doubt or of no vessel's shape gives way to a cut.

    A box is drawn round a piece: what lies about it is ground for sure, and the piece nearly fills it. So the piece is
    cut out of the box too; what that confirms is sure, and what leaves the box empty is not believed.
    """
    anywhere = _inside(photo, box)
    return _sought_anywhere(photo, anywhere) if box is None else _sought_in_a_box(photo, anywhere)


def _sought_in_a_box(photo: Photograph, box: BoolArray) -> Silhouette:
    """The outline by colours or by edges that the cut of the box confirms, or the first sure one that fills the box."""

    def stands(one: Silhouette) -> bool:
        return is_sure(one) and fills(one, box) and top_stands(one, photo)

    boxed = by_box(photo, box)
    tried: list[Silhouette] = []
    for way in (by_colours, by_edges):
        found = spike_cut_off(photo, _beside_strips(way, photo, box)[0])
        if same(found, boxed) and fills(found, box):
            return with_doubts(photo, sure_of_both(found))
        if stands(found):
            return found
        if not tried and stands(boxed):
            return boxed
        tried.append(found)
    fill = [one for one in (*tried, boxed) if fills(one, box)]
    best = max(fill or tried, key=trust)
    return with_doubts(photo, best) if fill or not best.found else doubted(best)


def _sought_anywhere(photo: Photograph, anywhere: BoolArray) -> Silhouette:
    """What colours lead to, unless the woven body or focus call it in question and another way of looking is surer."""
    found, inside = _beside_strips(by_colours, photo, anywhere)
    found = spike_cut_off(photo, found)
    body = woven_body(photo.pixels, anywhere)
    if body is None or not in_question(found, body, photo):
        return with_doubts(photo, _searched_on(photo, inside, found))
    cut = by_cut(photo, anywhere, body)
    if agree(found, cut):
        return with_doubts(photo, sure_of_both(found))
    sharp = _in_focus(found, cut, photo)
    if sharp is not None:
        return sharp
    cuts = Cuts(anywhere, body, cut, by_detail(photo, anywhere, body))
    if agree(found, cuts.detail):
        return with_doubts(photo, sure_of_both(found))
    first, found = found, _searched_on(photo, inside, found, cuts)
    return with_doubts(photo, chosen(photo, found, first, cuts))


def _searched_on(photo: Photograph, inside: BoolArray, found: Silhouette, cuts: Cuts | None = None) -> Silhouette:
    """What is found by edges where colours give no sure outline, before a thing behind, and about other axes."""
    if found.confidence < SURE_ENOUGH:
        other, _ = _beside_strips(by_edges, photo, inside)
        found = _by_edges_or_not(found, spike_cut_off(photo, other))
    if cuts is not None and found.confidence < LOW_CONFIDENCE and cuts.detail_stands(photo):
        return found  # it will give way
    found = _before_a_thing(photo, inside, found)
    if found.found and found.confidence < LOW_CONFIDENCE and not (cuts is not None and cuts.confirm(found)):
        found = about_other_axes(photo, inside, found)
    return found


def _in_focus(found: Silhouette, cut: Silhouette, photo: Photograph) -> Silhouette | None:
    """Where an outline's top is out of focus: the one along edges in focus, if it is sure and holds the cut."""
    if not (found.found and is_sure(cut) and top_stands(cut, photo)):
        return None
    behind = out_of_focus(found.polygon_px, photo.pixels)
    if behind is None:
        return None
    sharp = by_focus(photo, found, behind)
    return sharp if is_sure(sharp) and holds(sharp, cut) and top_stands(sharp, photo) else None


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
        thing = _behind(before, photo) if before.found else None
        if thing is None:
            break
        inside = inside & ~thing
        before = by_colours(photo, inside)
    if before is found or not before.found or _more_doubted(before, found, photo):
        return found
    of_the_same = holds(found, before) and before.mask.sum() > MOST * found.mask.sum()
    return before if of_the_same and before.confidence > found.confidence - CLEARLY else found


def _behind(found: Silhouette, photo: Photograph) -> BoolArray | None:
    """What within an outline is no part of the piece but stands behind its lip."""
    thing = thing_behind(found.polygon_px, photo.pixels)
    if thing is not None:
        return thing
    end = standing_aside(found.polygon_px)
    if end is None:
        return None
    aside = _grown(found.mask, STRIP_MARGIN_PX)
    aside[round(end) :] = False
    return aside


def _grown(mask: BoolArray, by_px: int) -> BoolArray:
    return cv2.dilate(mask.astype(np.uint8), np.ones((2 * by_px + 1,) * 2, np.uint8)).astype(bool)


def _more_doubted(one: Silhouette, other: Silhouette, photo: Photograph) -> bool:
    """Whether more of an outline's height is in doubt than of another's, or as much."""
    doubts = [doubted_top(each.polygon_px, photo.pixels) for each in (one, other)]
    return doubts[0] is not None and (doubts[1] is None or doubts[0].open_by >= doubts[1].open_by)


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
    without = inside & ~_grown(found.mask, STRIP_MARGIN_PX)
    other = find(photo, without)
    better = other.found and not is_strip(other.polygon_px) and other.mask.sum() > found.mask.sum()
    return (other, without) if better else (found, inside)


def _inside(photo: Photograph, box: Sequence[float] | None) -> BoolArray:
    inside = np.zeros((photo.height_px, photo.width_px), dtype=bool)
    if box is None:
        inside[:] = True
        return inside
    x0, y0, x1, y1 = box
    if not (np.all(np.isfinite(box)) and x1 - x0 >= LEAST_BOX_PX and y1 - y0 >= LEAST_BOX_PX):
        expected = f"x0, y0, x1, y1 in pixels, at least {LEAST_BOX_PX} wide and high"
        raise InputError("outline", "box", box, expected)
    inside[max(0, round(y0)) : max(0, round(y1) + 1), max(0, round(x0)) : max(0, round(x1) + 1)] = True
    if min(int(inside.any(axis=axis).sum()) for axis in (0, 1)) < LEAST_BOX_PX:
        expected = f"a box with {LEAST_BOX_PX} × {LEAST_BOX_PX} pixels and more in {photo.width_px} × {photo.height_px}"
        raise InputError("outline", "box", box, expected)
    return inside
