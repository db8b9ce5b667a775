"""Facts of the page on where and when: the map, the places entered, the time line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from markupsafe import Markup

from weftglass.desk.selection import Selection
from weftglass.holdings import Holding, Lifespan, Spot
from weftglass.publish import for_pages, map_svg, timeline_svg
from weftglass.records import STANDINGS, Place
from weftglass.web.door import FormFault
from weftglass.web.pages.addresses import piece_address
from weftglass.web.pages.selection import SelectionFacts, selection_facts

MOST_LANES = 120


@dataclass(frozen=True)
class SpotFacts:
    """One spot in words, with its pieces."""

    name: str
    standing: str
    where: str
    pieces: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class PlaceFacts:
    """One place that was entered, and the form that takes it off the map."""

    name: str
    said: str
    source: str
    href: str
    version: int


@dataclass(frozen=True)
class WhereaboutsFacts:
    """The page."""

    map: Markup
    spots: tuple[SpotFacts, ...]
    places: tuple[PlaceFacts, ...]
    standings: tuple[tuple[str, str], ...]
    timeline: Markup
    lanes: str
    which: SelectionFacts
    map_href: str
    spots_href: str
    years_href: str
    spans_href: str
    exhibit: tuple[tuple[str, str], ...]
    pages: tuple[tuple[str, str], ...]
    fault: FormFault | None


def whereabouts_facts(
    spots: Sequence[Spot],
    places: Sequence[Place],
    spans: Sequence[Lifespan],
    selection: Selection,
    every: Sequence[Holding],
    pages: tuple[tuple[str, str], ...],
    fault: FormFault | None,
) -> WhereaboutsFacts:
    """The page from what the desk says; ``every`` are the pieces the filters choose among."""
    asked = urlencode(selection.asked)
    shown = spans[:MOST_LANES]
    rest = f" The first {MOST_LANES} of {len(spans)} are drawn; the list has all." if len(spans) > MOST_LANES else ""
    return WhereaboutsFacts(
        map=for_pages(lambda size: map_svg(spots, size=size)) if spots else Markup(""),
        spots=tuple(_spot(one) for one in spots),
        places=tuple(_place(one) for one in places),
        standings=tuple(STANDINGS.items()),
        timeline=for_pages(lambda size: timeline_svg(shown, size=size)) if shown else Markup(""),
        lanes=f"{len(spans)} piece{'' if len(spans) == 1 else 's'} with years.{rest}" if spans else "",
        which=selection_facts(selection, every, "/whereabouts", {}),
        map_href=f"/whereabouts-map.svg?{asked}",
        spots_href=f"/whereabouts.csv?{asked}",
        years_href=f"/whereabouts-years.svg?{asked}",
        spans_href=f"/whereabouts-years.csv?{asked}",
        exhibit=selection.asked,
        pages=pages,
        fault=fault,
    )


def _spot(one: Spot) -> SpotFacts:
    latitude, longitude = one.point
    north, east = "N" if latitude >= 0 else "S", "E" if longitude >= 0 else "W"
    where = f"{abs(latitude):.2f}° {north}, {abs(longitude):.2f}° {east}, within {one.within_km:g}\u00a0km"
    return SpotFacts(one.name, one.standing, where, tuple((name, piece_address(piece)) for piece, name in one.pieces))


def _place(one: Place) -> PlaceFacts:
    looked = f", {one.looked_on}" if one.looked_on else ""
    return PlaceFacts(
        one.name, f"{STANDINGS[one.standing]}{looked}", one.source, f"/whereabouts/{one.id}/withdraw", one.version
    )
