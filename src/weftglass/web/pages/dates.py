"""Facts of 'When it was made': the years of glass and covering, what they rest on, and what contradicts what."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from markupsafe import Markup

from weftglass.dating import REGIONS, Dating, Item, PartDate
from weftglass.publish import for_pages
from weftglass.records import Piece
from weftglass.web.door import FormFault
from weftglass.web.figures.years import year_curves_svg
from weftglass.web.pages.addresses import piece_address
from weftglass.web.pages.wording import FEATURE_WORDS, capital

MADE_IN = (("", "not known, or elsewhere"), *((region, region) for region in REGIONS))
DATING_FEATURES = (
    "seam", "base", "finish", "closure", "colour", "mark", "statement", "dye", "inscription", "documented", "collected",
)  # fmt: skip


@dataclass(frozen=True)
class YearsFacts:
    """One part: its name, the four years as text, the range in words, and both extended dates; empty: can't tell."""

    name: str
    words: str
    earliest: str
    likely: str
    latest: str
    edtf: str
    likely_edtf: str


@dataclass(frozen=True)
class DatingItemFacts:
    """One item: which part it dates, what was seen, what it was taken for, its years, its change, and the source."""

    part: str
    name: str
    means: str
    years: str
    cause: str
    shared: bool
    source: str


@dataclass(frozen=True)
class DatesFacts:
    """The whole page 'When it was made'."""

    piece_name: str
    piece_href: str
    verdict: str
    years: tuple[YearsFacts, ...]
    clashes: tuple[str, ...]
    notes: tuple[str, ...]
    items: tuple[DatingItemFacts, ...]
    picture: Markup
    svg_href: str
    json_href: str
    csv_href: str
    download_name: str
    regions: tuple[tuple[str, str], ...]
    region: str
    with_forms: bool
    forms_href: str
    entry: str
    features: tuple[tuple[str, str], ...]
    fault: FormFault | None


def dates_facts(
    piece: Piece, dating: Dating, *, region: str = "", with_forms: bool = True, fault: FormFault | None = None
) -> DatesFacts:
    """Turn a dating into what the page shows; ``region`` and ``with_forms`` are what was asked for."""
    href = piece_address(piece.id)
    asked = ({"region": region} if region else {}) | ({} if with_forms else {"forms": "off"})
    other = ({"region": region} if region else {}) | ({"forms": "off"} if with_forms else {})
    query = f"?{urlencode(asked)}" if asked else ""
    items = [*dating.glass.items, *dating.covering.items]
    causes = Counter(item.cause for item in items)
    rows = tuple(
        DatingItemFacts(
            item.part, item.name, item.means, item.years_words, _cause(item), causes[item.cause] > 1, item.source
        )
        for item in items
    )
    return DatesFacts(
        piece.name,
        href,
        verdict(dating),
        (_years("Glass", dating.glass), _years("Covering", dating.covering)),
        tuple(clash.sentence for clash in dating.clashes),
        dating.notes,
        rows,
        for_pages(lambda size: year_curves_svg(dating, f"{piece.name}: year curves", size=size)),
        f"{href}/dates.svg{query}",
        f"{href}/dates.json{query}",
        f"{href}/dates.csv{query}",
        f"{piece.id}-dates",
        MADE_IN,
        region,
        with_forms,
        f"{href}/dates" + (f"?{urlencode(other)}" if other else ""),
        piece.made,
        tuple((name, capital(FEATURE_WORDS[name])) for name in DATING_FEATURES),
        fault,
    )


def verdict(dating: Dating) -> str:
    """The dates in one sentence, no surer than they are."""
    glass, covering = dating.glass.span, dating.covering.span
    if glass is None and covering is None:
        return "Nothing known so far dates this piece."
    said = [] if glass is None else [f"The glass was made {_between(glass.likely_from, glass.likely_to)}"]
    if covering is not None:
        tail = _between(covering.likely_from, covering.likely_to)
        said.append(f"the covering {tail}" if said else f"The covering was made {tail}")
    return f"{', '.join(said)} (likely; the outer limits stand below)."


def item_records(dating: Dating) -> list[dict[str, Any]]:
    """The items as rows for other programs."""
    items = [*dating.glass.items, *dating.covering.items]
    return [{"part": item.part, **item.to_record()} for item in items]


def _cause(item: Item) -> str:
    """The change behind an item; a written date has none."""
    return "–" if item.kind == "written" else item.cause


def _between(first: int, last: int) -> str:
    return f"in {first}" if first == last else f"between {first} and {last}"


def _years(name: str, part: PartDate) -> YearsFacts:
    span = part.span
    if span is None:
        return YearsFacts(name, "can’t tell", "", "", "", "", "")
    likely = str(span.likely_from) if span.likely_from == span.likely_to else f"{span.likely_from}–{span.likely_to}"
    words = f"mean {part.mean:.0f} ± {part.sd:.0f} years"
    return YearsFacts(name, words, str(span.earliest), likely, str(span.latest), span.edtf, span.likely_edtf)
