"""Pieces: taking one up, editing, withdrawing, the shelf, and everything known of one."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from weftglass.cabinet import Cover, Draft, LatestAnswer, Reader
from weftglass.cabinet.listing import (
    StandingFinding,
    covering_texts,
    covers,
    last_evidence_changes,
    latest_answers,
    standing_findings,
)
from weftglass.cabinet.search import folded
from weftglass.desk.collection import Collection
from weftglass.desk.photographs import ReadPhoto, ViewOnPhoto, file_photos, read_photos, views_of
from weftglass.desk.unknown import still_unknown
from weftglass.desk.wording import signature, slug
from weftglass.errors import InputError
from weftglass.records import (
    Change,
    Finding,
    MeasurementRecord,
    Piece,
    SightingRecord,
    View,
    check_piece_id,
    checked_fields,
)

SORTS: dict[str, str] = {
    "name": "by name",
    "newest": "newest first",
    "changed": "last changed first",
    "sure": "surest first",
    "open": "most open first",
    "community": "by community",
}
"""Orders of the shelf, each with its words."""


@dataclass(frozen=True)
class BriefAnswer:
    """
    The answer about a piece in one line.

    Parameters
    ----------
    form : str or None
        Id of the most probable form; None: none of the forms listed.
    name : str
        Its name, or "none of the forms listed".
    probability : float
        Of that.
    unlisted : float
        Probability of none of the forms listed.
    accepted : bool
        True when a person accepted it as a finding.
    stale : bool
        True when the evidence of the piece or the owner's own forms changed since it was computed or accepted.
    """

    form: str | None
    name: str
    probability: float
    unlisted: float
    accepted: bool
    stale: bool


@dataclass(frozen=True)
class ShelfRow:
    """
    One piece as the shelf shows it.

    Parameters
    ----------
    piece : Piece
    cover : Cover or None
        The view to show as its picture (its id, photograph and role): the front, else the first.
    views : int
        How many photographs.
    answer : BriefAnswer or None
        The accepted finding, else the latest answer; None where none was asked for yet.
    """

    piece: Piece
    cover: Cover | None
    views: int
    answer: BriefAnswer | None


@dataclass(frozen=True)
class PieceDossier:
    """
    Everything known of one piece.

    Parameters
    ----------
    piece : Piece
    views : tuple of ViewOnPhoto
        Front first, then in the order they were added.
    measurements, sightings : tuple
        Those that stand, oldest first.
    findings : tuple of Finding
        All, oldest first.
    accepted : Finding or None
        What the vessel was last found to be.
    answer : BriefAnswer or None
        As on the shelf.
    unknown : tuple of str
        What is still unknown, in words, what matters most first.
    history : tuple of Change
        Everything done to the piece and what belongs to it, oldest first.
    """

    piece: Piece
    views: tuple[ViewOnPhoto, ...]
    measurements: tuple[MeasurementRecord, ...]
    sightings: tuple[SightingRecord, ...]
    findings: tuple[Finding, ...]
    accepted: Finding | None
    answer: BriefAnswer | None
    unknown: tuple[str, ...]
    history: tuple[Change, ...]

    @property
    def cover(self) -> View | None:
        """The view to show as the piece's picture."""
        return self.views[0].view if self.views else None


def create_piece(
    collection: Collection,
    name: str,
    *,
    who: str,
    photos: Sequence[tuple[str, bytes]] = (),
    piece_id: str | None = None,
    **fields: str,
) -> Piece:
    """
    Take up a piece, with its photographs where there are any: all of it or nothing.

    Parameters
    ----------
    name : str
        What its owner calls it, 1 to 200 characters.
    who : str
        Who does it.
    photos : sequence of (file name, content)
        The first becomes the front view, the others close-ups.
    piece_id : str or None
        Small letters, digits, hyphens and dots, at most 100; made from the name where not given.
    **fields : str
        Any of `weftglass.records.PIECE_FIELDS`.

    Raises
    ------
    InputError
        A field, an id already in use, or a picture that is none; nothing is stored then.
    """
    values = checked_fields({"name": name, **fields}, "piece")
    read = read_photos(photos)
    with collection.cabinet.writing(signature(who)) as draft:
        return file_piece(collection, draft, values, read, piece_id)


