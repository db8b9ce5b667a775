"""Forms: records there and back, silhouettes from any turn, refusals that name the field."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest
from hypothesis import given

from tests.vessels.strategies import forms
from weftglass.errors import InputError
from weftglass.vessels import Form

GOOD: dict[str, Any] = {
    "id": "cylinder-spirits-26oz",
    "name": "cylinder spirits",
    "size": "26 oz",
    "section": {"kind": "round"},
    "profile": [[0.0, 36.0], [8.0, 38.5], [170.0, 38.5], [205.0, 16.0], [285.0, 14.0], [300.0, 14.5]],
    "side_profile": None,
    "tolerance": {"height_sd": 0.012, "width_sd": 0.015, "shape_sd_mm": 0.5},
    "finish": ["applied", "brandy"],
    "closure": ["cork"],
    "colours": ["amber", "olive"],
    "base": ["post-bottom"],
    "letters": [{"text": "HARLOW & TINE", "face": "front", "z": [60, 150]}],
    "weight_g": [560, 680],
    "capacity_ml": 750,
    "years": [1870, 1912],
    "commonness": 1.0,
    "source": "an invented price list",
}


def test_the_contract_example_is_read_in_full() -> None:
    """Every key of the form file arrives where the engine looks for it."""
    form = Form.from_record(GOOD, "forms.jsonl line 1")
    assert form.weight_g == (560.0, 680.0)
    assert form.years == (1870, 1912)
    assert form.letters[0].z_mm == (60.0, 150.0)
    assert form.drawn_sd_mm == 0.5
    assert form.family_name == "cylinder spirits"
    assert form.title == "cylinder spirits, 26 oz"


def test_four_keys_are_enough() -> None:
    """id, name, section, profile; the rest is unknown, not invented."""
    form = Form.from_record({key: GOOD[key] for key in ("id", "name", "section", "profile")}, "here")
    assert (form.weight_g, form.capacity_ml, form.years, form.letters) == (None, None, None, ())


def alike(one: Form, other: Form) -> bool:
    return one.to_record() == other.to_record()


@given(forms())
def test_a_form_goes_there_and_back(form: Form) -> None:
    """Through JSON text and back nothing is lost."""
    back = Form.from_record(json.loads(json.dumps(form.to_record())), "here")
    assert alike(back, form)
    np.testing.assert_array_equal(back.profile.points, form.profile.points)


def test_unknown_keys_are_kept_and_written_back() -> None:
    """Somebody else's note survives a round trip."""
    form = Form.from_record(GOOD | {"shelf": {"row": 3}}, "here")
    assert form.to_record()["shelf"] == {"row": 3}


WRONG: dict[str, tuple[dict[str, Any], str]] = {
    "no id": ({"id": None}, "id"),
    "blank name": ({"name": "   "}, "name"),
    "line break in name": ({"name": "two\nlines"}, "name"),
    "number as id": ({"id": 7}, "id"),
    "endless name": ({"name": "x" * 1000}, "name"),
    "misspelt key": ({"capacty_ml": 750}, "capacty_ml"),
    "no profile": ({"profile": None}, "profile"),
    "profile of words": ({"profile": "wide"}, "profile"),
    "side of a round form": ({"side_profile": [[0, 1], [300, 1]]}, "side_profile"),
    "tolerance list": ({"tolerance": [1, 2]}, "tolerance"),
    "wild tolerance": ({"tolerance": {"width_sd": 5}}, "tolerance.width_sd"),
    "exact drawing": ({"tolerance": {"shape_sd_mm": 0}}, "tolerance.shape_sd_mm"),
    "weight backwards": ({"weight_g": [700, 500]}, "weight_g"),
    "weight of one": ({"weight_g": [700]}, "weight_g"),
    "weight in words": ({"weight_g": "heavy"}, "weight_g"),
    "negative capacity": ({"capacity_ml": -5}, "capacity_ml"),
    "capacity by truth": ({"capacity_ml": True}, "capacity_ml"),
    "an ocean": ({"capacity_ml": 1e12}, "capacity_ml"),
    "huge integer": ({"capacity_ml": 10**400}, "capacity_ml"),
    "years backwards": ({"years": [1912, 1870]}, "years"),
    "far future": ({"years": [1870, 9999]}, "years[1]"),
    "never made": ({"commonness": 0}, "commonness"),
    "letters without text": ({"letters": [{"face": "front"}]}, "letters[0].text"),
    "letters as text": ({"letters": "HARLOW"}, "letters"),
    "finish as number": ({"finish": [1]}, "finish[0]"),
}


@pytest.mark.parametrize(("change", "field"), WRONG.values(), ids=WRONG.keys())
def test_a_bad_form_is_refused_and_the_field_named(change: dict[str, Any], field: str) -> None:
    """One clear sentence: where, which field, what would be right."""
    with pytest.raises(InputError) as caught:
        Form.from_record(GOOD | change, "forms.jsonl line 4")
    assert caught.value.field == field
    assert str(caught.value).startswith("forms.jsonl line 4: ")
    assert len(str(caught.value)) < 400


def flat_form(kind: str, **more: Any) -> Form:
    record = {
        "id": "f",
        "name": "flat",
        "section": {"kind": kind, **more},
        "profile": [[0, 40], [120, 45], [150, 13], [190, 13]],
        "side_profile": [[0, 20], [120, 24], [150, 13], [190, 13]],
    }
    return Form.from_record(record, "here")


@pytest.mark.parametrize("kind", ["rectangle", "oval", "flask"])
def test_a_flat_form_shows_front_side_and_something_between(kind: str) -> None:
    """Front and side are the given profiles; a turned view lies between them on an oval body and repeats by halves."""
    form = flat_form(kind)
    side = form.side_profile
    assert side is not None
    z = np.linspace(1, 189, 40)
    np.testing.assert_allclose(form.silhouette(0).half_width_at(z), form.profile.half_width_at(z))
    np.testing.assert_allclose(form.silhouette(90).half_width_at(z), side.half_width_at(z), rtol=1e-9)
    np.testing.assert_allclose(form.silhouette(37).half_width_at(z), form.silhouette(217).half_width_at(z), rtol=1e-9)
    assert (form.silhouette(37).half_width_at(z) >= side.half_width_at(z) - 1e-9).all()


def test_a_polygon_without_a_side_is_regular() -> None:
    """A hexagon 80 mm across corners is 69.28 mm across flats."""
    record = {"id": "h", "name": "hex", "section": {"kind": "polygon", "sides": 6}, "profile": [[0, 40], [100, 40]]}
    form = Form.from_record(record, "here")
    np.testing.assert_allclose(2 * form.silhouette(90).widest_mm, 69.282, atol=1e-3)
    np.testing.assert_allclose(form.silhouette(60).widest_mm, 40.0, rtol=1e-9)


def test_a_round_form_looks_the_same_from_every_turn() -> None:
    """The very same profile comes back."""
    form = Form.from_record(GOOD, "here")
    assert form.silhouette(63.0) is form.profile
