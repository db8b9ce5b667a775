"""Words for coverings: reading them, adding one's own, carrying them away."""

from __future__ import annotations

from starlette.responses import Response
from starlette.routing import Route

from weftglass.desk import add_term, own_terms, withdraw_term
from weftglass.web.door import Asked, door, see_other
from weftglass.web.pages.lists import csv_text
from weftglass.web.pages.terms import term_records, terms_facts
from weftglass.web.rendering import page


def terms_page(asked: Asked) -> Response:
    """All words."""
    return page(asked.request, "terms.html", terms_facts(own_terms(asked.collection), asked.fault))


def add(asked: Asked) -> Response:
    """Add a word."""
    add_term(
        asked.collection, who=asked.who, kind=asked.text("kind"), term=asked.text("term"),
        definition=asked.text("definition"), also=asked.text("also"), source=asked.text("source"),
    )  # fmt: skip
    return see_other("/terms")


def withdraw(asked: Asked) -> Response:
    """Take a word of one's own out."""
    withdraw_term(asked.collection, asked.path["term"], who=asked.who)
    return see_other("/terms")


def table(asked: Asked) -> Response:
    """All words as CSV."""
    return Response(csv_text(term_records(own_terms(asked.collection))), media_type="text/csv; charset=utf-8")


TERMS_ROUTES = [
    Route("/terms", door(terms_page)),
    Route("/terms", door(add, again=terms_page), methods=["POST"]),
    Route("/terms.csv", door(table)),
    Route("/terms/{term}/withdraw", door(withdraw, again=terms_page), methods=["POST"]),
]
