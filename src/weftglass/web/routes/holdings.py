"""What the collection shows: tables of two terms, preferences, completeness."""

from __future__ import annotations

from starlette.responses import Response
from starlette.routing import Route

from weftglass.desk import TERMS, Shown, holdings_of, how_complete, piece_names, show
from weftglass.publish import growth_svg
from weftglass.web.door import Asked, door
from weftglass.web.pages.holdings import (
    CompleteFacts,
    complete_facts,
    holdings_facts,
    table_records,
    table_svg,
    terms_asked,
)
from weftglass.web.pages.lists import csv_text
from weftglass.web.rendering import page


def holdings_page(asked: Asked) -> Response:
    """The table asked for, with what it shows."""
    facts = holdings_facts(_shown(asked), piece_names(asked.collection), asked.query, _complete(asked))
    return page(asked.request, "holdings.html", facts)


def holdings_csv(asked: Asked) -> Response:
    """The table as a list for other programs."""
    return Response(csv_text(table_records(_shown(asked))), media_type="text/csv; charset=utf-8")


def holdings_svg(asked: Asked) -> Response:
    """The table as a picture."""
    return Response(str(table_svg(_shown(asked))), media_type="image/svg+xml")


def growth_picture(asked: Asked) -> Response:
    """Kinds against pieces as a picture."""
    complete = _complete(asked)
    return Response(str(complete.picture) if complete else "", 200 if complete else 404, media_type="image/svg+xml")


def _shown(asked: Asked) -> Shown:
    row, column, whose = terms_asked(asked.query)
    return show(holdings_of(asked.collection, status=None if whose == "all" else whose), row, column)


def _complete(asked: Asked) -> CompleteFacts | None:
    row, column, whose = terms_asked(asked.query)
    held = holdings_of(asked.collection, status=None if whose == "all" else whose)
    found = how_complete(held, row, column)
    if found is None:
        return None
    curve = found[1]
    words = f"{TERMS[row]} and {TERMS[column]}"
    picture = growth_svg(curve.pieces, curve.kinds, curve.low, curve.high, curve.at_hand, f"Kinds: {words}")
    return complete_facts(found[0], picture, words)


HOLDINGS_ROUTES = [
    Route("/holdings", door(holdings_page)),
    Route("/holdings.csv", door(holdings_csv)),
    Route("/holdings.svg", door(holdings_svg)),
    Route("/holdings-growth.svg", door(growth_picture)),
]
