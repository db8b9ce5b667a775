"""What the collection lacks, what is on offer, the best set for a sum, and values by place."""

from __future__ import annotations

from datetime import date

from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Route

from weftglass.desk import (
    OFFERS_AHEAD,
    BuyingPlan,
    forms_to_know,
    offers_of,
    piece_names,
    plan_offers,
    take_in_offer,
    totals_of,
    values_of,
    wants_of,
)
from weftglass.desk.buying import sum_typed
from weftglass.desk.lists import offer_records
from weftglass.errors import InputError
from weftglass.holdings import Want
from weftglass.vessels import Form
from weftglass.web.door import Asked, FormFault, door, see_other
from weftglass.web.pages.addresses import piece_address
from weftglass.web.pages.buying import asked_of, buying_facts, values_facts, want_records
from weftglass.web.pages.lists import csv_text
from weftglass.web.pages.pocket import pocket_facts, pocket_html
from weftglass.web.refusal import wants_json
from weftglass.web.rendering import page

POCKET_WANTS = 16


def buying_page(asked: Asked) -> Response:
    """Offers, gaps, and the plan for a sum where one is named."""
    wants, offers = wants_of(asked.collection, *asked_of(asked.query)), offers_of(asked.collection)
    plan, fault = None, asked.fault
    try:
        plan = _plan(asked)
    except InputError as wrong:
        fault = FormFault.of("sum", wrong.field, wrong, asked.query)
    facts = buying_facts(wants, OFFERS_AHEAD, offers, plan, asked.query, fault)
    return page(asked.request, "buying.html", facts, status=422 if plan is None and fault is not asked.fault else 200)


def _plan(asked: Asked) -> BuyingPlan | None:
    typed, currency = asked.query.get("budget", "").strip(), asked.query.get("currency", "").strip()
    if not typed:
        return None
    budget = sum_typed(typed, currency)
    today = date.today() if asked.query.get("wants") else None
    return plan_offers(asked.collection, budget, currency, *asked_of(asked.query), keep_for_wants=today)


def take_in(asked: Asked) -> Response:
    """A new offer, from photographs and the seller's text."""
    taken = take_in_offer(
        asked.collection,
        asked.text("name"),
        who=asked.who,
        today=date.today(),
        photos=asked.files("photographs"),
        said=asked.text("said"),
        seller=asked.text("seller"),
        venue=asked.text("venue"),
        price=asked.text("price"),
    )
    address = f"{piece_address(taken.piece.id)}/price"
    return JSONResponse({"address": address}, 201) if wants_json(asked.request) else see_other(address)


def wants_csv(asked: Asked) -> Response:
    """Gaps as a list."""
    row, column, objective = asked_of(asked.query)
    records = want_records(wants_of(asked.collection, row, column, objective), row, column)
    return Response(csv_text(records), media_type="text/csv; charset=utf-8")


def offers_csv(asked: Asked) -> Response:
    """Offers as a list."""
    return Response(csv_text(offer_records(offers_of(asked.collection))), media_type="text/csv; charset=utf-8")


def values_page(asked: Asked) -> Response:
    """Totals by place."""
    facts = values_facts(totals_of(asked.collection, date.today()), piece_names(asked.collection))
    return page(asked.request, "values.html", facts)


def values_csv(asked: Asked) -> Response:
    """Every value as a list."""
    records = [
        {name: getattr(one, name) for name in ("piece", "basis", "amount", "currency", "on", "source", "remark")}
        for one in values_of(asked.collection)
    ]
    return Response(csv_text(records), media_type="text/csv; charset=utf-8")


def pocket(asked: Asked) -> Response:
    """The sheet for fairs, to be looked at and printed."""
    return page(asked.request, "pocket.html", pocket_facts(*_pocket(asked)))


def pocket_file(asked: Asked) -> Response:
    """The same as a file that opens without the program."""
    saved = {"content-disposition": 'attachment; filename="pocket-sheet.html"'}
    return HTMLResponse(pocket_html(*_pocket(asked)), headers=saved)


def _pocket(asked: Asked) -> tuple[tuple[Want, ...], tuple[Form, ...], date]:
    wants = wants_of(asked.collection, *asked_of(asked.query))[:POCKET_WANTS]
    return wants, tuple(forms_to_know(asked.collection)), date.today()


BUYING_ROUTES = [
    Route("/pocket", door(pocket)),
    Route("/pocket.html", door(pocket_file)),
    Route("/buying", door(buying_page)),
    Route("/offers", door(take_in, again=buying_page), methods=["POST"]),
    Route("/wants.csv", door(wants_csv)),
    Route("/offers.csv", door(offers_csv)),
    Route("/values", door(values_page)),
    Route("/values.csv", door(values_csv)),
]
