"""The covering of a piece: counting its rows and stitches on a photograph, and keeping what was counted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from weftglass.desk.collection import Collection
from weftglass.desk.photographs import ViewOnPhoto, pixels_of
from weftglass.desk.wording import signature
from weftglass.errors import InputError
from weftglass.photos import scale_from_bar
from weftglass.records import Photo, Piece, View, WeaveStudy, words
from weftglass.records.wording import LONG
from weftglass.weave import TECHNIQUES, Box, Gauge, HandCount, counted_by_hand, gauge_of

Bar = tuple[float, float, float, float, float]
HAND_KINDS = ("rows", "stitches")


@dataclass(frozen=True)
class CoveringViews:
    """A piece, its photographs with close-ups first, and its weave studies that stand, newest first."""

    piece: Piece
    views: tuple[ViewOnPhoto, ...]
    studies: tuple[WeaveStudy, ...]


def covering_of(collection: Collection, piece_id: str) -> CoveringViews:
    """What there is to count on, and what was counted."""
    with collection.cabinet.reading() as reader:
        piece = reader.get(Piece, piece_id)
        seen = [ViewOnPhoto(view, reader.get(Photo, view.photo)) for view in reader.all_of(View, piece=piece_id)]
        studies = reader.all_of(WeaveStudy, piece=piece_id)
    views = sorted(seen, key=lambda one: one.view.role != "close-up")
    return CoveringViews(piece, tuple(views), tuple(sorted(studies, key=lambda one: one.created_at, reverse=True)))


def count_covering(
    collection: Collection,
    piece_id: str,
    view_id: str,
    *,
    bar: Bar,
    technique: str | None = None,
    box: Box | None = None,
) -> Gauge:
    """
    Count rows and stitches on a photograph of a piece; nothing is kept.

    Parameters
    ----------
    bar : tuple (x1, y1, x2, y2, mm)
        The scale at the covering's face: two points in pixels and their distance in mm.
    technique : str, optional
        One of `weftglass.weave.TECHNIQUES`.
    box : tuple (x0, y0, x1, y1), optional
        The part to count, pixels.

    Raises
    ------
    InputError
        Names the field that is wrong.
    """
    seen = _seen(collection, piece_id, view_id)
    scale = scale_from_bar(*bar, in_axis_plane=True, where="covering")
    picture = pixels_of(collection, seen.photo)
    return gauge_of(
        picture.pixels, scale.mm_per_px, technique=technique, box=box, scale_sd=scale.rel_sd, where="covering"
    )


def keep_weave_study(
    collection: Collection,
    piece_id: str,
    view_id: str,
    *,
    who: str,
    on: date,
    bar: Bar,
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
    gauge = count_covering(collection, piece_id, view_id, bar=bar, technique=technique, box=box)
    if gauge.rows_per_cm is None and gauge.stitches_per_cm is None:
        raise InputError("covering", "box", gauge.reason, "a part of the picture that carries a count")
    return _kept(
        collection,
        who,
        WeaveStudy(
            id="", piece=piece_id, view=view_id, on=on.isoformat(), by=signature(who), how="picture",
            technique=gauge.technique or "", rows_per_cm=gauge.rows_per_cm, rows_sd=gauge.rows_sd,
            stitches_per_cm=gauge.stitches_per_cm, stitches_sd=gauge.stitches_sd, lean=gauge.lean or "",
            box_px=() if box is None else tuple(box), bar=bar, remark=words(remark, "covering", "remark", longest=LONG),
        ),
    )  # fmt: skip


def hand_count(taps: Sequence[tuple[float, float]], bar: Bar) -> HandCount:
    """Gauge from taps along a line; see `weftglass.weave.counted_by_hand`."""
    scale = scale_from_bar(*bar, in_axis_plane=True, where="covering")
    return counted_by_hand(np.array(taps), scale.mm_per_px, scale_sd=scale.rel_sd, where="covering")


def keep_hand_count(
    collection: Collection,
    piece_id: str,
    view_id: str,
    *,
    who: str,
    on: date,
    bar: Bar,
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
    _seen(collection, piece_id, view_id)
    count = hand_count(taps, bar)
    rows = what == "rows"
    return _kept(
        collection,
        who,
        WeaveStudy(
            id="", piece=piece_id, view=view_id, on=on.isoformat(), by=signature(who), how="hand", technique=technique,
            rows_per_cm=count.per_cm if rows else None, rows_sd=count.sd if rows else None,
            stitches_per_cm=None if rows else count.per_cm, stitches_sd=None if rows else count.sd,
            bar=bar, taps_px=tuple((float(x), float(y)) for x, y in taps),
            remark=words(remark, "covering", "remark", longest=LONG),
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


def _seen(collection: Collection, piece_id: str, view_id: str) -> ViewOnPhoto:
    with collection.cabinet.reading() as reader:
        view = reader.get(View, view_id)
        if view.piece != piece_id or view.withdrawn:
            raise InputError("covering", "view", view_id, "a photograph of this piece")
        return ViewOnPhoto(view, reader.get(Photo, view.photo))
