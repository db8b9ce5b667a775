"""What the collection shows: tables of two terms, preferences, completeness, and how unusual a combination is."""

from __future__ import annotations

from starlette.responses import Response
from starlette.routing import Route

from weftglass.desk import TERMS, Shown, how_complete, piece_names, show
from weftglass.desk.catalogue import page_choices
from weftglass.desk.drawn import rarity_svg, table_svg
from weftglass.desk.lists import rarity_records
from weftglass.desk.rarity import HowRare, how_rare, rarities
from weftglass.desk.selection import Selection, selected
from weftglass.holdings import Completeness, GrowthCurve
from weftglass.publish import for_pages, growth_svg
from weftglass.web.door import Asked, door
from weftglass.web.pages.holdings import (
    CompleteFacts,
    complete_facts,
    growth_records,
    holdings_facts,
    preference_records,
    table_records,
    terms_asked,
)
from weftglass.web.pages.lists import csv_text
from weftglass.web.pages.rarity import rarity_facts, wanted_asked
from weftglass.web.pages.selection import selection_asked
from weftglass.web.rendering import page

CSV, SVG = "text/csv; charset=utf-8", "image/svg+xml"


def holdings_page(asked: Asked) -> Response:
    """The table asked for, with what it shows."""
    every = selected(asked.collection, Selection(selection_asked(asked.query).whose))
    names, pages = piece_names(asked.collection), page_choices(asked.collection)
    facts = holdings_facts(_shown(asked), names, asked.query, _complete(asked), every, pages)
    return page(asked.request, "holdings.html", facts)


def holdings_csv(asked: Asked) -> Response:
    """The table as a list for other programs."""
    return Response(csv_text(table_records(_shown(asked))), media_type=CSV)


def holdings_svg(asked: Asked) -> Response:
    """The table as a picture."""
    return Response(str(table_svg(_shown(asked))), media_type=SVG)


def preferences_csv(asked: Asked) -> Response:
    """What goes together as a list."""
    return Response(csv_text(preference_records(_shown(asked))), media_type=CSV)


def growth_picture(asked: Asked) -> Response:
    """Kinds against pieces as a picture."""
    found = _how_complete(asked)
    return Response(str(growth_svg(found[1], _kinds(asked))) if found else "", 200 if found else 404, media_type=SVG)


def growth_csv(asked: Asked) -> Response:
    """Kinds against pieces as a list."""
    found = _how_complete(asked)
    return Response(csv_text(growth_records(found[1])) if found else "", 200 if found else 404, media_type=CSV)


def rarity_page(asked: Asked) -> Response:
    """How unusual the combination asked for is, and signatures, dates and pictures."""
    selection = selection_asked(asked.query)
    every = selected(asked.collection, Selection(selection.whose))
    one, usual = _rarity(asked)
    names, pages = piece_names(asked.collection), page_choices(asked.collection)
    return page(asked.request, "rarity.html", rarity_facts(one, usual, names, asked.query, every, pages))


def rarity_csv(asked: Asked) -> Response:
    """The same as a list."""
    one, usual = _rarity(asked)
    return Response(csv_text(rarity_records([one] if one else usual)), media_type=CSV)


def rarity_picture(asked: Asked) -> Response:
    """The same as a picture."""
    one, usual = _rarity(asked)
    picture = rarity_svg([one] if one else usual)
    return Response(str(picture or ""), 200 if picture else 404, media_type=SVG)


def _rarity(asked: Asked) -> tuple[HowRare | None, tuple[HowRare, ...]]:
    selection, wanted = selection_asked(asked.query), wanted_asked(asked.query)
    one = how_rare(asked.collection, wanted, selection) if wanted else None
    return one, rarities(asked.collection, selection)


def _shown(asked: Asked) -> Shown:
    return show(selected(asked.collection, selection_asked(asked.query)), *terms_asked(asked.query))


def _how_complete(asked: Asked) -> tuple[Completeness, GrowthCurve] | None:
    return how_complete(selected(asked.collection, selection_asked(asked.query)), *terms_asked(asked.query))


def _complete(asked: Asked) -> CompleteFacts | None:
    found = _how_complete(asked)
    if found is None:
        return None
    picture = for_pages(lambda size: growth_svg(found[1], _kinds(asked), size=size))
    return complete_facts(found[0], picture, _kind_words(asked))


def _kinds(asked: Asked) -> str:
    return f"Kinds: {_kind_words(asked)}"


def _kind_words(asked: Asked) -> str:
    """What a kind is: the two terms asked for."""
    row, column = terms_asked(asked.query)
    return f"{TERMS[row]} and {TERMS[column]}"


HOLDINGS_ROUTES = [
    Route("/holdings", door(holdings_page)),
    Route("/holdings.csv", door(holdings_csv)),
    Route("/holdings.svg", door(holdings_svg)),
    Route("/preferences.csv", door(preferences_csv)),
    Route("/holdings-growth.svg", door(growth_picture)),
    Route("/holdings-growth.csv", door(growth_csv)),
    Route("/rarity", door(rarity_page)),
    Route("/rarity.csv", door(rarity_csv)),
    Route("/rarity.svg", door(rarity_picture)),
]
