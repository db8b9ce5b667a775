"""The photograph workbench: its page, its state as JSON, and the changes it sends."""

from __future__ import annotations

from typing import Any

from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from weftglass.desk import (
    ViewOnPhoto,
    add_form_from_view,
    edit_view,
    get_piece,
    get_view,
    propose_outline,
    rework_view,
)
from weftglass.errors import InputError
from weftglass.web.door import Asked, door, see_other
from weftglass.web.pages.addresses import bench_address, form_address
from weftglass.web.pages.bench import CHANGE_WORDS, NO_SCALE, bench_facts, bench_state, changed_words
from weftglass.web.reading import number_typed
from weftglass.web.rendering import page
from weftglass.web.routes.piece import add_sighting


def bench_page(asked: Asked) -> Response:
    """The workbench on one view."""
    seen = _view(asked)
    return page(
        asked.request, "bench.html", bench_facts(get_piece(asked.collection, seen.view.piece), seen, asked.fault)
    )


def state(asked: Asked) -> Response:
    """What the workbench draws."""
    seen = _view(asked)
    return JSONResponse(bench_state(seen.view, seen.photo))


def change(asked: Asked) -> Response:
    """Save one change of the workbench, with the version it was made on, and answer with the new state."""
    seen, body = _view(asked), _object(asked.body)
    version, parts = body.get("version"), {key: value for key, value in body.items() if key != "version"}
    if not isinstance(version, int):
        raise InputError("workbench", "version", version, "the version of the view that was changed")
    words = " and ".join(CHANGE_WORDS.get(name, name) for name in parts)
    with asked.moves.watching(asked.collection, seen.view.piece, words):
        view = rework_view(asked.collection, seen.view.id, parts, who=asked.who, version=version)
    return JSONResponse(bench_state(view, seen.photo, changed_words(seen.view, view)))


def find(asked: Asked) -> Response:
    """Find the outline, in a box or anywhere, and answer with the new state."""
    seen, body = _view(asked), _object(asked.body)
    with asked.moves.watching(asked.collection, seen.view.piece, "finding the outline again"):
        view = propose_outline(
            asked.collection, seen.view.id, who=asked.who, box=body.get("box"), version=body.get("version")
        )
    return JSONResponse(bench_state(view, seen.photo))


def by_numbers(asked: Asked) -> Response:
    """The same changes from plain forms, for those without script."""
    seen, kind = _view(asked), asked.text("form")
    if kind in ("find", "box"):
        with asked.moves.watching(asked.collection, seen.view.piece, "finding the outline again"):
            box = _box_typed(asked, seen) if kind == "box" else None
            propose_outline(asked.collection, seen.view.id, who=asked.who, box=box)
        return see_other(bench_address(seen.view))
    if kind == "role":
        with asked.moves.watching(asked.collection, seen.view.piece, "saying what a photograph shows"):
            edit_view(
                asked.collection, seen.view.id, who=asked.who, role=asked.text("role"), caption=asked.text("caption")
            )
        return see_other(bench_address(seen.view))
    if kind == "section":
        add_sighting(asked, "section")
        return see_other(bench_address(seen.view))
    parts = _parts_typed(asked, seen, kind)
    with asked.moves.watching(asked.collection, seen.view.piece, CHANGE_WORDS[next(iter(parts))]):
        rework_view(asked.collection, seen.view.id, parts, who=asked.who)
    return see_other(bench_address(seen.view))


def keep_as_form(asked: Asked) -> Response:
    """Keep an uncovered vessel, outlined here, as a form of the library."""
    seen = _view(asked)
    entries: dict[str, Any] = {name: asked.text(name) for name in ("size", "id", "source") if asked.text(name)}
    form = add_form_from_view(asked.collection, seen.view.id, asked.text("name"), who=asked.who, **entries)
    return see_other(form_address(form.id))


def _view(asked: Asked) -> ViewOnPhoto:
    seen = get_view(asked.collection, asked.path["view"])
    if seen.view.piece != asked.path["piece"]:
        raise HTTPException(404)
    return seen


def _object(body: Any) -> dict[str, Any]:
    if not isinstance(body, dict):
        raise InputError("workbench", "request", body, "a JSON object with the parts that changed")
    return body


def _box_typed(asked: Asked, seen: ViewOnPhoto) -> list[float]:
    """Left, top, right and bottom of a box in pixels, typed in per cent of the photograph."""

    def share(name: str, above: float = 0.0) -> float:
        expected = f"a number from {above:g} to 100, in per cent of the photograph"
        typed = number_typed(asked.text(name), "workbench", name, expected)
        if not above <= typed <= 100.0:
            raise InputError("workbench", name, typed, expected)
        return typed

    left, top = share("left"), share("top")
    right, bottom = share("right", left), share("bottom", top)
    wide, tall = seen.photo.width_px - 1, seen.photo.height_px - 1
    return [left / 100 * wide, top / 100 * tall, right / 100 * wide, bottom / 100 * tall]


def _parts_typed(asked: Asked, seen: ViewOnPhoto, kind: str) -> dict[str, object]:
    def mm(name: str) -> float:
        return number_typed(asked.text(name), "workbench", name, "a number in mm")

    if kind == "height":
        return {"scale": {"kind": "height", "mm": mm("mm")}}
    if kind == "guess":
        return {"scale": NO_SCALE}
    if kind == "ends":
        return {name: asked.text(name) == "yes" for name in ("base_unseen", "top_unseen")}
    if kind == "compared":
        return {"compared": True}
    if kind == "bar":
        ends = [number_typed(asked.text(name), "workbench", name, "pixels") for name in ("x1", "y1", "x2", "y2")]
        return {"scale": {"kind": "bar", "bar": ends, "mm": mm("mm")}}
    if kind in ("bare", "left_out"):
        return {kind: [*getattr(seen.view, kind), sorted((mm("low"), mm("high")))]}
    raise InputError(
        "workbench", "form", kind, "height, guess, bar, bare, left_out, ends, compared, role, section, find or box"
    )


BENCH = "/piece/{piece}/bench/{view}"
BENCH_ROUTES = [
    Route(BENCH, door(bench_page)),
    Route(BENCH, door(by_numbers, again=bench_page), methods=["POST"]),
    Route(f"{BENCH}/state.json", door(state)),
    Route(f"{BENCH}/state.json", door(change), methods=["POST"]),
    Route(f"{BENCH}/find.json", door(find), methods=["POST"]),
    Route(f"{BENCH}/keep", door(keep_as_form, again=bench_page), methods=["POST"]),
]
