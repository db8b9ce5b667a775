"""The form library: drawings on offer, one form, the drawing sheet, and forms of one's own."""

from __future__ import annotations

from starlette.responses import Response
from starlette.routing import Route

from weftglass.desk import add_forms_from_file, library_of
from weftglass.errors import InputError
from weftglass.vessels import Form, FormLibrary, form_drawing_svg, library_sheet_svg
from weftglass.web.door import Asked, door, see_other
from weftglass.web.pages.forms import form_facts, forms_facts, matches
from weftglass.web.pages.lists import csv_text, form_records
from weftglass.web.rendering import page

SVG = "image/svg+xml"


def forms_page(asked: Asked) -> Response:
    """Drawings with search and filters."""
    return page(asked.request, "forms.html", forms_facts(library_of(asked.collection), asked.query, asked.fault))


def form_page(asked: Asked) -> Response:
    """One form with everything known of it."""
    library = library_of(asked.collection)
    return page(asked.request, "form.html", form_facts(library[asked.path["form"]], library))


def form_drawing(asked: Asked) -> Response:
    """One form's drawing."""
    return Response(form_drawing_svg(library_of(asked.collection)[asked.path["form"]]), media_type=SVG)


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
        raise InputError("form library", "file", "nothing", "a form file (JSON Lines, one form a line)")
    add_forms_from_file(asked.collection, files[0], who=asked.who)
    return see_other("/forms")


def _found(asked: Asked) -> list[Form]:
    return [form for form in library_of(asked.collection) if matches(form, asked.query)]


FORM_ROUTES = [
    Route("/forms", door(forms_page)),
    Route("/forms.csv", door(forms_csv)),
    Route("/forms.jsonl", door(forms_file)),
    Route("/forms/sheet.svg", door(sheet)),
    Route("/forms/file", door(add_file, again=forms_page), methods=["POST"]),
    Route("/forms/{form}/drawing.svg", door(form_drawing)),
    Route("/forms/{form}", door(form_page)),
]
