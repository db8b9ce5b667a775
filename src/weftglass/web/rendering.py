"""Turns page facts into HTML: one Jinja environment, everything escaped, nothing undefined."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from functools import cache
from typing import TYPE_CHECKING, Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from weftglass.web.pages.parts import parts_of

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

YEAR_SECONDS = 365 * 24 * 3600
OF_A_PIECE = (200, 422)
THEMES = ("auto", "light", "dark")
SURENESS = (("0.99", "certain"), ("0.9", "fairly sure"), ("0.7", "rather"), ("0.5", "a guess"))
TECHNIQUES = (
    "plain twining",
    "open twining",
    "diagonal twining",
    "wrapped twining",
    "coiling",
    "wicker",
    "plaiting",
    "openwork plaiting",
    "wrapping",
    "knotted cord",
    "netting",
    "leather",
)
PARTS = (  # address, words, addresses that count as this part
    ("/", "Shelf", "/piece"),
    ("/holdings", "Holdings", "/holdings"),
    ("/buying", "Buying", "/buying"),
    ("/forms", "Form library", "/forms"),
    ("/letters", "Letters", "/letters"),
    ("/communities", "Communities", "/communities"),
    ("/carry", "Out and in", "/carry"),
    ("/soundness", "Soundness", "/soundness"),
)


@cache
def environment() -> Environment:
    """The template environment; autoescape for every name, and a missing fact is an error, not a blank."""
    made = Environment(
        loader=PackageLoader("weftglass.web", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals["frame_parts"] = PARTS
    made.globals["sure_choices"] = SURENESS
    made.globals["technique_words"] = TECHNIQUES
    return made


def render(template: str, facts: Mapping[str, Any]) -> str:
    """HTML of a template with the facts given."""
    return environment().get_template(template).render(facts)


def page(request: Request, template: str, facts: DataclassInstance, *, status: int = 200) -> HTMLResponse:
    """
    A whole page from its facts, a frozen dataclass each of whose fields the template may use.

    The frame's own facts (theme, signed name, which part of the collection and of a piece) come from the request.
    """
    piece, path = request.path_params.get("piece"), request.url.path
    parts = parts_of(str(piece), path) if piece is not None and status in OF_A_PIECE else ()
    frame = {"theme": theme_of(request), "who": who_of(request), "path": path, "parts": parts}
    response = HTMLResponse(render(template, {**plain(facts), "frame": frame}), status)
    response.headers["cache-control"] = "no-store"
    return response


def plain(facts: DataclassInstance) -> dict[str, Any]:
    """The fields of a facts class by name, their values as they are."""
    return {item.name: getattr(facts, item.name) for item in dataclasses.fields(facts)}


def theme_of(request: Request) -> str:
    """Light or dark if the person chose, else ``auto``: what the device prefers."""
    chosen = request.cookies.get("weftglass_theme", "auto")
    return chosen if chosen in THEMES else "auto"


def who_of(request: Request) -> str:
    """The name changes are signed with, as the person gave it; empty until then."""
    return decode_name(request.cookies.get("weftglass_who", ""))


def sign(response: Response, name: str) -> None:
    """Remember in this browser whose work is done here."""
    response.set_cookie("weftglass_who", encode_name(name), max_age=YEAR_SECONDS, samesite="strict", httponly=True)


def encode_name(name: str) -> str:
    """A name as cookie-safe text; `decode_name` reads it back."""
    return name.encode("utf-8").hex()


def decode_name(text: str) -> str:
    """The name in a cookie; nonsense reads as no name."""
    try:
        return bytes.fromhex(text).decode("utf-8")[:80]
    except ValueError:
        return ""
