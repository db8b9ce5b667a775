"""What belongs to the whole house: light of the page, signature, cautions, how far to trust an answer."""

from __future__ import annotations

from starlette.responses import Response
from starlette.routing import Route

from weftglass.errors import InputError
from weftglass.web.door import Asked, door, see_other
from weftglass.web.pages.house import SignatureFacts, TextFacts
from weftglass.web.rendering import THEMES, YEAR_SECONDS, page, sign


def set_theme(asked: Asked) -> Response:
    """Remember day, night or auto in a cookie."""
    chosen = asked.text("theme")
    if chosen not in THEMES:
        raise InputError("light of the page", "theme", chosen, "light, dark or auto")
    response = see_other(asked.way_back)
    response.set_cookie("weftglass_theme", chosen, max_age=YEAR_SECONDS, samesite="strict")
    return response


def signature_page(asked: Asked) -> Response:
    """Ask for the name that changes and findings are signed with."""
    return page(asked.request, "signature.html", SignatureFacts(asked.way_back, asked.fault))


def set_signature(asked: Asked) -> Response:
    """Remember the name in a cookie on this browser."""
    name = asked.text("who")
    if not 1 <= len(name) <= 80:
        raise InputError("signature", "who", name, "a name of 1 to 80 characters")
    response = see_other(asked.local(asked.text("back")))
    sign(response, name)
    return response


def cautions_page(asked: Asked) -> Response:
    """Handling cautions, each where it comes from."""
    return page(asked.request, "cautions.html", TextFacts())


def about_page(asked: Asked) -> Response:
    """How far to trust an answer."""
    return page(asked.request, "about.html", TextFacts())


HOUSE_ROUTES = [
    Route("/theme", door(set_theme), methods=["POST"]),
    Route("/signature", door(signature_page)),
    Route("/signature", door(set_signature, again=signature_page), methods=["POST"]),
    Route("/cautions", door(cautions_page)),
    Route("/about", door(about_page)),
]
