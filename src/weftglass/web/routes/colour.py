"""The colour of the glass where light passes: reading a spot of a photograph, keeping it as a sighting."""

from __future__ import annotations

from starlette.exceptions import HTTPException
from starlette.responses import Response
from starlette.routing import Route

from weftglass.desk import get_piece_dossier, get_view
from weftglass.desk.colours import ColourSample, keep_colour, sample_colour
from weftglass.web.door import Asked, door, see_other
from weftglass.web.pages.addresses import piece_address
from weftglass.web.pages.colour import colour_facts
from weftglass.web.reading import number_typed
from weftglass.web.rendering import page


def colour_page(asked: Asked) -> Response:
    """The photograph, to put a spot on."""
    return _shown(asked, None)


def read(asked: Asked) -> Response:
    """Read the colour of the spot; nothing is kept yet."""
    return _shown(asked, sample_colour(asked.collection, asked.path["view"], *_spot(asked)))


def keep(asked: Asked) -> Response:
    """Keep it as a sighting, and show how the answer moved."""
    piece = asked.path["piece"]
    with asked.moves.watching(asked.collection, piece, "sampling the colour of the glass"):
        keep_colour(asked.collection, asked.path["view"], *_spot(asked), who=asked.who)
    return see_other(f"{piece_address(piece)}/inside")


def _shown(asked: Asked, sample: ColourSample | None) -> Response:
    seen = get_view(asked.collection, asked.path["view"])
    if seen.view.piece != asked.path["piece"]:
        raise HTTPException(404)
    name = get_piece_dossier(asked.collection, seen.view.piece).piece.name
    return page(asked.request, "colour.html", colour_facts(name, seen, sample, asked.fault))


def _spot(asked: Asked) -> tuple[float, float, float]:
    x, y, radius = (
        number_typed(asked.text(name), "spot", name, "a number of pixels on the photograph")
        for name in ("x", "y", "radius")
    )
    return x, y, radius


COLOUR_ROUTES = [
    Route("/piece/{piece}/colour/{view}", door(colour_page)),
    Route("/piece/{piece}/colour/{view}", door(read, again=colour_page), methods=["POST"]),
    Route("/piece/{piece}/colour/{view}/keep", door(keep, again=colour_page), methods=["POST"]),
]
