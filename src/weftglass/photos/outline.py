"""Finding the outline of the one piece in a photograph, with a box drawn round it or with nothing at all."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.errors import InputError
from weftglass.photos.aside import standing_aside
from weftglass.photos.decode import Photograph
from weftglass.photos.focus import out_of_focus
from weftglass.photos.odd_shape import is_strip, overhang
from weftglass.photos.patches import overlap, resized
from weftglass.photos.searches import (
    about_other_axes,
    brought_closer,
    by_colours,
    by_cut,
    by_detail,
    by_edges,
    by_focus,
)
from weftglass.photos.silhouette import (
    DOUBTFUL,
    LOW_CONFIDENCE,
    ODD_SHAPE,
    SURE_ENOUGH,
    Silhouette,
)
from weftglass.photos.thing_behind import thing_behind
from weftglass.photos.top_edge import doubted_top
from weftglass.photos.woven import core_of, woven_body

BoolArray = NDArray[np.bool_]

CLEARLY = 0.1
"""An outline that is not in doubt gives way only to one by edges that is surer by so much."""

MOST_THINGS = 3
"""How many things behind a lip, each seen above the other, are taken away."""

MOSTLY, SAME = 0.95, 0.5
"""An outline lies within another one, and is still most of it."""

STRIP_MARGIN_PX = 6

HELD, HALF_HELD = 0.8, 0.5
"""An outline that holds less of the woven body than the first is in question, less than the second is doubtful."""

ABOVE = 0.05
"""By how much of its height a cut reaches above the woven body, or another outline, that has lost glass there."""

AGREEING = 0.95
"""Least overlap of two outlines that confirm each other."""

CLOSE = 0.88
"""Least overlap of an outline by fine detail with itself brought closer to the edges."""

BY_ITSELF = 0.65
"""An outline by fine detail of this confidence is taken though its top may be doubted."""

HANGING, OVERHANG = 0.15, 0.05
"""An outline that hangs over a narrower place of its own by the first, as a share of that, is in question, as 7 of the
starter library's 256 forms do; of two the one that does so by the second more is taken for no vessel's."""


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
    """
    anywhere = _inside(photo, box)
    found, inside = _beside_strips(by_colours, photo, anywhere)
    body = woven_body(photo.pixels, anywhere)
    if body is None or not _in_question(found, body, photo):
        return _with_its_top_doubted(photo, _searched_on(photo, inside, found))
    cut = by_cut(photo, anywhere, body)
    if _agree(found, cut):
        return _with_its_top_doubted(photo, _sure_of_both(found))
    sharp = _in_focus(found, cut, photo)
    if sharp is not None:
        return sharp
    cuts = _Cuts(body, cut, by_detail(photo, anywhere, body))
    if _agree(found, cuts.detail):
        return _with_its_top_doubted(photo, _sure_of_both(found))
    first, found = found, _searched_on(photo, inside, found, cuts)
    alone = overlap(found.mask, first.mask) < AGREEING
    return _with_its_top_doubted(photo, _chosen(photo, found, alone, cuts))


@dataclass(frozen=True, eq=False)
class _Cuts:
    """The woven body and what was cut out about it: by all colours at once, and by fine detail alone."""

    body: BoolArray
    colour: Silhouette
    detail: Silhouette

    def confirm(self, found: Silhouette) -> bool:
        """Whether either is the same outline."""
        return _agree(found, self.colour) or _agree(found, self.detail)

    def detail_stands(self, photo: Photograph) -> bool:
        """Whether the one by fine detail may stand though nothing confirms it."""
        return self.detail.confidence > BY_ITSELF or (_is_sure(self.detail) and _top_stands(self.detail, photo))


