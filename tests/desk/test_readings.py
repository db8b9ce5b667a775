"""Measurements and sightings as people type them."""

from __future__ import annotations

from typing import Any

import pytest

from weftglass.desk import (
    Collection,
    evidence_of,
    get_piece_dossier,
    record_measurement,
    record_sighting,
    restore_measurement,
    restore_sighting,
    set_scale,
    withdraw_measurement,
    withdraw_sighting,
)
from weftglass.errors import InputError
from weftglass.evidence import default_sd
from weftglass.records import KnownHeight, Piece, View


@pytest.mark.parametrize(
    ("what", "typed", "value"),
    [
        ("height", "12 1/2 in", 317.5),
        ("height", "231", 231.0),
        ("height", "23,1 cm", 231.0),
        ("weight", "1 lb 4 oz", 566.990463),
        ("weight", "812,5", 812.5),
        ("capacity", "75 cl", 750.0),
        ("capacity", "26 imp fl oz", 738.739625),
        ("tone", "182.5 Hz", 182.5),
        ("tone", "182,5", 182.5),
    ],
)
def test_typed_number_is_kept_in_the_unit_of_its_kind(
    collection: Collection, piece: Piece, what: str, typed: str, value: float
) -> None:
    """Converted once, exactly (inch 25.4 mm, pound 453.59237 g, imperial gallon 4.54609 l), and kept as typed too."""
    record = record_measurement(collection, piece.id, what, typed, who="Mira")
    assert record.value == pytest.approx(value, rel=1e-9)
    assert (record.typed, record.by) == (typed, "Mira")
    assert record.sd == pytest.approx(default_sd(what, value))


def test_standard_deviation_follows_how_it_was_taken(collection: Collection, piece: Piece) -> None:
    """An estimate by eye counts for less than callipers; a stated one is taken as it is."""
    by_eye = record_measurement(collection, piece.id, "height", "23 cm", who="Mira", how="estimate")
    by_calliper = record_measurement(collection, piece.id, "height", "230.0 mm", who="Mira", how="calliper")
    said = record_measurement(collection, piece.id, "height", "230 mm", who="Mira", sd="1/8 in")
    assert by_eye.sd == pytest.approx(10 * by_calliper.sd)
    assert said.sd == pytest.approx(3.175)


@pytest.mark.parametrize(
    ("what", "typed", "more", "field"),
    [
        ("depth", "5", {}, "what"),
        ("height", "tall", {}, "value"),
        ("height", "3 furlong", {}, "value"),
        ("height", "1,234", {}, "value"),
        ("height", "-5", {}, "value"),
        ("height", "9999 m", {}, "value"),
        ("height", "182 Hz", {}, "value"),
        ("weight", "12 in", {}, "value"),
        ("tone", "12 in", {}, "value"),
        ("capacity", "1 pint", {}, "value"),
        ("girth", "300 mm", {}, "z"),
        ("girth", "300 mm", {"z": "up"}, "z"),
        ("height", "231", {"sd": "0"}, "sd"),
        ("height", "231", {"how": "magic"}, "how"),
    ],
)
def test_unreadable_measurement_is_refused_by_field(
    collection: Collection, piece: Piece, what: str, typed: str, more: dict[str, Any], field: str
) -> None:
    """Nothing is guessed and nothing kept."""
    with pytest.raises(InputError) as caught:
        record_measurement(collection, piece.id, what, typed, who="Mira", **more)
    assert caught.value.field == field
    assert get_piece_dossier(collection, piece.id).measurements == ()


def test_readings_enter_the_evidence_until_withdrawn(collection: Collection, piece: Piece) -> None:
    """What is withdrawn is kept, out of the evidence, and can come back."""
    girth = record_measurement(collection, piece.id, "girth", "10 in", who="Mira", z="4 cm", how="tape")
    seen = record_sighting(collection, piece.id, "letters", "H?R*", who="Mira", z=(70, 110), face="front", sure=0.8)
    known = evidence_of(collection, piece.id)
    assert [(m.what, m.value, m.z_mm) for m in known.measurements] == [("girth", 254.0, 40.0)]
    assert [(s.value, s.z_mm, s.sure) for s in known.sightings] == [("H?R*", (70.0, 110.0), 0.8)]
    assert known.covering.technique == "twining"
    withdraw_measurement(collection, girth.id, who="Mira")
    withdraw_sighting(collection, seen.id, who="Mira")
    assert evidence_of(collection, piece.id).is_empty
    restore_measurement(collection, girth.id, who="Mira")
    restore_sighting(collection, seen.id, who="Mira")
    assert evidence_of(collection, piece.id).to_record() == known.to_record()


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"feature": "smell", "value": "musty"}, "feature"),
        ({"value": "  "}, "value"),
        ({"sure": 0}, "sure"),
        ({"sure": 1.2}, "sure"),
        ({"z": (5, 4)}, "z"),
        ({"face": "inside"}, "face"),
    ],
)
def test_wrong_sighting_is_refused_by_field(
    collection: Collection, piece: Piece, more: dict[str, Any], field: str
) -> None:
    """The field is named as the form names it."""
    with pytest.raises(InputError) as caught:
        record_sighting(collection, piece.id, **{"feature": "finish", "value": "blob", "who": "Mira", **more})
    assert caught.value.field.startswith(field)


def test_height_that_set_the_scale_counts_once(collection: Collection, measured: View) -> None:
    """The same reading is not used as scale and as measurement; another reading is."""
    set_scale(collection, measured.id, KnownHeight(292.0), who="Mira")
    record_measurement(collection, measured.piece, "height", "292 mm", who="Mira")
    assert evidence_of(collection, measured.piece).measurements == ()
    record_measurement(collection, measured.piece, "height", "290.5 mm", who="Mira", how="calliper")
    assert [m.value for m in evidence_of(collection, measured.piece).measurements] == [290.5]
