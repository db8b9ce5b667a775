"""Price and offer of a piece: the seller's offer, questions and answers, and values."""

from __future__ import annotations

from datetime import date

from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from weftglass.desk import (
    adds,
    answer_about,
    edit_offer,
    end_offer,
    get_piece_dossier,
    offer_of,
    piece_names,
    price_for,
    put_questions,
    questions_for,
    record_value,
    take_answer,
    values_of,
)
from weftglass.desk.likely_makers import likely_makers
from weftglass.desk.offers import footing_of
from weftglass.web.door import Asked, door, see_other
from weftglass.web.pages.addresses import bench_address, piece_address
from weftglass.web.pages.price import price_facts
from weftglass.web.reading import number_typed
from weftglass.web.rendering import page, who_of

USUAL_CURRENCY = "USD"


def price_page(asked: Asked) -> Response:
    """The offer, what to ask, and what it is worth."""
    piece, today = asked.path["piece"], date.today()
    dossier, offer = get_piece_dossier(asked.collection, piece), offer_of(asked.collection, piece)
    record = dossier.piece
    answer = answer_about(asked.collection, piece)
    footing = footing_of(asked.collection, piece)
    questions = () if answer is None else questions_for(answer, offer.inquiries if offer else (), firm=footing.firm)
    values = values_of(asked.collection, piece)
    currency = (offer.offer.currency if offer else "") or (values[-1].currency if values else "") or USUAL_CURRENCY
    likely = price_for(asked.collection, piece, currency, today=today)
    sentence = adds(asked.collection, piece) if not record.withdrawn else ""
    names = piece_names(asked.collection)
    who = who_of(asked.request)
    trace = bench_address(dossier.views[0].view) if dossier.views else ""
    facts = price_facts(
        record,
        offer,
        answer,
        footing,
        trace,
        questions,
        sentence,
        likely,
        currency,
        names,
        values,
        today,
        who,
        asked.fault,
    )  # fmt: skip
    return page(asked.request, "price.html", facts)


def maker_said(asked: Asked) -> Response:
    """Who probably made it: asked for after the page is there, since it may take seconds."""
    return JSONResponse({"sentence": likely_makers(asked.collection, asked.path["piece"])})


def keep_offer(asked: Asked) -> Response:
    """Change the offer, or begin one."""
    piece = asked.path["piece"]
    edit_offer(
        asked.collection,
        piece,
        who=asked.who,
        today=date.today(),
        price=asked.text("price"),
        seller=asked.text("seller"),
        venue=asked.text("venue"),
        said=asked.text("said"),
        seen_on=asked.text("seen_on"),
        version=asked.version() or None,
    )
    return see_other(f"{piece_address(piece)}/price")


def keep_questions(asked: Asked) -> Response:
    """Write down which of the questions were sent."""
    piece = asked.path["piece"]
    ticked = [
        (asked.text(f"kind-{i}"), asked.text(f"question-{i}"), _height(asked.text(f"z-{i}")))
        for i in range(1, 10)
        if asked.text(f"kind-{i}")
    ]
    put_questions(asked.collection, piece, ticked, who=asked.who, today=date.today())
    return see_other(f"{piece_address(piece)}/price#ask")


def keep_answer(asked: Asked) -> Response:
    """Write down what the seller answered; what it says goes into the evidence."""
    piece = asked.path["piece"]
    with asked.moves.watching(asked.collection, piece, "the seller’s answer"):
        given = asked.text("answer"), asked.text("reading")
        take_answer(asked.collection, asked.text("inquiry"), given[0], who=asked.who, reading=given[1])
    return see_other(f"{piece_address(piece)}/price#ask")


def _height(text: str) -> float | None:
    return number_typed(text, "question", "z", "a height in mm") if text else None


def end(asked: Asked) -> Response:
    """Say how the offer ended."""
    piece = asked.path["piece"]
    end_offer(asked.collection, piece, asked.text("outcome"), who=asked.who, paid=asked.text("paid"))
    return see_other(f"{piece_address(piece)}/price")


def keep_value(asked: Asked) -> Response:
    """Take a value down."""
    piece = asked.path["piece"]
    record_value(
        asked.collection,
        piece,
        asked.text("basis"),
        asked.text("amount"),
        who=asked.who,
        on=asked.text("on"),
        source=asked.text("source"),
    )
    return see_other(f"{piece_address(piece)}/price#values")


PRICE_ROUTES = [
    Route("/piece/{piece}/price", door(price_page)),
    Route("/piece/{piece}/price/maker.json", door(maker_said)),
    Route("/piece/{piece}/price/offer", door(keep_offer, again=price_page), methods=["POST"]),
    Route("/piece/{piece}/price/questions", door(keep_questions, again=price_page), methods=["POST"]),
    Route("/piece/{piece}/price/answers", door(keep_answer, again=price_page), methods=["POST"]),
    Route("/piece/{piece}/price/end", door(end, again=price_page), methods=["POST"]),
    Route("/piece/{piece}/price/values", door(keep_value, again=price_page), methods=["POST"]),
]