def file_piece(
    collection: Collection,
    draft: Draft,
    values: Mapping[str, Any],
    read: Sequence[ReadPhoto],
    piece_id: str | None = None,
) -> Piece:
    """Store a piece of checked fields and its decoded photographs within a transaction."""
    piece = draft.put(Piece(id=_new_id(draft, piece_id, values["name"]), **values))
    for number, photo in enumerate(file_photos(collection, draft, read)):
        role = "front" if number == 0 else "close-up"
        draft.put(View(id=draft.numbered_id(View, f"{piece.id}.view"), piece=piece.id, photo=photo.id, role=role))
    return piece


def get_piece(collection: Collection, piece_id: str) -> Piece:
    """A piece by its id, withdrawn or not; an `InputError` where there is none."""
    with collection.cabinet.reading() as reader:
        return reader.get(Piece, piece_id)


def edit_piece(
    collection: Collection, piece_id: str, fields: Mapping[str, str], *, who: str, version: int | None = None
) -> Piece:
    """
    Change some fields of a piece.

    Parameters
    ----------
    fields : mapping
        Only the fields given are changed; names as in `weftglass.records.PIECE_FIELDS`.
    version : int or None
        The version the person saw; None: whatever is stored now.

    Raises
    ------
    InputError
        Unknown field or wrong value.
    ChangedMeanwhile
        If the piece was changed since that version.
    """
    values = checked_fields(fields, f"piece {piece_id}")
    with collection.cabinet.writing(signature(who)) as draft:
        piece = draft.get(Piece, piece_id)
        return draft.put(replace(piece, version=piece.version if version is None else version, **values))


def withdraw_piece(collection: Collection, piece_id: str, *, who: str, version: int | None = None) -> Piece:
    """Take a piece out of the collection; it is kept with all that belongs to it and can be brought back."""
    return _set_withdrawn(collection, piece_id, True, who, version)


def restore_piece(collection: Collection, piece_id: str, *, who: str, version: int | None = None) -> Piece:
    """Bring a withdrawn piece back."""
    return _set_withdrawn(collection, piece_id, False, who, version)


def list_pieces(
    collection: Collection, query: str = "", *, sort: str = "name", status: str | None = None, withdrawn: bool = False
) -> list[ShelfRow]:
    """
    The shelf.

    Parameters
    ----------
    query : str
        Words, each of which a piece must have (or a word beginning with it); accents and capitals do not matter.
        Empty, or without any letter or digit: all pieces.
    sort : str
        One of `SORTS`.
    status : str or None
        ``owned`` or ``offered`` only.
    withdrawn : bool
        True lists the withdrawn pieces, and only them.
    """
    if sort not in SORTS:
        raise InputError("shelf", "sort", sort, "one of: " + ", ".join(SORTS))
    with collection.cabinet.reading() as reader:
        pieces = [piece for piece in reader.all_of(Piece, withdrawn=withdrawn) if piece.withdrawn is withdrawn]
        if re.search(r"[^\W_]", query):
            found = reader.pieces_with(query)
            pieces = [piece for piece in pieces if piece.id in found]
        if status is not None:
            pieces = [piece for piece in pieces if piece.status == status]
        shown, answers = covers(reader.session), brief_answers(reader)
    rows = []
    for piece in pieces:
        cover, count = shown.get(piece.id, (None, 0))
        rows.append(ShelfRow(piece, cover, count, answers.get(piece.id)))
    return _sorted(rows, sort)


def count_pieces(collection: Collection) -> int:
    """How many pieces stand on the shelf."""
    with collection.cabinet.reading() as reader:
        return reader.count(Piece)


