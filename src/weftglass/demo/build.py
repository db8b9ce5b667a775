"""Build the demo collection as a person would: photographs, outline, scale, bare glass, readings, answer, finding."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np

from weftglass.demo.scenario import form_file, photographs_of, scenario
from weftglass.demo.shown import show_some
from weftglass.desk import (
    Collection,
    accept_finding,
    add_forms_from_file,
    add_photos_to_piece,
    best_of,
    create_piece,
    edit_offer,
    identify_piece,
    mark_bare,
    open_collection,
    propose_outline,
    record_measurement,
    record_place,
    record_sighting,
    record_value,
    set_scale,
)
from weftglass.desk.communities import add_community, add_published_holding
from weftglass.errors import InputError
from weftglass.records import PIECE_FIELDS, ScaleBar

OUTLINED = ("front", "side", "turn 01/12")  # of a turntable's round one outline will do: the camera stands still
HAND_PX = 0.6  # sd with which a person sets the ends of the scale bar, pixels
BARE_MARGIN_MM = 3.0  # a careful person begins the bare zone this far above the covering's border
OFFERED_ON = date(2026, 9, 12)  # the day of the market in the demo's story
SURE_ENOUGH = 0.5  # probability from which the collector accepts an answer


def build_demo(path: str | Path, progress: Callable[[str], None] | None = None) -> None:
    """
    Build the demo collection in a folder, through the same functions that pages and commands call.

    Parameters
    ----------
    path : str or Path
        A folder that holds no collection yet.
    progress : callable, optional
        Told one line a piece.

    Notes
    -----
    Outlines stay as they are found, right or wrong; only the scale bar's ends and the border of bare glass are set,
    with a hand's error, as a person would set them. The truth is used for nothing else.
    """
    tell = progress or (lambda text: None)
    told = scenario()
    who = str(told["collector"])
    with open_collection(path, create=True) as collection:
        add_forms_from_file(collection, form_file(), who=who)
        _enter_communities(collection, told, who)
        for number, piece in enumerate(told["pieces"], 1):
            tell(f"{number} of {len(told['pieces'])}: {piece['name']}")
            _take_up(collection, piece, who)
        show_some(collection, who)


def _enter_communities(collection: Collection, told: dict[str, Any], who: str) -> None:
    """What the collector knows of the communities of the coast, and of two published holdings."""
    for one in told["communities"]:
        fields = {key: str(one[key]) for key in ("name", "own_name", "language", "place", "restricted") if one.get(key)}
        for key in ("other_names", "restricted_designs"):
            fields[key] = "\n".join(one.get(key, ()))
        fields["years"] = " to ".join(str(year) for year in one["years"])
        fields["traits"] = "\n".join(f"{trait}: {value}" for trait, value in one["shows"])
        fields["point"] = ", ".join(str(degrees) for degrees in one["point"])
        fields["within_km"] = str(one["within_km"])
        fields["remark"] = f"{one['traits']}. {one['note']}"
        add_community(collection, fields, who=who)
    for place in told["places"]:
        latitude, longitude = place["point"]
        given = {key: value for key, value in place.items() if key not in ("name", "point")}
        record_place(collection, place["name"], who=who, latitude=latitude, longitude=longitude, **given)
    for one in told["published"]:
        add_published_holding(collection, one["name"], one["source"], one["pieces"], one["counts"], who=who)


def _take_up(collection: Collection, piece: dict[str, Any], who: str) -> None:
    fields: dict[str, Any] = {key: str(value) for key, value in piece.items() if key in PIECE_FIELDS and key != "name"}
    place = _place_of(piece)
    if place:
        fields.setdefault("place", place)
    create_piece(collection, piece["name"], who=who, piece_id=piece["id"], **fields)
    for reading in piece.get("measurements", ()):
        typed = f"{reading['value']} {reading['unit']}"
        record_measurement(
            collection, piece["id"], reading["what"], typed,
            who=who, how=reading["how"], sd=reading["sd"], z=reading.get("z"),
        )  # fmt: skip
    for seen in piece.get("sightings", ()):
        record_sighting(
            collection, piece["id"], seen["feature"], seen["value"], who=who, sure=seen["sure"], face=seen.get("face")
        )
    for name, truth, content in photographs_of(piece["id"]):
        _take_in(collection, piece["id"], name, truth, content, who)
    _account(collection, piece, who)
    _conclude(collection, piece, who)


def _account(collection: Collection, piece: dict[str, Any], who: str) -> None:
    """What was paid for it, or what its seller asks."""
    typed = str(piece.get("price", "")).removesuffix("asked").strip()
    if not typed:
        return
    if piece.get("status") == "offered":
        edit_offer(collection, piece["id"], who=who, today=OFFERED_ON, price=typed, seller=str(piece.get("source", "")))
    else:
        bought = f"{piece['acquired_on']}-07-01"
        record_value(collection, piece["id"], "cost", typed, who=who, on=bought, source="the collector's book")


def _place_of(piece: dict[str, Any]) -> str:
    community = next((one for one in scenario()["communities"] if one["name"] == piece.get("community")), None)
    return "" if community is None else f"{community['place']}, {scenario()['coast']['name']}"


def _take_in(collection: Collection, piece: str, name: str, truth: dict[str, Any], content: bytes, who: str) -> None:
    """One photograph: filed, outlined, scaled, its bare glass marked."""
    role = str(truth["role"])
    added = add_photos_to_piece(collection, piece, [(f"{name}.jpg", content)], who=who, role=role)
    if role not in OUTLINED or not added:
        return
    view = propose_outline(collection, added[0].id, who=who)
    bar = truth.get("scale_bar")
    if bar is None or not view.polygon:
        return
    rng = np.random.default_rng(sum(name.encode()))
    (x1, y1), (x2, y2) = np.array(bar["ends_px"]) + rng.normal(0, HAND_PX, (2, 2))
    scale = ScaleBar(
        round(float(x1), 1), round(float(y1), 1), round(float(x2), 1), round(float(y2), 1), bar["mm"], True
    )
    view = set_scale(collection, view.id, scale, who=who)
    if view.measured is None:
        return
    top = float(view.measured.points[-1][0])
    ranges = [(round(low + BARE_MARGIN_MM), top) for low, _ in truth["bare"] if low + BARE_MARGIN_MM < top - 5]
    if ranges:
        mark_bare(collection, view.id, ranges, who=who)


def _conclude(collection: Collection, piece: dict[str, Any], who: str) -> None:
    """Ask what is inside; accept it where the collector meant to and the answer is sure enough."""
    try:
        answer = identify_piece(collection, piece["id"])
    except InputError:
        return  # nothing known yet: the piece waits for a first measurement or a scaled photograph
    form, probability = best_of(answer)
    if piece.get("accept") and form is not None and probability >= SURE_ENOUGH:
        accept_finding(collection, piece["id"], who=who, remark=piece["accept"])
