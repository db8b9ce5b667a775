"""Facts of the filters that all pages of the holdings share: whose pieces, and which of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from weftglass.desk.holdings import TERMS
from weftglass.desk.selection import NOT_KNOWN, ONLY, WHOSE, Selection, values_in
from weftglass.holdings import Holding
from weftglass.web.pages.forms import FilterFacts
from weftglass.web.pages.wording import capital

MOST_VALUES = 300


@dataclass(frozen=True)
class ChosenFacts:
    """One filter that is on, and the address without it."""

    words: str
    href: str


@dataclass(frozen=True)
class SelectionFacts:
    """Whose pieces and which: the choices, what is on, and the address of all pieces."""

    whose: FilterFacts
    only: tuple[FilterFacts, ...]
    chosen: tuple[ChosenFacts, ...]
    clear_href: str


def selection_asked(asked: Mapping[str, str], whose: str = "owned") -> Selection:
    """The selection of an address; words that mean nothing here are passed over."""
    given = {name: value for name, value in asked.items() if name.removeprefix(ONLY) in TERMS}
    known = asked.get("whose", "") if asked.get("whose", "") in WHOSE else whose
    return Selection.of({**given, "whose": known})


def selection_facts(
    selection: Selection, every: Sequence[Holding], address: str, keep: Mapping[str, str]
) -> SelectionFacts:
    """
    The filters of a page.

    Parameters
    ----------
    selection : Selection
    every : sequence of Holding
        The pieces the filters choose among.
    address : str
        Of the page.
    keep : mapping
        What else the page was asked for.
    """
    told = dict(selection.only)
    only = tuple(
        FilterFacts(ONLY + term, capital(TERMS[term]), _choices(counts, told.get(term, "")), told.get(term, ""))
        for term, counts in values_in(every).items()
        if term in told or any(value != NOT_KNOWN for value, _ in counts)
    )
    chosen = []
    for term, value in selection.only:
        rest = Selection(selection.whose, tuple(pair for pair in selection.only if pair[0] != term))
        words = f"{TERMS[term]}: {'not known' if value == NOT_KNOWN else value}"
        chosen.append(ChosenFacts(words, f"{address}?{urlencode({**keep, **dict(rest.asked)})}"))
    return SelectionFacts(
        FilterFacts("whose", "Pieces", tuple(WHOSE.items()), selection.whose),
        only,
        tuple(chosen),
        f"{address}?{urlencode({**keep, 'whose': selection.whose})}",
    )


def _choices(counts: Sequence[tuple[str, int]], chosen: str) -> tuple[tuple[str, str], ...]:
    shown = [
        (value, f"{'not known' if value == NOT_KNOWN else value} ({count})") for value, count in counts[:MOST_VALUES]
    ]
    if chosen and chosen not in dict(counts):
        shown.append((chosen, f"{chosen} (0)"))
    return (("", "any"), *shown)
