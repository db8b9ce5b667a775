"""Which pieces need care or a look: the newest examination of each, the worst and the longest ago first."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from weftglass.desk.collection import Collection
from weftglass.records import STATES, Examination, Piece

STALE_AFTER = timedelta(days=366)
"""A piece is to be looked at again after a year (common practice, no source)."""

URGENT = ("danger", "care")


@dataclass(frozen=True)
class Care:
    """
    One piece and its newest examination.

    Parameters
    ----------
    piece, name : str
    on, state, by : str or None
        Day, state (one of `weftglass.records.STATES`) and who looked; None: never examined.
    spots : int
        How many spots it has.
    due : bool
        True when it was never examined, or not for a year.
    """

    piece: str
    name: str
    on: str | None
    state: str | None
    by: str | None
    spots: int
    due: bool

    @property
    def urgent(self) -> bool:
        """True where it was found to need care."""
        return self.state in URGENT


def care_list(collection: Collection, today: date) -> list[Care]:
    """All pieces on the shelf: the worst state first, within it the longest ago first, never examined ones last."""
    with collection.cabinet.reading() as reader:
        pieces = reader.all_of(Piece)
        newest: dict[str, Examination] = {}
        for one in reader.all_of(Examination):
            last = newest.get(one.piece)
            if last is None or (one.on, one.created_at) >= (last.on, last.created_at):
                newest[one.piece] = one
    order = list(reversed(STATES))
    found = [_care(piece, newest.get(piece.id), today) for piece in pieces]
    return sorted(found, key=lambda one: (order.index(one.state) if one.state else len(order), one.on or "", one.name))


def _care(piece: Piece, last: Examination | None, today: date) -> Care:
    if last is None:
        return Care(piece.id, piece.name, None, None, None, 0, due=True)
    due = today - date.fromisoformat(last.on) > STALE_AFTER
    return Care(piece.id, piece.name, last.on, last.state, last.by, len(last.spots), due)
