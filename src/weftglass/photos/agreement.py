"""Which of several outlines of one piece stands: one that another way of looking confirms, then the likelier shape."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from weftglass.photos.decode import Photograph
from weftglass.photos.focus import out_of_focus
from weftglass.photos.odd_shape import is_neckless, overhang
from weftglass.photos.patches import overlap, resized
from weftglass.photos.searches import brought_closer
from weftglass.photos.silhouette import DOUBTFUL, LOW_CONFIDENCE, ODD_SHAPE, SURE_ENOUGH, Silhouette, redrawn, trust
from weftglass.photos.spike import without_spike
from weftglass.photos.top_edge import doubted_top
from weftglass.photos.woven import core_of

BoolArray = NDArray[np.bool_]

MOSTLY, MOST = 0.95, 0.5
"""So much of an outline lies within another one that holds it; by so much of that it is still most of it."""

HELD, HALF_HELD = 0.8, 0.5
"""An outline that holds less of the woven body than the first is in question, less than the second is doubtful."""

ABOVE = 0.05
"""By how much of its height a cut reaches above the woven body, or another outline, that has lost glass there."""

AGREEING = 0.95
"""Least overlap of two outlines that confirm each other."""

FILLING, UNEVEN = (0.35, 0.65), (0.25, 0.15)
"""Of its width and its height a piece fills so much of a box drawn round it: a loose one is three times as wide.
What is left free on two sides of the piece differs by no more than the second."""

CLOSE = 0.88
"""Least overlap of an outline by fine detail with itself brought closer to the edges."""

BY_ITSELF = 0.65
"""An outline by fine detail of this confidence is taken though its top may be doubted."""

HANGING, OVERHANG = 0.15, 0.05
"""An outline that hangs over a narrower place of its own by the first, as a share of that, is in question, as 7 of the
starter library's 256 forms do; of two the one that does so by the second more is taken for no vessel's."""


def in_question(found: Silhouette, body: BoolArray, photo: Photograph) -> bool:
    """Whether an outline is not sure, leaves out some of the woven body, hangs over itself, or its top is doubted."""
    if found.confidence < SURE_ENOUGH or _leaves_out(found, body) or overhang(found.polygon_px) > HANGING:
        return True
    return is_neckless(found.polygon_px) or not top_stands(found, photo)


@dataclass(frozen=True, eq=False)
class Cuts:
    """
    The woven body and what was cut out about it.

    Parameters
    ----------
    inside : array, shape (height, width), bool
        Where in the photograph the piece may be.
    body : array, shape (h, w), bool
        The woven body in a reduced picture (see `woven`).
    colour, detail : Silhouette
        Cut out by all colours at once, and by fine detail alone.
    """

    inside: BoolArray
    body: BoolArray
    colour: Silhouette
    detail: Silhouette

    def confirm(self, found: Silhouette) -> bool:
        """Whether either is the same outline."""
        return agree(found, self.colour) or agree(found, self.detail)

    def detail_stands(self, photo: Photograph) -> bool:
        """Whether the one by fine detail may stand though nothing confirms it."""
        if not self.detail.found or is_neckless(self.detail.polygon_px):
            return False
        return self.detail.confidence > BY_ITSELF or (is_sure(self.detail) and top_stands(self.detail, photo))


def chosen(photo: Photograph, found: Silhouette, by_colours: Silhouette, cuts: Cuts) -> Silhouette:
    """
    The outline that another way of looking confirms; where none does, the one that most speaks for.

    Parameters
    ----------
    photo : Photograph
    found : Silhouette
        What symmetry led to: by colours, by edges, before a thing behind, about another axis.
    by_colours : Silhouette
        What colours alone led to. An outline that is another, and that nothing confirms, stands alone.
    cuts : Cuts

    Returns
    -------
    Silhouette
    """
    cut, detail = cuts.colour, cuts.detail
    if cuts.confirm(found):
        return sure_of_both(found)
    if agree(cut, detail):
        return sure_of_both(cut)
    alone = overlap(found.mask, by_colours.mask) < AGREEING
    whole = not (_is_part(detail, found) or any(_rises_above(one, detail, photo) for one in (found, cut)))
    if whole and cuts.detail_stands(photo) and (alone or _gives_way(found, detail, cuts.body, photo)):
        return _closer(cuts, found, photo)
    return found if _is_part(cut, found) else _found_or_cut(found, cut, cuts.body, photo)


def _closer(cuts: Cuts, given_up: Silhouette, photo: Photograph) -> Silhouette:
    """An outline by fine detail, which is a few pixels coarse, at its edges, if those are not what was given up."""
    detail, closer = cuts.detail, brought_closer(photo, cuts.inside, cuts.detail)
    same = overlap(closer.mask, detail.mask) > max(CLOSE, overlap(closer.mask, given_up.mask))
    return closer if same and (top_stands(closer, photo) or not top_stands(detail, photo)) else detail


def _rises_above(found: Silhouette, detail: Silhouette, photo: Photograph) -> bool:
    """Whether a sure outline holds one by fine detail and rises above it: that has lost a neck of smooth glass."""
    if not (is_sure(found) and holds(found, detail)):
        return False
    tops = [float(one.polygon_px[:, 1].min()) for one in (found, detail)]
    higher = tops[1] - tops[0] > ABOVE * float(np.ptp(found.polygon_px[:, 1]))
    return higher and top_stands(found, photo)


def _is_part(cut: Silhouette, found: Silhouette) -> bool:
    """Whether a cut is but a small part of an outline that may be a vessel's: the body was none."""
    return not found.odd and holds(found, cut) and cut.mask.sum() < MOST * found.mask.sum()