def _chosen(photo: Photograph, found: Silhouette, alone: bool, cuts: _Cuts) -> Silhouette:
    """
    The outline that another way of looking confirms; where none does, the one that most speaks for.

    An outline stands alone that colours did not find, nor anything else.
    """
    cut, detail = cuts.colour, cuts.detail
    if cuts.confirm(found):
        return _sure_of_both(found)
    if _agree(cut, detail):
        return _sure_of_both(cut)
    whole = not (_is_part(detail, found) or any(_rises_above(one, detail, photo) for one in (found, cut)))
    if whole and cuts.detail_stands(photo) and (alone or _gives_way(found, detail, cuts.body, photo)):
        return _closer(detail, found, photo)
    return found if _is_part(cut, found) else _found_or_cut(found, cut, cuts.body, photo)


def _closer(detail: Silhouette, given_up: Silhouette, photo: Photograph) -> Silhouette:
    """An outline by fine detail, which is a few pixels coarse, at its edges, if those are not what was given up."""
    closer = brought_closer(photo, np.ones(detail.mask.shape, dtype=bool), detail)
    same = overlap(closer.mask, detail.mask) > max(CLOSE, overlap(closer.mask, given_up.mask))
    return closer if same and (_top_stands(closer, photo) or not _top_stands(detail, photo)) else detail


def _rises_above(found: Silhouette, detail: Silhouette, photo: Photograph) -> bool:
    """Whether a sure outline holds one by fine detail and rises above it: that has lost a neck of smooth glass."""
    if not (_is_sure(found) and detail.found and float(np.mean(found.mask[detail.mask])) > MOSTLY):
        return False
    tops = [float(one.polygon_px[:, 1].min()) for one in (found, detail)]
    higher = tops[1] - tops[0] > ABOVE * float(np.ptp(found.polygon_px[:, 1]))
    return higher and _top_stands(found, photo)


def _is_part(cut: Silhouette, found: Silhouette) -> bool:
    """Whether a cut is but a small part of an outline that may be a vessel's: the body was none."""
    if not cut.found or not found.found or found.odd:
        return False
    return float(np.mean(found.mask[cut.mask])) > MOSTLY and cut.mask.sum() < SAME * found.mask.sum()


def _searched_on(photo: Photograph, inside: BoolArray, found: Silhouette, cuts: _Cuts | None = None) -> Silhouette:
    """What is found by edges where colours give no sure outline, before a thing behind, and about other axes."""
    if found.confidence < SURE_ENOUGH:
        other, _ = _beside_strips(by_edges, photo, inside)
        found = _by_edges_or_not(found, other)
    if cuts is not None and found.confidence < LOW_CONFIDENCE and cuts.detail_stands(photo):
        return found  # it will give way
    found = _before_a_thing(photo, inside, found)
    if found.found and found.confidence < LOW_CONFIDENCE and not (cuts is not None and cuts.confirm(found)):
        found = about_other_axes(photo, inside, found)
    return found


def _gives_way(found: Silhouette, detail: Silhouette, body: BoolArray, photo: Photograph) -> bool:
    """Whether an outline that fine detail does not confirm is worse than the one cut out by it."""
    if found.confidence < LOW_CONFIDENCE or _leaves_out(found, body) or not _top_stands(found, photo):
        return True
    return overhang(found.polygon_px) > overhang(detail.polygon_px) + OVERHANG


def _found_or_cut(found: Silhouette, cut: Silhouette, body: BoolArray, photo: Photograph) -> Silhouette:
    """The cut, if it is sure and the outline in doubt or elsewhere; an outline without much of the body is doubted."""
    if not _is_sure(cut):
        return _doubted(found) if found.found and _held(found, body) < HALF_HELD else found
    if found.found and out_of_focus(found.polygon_px, photo.pixels) is not None:
        return cut if _rises_from(cut, body) else _doubted(cut)
    elsewhere = _leaves_out(found, body)
    in_doubt = found.confidence < LOW_CONFIDENCE and not _goes_on_above(found, cut, body)
    return cut if elsewhere or in_doubt else found


