"""The rollout of a piece: making it, its picture, and the files it can be saved as."""

from __future__ import annotations

from typing import Any

from starlette.exceptions import HTTPException
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import Route

from weftglass.desk import (
    KeptRollout,
    add_turns,
    get_piece,
    keep_rollout,
    kept_rollout,
    rollable_views,
    stitches_counted,
)
from weftglass.desk.rolling import checked_choice
from weftglass.desk.rollouts import FORMS
from weftglass.errors import InputError
from weftglass.web.door import Asked, door, see_other
from weftglass.web.pages.addresses import piece_address
from weftglass.web.pages.lists import csv_text
from weftglass.web.pages.rollout import rollout_facts
from weftglass.web.reading import number_typed
from weftglass.web.rendering import page


def rollout_page(asked: Asked) -> Response:
    """The wall laid flat, or how to come to it."""
    collection, piece = asked.collection, get_piece(asked.collection, asked.path["piece"])
    views, kept = rollable_views(collection, piece.id), kept_rollout(collection, piece.id)
    facts = rollout_facts(piece, views, kept, stitches_counted(collection, piece.id), asked.fault)
    return page(asked.request, "rollout.html", facts)


def roll(asked: Asked) -> Response:
    """Make the rollout as chosen and keep it."""
    low, high = _number(asked, "low"), _number(asked, "high")
    if (low is None) != (high is None):
        raise InputError("rollout", "low" if low is None else "high", None, "both heights in mm, or neither")
    entries: dict[str, Any] = {"section": asked.text("section") or "round"}
    if low is not None:
        entries["heights_mm"] = (low, high)
    for name in ("px_per_mm", "stitches_per_cm", "stitches_sd", "depth_share"):
        value = _number(asked, name)
        if value is not None:
            entries[name] = value
    keep_rollout(asked.collection, asked.path["piece"], checked_choice(entries))
    return see_other(f"{piece_address(asked.path['piece'])}/rollout")


def take_turns(asked: Asked) -> Response:
    """Take the photographs of a turntable in, traced and scaled."""
    piece, files = asked.path["piece"], asked.files("photographs")
    with asked.moves.watching(asked.collection, piece, "adding photographs of a turntable"):
        add_turns(asked.collection, piece, files, who=asked.who, height_mm=_number(asked, "height"))
    return see_other(f"{piece_address(piece)}/rollout")


def picture(asked: Asked) -> Response:
    """One of the kept pictures."""
    kind = asked.path["kind"]
    if kind not in FORMS:
        raise HTTPException(404)
    return FileResponse(_kept(asked).pictures[kind], media_type=FORMS[kind][1])


def rows(asked: Asked) -> Response:
    """Height, way along the wall and girth of the rows as a table."""
    return Response(csv_text(_kept(asked).geometry["rows_every_mm"]), media_type="text/csv; charset=utf-8")


def whole(asked: Asked) -> Response:
    """Geometry and design as JSON."""
    kept = _kept(asked)
    return JSONResponse({"rollout": kept.geometry, "design": kept.design})


def _kept(asked: Asked) -> KeptRollout:
    kept = kept_rollout(asked.collection, asked.path["piece"])
    if kept is None:
        raise HTTPException(404)
    return kept


def _number(asked: Asked, name: str) -> float | None:
    text = asked.text(name)
    return number_typed(text, "rollout", name, "a number") if text else None


ROLLOUT = "/piece/{piece}/rollout"
ROLLOUT_ROUTES = [
    Route(ROLLOUT, door(rollout_page)),
    Route(ROLLOUT, door(roll, again=rollout_page), methods=["POST"]),
    Route(f"{ROLLOUT}/turns", door(take_turns, again=rollout_page), methods=["POST"]),
    Route(f"{ROLLOUT}/picture/{{kind}}", door(picture)),
    Route(f"{ROLLOUT}/rows.csv", door(rows)),
    Route(f"{ROLLOUT}/rollout.json", door(whole)),
]
