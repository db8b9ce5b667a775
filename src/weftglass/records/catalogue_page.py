"""A page of the catalogue: a title, a remark, and what it shows of the collection."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from weftglass.errors import InputError
from weftglass.records.shared import Record
from weftglass.records.wording import LONG, SHORT, words

EXHIBITS: dict[str, str] = {
    "piece": "a piece",
    "table": "a table of two terms",
    "complete": "how complete the collection is",
    "map": "the map",
    "years": "the time line",
    "rarity": "how unusual a combination is",
}
"""What a page may show, each with its words."""
MOST_EXHIBITS = 40
MOST_PAGES = 10_000


@dataclass(frozen=True)
class Exhibit:
    """
    One thing a page shows; it is made anew from the collection whenever the catalogue is.

    Parameters
    ----------
    kind : str
        One of `EXHIBITS`.
    asked : tuple of (name, value)
        What it was asked for: the two terms, whose pieces, which ones; for a piece its id under ``piece``.
    """

    kind: str
    asked: tuple[tuple[str, str], ...] = ()

    @property
    def told(self) -> Mapping[str, str]:
        """What it was asked for, by name."""
        return dict(self.asked)


@dataclass(frozen=True, kw_only=True)
class CataloguePage(Record):
    """
    One page of the catalogue.

    Parameters
    ----------
    title, remark : str
    place : int
        Pages stand by rising place.
    exhibits : tuple of Exhibit
        In the order shown.
    """

    KIND: ClassVar[str] = "catalogue page"
    PLURAL: ClassVar[str] = "catalogue-pages"

    title: str
    remark: str = ""
    place: int = 1
    exhibits: tuple[Exhibit, ...] = ()

    @property
    def about(self) -> str:
        """Its title."""
        return self.title

    def check_fields(self, where: str) -> None:
        """A title, a place, and exhibits of known kinds."""
        words(self.title, where, "title", needed=True)
        words(self.remark, where, "remark", longest=LONG)
        if not 1 <= self.place <= MOST_PAGES:
            raise InputError(where, "place", self.place, f"a whole number from 1 to {MOST_PAGES}")
        if len(self.exhibits) > MOST_EXHIBITS:
            raise InputError(where, "exhibits", len(self.exhibits), f"at most {MOST_EXHIBITS}; begin another page")
        for exhibit in self.exhibits:
            if exhibit.kind not in EXHIBITS:
                raise InputError(where, "exhibits", exhibit.kind, "one of: " + ", ".join(EXHIBITS))
            for name, value in exhibit.asked:
                words(name, where, "exhibits", longest=SHORT, needed=True)
                words(value, where, "exhibits", longest=SHORT)
