"""What every record has: an id, a version, when it was made and last changed, and what is right of it."""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import ClassVar

from weftglass.errors import InputError

BEGINNING = datetime(1970, 1, 1, tzinfo=UTC)
ID = re.compile(r"[^\x00-\x20\x7f/\\]{1,120}")


@dataclass(frozen=True, kw_only=True)
class Record(ABC):
    """
    Base of everything a collection keeps; a kind of record says here all that store, exchange and history must know.

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

    Attributes
    ----------
    KIND, PLURAL : str
        What one is called and what several are called; the second names its file when a collection is written out.
    LINKS : mapping
        Fields that hold the id of another record, each with that record's kind; its column is called ``…_id``.
    IS_EVIDENCE : bool
        True where a change of it may change what is thought to be inside a piece.
    FINAL : str
        Why a change of it cannot be taken back, as "one that is not …"; empty where it can.
    """

    KIND: ClassVar[str] = "record"
    PLURAL: ClassVar[str] = "records"
    LINKS: ClassVar[Mapping[str, str]] = {}
    IS_EVIDENCE: ClassVar[bool] = False
    FINAL: ClassVar[str] = ""

    id: str
    version: int = 0
    created_at: datetime = BEGINNING
    changed_at: datetime = BEGINNING
    withdrawn: bool = False

    @property
    def about(self) -> str:
        """A few words that tell it from others of its kind, for the history; may be empty."""
        return ""

    def check(self, where: str) -> None:
        """
        Look at a stored record by itself: could it have been made here?

        Parameters
        ----------
        where : str
            Where it comes from (a file's line, the database), for the sentence.

        Raises
        ------
        InputError
            Names the first field that could not have come from here.
        """
        if not ID.fullmatch(self.id):
            raise InputError(where, "id", self.id, "1 to 120 characters without blanks and slashes")
        if self.version < 1:
            raise InputError(where, "version", self.version, "1 or more")
        self.check_fields(where)

    @abstractmethod
    def check_fields(self, where: str) -> None:
        """Look at the fields of its own kind; as `check`."""
