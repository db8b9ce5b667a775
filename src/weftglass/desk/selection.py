"""Which pieces are counted: whose they are, and what is known of them."""

from __future__ import annotations

from collections.abc import Collection as AnyOf
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from weftglass.desk.collection import Collection
from weftglass.desk.holdings import TERMS, holdings_of
from weftglass.errors import InputError
from weftglass.holdings import Holding

WHOSE: dict[str, str] = {"owned": "owned", "offered": "on offer", "all": "owned and on offer"}
"""Whose pieces may be counted, each with its words."""
NOT_KNOWN = "?"
"""Stands for pieces of which a term is not known."""
ONLY = "only-"


@dataclass(frozen=True)
class Selection:
    """
    Which pieces are counted.

    Parameters
    ----------
    whose : str
        One of `WHOSE`.
    only : tuple of (term, value)
        Pieces that have all these; a value of `NOT_KNOWN` asks for those of which the term is not known.
    """

    whose: str = "owned"
    only: tuple[tuple[str, str], ...] = ()

    def __post_init__(self) -> None:
        if self.whose not in WHOSE:
            raise InputError("selection", "whose", self.whose, "one of: " + ", ".join(WHOSE))
        for term, value in self.only:
            if term not in TERMS:
                raise InputError("selection", "term", term, "one of: " + ", ".join(TERMS))
            if not value:
                raise InputError("selection", term, value, "a value, or ? for pieces of which it is not known")

    @classmethod
    def of(cls, asked: Mapping[str, str]) -> Selection:
        """
        As asked by name.

        Parameters
        ----------
        asked : mapping
            ``whose``, and ``only-`` with a term; other names are passed over.

        Examples
        --------
        >>> Selection.of({"whose": "all", "only-technique": "coiling", "rows": "maker"})
        Selection(whose='all', only=(('technique', 'coiling'),))
        """
        only = [(name.removeprefix(ONLY), value) for name, value in asked.items() if name.startswith(ONLY) and value]
        return cls(asked.get("whose") or "owned", tuple(sorted(only)))

    @property
    def asked(self) -> tuple[tuple[str, str], ...]:
        """By name, so that `of` gives it again."""
        return (("whose", self.whose), *((ONLY + term, value) for term, value in self.only))

    @property
    def words(self) -> str:
        """In words: ``owned; technique: coiling``."""
        told = [f"{TERMS[term]}: {'not known' if value == NOT_KNOWN else value}" for term, value in self.only]
        return "; ".join([WHOSE[self.whose], *told])

    def takes(self, holding: Holding) -> bool:
        """Whether a piece has all that is asked for."""
        return all(holding.terms.get(term, NOT_KNOWN) == value for term, value in self.only)


def selected(
    collection: Collection, selection: Selection | None = None, *, kept_out: AnyOf[str] = ()
) -> tuple[Holding, ...]:
    """
    The pieces of a selection as the statistics see them.

    Parameters
    ----------
    selection : Selection, optional
        Default: all owned pieces.
    kept_out : collection of str
        Pieces to leave out whatever is asked.
    """
    wanted = selection or Selection()
    every = holdings_of(collection, status=None if wanted.whose == "all" else wanted.whose)
    return tuple(one for one in every if wanted.takes(one) and one.piece not in kept_out)


def values_in(holdings: Sequence[Holding]) -> dict[str, tuple[tuple[str, int], ...]]:
    """Each term's values with how many pieces have them, by name, those of which it is not known last."""
    found: dict[str, dict[str, int]] = {term: {} for term in TERMS}
    for one in holdings:
        for term, counts in found.items():
            value = one.terms.get(term, NOT_KNOWN)
            counts[value] = counts.get(value, 0) + 1
    return {
        term: tuple(sorted(counts.items(), key=lambda item: (item[0] == NOT_KNOWN, item[0].casefold())))
        for term, counts in found.items()
    }
