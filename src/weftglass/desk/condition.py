"""The condition of a piece: examinations with their spots on the drawn piece, and what changed between two of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from weftglass.cabinet import Reader
from weftglass.desk.collection import Collection
from weftglass.desk.forms import library_of
from weftglass.desk.photographs import views_of
from weftglass.desk.wording import signature
from weftglass.errors import InputError
from weftglass.records import Examination, Finding, MeasurementRecord, Piece, Spot, View, evidence_view, words
from weftglass.records.offer import day_of
from weftglass.records.wording import LONG, SHORT
from weftglass.vessels import FormLibrary

SAME_SIZE_MM = 2.0
SAME_SIZE_SHARE = 0.15
"""Sizes nearer than the larger of these are not told apart: a ruler over weaving reads no finer (no source)."""

SAME_PLACE = 0.08
"""Places nearer than this share of height or half-width count as the same (no source)."""

PLAIN_JAR = ((0.0, 0.30), (0.06, 0.33), (0.62, 0.33), (0.78, 0.16), (0.97, 0.11), (1.0, 0.12))
"""Drawn where nothing is known of the shape: heights and half-widths as shares of the height."""


@dataclass(frozen=True, eq=False)
class Silhouette:
    """
    What spots are marked on.

    Parameters
    ----------
    front, side : tuple of (up, half-width)
        Both as shares of the height, upward from the standing plane; the side is the front where it is not known.
    height_mm : float or None
        None where no height is known: places are then shares only.
    drawn_from : str
        In words.
    """

    front: tuple[tuple[float, float], ...]
    side: tuple[tuple[float, float], ...]
    height_mm: float | None
    drawn_from: str


@dataclass(frozen=True)
class SpotChange:
    """
    One spot held beside the examination before.

    Parameters
    ----------
    spot : Spot
        As it is now; as it was where it is no longer seen.
    before : Spot or None
        As it was; None where it is new.
    what : str
        ``new``, ``same``, ``grown``, ``smaller``, ``moved``, ``gone`` or ``not looked at``.
    """

    spot: Spot
    before: Spot | None
    what: str


@dataclass(frozen=True, eq=False)
class Condition:
    """
    Everything known of a piece's condition.

    Parameters
    ----------
    piece : Piece
    examinations : tuple of Examination
        Those that stand, by day, the oldest first.
    silhouette : Silhouette
    """

    piece: Piece
    examinations: tuple[Examination, ...]
    silhouette: Silhouette


def condition_of(collection: Collection, piece_id: str) -> Condition:
    """Examinations of a piece and the silhouette its spots are marked on."""
    library = library_of(collection)
    with collection.cabinet.reading() as reader:
        piece = reader.get(Piece, piece_id)
        examinations = tuple(_by_day(reader, piece_id))
        return Condition(piece, examinations, _silhouette(reader, piece_id, library))


def begin_examination(
    collection: Collection, piece_id: str, *, who: str, on: str, state: str, remark: str = "", today: date | None = None
) -> Examination:
    """
    Begin an examination; the spots of the one before are taken over as not yet looked at.

    Parameters
    ----------
    on : str
        The day, ``YYYY-MM-DD``.
    state : str
        One of `weftglass.records.STATES`.
    today : date or None
        Refuses a later day; None: any day.

    Raises
    ------
    InputError
        Names the field that is wrong.
    """
    by = signature(who)
    if today is not None and day_of(on, "examination", "on") > today:
        raise InputError("examination", "on", on, f"a day not after today, {today.isoformat()}")
    with collection.cabinet.writing(by) as draft:
        piece = draft.get(Piece, piece_id)
        earlier = [one for one in _by_day(draft, piece_id) if one.on <= on]
        spots = tuple(replace(spot, looked_at=False) for spot in earlier[-1].spots) if earlier else ()
        new = Examination(
            id=draft.numbered_id(Examination, f"{piece.id}.examination"), piece=piece.id, on=on, by=by, state=state,
            remark=words(remark, "examination", "remark", longest=LONG), spots=spots,
        )  # fmt: skip
        new.check_fields("examination")
        return draft.put(new)


def edit_examination(
    collection: Collection, examination_id: str, *, who: str, state: str, remark: str, version: int | None = None
) -> Examination:
    """Change what an examination says of the piece as a whole."""
    note = words(remark, "examination", "remark", longest=LONG)
    return _changed(collection, examination_id, who, version, lambda one: replace(one, state=state, remark=note))


def mark_spot(
    collection: Collection,
    examination_id: str,
    *,
    who: str,
    kind: str,
    face: str,
    up: float,
    across: float,
    size_mm: float,
    remark: str = "",
    version: int | None = None,
) -> Examination:
    """Mark a spot that was not there before; it gets a number that no spot of the piece ever had."""
    note = words(remark, "examination", "remark", longest=SHORT)
    with collection.cabinet.writing(signature(who)) as draft:
        one = draft.get(Examination, examination_id)
        every = draft.all_of(Examination, piece=one.piece, withdrawn=True)
        number = 1 + max((spot.number for other in every for spot in other.spots), default=0)
        spot = Spot(number, kind, face, round(up, 4), round(across, 4), size_mm, note)
        changed = replace(one, version=one.version if version is None else version, spots=(*one.spots, spot))
        changed.check_fields("examination")
        return draft.put(changed)


def look_at_spot(
    collection: Collection,
    examination_id: str,
    number: int,
    *,
    who: str,
    size_mm: float | None = None,
    remark: str | None = None,
    version: int | None = None,
) -> Examination:
    """Say that a spot taken over was looked at, and what it is like now; None: as before."""

    def look(one: Examination) -> Examination:
        spot = _spot(one, number)
        size = spot.size_mm if size_mm is None else size_mm
        note = spot.remark if remark is None else words(remark, "examination", "remark", longest=SHORT)
        now = replace(spot, size_mm=size, remark=note, looked_at=True)
        return replace(one, spots=tuple(now if other.number == number else other for other in one.spots))

    return _changed(collection, examination_id, who, version, look)


def drop_spot(
    collection: Collection, examination_id: str, number: int, *, who: str, version: int | None = None
) -> Examination:
    """Say that a spot is not seen any more (cleaned, repaired, or marked by mistake)."""

    def drop(one: Examination) -> Examination:
        gone = _spot(one, number)
        return replace(one, spots=tuple(spot for spot in one.spots if spot is not gone))

    return _changed(collection, examination_id, who, version, drop)


def withdraw_examination(
    collection: Collection, examination_id: str, *, who: str, version: int | None = None
) -> Examination:
    """Say that an examination does not stand; the history can bring it back."""
    return _changed(
        collection, examination_id, who, version, lambda one: replace(one, withdrawn=True), deed="withdrawn"
    )


def changes_between(before: Examination | None, after: Examination) -> tuple[SpotChange, ...]:
    """
    Each spot of two examinations held side by side, by number; those no longer seen come last.

    Examples
    --------
    >>> small, large = Spot(1, "stain", "front", 0.5, 0.0, 10.0), Spot(1, "stain", "front", 0.5, 0.0, 14.0)
    >>> first = Examination(id="a", piece="p", on="2024-05-01", by="Ada", state="sound", spots=(small,))
    >>> [change.what for change in changes_between(first, replace(first, id="b", spots=(large,)))]
    ['grown']
    """
    then = {} if before is None else {spot.number: spot for spot in before.spots}
    now = [SpotChange(spot, then.get(spot.number), _what(then.get(spot.number), spot)) for spot in after.spots]
    seen = {spot.number for spot in after.spots}
    gone = [SpotChange(spot, spot, "gone") for number, spot in sorted(then.items()) if number not in seen]
    return (*sorted(now, key=lambda change: change.spot.number), *gone)


def _what(before: Spot | None, spot: Spot) -> str:
    if before is None:
        return "new"
    if not spot.looked_at:
        return "not looked at"
    if spot.face != before.face or max(abs(spot.up - before.up), abs(spot.across - before.across)) > SAME_PLACE:
        return "moved"
    if abs(spot.size_mm - before.size_mm) <= max(SAME_SIZE_MM, SAME_SIZE_SHARE * before.size_mm):
        return "same"
    return "grown" if spot.size_mm > before.size_mm else "smaller"


def _spot(one: Examination, number: int) -> Spot:
    spot = next((spot for spot in one.spots if spot.number == number), None)
    if spot is None:
        raise InputError("examination", "number", number, "the number of a spot of this examination")
    return spot


def _changed(
    collection: Collection,
    examination_id: str,
    who: str,
    version: int | None,
    change: Callable[[Examination], Examination],
    deed: str = "",
) -> Examination:
    with collection.cabinet.writing(signature(who)) as draft:
        one = draft.get(Examination, examination_id)
        changed = change(replace(one, version=one.version if version is None else version))
        changed.check_fields("examination")
        return draft.put(changed, deed)


def _by_day(reader: Reader, piece_id: str) -> list[Examination]:
    return sorted(reader.all_of(Examination, piece=piece_id), key=lambda one: (one.on, one.created_at))


def _silhouette(reader: Reader, piece_id: str, library: FormLibrary) -> Silhouette:
    """From the measured outlines, else from the form the vessel was found to be, else a plain jar."""
    views = [one.view for one in views_of(reader, piece_id)]
    front, side = _measured(views, "front"), _measured(views, "side")
    if front is not None and front.measured is not None:
        drawn = f"the outline on the {front.role} photograph"
        other = side.measured.points if side is not None and side.measured is not None else front.measured.points
        return Silhouette(_shares(front.measured.points), _shares(other), front.measured.height_mm, drawn)
    height = next((m.value for m in reader.all_of(MeasurementRecord, piece=piece_id) if m.what == "height"), None)
    findings = reader.all_of(Finding, piece=piece_id)
    named = [f.form for f in findings if f.superseded_by is None and f.subject == Finding.subject and f.form]
    if named and named[0] in library:
        form = library[named[0]]
        points = _shares(form.profile.points.tolist())
        other = points if form.side_profile is None else _shares(form.side_profile.points.tolist())
        return Silhouette(points, other, height or form.profile.height_mm, f"the form {form.title}, without its cover")
    return Silhouette(PLAIN_JAR, PLAIN_JAR, height, "no outline yet: a plain jar, only to say where")


def _measured(views: Sequence[View], kind: str) -> View | None:
    whole = [view for view in views if view.measured and not (view.base_unseen or view.top_unseen)]
    return next((view for view in whole if evidence_view(view.role) == kind), None)


def _shares(points: Sequence[Sequence[float]]) -> tuple[tuple[float, float], ...]:
    rows = np.asarray(points, dtype=float)
    rows = rows / rows[-1, 0]
    keep = np.unique(np.linspace(0, len(rows) - 1, min(len(rows), 120)).round().astype(int))
    return tuple((round(float(up), 4), round(float(half), 4)) for up, half in rows[keep])
