"""The catalogue: putting things on its pages, wording and ordering them, and the file it becomes."""

from __future__ import annotations

from datetime import date

from starlette.responses import Response
from starlette.routing import Route

from weftglass.desk.catalogue import (
    catalogue_pages,
    drop_exhibit,
    move_page,
    put_into_catalogue,
    restore_page,
    withdraw_page,
    word_page,
)
from weftglass.desk.publishing import exhibit_words, left_out, make_catalogue
from weftglass.publish import catalogue_html, content_policy
from weftglass.web.door import Asked, door, see_other
from weftglass.web.pages.catalogue import catalogue_facts
from weftglass.web.rendering import page

ASKED = "asked-"
STEPS = {"up": -1, "down": 1}


def catalogue_page(asked: Asked) -> Response:
    """All pages, in order."""
    pages = catalogue_pages(asked.collection)
    words = [[exhibit_words(asked.collection, one) for one in held.exhibits] for held in pages]
    gone = catalogue_pages(asked.collection, withdrawn=True)
    return page(
        asked.request, "catalogue.html", catalogue_facts(pages, words, gone, left_out(asked.collection), asked.fault)
    )


def put_in(asked: Asked) -> Response:
    """Put something on a page."""
    told = {
        name.removeprefix(ASKED): value
        for name, value in asked.form.items()
        if name.startswith(ASKED) and isinstance(value, str)
    }
    given = asked.text("kind"), told
    held = put_into_catalogue(
        asked.collection, *given, who=asked.who, page=asked.text("page"), title=asked.text("title")
    )
    return see_other(f"/catalogue#{held.id}")


def keep_words(asked: Asked) -> Response:
    """Change title and remark."""
    word_page(
        asked.collection,
        asked.path["page"],
        who=asked.who,
        title=asked.text("title"),
        remark=asked.text("remark"),
        version=asked.version(),
    )
    return see_other(f"/catalogue#{asked.path['page']}")


def move(asked: Asked) -> Response:
    """Move a page up or down."""
    move_page(asked.collection, asked.path["page"], STEPS.get(asked.text("to"), 0), who=asked.who)
    return see_other(f"/catalogue#{asked.path['page']}")


def drop(asked: Asked) -> Response:
    """Take one thing off a page."""
    number = int(asked.path["number"])
    drop_exhibit(asked.collection, asked.path["page"], number, who=asked.who, version=asked.version())
    return see_other(f"/catalogue#{asked.path['page']}")


def take_away(asked: Asked) -> Response:
    """Take a page away."""
    withdraw_page(asked.collection, asked.path["page"], who=asked.who, version=asked.version())
    return see_other("/catalogue")


def bring_back(asked: Asked) -> Response:
    """Bring a page back."""
    restore_page(asked.collection, asked.path["page"], who=asked.who, version=asked.version())
    return see_other(f"/catalogue#{asked.path['page']}")


def catalogue_shown(asked: Asked) -> Response:
    """The file as a reader will see it, to be printed."""
    return _file(asked, back="/catalogue")


def catalogue_file(asked: Asked) -> Response:
    """The file, to be saved."""
    response = _file(asked)
    response.headers["content-disposition"] = 'attachment; filename="catalogue.html"'
    return response


def _file(asked: Asked, back: str = "") -> Response:
    made = make_catalogue(asked.collection, date.today())
    headers = {"content-security-policy": f"{content_policy()}; frame-ancestors 'none'", "cache-control": "no-store"}
    return Response(catalogue_html(made.catalogue, back=back), media_type="text/html; charset=utf-8", headers=headers)


CATALOGUE_ROUTES = [
    Route("/catalogue", door(catalogue_page)),
    Route("/catalogue.html", door(catalogue_file)),
    Route("/catalogue/shown", door(catalogue_shown)),
    Route("/catalogue/exhibits", door(put_in, again=catalogue_page), methods=["POST"]),
    Route("/catalogue/{page}", door(keep_words, again=catalogue_page), methods=["POST"]),
    Route("/catalogue/{page}/move", door(move, again=catalogue_page), methods=["POST"]),
    Route("/catalogue/{page}/exhibits/{number:int}/drop", door(drop, again=catalogue_page), methods=["POST"]),
    Route("/catalogue/{page}/withdraw", door(take_away, again=catalogue_page), methods=["POST"]),
    Route("/catalogue/{page}/restore", door(bring_back, again=catalogue_page), methods=["POST"]),
]
