"""A change: who made what of which record, and when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class Change:
    """
    One entry of a collection's history; entries are never changed or removed.

    Parameters
    ----------
    number : int
        Runs through the whole collection from 1.
    at : datetime
        In UTC.
    who : str
    deed : str
        ``added``, ``changed``, ``withdrawn``, ``brought back``, ``superseded`` or ``undone``.
    kind, record : str
        Kind and id of the record.
    piece : str
        Id of the piece it belongs to; empty for photographs and forms.
    before, after : str or None
        The record as JSON before and after; `before` is None for a new one.
    """

    number: int
    at: datetime
    who: str
    deed: str
    kind: str
    record: str
    piece: str
    before: str | None
    after: str
