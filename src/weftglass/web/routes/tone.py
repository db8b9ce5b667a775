"""The tone of a piece: recording it, hearing what the recordings say, keeping it as a measurement."""

from __future__ import annotations

from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from weftglass.desk import (
    FilledWith,
    Weather,
    get_piece_dossier,
    hear_tone,
    identify_piece,
    keep_capacity,
    keep_tone,
)
from weftglass.errors import InputError
from weftglass.web.door import Asked, door, see_other
from weftglass.web.pages.addresses import piece_address
from weftglass.web.pages.tone import HeardAlone, HeardFacts, heard_facts, tone_facts
from weftglass.web.reading import number_typed
from weftglass.web.refusal import wants_json
from weftglass.web.rendering import page, plain, render

FILLS = (1, 2)
MOST_BYTES = 64 * 2**20


def tone_page(asked: Asked) -> Response:
    """How to record, and what is kept."""
    dossier = get_piece_dossier(asked.collection, asked.path["piece"])
    return page(asked.request, "tone.html", tone_facts(dossier, None, asked.fault))


def hear(asked: Asked) -> Response:
    """Listen to what was sent; nothing is kept yet."""
    facts = _heard(asked)
    if wants_json(asked.request):
        html = render("tone_heard.html", plain(HeardAlone(facts)))
        return JSONResponse({"html": html, "sentence": facts.sentence})
    dossier = get_piece_dossier(asked.collection, asked.path["piece"])
    return page(asked.request, "tone.html", tone_facts(dossier, facts, None))


def keep(asked: Asked) -> Response:
    """Keep what was heard as a measurement, and show how the answer moved."""
    piece = asked.path["piece"]
    if asked.text("what") == "capacity":
        return _keep_capacity(asked, piece)
    hz = _number(asked, "hz", "a tone in Hz")
    sd_hz = _number(asked, "sd", "its standard deviation in Hz")
    if hz is None or sd_hz is None:
        raise InputError("tone", "hz" if hz is None else "sd", None, "what was heard, in Hz")
    with asked.moves.watching(asked.collection, piece, f"recording the tone, {hz:.1f} Hz"):
        keep_tone(asked.collection, piece, hz, sd_hz, who=asked.who, remark=asked.text("remark"))
    return see_other(f"{piece_address(piece)}/inside")


def _keep_capacity(asked: Asked, piece: str) -> Response:
    ml, sd_ml = _number(asked, "ml", "a capacity in ml"), _number(asked, "sd", "its standard deviation in ml")
    if ml is None or sd_ml is None:
        raise InputError("capacity", "ml" if ml is None else "sd", None, "what was heard, in ml")
    with asked.moves.watching(asked.collection, piece, f"recording the capacity, {ml:.0f} ml"):
        keep_capacity(asked.collection, piece, ml, sd_ml, who=asked.who, remark=asked.text("remark"))
    return see_other(f"{piece_address(piece)}/inside")


def _heard(asked: Asked) -> HeardFacts:
    piece = get_piece_dossier(asked.collection, asked.path["piece"]).piece.id
    weather = Weather(
        _number(asked, "temperature", "a temperature from 0 to 40 °C"),
        _number(asked, "humidity", "a relative humidity from 0 to 100 %"),
    )
    filled = []
    for i in FILLS:
        files, held = asked.files(f"fill{i}"), _number(asked, f"fill{i}_ml", "a volume above 0, in ml")
        if files and held is None:
            raise InputError("tone", f"fill{i}_ml", None, "how much the fill of these recordings was, in ml")
        if files and held is not None:
            filled.append(FilledWith(held, tuple(files)))
    heard = hear_tone(
        asked.files("recordings"),
        weather=weather,
        bore_mm=_number(asked, "bore", "a bore in mm"),
        neck_length_mm=_number(asked, "neck", "a neck length in mm"),
        filled=filled,
    )
    return heard_facts(heard, identify_piece(asked.collection, piece), piece)


def _number(asked: Asked, name: str, expected: str) -> float | None:
    """A number typed in a field; None where it was left empty."""
    text = asked.text(name)
    return None if not text else number_typed(text, "tone", name, expected)


TONE_ROUTES = [
    Route("/piece/{piece}/tone", door(tone_page)),
    Route("/piece/{piece}/tone", door(hear, again=tone_page, largest=MOST_BYTES), methods=["POST"]),
    Route("/piece/{piece}/tone/keep", door(keep, again=tone_page), methods=["POST"]),
]
