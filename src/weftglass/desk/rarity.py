"""How unusual a combination is, among own pieces, in the published holdings entered, and in both together."""

from __future__ import annotations

from collections.abc import Collection as AnyOf
from collections.abc import Mapping
from dataclasses import dataclass

from weftglass.desk.collection import Collection
from weftglass.desk.communities import published_holdings
from weftglass.desk.holdings import TERMS
from weftglass.desk.selection import Selection, selected
from weftglass.errors import InputError
from weftglass.holdings import Rarity, Tally, rarity
from weftglass.records import COUNTED

YES = "yes"


@dataclass(frozen=True)
class HowRare:
    """
    How unusual one combination is.

    Parameters
    ----------
    wanted : dict
        Term to value.
    own : Rarity
        Among the pieces selected.
    published, together : Rarity or None
        In published holdings that counted it, and with the pieces selected; None where none did.
    sources : tuple of str
        Those holdings.
    """

    wanted: Mapping[str, str]
    own: Rarity
    published: Rarity | None
    together: Rarity | None
    sources: tuple[str, ...]

    @property
    def groups(self) -> dict[str, Rarity]:
        """How unusual it is among each group of pieces that says anything, by the group's words."""
        every = {"own pieces": self.own, "published": self.published, "together": self.together}
        return {among: rare for among, rare in every.items() if rare is not None}

    @property
    def words(self) -> str:
        """The combination in words: ``signed or inscribed, community Delmuine``."""
        return ", ".join(
            TERMS[term] if value == YES else f"{TERMS[term]} {value}" for term, value in self.wanted.items()
        )


def how_rare(
    collection: Collection,
    wanted: Mapping[str, str],
    selection: Selection | None = None,
    *,
    kept_out: AnyOf[str] = (),
) -> HowRare:
    """
    How unusual a combination of terms is.

    Parameters
    ----------
    wanted : mapping
        Term of `TERMS` to value, at least one.
    selection : Selection, optional
        The own pieces to look among; default: all that are owned.
    kept_out : collection of str
        Pieces to leave out whatever is asked.

    Raises
    ------
    InputError
        For a term that is none, or none at all.

    Notes
    -----
    Published holdings are known by totals only: they count where the combination is one of `COUNTED`.
    """
    for term in wanted:
        if term not in TERMS:
            raise InputError("rarity", "term", term, "one of: " + ", ".join(TERMS))
    own = selected(collection, selection, kept_out=kept_out)
    kind = _counted_kind(wanted)
    told = [one for one in published_holdings(collection) if kind in one.counted]
    tallies = [Tally(one.name, one.pieces, one.counted[kind]) for one in told]
    return HowRare(
        dict(wanted),
        rarity(own, wanted),
        rarity((), wanted, tallies) if tallies else None,
        rarity(own, wanted, tallies) if tallies else None,
        tuple(f"{one.name} ({one.source})" for one in told),
    )


def rarities(
    collection: Collection, selection: Selection | None = None, *, kept_out: AnyOf[str] = ()
) -> tuple[HowRare, ...]:
    """How unusual signatures, dates worked in, pictorial designs and their combinations are."""
    return tuple(
        how_rare(collection, dict.fromkeys(terms, YES), selection, kept_out=kept_out) for terms in COUNTED.values()
    )


def _counted_kind(wanted: Mapping[str, str]) -> str:
    """The kind of `COUNTED` that a combination is; empty where it is none."""
    if any(value != YES for value in wanted.values()):
        return ""
    return next((kind for kind, terms in COUNTED.items() if set(terms) == set(wanted)), "")
