"""When a piece was made: its year curves, the items behind them, and signing them."""

from __future__ import annotations

from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from weftglass.dating import Dating, region_named
from weftglass.desk import get_piece
from weftglass.desk.dating import accept_date, date_of
from weftglass.errors import Unfit
from weftglass.web.door import Asked, door, see_other
from weftglass.web.figures.years import year_curves_svg
from weftglass.web.pages.addresses import piece_address
from weftglass.web.pages.dates import dates_facts, item_records
from weftglass.web.pages.lists import csv_text
from weftglass.web.rendering import page, sign
from weftglass.web.routes.piece import add_sighting


def dates_page(asked: Asked) -> Response:
    """Years of glass and covering, and why."""
    piece, region, with_forms = get_piece(asked.collection, asked.path["piece"]), *_asked_for(asked)
    facts = dates_facts(piece, _dating(asked), region=region, with_forms=with_forms, fault=asked.fault)
    return page(asked.request, "dates.html", facts)


def dates_svg(asked: Asked) -> Response:
    """The year curves as a picture to keep."""
    piece = get_piece(asked.collection, asked.path["piece"])
    picture = year_curves_svg(_dating(asked), f"{piece.name}: year curves")
    if picture is None:
        raise Unfit("picture", "dates", "nothing dates the piece yet", "something that dates it first")
    return Response(str(picture), media_type="image/svg+xml")


def dates_json(asked: Asked) -> Response:
    """The dates as the command line prints them."""
    return JSONResponse(_dating(asked).to_record())


def dates_csv(asked: Asked) -> Response:
    """The items as a table."""
    return Response(csv_text(item_records(_dating(asked))), media_type="text/csv; charset=utf-8")


def see_date(asked: Asked) -> Response:
    """Take down something that dates the piece, and show how the years moved."""
    add_sighting(asked, asked.text("feature"))
    return see_other(f"{piece_address(asked.path['piece'])}/dates")


def sign_date(asked: Asked) -> Response:
    """Sign the dates; evidence and curves are frozen with them."""
    accept_date(asked.collection, asked.path["piece"], who=asked.text("who"), remark=asked.text("remark"))
    response = see_other(piece_address(asked.path["piece"]))
    sign(response, asked.text("who"))
    return response


def _asked_for(asked: Asked) -> tuple[str, bool]:
    region = asked.query.get("region", "")
    return region and region_named(region), asked.query.get("forms") != "off"


def _dating(asked: Asked) -> Dating:
    region, with_forms = _asked_for(asked)
    return date_of(asked.collection, asked.path["piece"], with_forms=with_forms, region=region or None)


DATES_ROUTES = [
    Route("/piece/{piece}/dates", door(dates_page)),
    Route("/piece/{piece}/dates.svg", door(dates_svg)),
    Route("/piece/{piece}/dates.json", door(dates_json)),
    Route("/piece/{piece}/dates.csv", door(dates_csv)),
    Route("/piece/{piece}/dates/seen", door(see_date, again=dates_page), methods=["POST"]),
    Route("/piece/{piece}/dates/sign", door(sign_date, again=dates_page), methods=["POST"]),
]
