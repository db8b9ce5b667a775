"""What every record has: an id, a version, and when it was made and last changed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import ClassVar

BEGINNING = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, kw_only=True)
class Record:
    """
    Base of everything a collection keeps.

    Parameters
    ----------
    id : str
        Unique among records of its kind.
    version : int
        0 for a record not yet stored, then 1 and up, one more with every save.
    created_at, changed_at : datetime
        In UTC; set when it is stored.
    withdrawn : bool
        True when it was taken out of the collection; it is kept and can be brought back.
    """

    KIND: ClassVar[str] = "record"

    id: str
    version: int = 0
    created_at: datetime = BEGINNING
    changed_at: datetime = BEGINNING
    withdrawn: bool = False
