"""Facts of the page on how unusual a combination is, among own pieces and in published holdings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from markupsafe import Markup

from weftglass.desk.drawn import rarity_svg
from weftglass.desk.holdings import TERMS
from weftglass.desk.rarity import HowRare
from weftglass.desk.selection import NOT_KNOWN, values_in
from weftglass.holdings import Holding
from weftglass.publish import for_pages
from weftglass.web.pages.addresses import piece_address
from weftglass.web.pages.forms import FilterFacts
from weftglass.web.pages.selection import SelectionFacts, selection_asked, selection_facts
from weftglass.web.pages.wording import capital

WITH = "with-"


@dataclass(frozen=True)
class RareFacts:
    """One combination: its words, a sentence for each group of pieces, and the own pieces that have it."""

    words: str
    sentences: tuple[tuple[str, str], ...]
    sources: tuple[str, ...]
    pieces: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class RarityFacts:
    """The page: the combination asked for, the usual ones, and what can be asked."""

    which: SelectionFacts
    wanted: tuple[FilterFacts, ...]
    asked: RareFacts | None
    usual: tuple[RareFacts, ...]
    picture: Markup
    csv_href: str
    svg_href: str
    exhibit: tuple[tuple[str, str], ...]
    pages: tuple[tuple[str, str], ...]


def wanted_asked(asked: Mapping[str, str]) -> dict[str, str]:
    """The combination of an address; terms that are none are passed over."""
    return {
        name.removeprefix(WITH): value
        for name, value in sorted(asked.items())
        if name.startswith(WITH) and value and name.removeprefix(WITH) in TERMS
    }


def rarity_facts(
    one: HowRare | None,
    usual: Sequence[HowRare],
    names: Mapping[str, str],
    asked: Mapping[str, str],
    every: Sequence[Holding],
    pages: tuple[tuple[str, str], ...],
) -> RarityFacts:
    """The page from what the desk says."""
    selection, wanted = selection_asked(asked), wanted_asked(asked)
    with_ = {WITH + term: value for term, value in wanted.items()}
    keep = {**with_, **dict(selection.asked)}
    values = values_in(every)
    return RarityFacts(
        which=selection_facts(selection, every, "/rarity", with_),
        wanted=tuple(_choice(term, values[term], wanted.get(term, "")) for term in TERMS),
        asked=None if one is None else _rare(one, names),
        usual=tuple(_rare(other, names) for other in usual),
        picture=for_pages(lambda size: rarity_svg([one] if one else usual, size=size)),
        csv_href=f"/rarity.csv?{urlencode(keep)}",
        svg_href=f"/rarity.svg?{urlencode(keep)}",
        exhibit=tuple(keep.items()),
        pages=pages,
    )


def _choice(term: str, counts: Sequence[tuple[str, int]], chosen: str) -> FilterFacts:
    known = [value for value, _ in counts if value != NOT_KNOWN]
    if term in ("signed", "dated", "pictorial"):
        known = sorted({*known, "yes", "no"}, reverse=True)
    if chosen and chosen not in known:
        known.append(chosen)
    return FilterFacts(WITH + term, capital(TERMS[term]), (("", "any"), *((value, value) for value in known)), chosen)


def _rare(one: HowRare, names: Mapping[str, str]) -> RareFacts:
    found = one.groups
    behind = tuple((names.get(piece, piece), piece_address(piece)) for piece in one.own.behind)
    return RareFacts(
        capital(one.words),
        tuple((among, rare.sentence) for among, rare in found.items()),
        one.sources,
        behind,
    )
