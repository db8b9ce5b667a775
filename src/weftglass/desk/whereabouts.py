"""Where and when: places with what they say, communities on the map, and the years of glass and covering."""

from __future__ import annotations

import json
import re
from collections.abc import Collection as AnyOf
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from weftglass.cabinet import Reader
from weftglass.cabinet.listing import last_change, piece_columns
from weftglass.desk.collection import Collection
from weftglass.desk.forms import library_of
from weftglass.desk.holdings import SURE, YEAR
from weftglass.desk.pieces import brief_answers
from weftglass.desk.selection import Selection, selected
from weftglass.desk.wording import signature, slug
from weftglass.holdings import Lifespan, Spot
from weftglass.records import LONG, Community, Finding, Place, words
from weftglass.vessels import FormLibrary

ABOUT = re.compile(r"\b(about|around|circa|ca?\.|c\.?)\s*$", re.IGNORECASE)
EVERYTHING, OWNED = Selection("all"), Selection()
ABOUT_YEARS = 10
"""``about 1895`` is shown as ten years either way (working figure, no source)."""


def record_place(
    collection: Collection,
    name: str,
    *,
    who: str,
    latitude: float,
    longitude: float,
    within_km: float,
    standing: str,
    looked_on: str = "",
    source: str = "",
    remark: str = "",
) -> Place:
    """
    Put a place on the map.

    Parameters
    ----------
    latitude, longitude : float
        Degrees, north and east positive.
    within_km : float
        How far off the point may be, above 0 and at most 2000 km.
    standing : str
        One of `weftglass.records.STANDINGS`; ``not found`` needs the day it was looked for.

    Raises
    ------
    InputError
        A field that is wrong; nothing is stored then.
    """
    with collection.cabinet.writing(signature(who)) as draft:
        place = Place(
            id=draft.next_id(Place, slug(name)),
            name=words(name, "place", "name", needed=True),
            point=(latitude, longitude),
            within_km=within_km,
            standing=standing,
            looked_on=looked_on,
            source=words(source, "place", "source", longest=LONG),
            remark=words(remark, "place", "remark", longest=LONG),
        )
        replace(place, version=1).check("place")
        return draft.put(place)


def withdraw_place(collection: Collection, place: str, *, who: str, version: int | None = None) -> Place:
    """Take a place off the map; it is kept and can be brought back."""
    with collection.cabinet.writing(signature(who)) as draft:
        held = draft.get(Place, place)
        read = held.version if version is None else version
        return draft.put(replace(held, withdrawn=True, version=read), "withdrawn")


def places_of(collection: Collection) -> tuple[Place, ...]:
    """Places that stand, by name."""
    with collection.cabinet.reading() as reader:
        return tuple(sorted(reader.all_of(Place), key=lambda one: one.name.casefold()))


def map_of(collection: Collection, selection: Selection = EVERYTHING, *, kept_out: AnyOf[str] = ()) -> tuple[Spot, ...]:
    """
    Everything that has a point: communities, and places with the pieces that name them.

    Parameters
    ----------
    selection : Selection
        Which pieces are named; communities and places stand on the map with or without.
    kept_out : collection of str
        Pieces to leave out whatever is asked.
    """
    wanted = {one.piece for one in selected(collection, selection, kept_out=kept_out)}
    with collection.cabinet.reading() as reader:
        every = piece_columns(reader.session, ("id", "name", "community", "place"))
        communities = [one for one in reader.all_of(Community) if one.point is not None]
        places = reader.all_of(Place)
    pieces = [piece for piece in every if piece["id"] in wanted]
    found = []
    for one in communities:
        mine = tuple((piece["id"], piece["name"]) for piece in pieces if one.goes_by(piece["community"]))
        assert one.point is not None
        found.append(Spot(one.name, one.point, one.within_km or 0.0, "community", mine, one.place))
    for place in places:
        key = place.name.casefold()
        mine = tuple((piece["id"], piece["name"]) for piece in pieces if key in piece["place"].casefold())
        found.append(Spot(place.name, place.point, place.within_km, place.standing, mine, place.remark))
    return tuple(found)


def lifespans(
    collection: Collection, selection: Selection = OWNED, *, kept_out: AnyOf[str] = ()
) -> tuple[Lifespan, ...]:
    """
    Years of glass and covering of every piece that has any, the earliest glass first.

    Parameters
    ----------
    selection : Selection
        Which pieces; default: the owned ones.
    kept_out : collection of str
        Pieces to leave out whatever is asked.

    Notes
    -----
    A signed dating counts first. Without one, the glass has the years of the form that was accepted or is 80 % sure,
    and the covering the years named in the catalogue entry, ``about`` meaning ten years either way.
    """
    library = library_of(collection)
    wanted = {one.piece for one in selected(collection, selection, kept_out=kept_out)}
    with collection.cabinet.reading() as reader:
        key = ("lifespans", last_change(reader.session), library.version)
    every: tuple[Lifespan, ...] = collection.counted.get(key, lambda: _every_lifespan(collection, library))
    return tuple(one for one in every if one.piece in wanted)


def _every_lifespan(collection: Collection, library: FormLibrary) -> tuple[Lifespan, ...]:
    with collection.cabinet.reading() as reader:
        every = piece_columns(reader.session, ("id", "name", "community", "made"))
        answers, signed = brief_answers(reader), _signed(reader)
    found = []
    for piece in every:
        answer = answers.get(piece["id"])
        sure = answer is not None and (answer.accepted or answer.probability >= SURE)
        form = answer.form if answer is not None and sure else None
        if piece["id"] in signed:
            glass, covering = signed[piece["id"]]
        else:
            glass, covering = _form_years(form, library), named_years(piece["made"])
        if glass or covering:
            found.append(
                Lifespan(piece["id"], piece["name"], piece["community"], glass, covering, piece["id"] in signed)
            )
    return tuple(sorted(found, key=lambda one: (one.glass or one.covering or (0, 0), one.name)))


def _signed(reader: Reader) -> dict[str, tuple[tuple[int, int] | None, tuple[int, int] | None]]:
    standing = [one for one in reader.all_of(Finding) if one.subject == "date" and one.superseded_by is None]
    return {one.piece: _spans(json.loads(one.answer)) for one in standing}


def _spans(record: Mapping[str, Any]) -> tuple[tuple[int, int] | None, tuple[int, int] | None]:
    return _span(record.get("glass")), _span(record.get("covering"))


def _span(record: object) -> tuple[int, int] | None:
    if not isinstance(record, Mapping):
        return None
    ends = record.get("earliest"), record.get("latest")
    return None if ends[0] is None or ends[1] is None else (int(ends[0]), int(ends[1]))


def _form_years(form: str | None, library: FormLibrary) -> tuple[int, int] | None:
    if form is None or form not in library or library[form].years is None:
        return None
    first, last = library[form].years or (0, 0)
    return int(first), int(last)


def named_years(made: str) -> tuple[int, int] | None:
    """
    Years named in a text.

    Examples
    --------
    >>> named_years("about 1895"), named_years("1880 to 1890"), named_years("long ago")
    ((1885, 1905), (1880, 1890), None)
    """
    found = [int(year) for year in YEAR.findall(made)]
    if not found:
        return None
    first = YEAR.search(made)
    loose = ABOUT_YEARS if first is not None and ABOUT.search(made[: first.start()]) else 0
    return min(found) - loose, max(found) + loose
