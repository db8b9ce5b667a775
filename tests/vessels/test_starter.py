"""The starter library: enough of it, drawn from its table, believable, and generic."""

from __future__ import annotations

import csv
from importlib import resources
from itertools import pairwise

import numpy as np
import pytest

from weftglass.vessels import Form, FormLibrary, capacity_from_outer_ml, outer_volume_ml
from weftglass.vessels.drafting import BRIM_OVER_NOMINAL, PUSH_UP_SHARE, draw_all

DATA = resources.files("weftglass.vessels").joinpath("data")
LIBRARY = FormLibrary.starter()
ROWS = list(csv.DictReader(DATA.joinpath("published_dimensions.csv").read_text(encoding="utf-8").splitlines()))


def test_there_are_at_least_eighty_forms_in_a_hundred_and_sixty_sizes() -> None:
    """Counted by family and by entry."""
    assert len({form.family_name for form in LIBRARY}) >= 80
    assert len(LIBRARY) >= 160


def test_the_form_file_is_what_the_table_draws() -> None:
    """Redrawing gives the committed file to the last digit: a version in an old answer can be trusted."""
    assert FormLibrary(form for form, _ in draw_all(ROWS)).version == LIBRARY.version


def test_sizes_lie_within_their_published_ranges() -> None:
    """Height within the row's range, width and depth within it or 4 % beyond."""
    for row in ROWS:
        sizes = [form for form in LIBRARY if form.id == row["form"] or form.id.startswith(row["form"] + "-")]
        own = [form for form in sizes if form.name == row["name"]]
        assert len(own) == len(row["capacities_ml"].split(";"))
        for form in own:
            assert float(row["height_min_mm"]) - 0.1 <= form.profile.height_mm <= float(row["height_max_mm"]) + 0.1
            width = 2 * form.profile.widest_mm
            assert 0.96 * float(row["width_min_mm"]) <= width <= 1.04 * float(row["width_max_mm"]), form.id


def drawn_capacity(form: Form) -> float:
    assert form.weight_g is not None
    outer = outer_volume_ml(form.profile, section=form.section, side_profile=form.side_profile)
    hollow = np.pi / 3 * (PUSH_UP_SHARE * form.profile.widest_mm) ** 2 * (form.push_up_mm or 0.0) / 1000
    return capacity_from_outer_ml(outer - float(hollow), sum(form.weight_g) / 2)


def test_no_drawing_misses_its_capacity_by_fifteen_percent() -> None:
    """Internal consistency only: the table's dimensions were themselves fitted to capacity."""
    for form in LIBRARY:
        assert form.capacity_ml is not None
        assert 0.85 < drawn_capacity(form) / (BRIM_OVER_NOMINAL * form.capacity_ml) < 1.15, form.id


def test_bigger_sizes_of_a_row_are_bigger() -> None:
    """Height and mass rise with the capacity; width may give way by 3 % where a taller bottle is slimmer."""
    for row in ROWS:
        own = [form for form in LIBRARY if form.name == row["name"]]
        for small, large in pairwise(own):
            assert small.profile.height_mm < large.profile.height_mm
            assert small.profile.widest_mm < 1.03 * large.profile.widest_mm
            assert small.weight_g is not None
            assert large.weight_g is not None
            assert small.weight_g <= large.weight_g


@pytest.mark.parametrize("form", LIBRARY, ids=lambda form: form.id)
def test_every_form_is_complete(form: Form) -> None:
    """What the engine and the pages lean on is there, with a source and an honest drawing error."""
    assert form.capacity_ml is not None
    assert form.weight_g is not None
    assert form.years is not None
    assert form.finish
    assert form.colours
    assert form.source
    assert form.bore_mm is not None
    assert 0.6 <= form.tolerance.shape_sd_mm <= 6.0
    assert 0.004 <= form.tolerance.height_sd <= 0.06
    assert form.profile.z_mm[0] == 0.0
    assert len(form.profile.points) >= 14


def narrowest(form: Form, low: float, high: float) -> float:
    return float(form.profile.half_width_at(np.linspace(low, high, 200) * form.profile.height_mm).min())


def test_shapes_are_what_their_names_say() -> None:
    """A few things a bottle person would look for first."""
    torpedo = LIBRARY["soda-torpedo-285ml"]
    assert torpedo.profile.half_width_mm[0] == 0.0
    pinched = LIBRARY["soda-globestopper-284ml"]
    assert narrowest(pinched, 0.64, 0.74) < 0.8 * float(pinched.profile.half_width_at(0.82 * pinched.profile.height_mm))
    case = LIBRARY["gin-case-19c-1150ml"]
    h = case.profile.height_mm
    assert case.profile.half_width_at(0.05 * h) < 0.85 * case.profile.half_width_at(0.8 * h)
    mallet = LIBRARY["wine-mallet-1050ml"].profile
    assert mallet.half_width_at(0.08 * mallet.height_mm) > 1.05 * mallet.half_width_at(0.42 * mallet.height_mm)
    cone = LIBRARY["ink-cone-70ml"].profile
    assert cone.widest_mm == pytest.approx(float(cone.half_width_at(0.1 * cone.height_mm)), rel=0.02)
    lady = LIBRARY["bitters-ladyleg"].profile
    swell = lady.half_width_at(np.array([0.62, 0.76, 0.9]) * lady.height_mm)
    assert swell[1] > max(swell[0], swell[2])


def test_flat_forms_are_flat_and_their_necks_round() -> None:
    """Where the neck is, the side is as wide as the front."""
    for form in LIBRARY:
        if form.section.kind in ("flask", "rectangle") and form.side_profile is not None:
            assert form.side_profile.widest_mm < 0.9 * form.profile.widest_mm, form.id
            high = 0.97 * form.profile.height_mm
            front, side = form.profile.half_width_at(high), form.side_profile.half_width_at(high)
            np.testing.assert_allclose(front, side, rtol=0.12)
