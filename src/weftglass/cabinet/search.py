"""Finding pieces by words: accents and capitals do not matter, and what a person types is never a query language."""

from __future__ import annotations

import re
import unicodedata

from sqlalchemy import func, select, text
from sqlalchemy.orm import Session

from weftglass.cabinet.schema import FindingRow, PieceRow, SightingRow, ViewRow

WORDS_TABLE = "piece_words"
SEARCHED = (
    "id", "name", "community", "maker", "place", "made", "technique", "material", "design", "glass", "acquired_on",
    "price", "source", "kept", "condition", "notes", "caution", "status",
)  # fmt: skip


def folded(words: str) -> str:
    """
    Small letters without accents.

    Examples
    --------
    >>> folded("Côte Æolian")
    'cote æolian'
    """
    apart = unicodedata.normalize("NFKD", words)
    return "".join(letter for letter in apart if not unicodedata.combining(letter)).casefold()


def query_words(query: str) -> list[str]:
    """
    The words of a query; anything that is neither letter nor digit only divides them.

    Examples
    --------
    >>> query_words('it\\'s "foo-bar" AND *')
    ['it', 's', 'foo', 'bar', 'and']
    """
    return re.findall(r"[^\W_]+", folded(query))[:50]


def index_piece(session: Session, piece_id: str) -> None:
    """Gather what is known of a piece into its search text (within the transaction that changed it)."""
    row = session.get(PieceRow, piece_id)
    if row is None:
        return
    said = [str(getattr(row, name)) for name in SEARCHED]
    said += session.scalars(select(SightingRow.value).where(SightingRow.piece_id == piece_id, ~SightingRow.withdrawn))
    said += session.scalars(select(ViewRow.caption).where(ViewRow.piece_id == piece_id, ~ViewRow.withdrawn))
    current = (FindingRow.piece_id == piece_id, FindingRow.superseded_by.is_(None))
    said += session.scalars(select(FindingRow.conclusion).where(*current))
    row.search_text = folded(" ".join(filter(None, said)))
    if _has_words_table(session):
        session.flush()
        values = {"id": piece_id, "words": row.search_text}
        session.execute(text(f"DELETE FROM {WORDS_TABLE} WHERE piece_id = :id"), values)
        session.execute(text(f"INSERT INTO {WORDS_TABLE} (piece_id, words) VALUES (:id, :words)"), values)


def pieces_with(session: Session, query: str) -> set[str]:
    """Ids of pieces that have a word beginning with each word of the query; none for a query without words."""
    words = query_words(query)
    if not words:
        return set()
    if _has_words_table(session):
        wanted = " AND ".join(f'"{word}" *' for word in words)
        found = text(f"SELECT piece_id FROM {WORDS_TABLE} WHERE {WORDS_TABLE} MATCH :wanted")
        return set(session.scalars(found, {"wanted": wanted}))
    wanted = " & ".join(f"'{word}':*" for word in words)
    vector = func.to_tsvector("simple", PieceRow.search_text)
    return set(session.scalars(select(PieceRow.id).where(vector.op("@@")(func.to_tsquery("simple", wanted)))))


def _has_words_table(session: Session) -> bool:
    """SQLite has its own table of words (FTS5); PostgreSQL searches the text column."""
    return session.get_bind().dialect.name == "sqlite"
