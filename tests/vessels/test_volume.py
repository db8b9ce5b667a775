"""Volumes and areas: additivity, scale, agreement between round and near-round, and refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.vessels.strategies import profiles, sections
from weftglass.errors import InputError
from weftglass.vessels import (
    Profile,
    Section,
    capacity_from_outer_ml,
    glass_volume_ml,
    outer_volume_ml,
    surface_area_mm2,
)


@given(profiles(), sections(), st.floats(0.2, 1.4), st.floats(0.05, 0.95))
def test_two_parts_make_the_whole(profile: Profile, section: Section, depth: float, cut: float) -> None:
    """Volume below a height and above it add up, whatever the plan."""
    side = None if section.kind == "round" else profile.stretched(width=depth)
    z = cut * profile.height_mm
    whole = outer_volume_ml(profile, section=section, side_profile=side)
    parts = [
        outer_volume_ml(profile, section=section, side_profile=side, z_low_mm=low, z_high_mm=high)
        for low, high in ((None, z), (z, None))
    ]
    np.testing.assert_allclose(sum(parts), whole, rtol=1e-5, atol=1e-9)


@given(profiles(), st.floats(0.3, 3.0), st.floats(0.3, 3.0))
def test_volume_follows_height_once_and_width_twice(profile: Profile, height: float, width: float) -> None:
    """The law the engine's tolerances lean on."""
    grown = outer_volume_ml(profile.stretched(height, width))
    np.testing.assert_allclose(grown, height * width**2 * outer_volume_ml(profile), rtol=1e-9)


def test_an_oval_as_deep_as_wide_is_round() -> None:
    """Two kinds that meet must agree."""
    profile = Profile.of([[0, 30], [100, 42], [160, 14], [220, 12]])
    oval = Section("oval")
    np.testing.assert_allclose(outer_volume_ml(profile, section=oval), outer_volume_ml(profile), rtol=1e-12)
    np.testing.assert_allclose(surface_area_mm2(profile, section=oval), surface_area_mm2(profile), rtol=1e-3)


def test_a_prism_of_every_plan_has_area_times_height() -> None:
    """Upright walls: volume is the plan's area times the height, the wall its perimeter times the height."""
    for section in (Section("square"), Section("rectangle"), Section("flask"), Section("polygon", 6)):
        front, side = Profile.of([[0, 40], [90, 40]]), Profile.of([[0, 25], [90, 25]])
        volume = outer_volume_ml(front, section=section, side_profile=side)
        np.testing.assert_allclose(volume, float(section.area_mm2(40, 25)) * 90 / 1000, rtol=1e-12)
        wall = surface_area_mm2(front, section=section, side_profile=side, with_base=False)
        np.testing.assert_allclose(wall, float(section.perimeter_mm(40, 25)) * 90, rtol=1e-3)


@settings(max_examples=20)
@given(sections(), st.floats(0.3, 1.0))
def test_blended_plans_converge_to_a_fine_cut(section: Section, depth: float) -> None:
    """The Gauss rule between breaks agrees with a thousand thin slices."""
    profile = Profile.of([[0, 35], [80, 40], [110, 14], [150, 12]])
    side = None if section.kind == "round" else profile.stretched(width=depth)
    z = (np.arange(20_000) + 0.5) * 150 / 20_000
    front = profile.half_width_at(z)
    deep = front if side is None else side.half_width_at(z)
    slices = float(section.area_mm2(front, deep).sum()) * 150 / 20_000 / 1000
    np.testing.assert_allclose(outer_volume_ml(profile, section=section, side_profile=side), slices, rtol=2e-5)


def test_base_and_top_count_only_when_asked() -> None:
    """A cylinder: wall, base and lid apart."""
    cylinder = Profile.of([[0, 30], [50, 30]])
    disc = math.pi * 900
    wall = surface_area_mm2(cylinder, with_base=False)
    np.testing.assert_allclose(wall, 2 * math.pi * 30 * 50)
    np.testing.assert_allclose(surface_area_mm2(cylinder), wall + disc)
    np.testing.assert_allclose(surface_area_mm2(cylinder, with_top=True), wall + 2 * disc)


def test_capacity_never_falls_below_nothing() -> None:
    """Solid glass holds nothing."""
    assert capacity_from_outer_ml(100.0, 2520.0) == 0.0


@pytest.mark.parametrize(("low", "high"), [(-1, 50), (10, 10), (60, 20), (0, 101), (float("nan"), 50)])
def test_heights_outside_the_vessel_are_refused(low: float, high: float) -> None:
    """The error says which range is there."""
    with pytest.raises(InputError, match="from 0 to 100 mm"):
        outer_volume_ml(Profile.of([[0, 30], [100, 30]]), z_low_mm=low, z_high_mm=high)


@pytest.mark.parametrize(("weight", "density"), [(-1, 2.5), (float("nan"), 2.5), (100, 0), (100, -2), (math.inf, 2.5)])
def test_masses_and_densities_that_cannot_be_are_refused(weight: float, density: float) -> None:
    """Nothing negative, nothing infinite."""
    with pytest.raises(InputError):
        glass_volume_ml(weight, density)
