"""What is inside a piece: the answer and why, the strip beside the photograph, next looks, and accepting a finding."""

from __future__ import annotations

from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from weftglass.desk import accept_finding, evidence_of, get_piece_dossier, identify_piece, library_of
from weftglass.desk.identification import answer_to
from weftglass.desk.makers import habits_of
from weftglass.errors import Unfit
from weftglass.evidence import KINDS
from weftglass.web.door import Asked, door, see_other
from weftglass.web.pages.addresses import piece_address
from weftglass.web.pages.inside import AnswerFacts, LiveFacts, answer_facts, inside_facts
from weftglass.web.rendering import page, plain, render, sign
from weftglass.web.routes.piece import add_measurement, add_sighting


def answer_of(asked: Asked, address: str, most: int = 10) -> AnswerFacts:
    """Today's answer about a piece as facts, with what the last change moved."""
    piece, even = asked.path["piece"], asked.query.get("commonness") == "even"
    collection, library, move = asked.collection, library_of(asked.collection), asked.moves.last(asked.path["piece"])
    tilt = habits_of(collection, piece) if _with_habits(asked) else None
    found = identify_piece(collection, piece, with_commonness=not even, tilt=tilt)
    before = (
        (move.words, answer_to(collection, move.before, library, with_commonness=not even, tilt=tilt)) if move else None
    )
    return answer_facts(
        found,
        evidence_of(collection, piece),
        library,
        address,
        chosen=asked.query.get("form", ""),
        with_commonness=not even,
        before=before,
        most=most,
    )


def _with_habits(asked: Asked) -> bool:
    return asked.query.get("habits") == "on"


def inside_page(asked: Asked) -> Response:
    """The answer, why, what moved, and what to look at next."""
    dossier = get_piece_dossier(asked.collection, asked.path["piece"])
    answer = answer_of(asked, f"{piece_address(dossier.piece.id)}/inside")
    habits = None
    if _with_habits(asked):
        habits = bool(habits_of(asked.collection, dossier.piece.id))
    return page(asked.request, "inside.html", inside_facts(dossier, answer, asked.fault, habits))


def live_strip(asked: Asked) -> Response:
    """The answer in short, as the workbench shows it after every change."""
    href = piece_address(asked.path["piece"])
    answer = answer_of(asked, f"{href}/inside", most=4)
    html = render("live_strip.html", plain(LiveFacts(href, f"{href}/inside", answer)))
    return JSONResponse({"html": html, "sentence": answer.verdict})


def inside_json(asked: Asked) -> Response:
    """The answer as the command line prints it."""
    even = asked.query.get("commonness") == "even"
    answer = identify_piece(asked.collection, asked.path["piece"], with_commonness=not even)
    return JSONResponse(answer.to_record())


def inside_svg(asked: Asked) -> Response:
    """The chosen vessel drawn inside the outline, to keep."""
    drawing = answer_of(asked, "").drawing
    if drawing is None:
        raise Unfit("drawing", "outline", "there is no outline to draw", "a traced photograph with a scale")
    return Response(str(drawing), media_type="image/svg+xml")


def answer_look(asked: Asked) -> Response:
    """Record what a next look showed, and show how the answer moved."""
    kind = asked.text("kind")
    if kind in KINDS:
        add_measurement(asked, kind)
    else:
        add_sighting(asked, kind)
    return see_other(f"{piece_address(asked.path['piece'])}/inside")


def accept(asked: Asked) -> Response:
    """Sign a finding; evidence and answer are frozen with it."""
    piece, form, who = asked.path["piece"], asked.text("conclusion") or None, asked.text("who")
    accept_finding(asked.collection, piece, who=who, remark=asked.text("remark"), form=form)
    response = see_other(piece_address(piece))
    sign(response, who)
    return response


INSIDE_ROUTES = [
    Route("/piece/{piece}/inside", door(inside_page)),
    Route("/piece/{piece}/inside.json", door(inside_json)),
    Route("/piece/{piece}/inside.svg", door(inside_svg)),
    Route("/piece/{piece}/live.json", door(live_strip)),
    Route("/piece/{piece}/look", door(answer_look, again=inside_page), methods=["POST"]),
    Route("/piece/{piece}/finding", door(accept, again=inside_page), methods=["POST"]),
]
