"""Letters: searching inscriptions by part of them, and putting letters behind a covering together."""

from __future__ import annotations

from urllib.parse import urlencode

from starlette.exceptions import HTTPException
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import Route

from weftglass.desk import (
    InscriptionMatch,
    get_piece,
    kept_letters,
    library_of,
    put_letters_together,
    readable_views,
    record_sighting,
    search_inscriptions,
)
from weftglass.errors import InputError
from weftglass.web.door import Asked, FormFault, door, see_other
from weftglass.web.pages.addresses import piece_address
from weftglass.web.pages.letters import inscriptions_facts, letters_facts, match_records
from weftglass.web.pages.lists import csv_text
from weftglass.web.reading import number_typed
from weftglass.web.rendering import page

ASKED = ("q", "face", "low", "high")


def inscriptions_page(asked: Asked) -> Response:
    """Search the library's inscriptions."""
    query = urlencode({name: asked.query[name] for name in ASKED if asked.query.get(name)})
    matches, fault = None, None
    if asked.query.get("q", "").strip():
        try:
            matches = _found(asked)
        except InputError as wrong:
            fault = FormFault.of("find", {"reading": "q"}.get(wrong.field, wrong.field), wrong, asked.query)
    facts = inscriptions_facts(library_of(asked.collection), asked.query, matches, query, fault)
    return page(asked.request, "letters.html", facts, status=200 if fault is None else 422)


def inscriptions_csv(asked: Asked) -> Response:
    """What fits, as a table."""
    return Response(csv_text(match_records(_found(asked))), media_type="text/csv; charset=utf-8")


def inscriptions_json(asked: Asked) -> Response:
    """What fits, as JSON."""
    return JSONResponse(match_records(_found(asked)))


def letters_page(asked: Asked) -> Response:
    """Photographs of a face to put together, and the picture that came of it."""
    piece = get_piece(asked.collection, asked.path["piece"])
    kept = kept_letters(asked.collection, asked.query.get("made", "") or asked.text("made"))
    facts = letters_facts(piece, readable_views(asked.collection, piece.id), kept, asked.fault)
    return page(asked.request, "piece_letters.html", facts)


def together(asked: Asked) -> Response:
    """Put the chosen photographs together."""
    low, high = (_needed(asked, name) for name in ("low", "high"))
    kept = put_letters_together(
        asked.collection,
        asked.path["piece"],
        [str(value) for value in asked.form.getlist("view")],
        face=asked.text("face"),
        heights_mm=(low, high),
        cover_mm=_needed(asked, "cover"),
        glass=asked.text("colour") if asked.text("glass") == "colour" else asked.text("glass") or "dark",
    )
    return see_other(f"{piece_address(asked.path['piece'])}/letters?made={kept.key}#read")


def read(asked: Asked) -> Response:
    """Write the reading down as a sighting, and show how the answer moved."""
    piece, value = asked.path["piece"], asked.text("value")
    sure = number_typed(asked.text("sure") or "0.9", "sighting", "sure", "a probability above 0 and at most 1")
    z = (_needed(asked, "low"), _needed(asked, "high")) if asked.text("low") or asked.text("high") else None
    with asked.moves.watching(asked.collection, piece, f"recording the letters {value}"):
        record_sighting(
            asked.collection, piece, "letters", value, who=asked.who, sure=sure, z=z, face=asked.text("face") or None,
            remark="put together from several photographs" if asked.text("made") else "",
        )  # fmt: skip
    return see_other(f"{piece_address(piece)}/inside")


def picture(asked: Asked) -> Response:
    """A picture that was put together."""
    kept = kept_letters(asked.collection, asked.path["key"])
    if kept is None or asked.path["kind"] not in ("plain", "clearer"):
        raise HTTPException(404)
    return FileResponse(kept.picture if asked.path["kind"] == "plain" else kept.clearer, media_type="image/png")


def _found(asked: Asked) -> tuple[InscriptionMatch, ...]:
    ends = [asked.query.get(name, "").strip() for name in ("low", "high")]
    z = None
    if all(ends):
        low, high = (number_typed(text, "letters", "low", "a height in mm") for text in ends)
        z = (min(low, high), max(low, high))
    return search_inscriptions(
        library_of(asked.collection), asked.query.get("q", ""), z_mm=z, face=asked.query.get("face") or None
    )


def _needed(asked: Asked, name: str) -> float:
    return number_typed(asked.text(name), "letters", name, "a number in mm")


LETTERS = "/piece/{piece}/letters"
LETTERS_ROUTES = [
    Route("/letters", door(inscriptions_page)),
    Route("/letters.csv", door(inscriptions_csv)),
    Route("/letters.json", door(inscriptions_json)),
    Route(LETTERS, door(letters_page)),
    Route(LETTERS, door(together, again=letters_page), methods=["POST"]),
    Route(f"{LETTERS}/read", door(read, again=letters_page), methods=["POST"]),
    Route(f"{LETTERS}/picture/{{key}}/{{kind}}", door(picture)),
]
