"""The condition of a piece: its map, and taking down what an examination found."""

from __future__ import annotations

from datetime import datetime

from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from weftglass.desk import (
    begin_examination,
    condition_of,
    drop_spot,
    edit_examination,
    look_at_spot,
    mark_spot,
    withdraw_examination,
)
from weftglass.errors import InputError
from weftglass.web.door import Asked, door, see_other
from weftglass.web.figures.body_map import PLANS
from weftglass.web.pages.addresses import condition_address
from weftglass.web.pages.condition import condition_facts, condition_map_svg, condition_records
from weftglass.web.pages.lists import csv_text
from weftglass.web.reading import number_typed
from weftglass.web.rendering import page


def condition_page(asked: Asked) -> Response:
    """The newest examination, or the one asked for, beside the one before it."""
    condition = condition_of(asked.collection, asked.path["piece"])
    today = datetime.now().astimezone().date()
    return page(asked.request, "condition.html", condition_facts(condition, asked.query, today, asked.fault))


def begin(asked: Asked) -> Response:
    """Begin an examination."""
    today = datetime.now().astimezone().date()
    begin_examination(
        asked.collection, asked.path["piece"], who=asked.who, on=asked.text("on"), state=asked.text("state"),
        remark=asked.text("remark"), today=today,
    )  # fmt: skip
    return see_other(condition_address(asked.path["piece"]))


def edit(asked: Asked) -> Response:
    """Change state and remark of an examination."""
    edit_examination(
        asked.collection, _examination(asked), who=asked.who, state=asked.text("state"), remark=asked.text("remark"),
        version=asked.version(),
    )  # fmt: skip
    return see_other(condition_address(asked.path["piece"]))


def mark(asked: Asked) -> Response:
    """Mark a spot."""
    height = condition_of(asked.collection, asked.path["piece"]).silhouette.height_mm
    face, whole = asked.text("face"), 100.0
    if face not in PLANS and height is not None:
        whole = height
    expected = f"a number from 0 to {whole:.0f}"
    typed = number_typed(asked.text("height"), "spot", "height", expected)
    if not 0.0 <= typed <= whole:
        raise InputError("spot", "height", asked.text("height"), expected)
    mark_spot(
        asked.collection,
        _examination(asked),
        who=asked.who,
        kind=asked.text("kind"),
        face=face,
        up=typed / whole,
        across=number_typed(asked.text("across"), "spot", "across", "a number from -100 to 100") / 100.0,
        size_mm=number_typed(asked.text("size_mm"), "spot", "size_mm", "a number above 0, in mm"),
        remark=asked.text("remark"),
    )
    return see_other(f"{condition_address(asked.path['piece'])}#map")


def look(asked: Asked) -> Response:
    """Say that a spot taken over was looked at, or is not seen any more."""
    examination, number = _examination(asked), int(asked.path["number"])
    if asked.text("act") == "gone":
        drop_spot(asked.collection, examination, number, who=asked.who)
    else:
        size = number_typed(asked.text("size_mm"), "spot", "size_mm", "a number above 0, in mm")
        look_at_spot(asked.collection, examination, number, who=asked.who, size_mm=size, remark=asked.text("remark"))
    return see_other(f"{condition_address(asked.path['piece'])}#spots")


def withdraw(asked: Asked) -> Response:
    """Say that an examination does not stand."""
    withdraw_examination(asked.collection, _examination(asked), who=asked.who, version=asked.version())
    return see_other(condition_address(asked.path["piece"]))


def condition_svg(asked: Asked) -> Response:
    """The map, to keep."""
    condition = condition_of(asked.collection, asked.path["piece"])
    return Response(str(condition_map_svg(condition, asked.query.get("at", ""))), media_type="image/svg+xml")


def condition_csv(asked: Asked) -> Response:
    """All spots of all examinations as a table."""
    text = csv_text(condition_records(condition_of(asked.collection, asked.path["piece"])))
    return Response(text, media_type="text/csv; charset=utf-8")


def condition_json(asked: Asked) -> Response:
    """The same as JSON."""
    return JSONResponse({"spots": condition_records(condition_of(asked.collection, asked.path["piece"]))})


def _examination(asked: Asked) -> str:
    """Id of the examination in the address, if it is one of this piece."""
    condition, wanted = condition_of(asked.collection, asked.path["piece"]), asked.path["examination"]
    if all(one.id != wanted for one in condition.examinations):
        raise HTTPException(404)
    return wanted


CONDITION = "/piece/{piece}/condition"
CONDITION_ROUTES = [
    Route(CONDITION, door(condition_page)),
    Route(CONDITION, door(begin, again=condition_page), methods=["POST"]),
    Route(f"{CONDITION}.svg", door(condition_svg)),
    Route(f"{CONDITION}.csv", door(condition_csv)),
    Route(f"{CONDITION}.json", door(condition_json)),
    Route(f"{CONDITION}/{{examination}}", door(edit, again=condition_page), methods=["POST"]),
    Route(f"{CONDITION}/{{examination}}/spots", door(mark, again=condition_page), methods=["POST"]),
    Route(f"{CONDITION}/{{examination}}/spots/{{number:int}}", door(look, again=condition_page), methods=["POST"]),
    Route(f"{CONDITION}/{{examination}}/withdraw", door(withdraw, again=condition_page), methods=["POST"]),
]
