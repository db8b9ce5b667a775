"""What lists of pieces need, read without the heavy columns (outlines, frozen answers)."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from weftglass.cabinet.mapping import MAPPERS
from weftglass.cabinet.schema import AnswerRow, ChangeRow, FindingRow, PieceRow, ViewRow
from weftglass.records import Finding

IDENTIFICATION = Finding.subject
EVIDENCE_KINDS = tuple(mapper.record.KIND for mapper in MAPPERS if mapper.record.IS_EVIDENCE)


@dataclass(frozen=True)
class Cover:
    """
    The picture a piece goes by.

    Parameters
    ----------
    id : str
        Of the view.
    photo : str
        SHA-256 of its photograph.
    role : str
    """

    id: str
    photo: str
    role: str


@dataclass(frozen=True)
class LatestAnswer:
    """The latest answer about a piece in brief; ``after_change`` is the last change it took into account."""

    piece_id: str
    after_change: int
    library_version: str
    engine_version: str
    covering: str
    form: str | None
    name: str
    probability: float
    unlisted: float


@dataclass(frozen=True)
class StandingFinding:
    """What a piece's vessel was found to be and is not superseded, in brief; ``number`` is the change that added it."""

    id: str
    piece: str
    form: str | None
    conclusion: str
    probability: float
    unlisted: float
    who: str
    created_at: datetime
    engine_version: str
    library_version: str
    number: int


def covers(session: Session) -> dict[str, tuple[Cover, int]]:
    """The picture of each piece, the front view where there is one, and how many views it has."""
    query = (
        select(ViewRow.piece_id, ViewRow.id, ViewRow.photo_id, ViewRow.role)
        .where(~ViewRow.withdrawn)
        .order_by(ViewRow.role != "front", ViewRow.created_at, ViewRow.id)
    )
    found: dict[str, tuple[Cover, int]] = {}
    for piece, view, photo, role in session.execute(query):
        cover, count = found.get(piece, (Cover(view, photo, role), 0))
        found[piece] = (cover, count + 1)
    return found


def latest_answers(session: Session) -> dict[str, LatestAnswer]:
    """The latest answer of each piece."""
    names = LatestAnswer.__dataclass_fields__
    rows = session.scalars(select(AnswerRow))
    return {row.piece_id: LatestAnswer(**{name: getattr(row, name) for name in names}) for row in rows}


def standing_findings(session: Session) -> dict[str, StandingFinding]:
    """The finding of each piece's vessel that stands."""
    added = (ChangeRow.kind == "finding", ChangeRow.record == FindingRow.id, ChangeRow.before.is_(None))
    number = select(func.max(ChangeRow.number)).where(*added).scalar_subquery()
    query = (
        select(
            FindingRow.id,
            FindingRow.piece_id,
            FindingRow.form,
            FindingRow.conclusion,
            FindingRow.probability,
            FindingRow.unlisted,
            FindingRow.who,
            FindingRow.created_at,
            FindingRow.engine_version,
            FindingRow.library_version,
            func.coalesce(number, 0),
        )
        .where(FindingRow.superseded_by.is_(None), ~FindingRow.withdrawn, FindingRow.subject == IDENTIFICATION)
        .order_by(FindingRow.created_at, FindingRow.id)
    )
    return {row.piece_id: StandingFinding(*row) for row in session.execute(query)}


def last_evidence_changes(session: Session) -> dict[str, int]:
    """Number of the last change of each piece's evidence; under the empty id, of the form library."""
    query = (
        select(ChangeRow.piece, func.max(ChangeRow.number))
        .where(ChangeRow.kind.in_(EVIDENCE_KINDS))
        .group_by(ChangeRow.piece)
    )
    return {row[0]: row[1] for row in session.execute(query)}


def covering_texts(session: Session) -> dict[str, str]:
    """What the engine takes into account of each piece's own fields, as one text."""
    query = select(PieceRow.id, PieceRow.technique, PieceRow.material, PieceRow.community)
    return {piece: json.dumps(words, ensure_ascii=False) for piece, *words in session.execute(query)}


def piece_columns(session: Session, names: Sequence[str]) -> list[dict[str, str]]:
    """Some fields of every piece that stands, without building whole records."""
    columns = [getattr(PieceRow, name) for name in names]
    rows = session.execute(select(*columns).where(~PieceRow.withdrawn).order_by(PieceRow.created_at, PieceRow.id))
    return [dict(zip(names, row, strict=True)) for row in rows]


def last_change(session: Session) -> int:
    """Number of the last change of anything; 0 in an empty collection."""
    return int(session.scalar(select(func.max(ChangeRow.number))) or 0)
