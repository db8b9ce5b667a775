"""Plans of the body: area, edge and silhouette of every kind against its own edge taken as a fine polygon."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.vessels.strategies import sections
from weftglass.errors import InputError
from weftglass.vessels import Section

half = st.floats(2.0, 300.0)


def measured(points: np.ndarray) -> tuple[float, float]:
    """Area and length of a closed polygon."""
    x, y = points.T
    area = 0.5 * float(x @ np.roll(y, -1) - y @ np.roll(x, -1))
    return area, float(np.hypot(*(np.roll(points, -1, axis=0) - points).T).sum())


@given(sections(), half, half)
def test_area_and_perimeter_agree_with_the_edge(section: Section, a: float, b: float) -> None:
    """The closed forms and the traced edge are two roads to the same figure."""
    b = a if section.kind == "round" else min(max(b, 0.3 * a), 3 * a)
    area, length = measured(section.edge_points(a, b, 2400))
    np.testing.assert_allclose(section.area_mm2(a, b), area, rtol=2e-4)
    np.testing.assert_allclose(section.perimeter_mm(a, b), length, rtol=1e-3)


@given(sections(), half, half, st.floats(-720, 720))
def test_silhouette_is_the_shadow_of_the_edge(section: Section, a: float, b: float, turn: float) -> None:
    """Half the extent of the plan across the line of sight."""
    b = a if section.kind == "round" else min(max(b, 0.3 * a), 3 * a)
    edge = section.edge_points(a, b, 2400)
    across = edge @ [math.cos(math.radians(turn)), math.sin(math.radians(turn))]
    np.testing.assert_allclose(section.silhouette_half_width(a, b, turn), np.ptp(across) / 2, rtol=2e-3)


@given(sections(), half, half)
def test_front_and_side_are_the_given_half_width_and_half_depth(section: Section, a: float, b: float) -> None:
    """Turn 0 shows the half-width, turn 90 the half-depth, whatever the kind."""
    b = a if section.kind == "round" else b
    np.testing.assert_allclose(section.silhouette_half_width(a, b, [0.0, 180.0]), [a, a], rtol=1e-12)
    np.testing.assert_allclose(section.silhouette_half_width(a, b, [90.0, 270.0]), [b, b], rtol=1e-9)


@given(sections(), half, half, st.floats(0, 360), st.floats(0.5, 2.0))
def test_size_scales(section: Section, a: float, b: float, turn: float, factor: float) -> None:
    """Without a round neck, twice the size is four times the area and twice the silhouette."""
    plain = Section(section.kind, section.sides, section.corner)
    np.testing.assert_allclose(plain.area_mm2(factor * a, factor * b), factor**2 * plain.area_mm2(a, b), rtol=1e-9)
    np.testing.assert_allclose(
        plain.silhouette_half_width(factor * a, factor * b, turn),
        factor * plain.silhouette_half_width(a, b, turn),
        rtol=1e-9,
    )


@pytest.mark.parametrize("kind", ["square", "rectangle", "polygon", "flask", "oval"])
def test_necks_are_round_below_the_blend(kind: str) -> None:
    """A square bottle has a round neck: at 45 degrees it is no wider than from the front."""
    section = Section(kind, 8 if kind == "polygon" else None, blend_mm=(16.0, 20.0))
    np.testing.assert_allclose(section.silhouette_half_width(14.0, 14.0, [0, 22.5, 45, 67.5]), 14.0)
    np.testing.assert_allclose(section.area_mm2(14.0, 14.0), math.pi * 14**2)
    np.testing.assert_allclose(section.perimeter_mm(14.0, 14.0), 2 * math.pi * 14)


def test_a_sharp_square_seen_on_its_edge_is_its_diagonal() -> None:
    """The textbook case behind case bottles standing askew."""
    section = Section("square", corner=0.0)
    np.testing.assert_allclose(section.silhouette_half_width(40, 40, 45), 40 * math.sqrt(2))


def test_a_regular_hexagon_has_its_closed_form_area() -> None:
    """Half-width across corners R gives 3 sqrt(3) / 2 R² when the depth is R cos 30°."""
    section = Section("polygon", 6)
    area = section.area_mm2(30.0, 30.0 * math.cos(math.pi / 6))
    np.testing.assert_allclose(area, 1.5 * math.sqrt(3) * 30**2)


def test_arrays_broadcast() -> None:
    """One call answers for a whole profile."""
    section = Section("flask")
    a, b = np.linspace(10, 50, 7), np.linspace(8, 20, 7)
    assert section.area_mm2(a, b).shape == (7,)
    assert section.silhouette_half_width(a, b, 30.0).shape == (7,)


@given(sections())
def test_a_section_goes_there_and_back(section: Section) -> None:
    """JSON and back is equal."""
    assert Section.from_record(section.to_record(), "here") == section


WRONG = {
    "unknown kind": ({"kind": "heart"}, "section.kind"),
    "no kind": ({}, "section.kind"),
    "a list as kind": ({"kind": ["round"]}, "section.kind"),
    "only a word": ("round", "section"),
    "polygon without sides": ({"kind": "polygon"}, "section.sides"),
    "half a side": ({"kind": "polygon", "sides": 6.5}, "section.sides"),
    "two sides": ({"kind": "polygon", "sides": 2}, "section.sides"),
    "sides by truth": ({"kind": "polygon", "sides": True}, "section.sides"),
    "huge corner": ({"kind": "square", "corner": 1.5}, "section.corner"),
    "blend backwards": ({"kind": "square", "blend_mm": [20, 10]}, "section.blend_mm"),
    "blend of one": ({"kind": "square", "blend_mm": [20]}, "section.blend_mm"),
}


@pytest.mark.parametrize(("record", "field"), WRONG.values(), ids=WRONG.keys())
def test_a_bad_section_is_refused(record: object, field: str) -> None:
    """The error names the field."""
    with pytest.raises(InputError) as caught:
        Section.from_record(record, "line 1")
    assert caught.value.field == field