def get_piece_dossier(collection: Collection, piece_id: str) -> PieceDossier:
    """Everything known of one piece (withdrawn or not)."""
    with collection.cabinet.reading() as reader:
        piece = reader.get(Piece, piece_id)
        views = views_of(reader, piece_id)
        measurements = reader.all_of(MeasurementRecord, piece=piece_id)
        sightings = reader.all_of(SightingRecord, piece=piece_id)
        findings = reader.all_of(Finding, piece=piece_id, withdrawn=True)
        history = reader.history(piece=piece_id)
        answer = brief_answers(reader).get(piece_id)
    views.sort(key=lambda one: _front_first(one.view))
    accepted = next((f for f in findings if f.superseded_by is None and f.subject == Finding.subject), None)
    unknown = still_unknown(piece, [one.view for one in views], measurements, sightings)
    return PieceDossier(
        piece, tuple(views), tuple(measurements), tuple(sightings), tuple(findings), accepted, answer, unknown,
        tuple(history),
    )  # fmt: skip


def brief_answers(reader: Reader) -> dict[str, BriefAnswer]:
    """The accepted finding of each piece, else its latest answer."""
    latest, changes = latest_answers(reader.session), last_evidence_changes(reader.session)
    coverings = covering_texts(reader.session)
    answers = {piece: _from_engine(kept, changes, coverings[piece]) for piece, kept in latest.items()}
    for piece, finding in standing_findings(reader.session).items():
        answers[piece] = _from_finding(finding, changes)
    return answers


def _from_engine(kept: LatestAnswer, changes: Mapping[str, int], covering: str) -> BriefAnswer:
    changed = kept.after_change < max(changes.get(kept.piece_id, 0), changes.get("", 0)) or kept.covering != covering
    return BriefAnswer(kept.form, kept.name, kept.probability, kept.unlisted, accepted=False, stale=changed)


def _from_finding(finding: StandingFinding, changes: Mapping[str, int]) -> BriefAnswer:
    changed = finding.number < max(changes.get(finding.piece, 0), changes.get("", 0))
    return BriefAnswer(
        finding.form, finding.conclusion, finding.probability, finding.unlisted, accepted=True, stale=changed
    )


def _new_id(draft: Draft, wanted: str | None, name: str) -> str:
    if wanted is None:
        return draft.next_id(Piece, slug(name))
    check_piece_id(wanted, "piece")
    if draft.find(Piece, wanted) is not None:
        raise InputError("piece", "id", wanted, "an id that no other piece has")
    return wanted


def _set_withdrawn(collection: Collection, piece_id: str, withdrawn: bool, who: str, version: int | None) -> Piece:
    with collection.cabinet.writing(signature(who)) as draft:
        piece = draft.get(Piece, piece_id)
        read = piece.version if version is None else version
        return draft.put(
            replace(piece, withdrawn=withdrawn, version=read), "withdrawn" if withdrawn else "brought back"
        )


def _front_first(view: View) -> tuple[bool, datetime, str]:
    return view.role != "front", view.created_at, view.id


def _sorted(rows: list[ShelfRow], sort: str) -> list[ShelfRow]:
    rows = sorted(rows, key=lambda row: _natural(row.piece.name))
    match sort:
        case "newest":
            return sorted(rows, key=lambda row: row.piece.created_at, reverse=True)
        case "changed":
            return sorted(rows, key=lambda row: row.piece.changed_at, reverse=True)
        case "sure":
            return sorted(rows, key=lambda row: -_certainty(row))
        case "open":
            return sorted(rows, key=_certainty)
        case "community":
            return sorted(rows, key=lambda row: (not row.piece.community, _natural(row.piece.community)))
    return rows


def _certainty(row: ShelfRow) -> float:
    return 0.0 if row.answer is None else row.answer.probability


def _natural(text: str) -> list[tuple[int, int, str]]:
    """Order in which people sort names: numbers by their value, accents and capitals aside."""
    from_words = re.findall(r"\d+|\D+", folded(text))
    return [(0, int(part), "") if part.isdecimal() else (1, 0, part) for part in from_words]