def _in_focus(found: Silhouette, cut: Silhouette, photo: Photograph) -> Silhouette | None:
    """Where an outline's top is out of focus: the one along edges in focus, if it is sure and holds the cut."""
    if not (found.found and _is_sure(cut) and _top_stands(cut, photo)):
        return None
    behind = out_of_focus(found.polygon_px, photo.pixels)
    if behind is None:
        return None
    sharp = by_focus(photo, found, behind)
    holds = _is_sure(sharp) and float(np.mean(sharp.mask[cut.mask])) > MOSTLY
    return sharp if holds and _top_stands(sharp, photo) else None


def _rises_from(cut: Silhouette, body: BoolArray) -> bool:
    """Whether a cut reaches above the woven body; if not it may have lost clear glass there."""
    covered = float(np.flatnonzero(body.any(axis=1))[0]) / len(body) * len(cut.mask)
    return covered - float(cut.polygon_px[:, 1].min()) > ABOVE * float(np.ptp(cut.polygon_px[:, 1]))


def _in_question(found: Silhouette, body: BoolArray, photo: Photograph) -> bool:
    """Whether an outline is not sure, leaves out some of the woven body, hangs over itself, or its top is doubted."""
    if found.confidence < SURE_ENOUGH or _leaves_out(found, body) or overhang(found.polygon_px) > HANGING:
        return True
    return not _top_stands(found, photo)


def _leaves_out(found: Silhouette, body: BoolArray) -> bool:
    return not found.found or _held(found, body) < HELD


def _held(found: Silhouette, body: BoolArray) -> float:
    """Which share of what is surely within the piece an outline holds."""
    core = resized(core_of(body), found.mask.shape)
    return float(np.mean(found.mask[core])) if core.any() else 1.0


def _is_sure(cut: Silhouette) -> bool:
    return cut.confidence >= SURE_ENOUGH and not cut.odd


def _agree(found: Silhouette, cut: Silhouette) -> bool:
    """Whether two outlines that know nothing of each other are the same."""
    if not found.found or found.odd or not _is_sure(cut):
        return False
    return overlap(found.mask, cut.mask) > AGREEING


def _goes_on_above(found: Silhouette, cut: Silhouette, body: BoolArray) -> bool:
    """Whether an outline holds a cut and, mostly above the woven body, more: there a cut may lose clear glass."""
    if found.odd or not found.found or not cut.found or float(np.mean(found.mask[cut.mask])) < MOSTLY:
        return False
    more = found.mask & ~cut.mask
    top = round(np.flatnonzero(body.any(axis=1))[0] * len(more) / len(body))
    return 2 * int(more[:top].sum()) > int(more.sum())


def _sure_of_both(found: Silhouette) -> Silhouette:
    return replace(found, confidence=max(found.confidence, SURE_ENOUGH), warnings=())


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
    of_the_same = float(np.mean(found.mask[before.mask])) > MOSTLY and before.mask.sum() > SAME * found.mask.sum()
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


def _with_its_top_doubted(photo: Photograph, found: Silhouette) -> Silhouette:
    """The same, doubtful where a thing above or behind the lip seems to have been taken for a part of it."""
    return found if not found.found or _top_stands(found, photo) else _doubted(found)


def _top_stands(found: Silhouette, photo: Photograph) -> bool:
    return doubted_top(found.polygon_px, photo.pixels) is None


def _doubted(found: Silhouette) -> Silhouette:
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
    if not (np.all(np.isfinite(box)) and x1 - x0 >= 16 and y1 - y0 >= 16):
        raise InputError("outline", "box", box, "x0, y0, x1, y1 in pixels, at least 16 wide and high")
    inside[max(0, round(y0)) : max(0, round(y1) + 1), max(0, round(x0)) : max(0, round(x1) + 1)] = True
    if inside.sum() < 256:
        raise InputError("outline", "box", box, f"a box within {photo.width_px} × {photo.height_px} pixels")
    return inside