def _gives_way(found: Silhouette, detail: Silhouette, body: BoolArray, photo: Photograph) -> bool:
    """Whether an outline that fine detail does not confirm is worse than the one cut out by it."""
    if found.confidence < LOW_CONFIDENCE or _leaves_out(found, body) or not top_stands(found, photo):
        return True
    return overhang(found.polygon_px) > overhang(detail.polygon_px) + OVERHANG


def _found_or_cut(found: Silhouette, cut: Silhouette, body: BoolArray, photo: Photograph) -> Silhouette:
    """The cut, if it is sure and the outline in doubt or elsewhere; an outline without much of the body is doubted."""
    if not is_sure(cut):
        elsewhere = not found.found or _held(found, body) < HALF_HELD
        if (elsewhere or found.confidence < LOW_CONFIDENCE) and trust(cut) > trust(found):
            return doubted(cut)
        return doubted(found) if found.found and elsewhere else found
    if found.found and out_of_focus(found.polygon_px, photo.pixels) is not None:
        return cut if _rises_from(cut, body) else doubted(cut)
    elsewhere = _leaves_out(found, body)
    in_doubt = found.confidence < LOW_CONFIDENCE and not _goes_on_above(found, cut, body)
    return cut if elsewhere or in_doubt else found


def _rises_from(cut: Silhouette, body: BoolArray) -> bool:
    """Whether a cut reaches above the woven body; if not it may have lost clear glass there."""
    covered = float(np.flatnonzero(body.any(axis=1))[0]) / len(body) * len(cut.mask)
    return covered - float(cut.polygon_px[:, 1].min()) > ABOVE * float(np.ptp(cut.polygon_px[:, 1]))


def _leaves_out(found: Silhouette, body: BoolArray) -> bool:
    return not found.found or _held(found, body) < HELD


def _held(found: Silhouette, body: BoolArray) -> float:
    """Which share of what is surely within the piece an outline holds."""
    core = resized(core_of(body), found.mask.shape)
    return float(np.mean(found.mask[core])) if core.any() else 1.0


def _goes_on_above(found: Silhouette, cut: Silhouette, body: BoolArray) -> bool:
    """Whether an outline holds a cut and, mostly above the woven body, more: there a cut may lose clear glass."""
    if found.odd or not holds(found, cut):
        return False
    more = found.mask & ~cut.mask
    top = round(np.flatnonzero(body.any(axis=1))[0] * len(more) / len(body))
    return 2 * int(more[:top].sum()) > int(more.sum())


def fills(found: Silhouette, box: BoolArray) -> bool:
    """Whether a vessel's outline fills a box, (height, width) as the photograph, and is about in its middle."""
    if not found.found or found.odd or is_neckless(found.polygon_px):
        return False
    x, y = (np.flatnonzero(box.any(axis=axis)) for axis in (0, 1))
    low, high = np.array([x[0], y[0]]), np.array([x[-1], y[-1]])
    before = (found.polygon_px.min(axis=0) - low) / (high - low)
    after = (high - found.polygon_px.max(axis=0)) / (high - low)
    return bool(np.all(1.0 - before - after >= FILLING) and np.all(np.abs(before - after) <= UNEVEN))


def holds(found: Silhouette, other: Silhouette) -> bool:
    """Whether an outline holds nearly all of another one."""
    return other.found and float(np.mean(found.mask[other.mask])) > MOSTLY


def is_sure(cut: Silhouette) -> bool:
    return cut.confidence >= SURE_ENOUGH and not cut.odd


def agree(found: Silhouette, cut: Silhouette) -> bool:
    """Whether two outlines that know nothing of each other are the same, the second sure."""
    return is_sure(cut) and same(found, cut)


def same(found: Silhouette, other: Silhouette) -> bool:
    """Whether two outlines, both a vessel's, are the same."""
    if not (found.found and other.found) or found.odd or other.odd:
        return False
    return overlap(found.mask, other.mask) > AGREEING


def sure_of_both(found: Silhouette) -> Silhouette:
    return replace(found, confidence=max(found.confidence, SURE_ENOUGH), warnings=())


def with_doubts(photo: Photograph, found: Silhouette) -> Silhouette:
    """
    The same, doubtful where it is not sure and nothing confirmed it, or where its top may not be the piece's.

    A thing above or behind a lip may have been taken for a part of it, or glass above a covering left out.
    """
    if not found.found:
        return found
    stands = found.confidence >= SURE_ENOUGH and not is_neckless(found.polygon_px) and top_stands(found, photo)
    return found if stands else doubted(found)


def spike_cut_off(photo: Photograph, found: Silhouette) -> Silhouette:
    """The same without a spike above its lip, if its top stands then."""
    if not found.found:
        return found
    polygon = without_spike(found.polygon_px)
    if polygon is found.polygon_px:
        return found
    cut = redrawn(found, polygon)
    return cut if top_stands(cut, photo) else found


def top_stands(found: Silhouette, photo: Photograph) -> bool:
    return doubted_top(found.polygon_px, photo.pixels) is None


def doubted(found: Silhouette) -> Silhouette:
    """The same, called doubtful."""
    return replace(found, confidence=min(found.confidence, ODD_SHAPE), warnings=(DOUBTFUL,))
