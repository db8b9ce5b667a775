"""The covering of a piece: counting its rows and stitches on a photograph, and keeping what was counted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from weftglass.desk.collection import Collection
from weftglass.desk.face_scale import (
    FaceScale,
    OwnProfile,
    box_on_covering,
    own_profile,
    profile_of_view,
    scale_by_bar,
    scale_by_edges,
    scale_by_outline,
)
from weftglass.desk.photographs import ViewOnPhoto, pixels_of
from weftglass.desk.wording import signature
from weftglass.errors import InputError
from weftglass.records import Photo, Piece, View, WeaveStudy, words
from weftglass.records.wording import LONG
from weftglass.weave import TECHNIQUES, Box, Gauge, counted_by_hand, gauge_of

HAND_KINDS = ("rows", "stitches")


@dataclass(frozen=True)
class ScaleAsked:
    """
    What a person said of the scale of a close-up; with nothing said, the photograph's own outline has to give it.

    Parameters
    ----------
    ends : (x1, y1, x2, y2) or None
        Two points in pixels: of a ruler where `mm` is told, else the piece's edges at the height.
    mm : float or None
        What lies between them.
    height_mm : float or None
        Of the middle of what is counted, above the standing plane: the profile tells how wide and round it is there.
    """

    ends: tuple[float, float, float, float] | None = None
    mm: float | None = None
    height_mm: float | None = None


@dataclass(frozen=True)
class CoveringViews:
    """
    A piece, its photographs with close-ups first, its weave studies that stand, newest first, and its profile.

    The profile is None where no outline of it was measured.
    """

    piece: Piece
    views: tuple[ViewOnPhoto, ...]
    studies: tuple[WeaveStudy, ...]
    profile: OwnProfile | None


def covering_of(collection: Collection, piece_id: str) -> CoveringViews:
    """What there is to count on, and what was counted."""
    with collection.cabinet.reading() as reader:
        piece = reader.get(Piece, piece_id)
        seen = [ViewOnPhoto(view, reader.get(Photo, view.photo)) for view in reader.all_of(View, piece=piece_id)]
        studies = reader.all_of(WeaveStudy, piece=piece_id)
    views = sorted(seen, key=lambda one: one.view.role != "close-up")
    newest = tuple(sorted(studies, key=lambda one: one.created_at, reverse=True))
    return CoveringViews(piece, tuple(views), newest, own_profile(collection, piece_id))


def stitches_counted(collection: Collection, piece_id: str) -> WeaveStudy | None:
    """The newest weave study of a piece that counted stitches; None where none did."""
    with collection.cabinet.reading() as reader:
        found = [one for one in reader.all_of(WeaveStudy, piece=piece_id) if one.stitches_per_cm is not None]
    return max(found, key=lambda one: one.created_at, default=None)


def count_covering(
    collection: Collection,
    piece_id: str,
    view_id: str,
    *,
    scale: ScaleAsked,
    technique: str | None = None,
    box: Box | None = None,
) -> Gauge:
    """
    Count rows and stitches on a photograph of a piece; nothing is kept.

    Parameters
    ----------
    scale : ScaleAsked
        A bar, or the piece's own profile.
    technique : str, optional
        One of `weftglass.weave.TECHNIQUES`.
    box : tuple (x0, y0, x1, y1), optional
        The part to count, pixels.

    Raises
    ------
    InputError
        Names the field that is wrong.
    """
    return _counted(collection, _seen(collection, piece_id, view_id), scale, technique, box)[0]


def keep_weave_study(
    collection: Collection,
    piece_id: str,
    view_id: str,
    *,
    who: str,
    on: date,
    scale: ScaleAsked,
    technique: str | None = None,
    box: Box | None = None,
    remark: str = "",
) -> WeaveStudy:
    """
    Count once more and keep it as a weave study.

    Raises
    ------
    InputError
        As `count_covering`, or the picture carries no count.
    """
    gauge, face = _counted(collection, _seen(collection, piece_id, view_id), scale, technique, box)
    if gauge.rows_per_cm is None and gauge.stitches_per_cm is None:
        raise InputError("covering", "box", gauge.reason, "a part of the picture that carries a count")
    return _kept(
        collection,
        who,
        WeaveStudy(
            id="", piece=piece_id, view=view_id, on=on.isoformat(), by=signature(who), how="picture",
            technique=gauge.technique or "", rows_per_cm=gauge.rows_per_cm, rows_sd=gauge.rows_sd,
            stitches_per_cm=gauge.stitches_per_cm, stitches_sd=gauge.stitches_sd, lean=gauge.lean or "",
            box_px=() if box is None else tuple(box), bar=face.bar, remark=_remark(remark, face),
        ),
    )  # fmt: skip


def keep_hand_count(
    collection: Collection,
    piece_id: str,
    view_id: str,
    *,
    who: str,
    on: date,
    scale: ScaleAsked,
    what: str,
    taps: Sequence[tuple[float, float]],
    technique: str = "",
    remark: str = "",
) -> WeaveStudy:
    """
    Keep a count by hand.

    Parameters
    ----------
    what : str
        ``rows`` or ``stitches``.
    taps : sequence of (x, y)
        One tap on each, in order along a line, pixels.
    """
    if what not in HAND_KINDS:
        raise InputError("covering", "what", what, "rows or stitches")
    if technique and technique not in TECHNIQUES:
        raise InputError("covering", "technique", technique, "one of " + ", ".join(TECHNIQUES))
    face = _face(collection, _seen(collection, piece_id, view_id), scale, None)
    count = counted_by_hand(np.array(taps), face.mm_per_px, scale_sd=face.rel_sd, where="covering")
    rows = what == "rows"
    return _kept(
        collection,
        who,
        WeaveStudy(
            id="", piece=piece_id, view=view_id, on=on.isoformat(), by=signature(who), how="hand", technique=technique,
            rows_per_cm=count.per_cm if rows else None, rows_sd=count.sd if rows else None,
            stitches_per_cm=None if rows else count.per_cm, stitches_sd=None if rows else count.sd,
            bar=face.bar, taps_px=tuple((float(x), float(y)) for x, y in taps), remark=_remark(remark, face),
        ),
    )  # fmt: skip


def withdraw_weave_study(collection: Collection, piece_id: str, study_id: str, *, who: str) -> WeaveStudy:
    """Say that a count does not stand; the history can bring it back."""
    with collection.cabinet.writing(signature(who)) as draft:
        study = draft.get(WeaveStudy, study_id)
        if study.piece != piece_id:
            raise InputError("covering", "study", study_id, "a weave study of this piece")
        return draft.put(replace(study, withdrawn=True), deed="withdrawn")


def _kept(collection: Collection, who: str, study: WeaveStudy) -> WeaveStudy:
    with collection.cabinet.writing(signature(who)) as draft:
        piece = draft.get(Piece, study.piece)
        numbered = replace(study, id=draft.numbered_id(WeaveStudy, f"{piece.id}.weave"))
        numbered.check_fields("covering")
        return draft.put(numbered)


def _counted(
    collection: Collection, seen: ViewOnPhoto, scale: ScaleAsked, technique: str | None, box: Box | None
) -> tuple[Gauge, FaceScale]:
    told: tuple[str, ...] = ()
    if box is None and seen.view.measured is not None:
        box = box_on_covering(seen.view)
        told = (f"No box was drawn: counted on the covering within {', '.join(f'{v:.0f}' for v in box)} pixels.",)
    face = _face(collection, seen, scale, box)
    picture = pixels_of(collection, seen.photo)
    gauge = gauge_of(
        picture.pixels, face.mm_per_px, technique=technique, box=box, scale_sd=face.rel_sd, known=face.known,
        where="covering",
    )  # fmt: skip
    told += () if face.known is None else (face.words,)
    return replace(gauge, warnings=(*told, *gauge.warnings)), face


def _face(collection: Collection, seen: ViewOnPhoto, scale: ScaleAsked, box: Box | None) -> FaceScale:
    """The scale that was asked for."""
    size = (seen.photo.width_px, seen.photo.height_px)
    if scale.ends is None:
        if seen.view.measured is None or scale.mm is not None:
            expected = "two points x1, y1, x2, y2 in pixels: of a ruler, or the piece's edges where the height is told"
            raise InputError("covering", "bar", None, expected)
        own = profile_of_view(collection, seen.view)
        return scale_by_outline(seen.view, own, box or box_on_covering(seen.view), size, "covering")
    profile = own_profile(collection, seen.view.piece)
    if scale.mm is not None:
        return scale_by_bar((*scale.ends, scale.mm), profile, scale.height_mm)
    if scale.height_mm is None:
        raise InputError("covering", "mm", None, "the mm between the two points, or the height of the edges")
    return scale_by_edges(scale.ends, profile, scale.height_mm, focal_35mm=seen.photo.focal_35mm, size_px=size)


def _remark(remark: str, face: FaceScale) -> str:
    """What was typed, and where the scale came from if not from a plain bar."""
    typed = words(remark, "covering", "remark", longest=LONG)
    told = face.words if face.known is not None else ""
    return " ".join(part for part in (typed, told) if part)


def _seen(collection: Collection, piece_id: str, view_id: str) -> ViewOnPhoto:
    with collection.cabinet.reading() as reader:
        view = reader.get(View, view_id)
        if view.piece != piece_id or view.withdrawn:
            raise InputError("covering", "view", view_id, "a photograph of this piece")
        return ViewOnPhoto(view, reader.get(Photo, view.photo))
