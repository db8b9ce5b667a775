"""A piece: its catalogue entry, and writing down what was measured, seen or told."""

from __future__ import annotations

from collections.abc import Callable

from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from weftglass.desk import (
    add_photos_to_piece,
    edit_piece,
    evidence_of,
    get_piece_dossier,
    history_of,
    identify_piece,
    library_of,
    record_measurement,
    record_sighting,
    undo_change,
    withdraw_measurement,
    withdraw_piece,
    withdraw_sighting,
    withdraw_view,
)
from weftglass.desk.catalogue import page_choices
from weftglass.desk.communities import restrictions
from weftglass.errors import InputError
from weftglass.records import PIECE_FIELDS
from weftglass.web.door import Asked, door, see_other
from weftglass.web.pages.addresses import bench_address, piece_address
from weftglass.web.pages.history import history_records
from weftglass.web.pages.inside import answer_facts, seen_words
from weftglass.web.pages.lists import csv_text
from weftglass.web.pages.piece import piece_facts
from weftglass.web.pages.wording import FEATURE_WORDS, KIND_WORDS
from weftglass.web.reading import number_typed, yes_or_no
from weftglass.web.refusal import wants_json
from weftglass.web.rendering import page

WITHDRAW: dict[str, tuple[Callable[..., object], str]] = {
    "measurements": (withdraw_measurement, "measurement"),
    "sightings": (withdraw_sighting, "sighting"),
    "views": (withdraw_view, "photograph"),
}


def piece_page(asked: Asked) -> Response:
    """The catalogue entry."""
    piece, library = asked.path["piece"], library_of(asked.collection)
    dossier, evidence = get_piece_dossier(asked.collection, piece), evidence_of(asked.collection, piece)
    answer = None
    if not evidence.is_empty:
        found = identify_piece(asked.collection, piece)
        standing = (dossier.accepted and dossier.accepted.form) or ""
        answer = answer_facts(found, evidence, library, f"{piece_address(piece)}/inside", chosen=standing)
    facts = piece_facts(
        dossier,
        answer,
        seen_words(library),
        asked.fault,
        page_choices(asked.collection),
        restrictions(asked.collection).get(piece),
    )
    return page(asked.request, "piece.html", facts)


def evidence_json(asked: Asked) -> Response:
    """All that is known of a piece as an evidence file, as the command line takes it."""
    return JSONResponse(evidence_of(asked.collection, asked.path["piece"]).to_record())


def history_csv(asked: Asked) -> Response:
    """Every change of a piece and what belongs to it, as a table."""
    text = csv_text(history_records(history_of(asked.collection, asked.path["piece"])))
    return Response(text, media_type="text/csv; charset=utf-8")


def change_piece(asked: Asked) -> Response:
    """Keep the fields of the catalogue entry."""
    piece = asked.path["piece"]
    given = {name: asked.text(name) for name in PIECE_FIELDS if name in asked.form}
    with asked.moves.watching(asked.collection, piece, "changing the catalogue entry"):
        edit_piece(asked.collection, piece, given, who=asked.who, version=asked.version())
    return see_other(piece_address(piece))


def remove_piece(asked: Asked) -> Response:
    """Take a piece off the shelf; its page and history stay."""
    withdraw_piece(asked.collection, asked.path["piece"], who=asked.who, version=asked.version())
    return see_other(piece_address(asked.path["piece"]))


def add_photographs(asked: Asked) -> Response:
    """Further views of a piece; with one photograph the workbench opens on it."""
    piece, photos = asked.path["piece"], asked.files("photographs")
    if not photos:
        raise InputError("piece", "photographs", None, "a photograph file")
    views = add_photos_to_piece(asked.collection, piece, photos, who=asked.who, role=asked.text("role") or None)
    address = bench_address(views[0]) if views else piece_address(piece)
    return JSONResponse({"address": address}, 201) if wants_json(asked.request) else see_other(address)


def measure(asked: Asked) -> Response:
    """Take a measurement down."""
    add_measurement(asked, asked.text("what"))
    return see_other(piece_address(asked.path["piece"]))


def see(asked: Asked) -> Response:
    """Take a sighting down."""
    add_sighting(asked, asked.text("feature"))
    return see_other(piece_address(asked.path["piece"]))


def add_measurement(asked: Asked, what: str) -> None:
    """Record the measurement in the form, and remember the evidence before it."""
    piece, typed = asked.path["piece"], asked.text("value")
    with asked.moves.watching(asked.collection, piece, f"recording the {KIND_WORDS.get(what, what)}, {typed}"):
        record_measurement(
            asked.collection,
            piece,
            what,
            typed,
            who=asked.who,
            how=asked.text("how"),
            sd=asked.text("sd") or None,
            z=asked.text("z") or None,
            covered=yes_or_no(asked.text("covered")),
        )


def add_sighting(asked: Asked, feature: str) -> None:
    """Record the sighting in the form, and remember the evidence before it."""
    piece, seen = asked.path["piece"], asked.text("value")
    sure = number_typed(asked.text("sure") or "0.9", "sighting", "sure", "a probability above 0 and at most 1")
    with asked.moves.watching(asked.collection, piece, f"recording the {FEATURE_WORDS.get(feature, feature)}, {seen}"):
        record_sighting(asked.collection, piece, feature, seen, who=asked.who, sure=sure)


def take_away(asked: Asked) -> Response:
    """Say that a measurement, a sighting or a view does not stand; the history can bring it back."""
    piece, kind = asked.path["piece"], asked.path["kind"]
    if kind not in WITHDRAW:
        raise HTTPException(404)
    withdraw, words = WITHDRAW[kind]
    with asked.moves.watching(asked.collection, piece, f"taking a {words} away"):
        withdraw(asked.collection, asked.path["record"], who=asked.who, version=asked.version())
    return see_other(piece_address(piece))


def undo(asked: Asked) -> Response:
    """Take a change back; that is a change like any other."""
    piece = asked.path["piece"]
    with asked.moves.watching(asked.collection, piece, "undoing a change"):
        undo_change(asked.collection, int(asked.path["number"]), who=asked.who)
    return see_other(piece_address(piece))


PIECE_ROUTES = [
    Route("/piece/{piece}/evidence.json", door(evidence_json)),
    Route("/piece/{piece}/history.csv", door(history_csv)),
    Route("/piece/{piece}", door(piece_page)),
    Route("/piece/{piece}", door(change_piece, again=piece_page), methods=["POST"]),
    Route("/piece/{piece}/withdraw", door(remove_piece, again=piece_page), methods=["POST"]),
    Route("/piece/{piece}/photographs", door(add_photographs, again=piece_page), methods=["POST"]),
    Route("/piece/{piece}/measurements", door(measure, again=piece_page), methods=["POST"]),
    Route("/piece/{piece}/sightings", door(see, again=piece_page), methods=["POST"]),
    Route("/piece/{piece}/undo/{number:int}", door(undo, again=piece_page), methods=["POST"]),
    Route("/piece/{piece}/{kind}/{record}/withdraw", door(take_away, again=piece_page), methods=["POST"]),
]
