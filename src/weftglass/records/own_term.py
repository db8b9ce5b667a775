"""A word of the collection's own for coverings, beside those that come with the program."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from weftglass.errors import InputError
from weftglass.records.shared import Record
from weftglass.records.wording import LONG, words
from weftglass.weave.terms import KINDS


@dataclass(frozen=True, kw_only=True)
class OwnTerm(Record):
    """
    One word.

    Parameters
    ----------
    term_kind : str
        One of `weftglass.weave.terms.KINDS`.
    term, definition, source : str
    also : tuple of str
        Other names in use.
    """

    KIND: ClassVar[str] = "own term"
    PLURAL: ClassVar[str] = "own_terms"
    LINKS: ClassVar[Mapping[str, str]] = {}

    term_kind: str
    term: str
    definition: str
    also: tuple[str, ...] = ()
    source: str = ""

    @property
    def about(self) -> str:
        """The word and what it names."""
        return f"{self.term}, {self.term_kind}"

    def check_fields(self, where: str) -> None:
        """A known kind, a word and what it means."""
        if self.term_kind not in KINDS:
            raise InputError(where, "term_kind", self.term_kind, "one of: " + ", ".join(KINDS))
        words(self.term, where, "term", needed=True)
        words(self.definition, where, "definition", longest=LONG, needed=True)
        words(self.source, where, "source", longest=LONG)
        for name in self.also:
            words(name, where, "also", needed=True)
