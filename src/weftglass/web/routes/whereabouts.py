"""Where and when: the map, places, and the time line."""

from __future__ import annotations

from starlette.responses import Response
from starlette.routing import Route

from weftglass.desk import lifespans, map_of, places_of, record_place, withdraw_place
from weftglass.desk.catalogue import page_choices
from weftglass.desk.lists import span_records, spot_records
from weftglass.desk.selection import Selection, selected
from weftglass.publish import map_svg, timeline_svg
from weftglass.web.door import Asked, door, see_other
from weftglass.web.pages.lists import csv_text
from weftglass.web.pages.selection import selection_asked
from weftglass.web.pages.whereabouts import whereabouts_facts
from weftglass.web.reading import number_typed
from weftglass.web.rendering import page

SVG, CSV = "image/svg+xml", "text/csv; charset=utf-8"


def whereabouts_page(asked: Asked) -> Response:
    """Map, places and time line."""
    shelf, selection = asked.collection, selection_asked(asked.query)
    every, pages = selected(shelf, Selection(selection.whose)), page_choices(shelf)
    spots, spans = map_of(shelf, selection), lifespans(shelf, selection)
    facts = whereabouts_facts(spots, places_of(shelf), spans, selection, every, pages, asked.fault)
    return page(asked.request, "whereabouts.html", facts)


def keep_place(asked: Asked) -> Response:
    """Put a place on the map."""
    record_place(
        asked.collection,
        asked.text("name"),
        who=asked.who,
        latitude=number_typed(asked.text("latitude"), "place", "latitude", "degrees north, as 51.4"),
        longitude=number_typed(asked.text("longitude"), "place", "longitude", "degrees east, as -3.2"),
        within_km=number_typed(asked.text("within_km"), "place", "within_km", "a distance in km"),
        standing=asked.text("standing"),
        looked_on=asked.text("looked_on"),
        source=asked.text("source"),
    )
    return see_other("/whereabouts")


def take_off(asked: Asked) -> Response:
    """Take a place off the map."""
    withdraw_place(asked.collection, asked.path["place"], who=asked.who, version=asked.version())
    return see_other("/whereabouts")


def map_picture(asked: Asked) -> Response:
    """The map as a picture."""
    spots = map_of(asked.collection, selection_asked(asked.query))
    return Response(str(map_svg(spots)) if spots else "", 200 if spots else 404, media_type=SVG)


def map_list(asked: Asked) -> Response:
    """The map as a list."""
    return Response(csv_text(spot_records(map_of(asked.collection, selection_asked(asked.query)))), media_type=CSV)


def years_picture(asked: Asked) -> Response:
    """The time line as a picture."""
    spans = lifespans(asked.collection, selection_asked(asked.query))
    return Response(str(timeline_svg(spans)) if spans else "", 200 if spans else 404, media_type=SVG)


def years_list(asked: Asked) -> Response:
    """The time line as a list."""
    return Response(csv_text(span_records(lifespans(asked.collection, selection_asked(asked.query)))), media_type=CSV)


WHEREABOUTS_ROUTES = [
    Route("/whereabouts", door(whereabouts_page)),
    Route("/whereabouts", door(keep_place, again=whereabouts_page), methods=["POST"]),
    Route("/whereabouts/{place}/withdraw", door(take_off), methods=["POST"]),
    Route("/whereabouts-map.svg", door(map_picture)),
    Route("/whereabouts.csv", door(map_list)),
    Route("/whereabouts-years.svg", door(years_picture)),
    Route("/whereabouts-years.csv", door(years_list)),
]
