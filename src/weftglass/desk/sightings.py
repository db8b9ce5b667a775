"""Sightings: taking down what was seen, and withdrawing it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from weftglass.cabinet import Draft
from weftglass.desk.collection import Collection
from weftglass.desk.outlines import measure_views_anew
from weftglass.desk.wording import signature
from weftglass.errors import InputError
from weftglass.evidence import Sighting
from weftglass.records import SHORT, Piece, SightingRecord, words

FACES = ("front", "side", "back", "base")


def record_sighting(
    collection: Collection,
    piece_id: str,
    feature: str,
    value: str,
    *,
    who: str,
    sure: float = 0.9,
    z: Sequence[float] | None = None,
    face: str | None = None,
    remark: str = "",
) -> SightingRecord:
    """
    Take down something seen.

    Parameters
    ----------
    feature : str
        A feature of `weftglass.evidence.FEATURES`.
    value : str
        What was seen; for letters the reading with ``?`` for one unread letter and ``*`` for any run of them.
    sure : float
        Probability, above 0 and at most 1, that the eye was right.
    z : (low, high) or None
        Height range in mm.
    face : str or None
        front, side, back or base.

    Raises
    ------
    InputError
        Unknown feature, empty value, or a figure out of range.
    """
    sighting = read_sighting(feature, value, sure=sure, z=z, face=face)
    with collection.cabinet.writing(signature(who)) as draft:
        return put_sighting(collection, draft, piece_id, sighting, by=signature(who), remark=remark)


def put_sighting(
    collection: Collection, draft: Draft, piece_id: str, sighting: Sighting, *, by: str, remark: str = ""
) -> SightingRecord:
    """Store a sighting that was read, within a change that stores more."""
    piece = draft.get(Piece, piece_id)
    new = SightingRecord(
        id=draft.numbered_id(SightingRecord, f"{piece.id}.sighting"),
        piece=piece.id,
        feature=sighting.feature,
        value=sighting.value,
        sure=sighting.sure,
        z_mm=sighting.z_mm,
        face=sighting.face,
        by=by,
        remark=words(remark, "sighting", "remark", longest=SHORT),
    )
    return _put(collection, draft, new)


def withdraw_sighting(
    collection: Collection, sighting_id: str, *, who: str, version: int | None = None
) -> SightingRecord:
    """Say that a sighting does not stand; it is kept and can be brought back."""
    return _set_withdrawn(collection, sighting_id, True, who, version)


def restore_sighting(
    collection: Collection, sighting_id: str, *, who: str, version: int | None = None
) -> SightingRecord:
    """Bring a withdrawn sighting back."""
    return _set_withdrawn(collection, sighting_id, False, who, version)


def read_sighting(
    feature: str, value: str, *, sure: float = 0.9, z: Sequence[float] | None = None, face: str | None = None
) -> Sighting:
    """A sighting from what a person typed, not stored; parameters as `record_sighting`."""
    if face is not None and face not in FACES:
        raise InputError("sighting", "face", face, "one of: " + ", ".join(FACES))
    seen = words(value, "sighting", "value", longest=SHORT, needed=True)
    if feature == "letters" and not any(ch.isalnum() for ch in seen):
        raise InputError("sighting", "value", seen, "at least one letter or figure, with ? and * for unread ones")
    record = {"feature": feature, "value": seen, "sure": sure, "face": face, "z": None if z is None else list(z)}
    try:
        return Sighting.from_record(record, "sighting", "")
    except InputError as fault:
        raise InputError("sighting", fault.field.lstrip("."), fault.value, fault.expected) from None


def _set_withdrawn(
    collection: Collection, sighting_id: str, withdrawn: bool, who: str, version: int | None
) -> SightingRecord:
    with collection.cabinet.writing(signature(who)) as draft:
        record = draft.get(SightingRecord, sighting_id)
        read = record.version if version is None else version
        deed = "withdrawn" if withdrawn else "brought back"
        return _put(collection, draft, replace(record, withdrawn=withdrawn, version=read), deed)


def section_settled(collection: Collection, draft: Draft, kept: SightingRecord) -> None:
    """Measure the piece's photographs anew where what changed was a sighting of its section."""
    if kept.feature == "section":
        measure_views_anew(collection, draft, kept.piece)


def _put(collection: Collection, draft: Draft, record: SightingRecord, deed: str = "") -> SightingRecord:
    """Store a sighting; one of the section measures the piece's photographs anew."""
    kept = draft.put(record, deed)
    section_settled(collection, draft, kept)
    return kept
