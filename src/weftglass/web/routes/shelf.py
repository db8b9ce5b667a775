"""The shelf: all pieces, and taking new ones in."""

from __future__ import annotations

from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from weftglass.desk import ShelfRow, count_pieces, create_piece, get_piece_dossier, list_pieces
from weftglass.errors import InputError
from weftglass.web.door import Asked, door, see_other
from weftglass.web.pages.addresses import bench_address, piece_address
from weftglass.web.pages.lists import csv_text, shelf_records
from weftglass.web.pages.shelf import DEFAULT_SORT, shelf_facts, wanted_rows
from weftglass.web.refusal import wants_json
from weftglass.web.rendering import page


def shelf_page(asked: Asked) -> Response:
    """All pieces as pictures or as a list; an empty collection says what to do."""
    total = count_pieces(asked.collection)
    return page(asked.request, "shelf.html", shelf_facts(_rows(asked), total, asked.query, asked.fault))


def take_in(asked: Asked) -> Response:
    """A new piece, from a photograph or by name; with a photograph the workbench opens on it."""
    photos = asked.files("photographs")
    if asked.text("form") == "take-in" and not photos:
        raise InputError("shelf", "photographs", None, "a photograph file")
    name = asked.text("name") or (photos[0][0].rpartition(".")[0] if photos else "")
    piece = create_piece(asked.collection, name, who=asked.who, photos=photos)
    cover = get_piece_dossier(asked.collection, piece.id).cover
    address = piece_address(piece.id) if cover is None else bench_address(cover)
    return JSONResponse({"address": address}, 201) if wants_json(asked.request) else see_other(address)


def shelf_csv(asked: Asked) -> Response:
    """The shelf as a table for other programs."""
    text = csv_text(shelf_records(wanted_rows(_rows(asked), asked.query)))
    return Response(text, media_type="text/csv; charset=utf-8")


def shelf_json(asked: Asked) -> Response:
    """The shelf as JSON."""
    return JSONResponse({"pieces": shelf_records(wanted_rows(_rows(asked), asked.query))})


def _rows(asked: Asked) -> list[ShelfRow]:
    query, sort = asked.query.get("q", ""), asked.query.get("sort") or DEFAULT_SORT
    return list_pieces(asked.collection, query, sort=sort, withdrawn=asked.query.get("status") == "withdrawn")


SHELF_ROUTES = [
    Route("/", door(shelf_page)),
    Route("/pieces", door(take_in, again=shelf_page), methods=["POST"]),
    Route("/shelf.csv", door(shelf_csv)),
    Route("/shelf.json", door(shelf_json)),
]
