"""The form library: drawings on offer, one form, the drawing sheet, and forms of one's own."""

from __future__ import annotations

from starlette.responses import Response
from starlette.routing import Route

from weftglass.desk import OwnFormEntry, add_forms_from_file, library_of, own_forms, restore_form, withdraw_form
from weftglass.errors import InputError
from weftglass.vessels import Form, FormLibrary, form_drawing_svg, library_sheet_svg
from weftglass.web.door import Asked, door, see_other
from weftglass.web.pages.addresses import form_address
from weftglass.web.pages.forms import form_facts, forms_facts, matches
from weftglass.web.pages.lists import csv_text, form_records
from weftglass.web.rendering import page

SVG = "image/svg+xml"
HAND_LETTERING = 1.8
"""Letters of a drawing on a phone against those at a desk."""


def forms_page(asked: Asked) -> Response:
    """Drawings with search and filters."""
    own = own_forms(asked.collection, withdrawn=True)
    return page(asked.request, "forms.html", forms_facts(library_of(asked.collection), asked.query, own, asked.fault))


def form_page(asked: Asked) -> Response:
    """One form with everything known of it."""
    library = library_of(asked.collection)
    form = library[asked.path["form"]]
    return page(asked.request, "form.html", form_facts(form, library, _own(asked, form.id)))


def form_drawing(asked: Asked) -> Response:
    """One form's drawing; asked for the hand, with letters that can be read on a phone."""
    form = library_of(asked.collection)[asked.path["form"]]
    lettering = HAND_LETTERING if asked.query.get("for") == "hand" else 1.0
    return Response(form_drawing_svg(form, lettering=lettering), media_type=SVG)


def sheet(asked: Asked) -> Response:
    """All forms that answer to the search on one sheet."""
    return Response(library_sheet_svg(FormLibrary(_found(asked))), media_type=SVG)


def forms_file(asked: Asked) -> Response:
    """The library as a form file."""
    return Response(library_of(asked.collection).to_text(), media_type="application/x-ndjson")


def forms_csv(asked: Asked) -> Response:
    """The library as a table."""
    return Response(csv_text(form_records(_found(asked))), media_type="text/csv; charset=utf-8")


def add_file(asked: Asked) -> Response:
    """Take in all forms of a file, or none and say why."""
    files = asked.files("file")
    if not files:
        raise InputError("form library", "file", None, "a form file (JSON Lines, one form a line)")
    add_forms_from_file(asked.collection, files[0], who=asked.who)
    return see_other("/forms")


def withdraw(asked: Asked) -> Response:
    """Take one of the owner's own forms out of the library; findings that name it stay."""
    withdraw_form(asked.collection, asked.path["form"], who=asked.who, version=asked.version())
    return see_other("/forms#own")


def restore(asked: Asked) -> Response:
    """Bring it back."""
    restored = restore_form(asked.collection, asked.path["form"], who=asked.who, version=asked.version())
    return see_other(form_address(restored.id))


def _own(asked: Asked, form: str) -> OwnFormEntry | None:
    return next((entry for entry in own_forms(asked.collection) if entry.record.id == form), None)


def _found(asked: Asked) -> list[Form]:
    return [form for form in library_of(asked.collection) if matches(form, asked.query)]


FORM_ROUTES = [
    Route("/forms", door(forms_page)),
    Route("/forms.csv", door(forms_csv)),
    Route("/forms.jsonl", door(forms_file)),
    Route("/forms/sheet.svg", door(sheet)),
    Route("/forms/file", door(add_file, again=forms_page), methods=["POST"]),
    Route("/forms/{form}/drawing.svg", door(form_drawing)),
    Route("/forms/{form}/withdraw", door(withdraw), methods=["POST"]),
    Route("/forms/{form}/restore", door(restore), methods=["POST"]),
    Route("/forms/{form}", door(form_page)),
]
