"""A vessel seen by a known camera is measured to within what the measurement says of itself."""

from __future__ import annotations

import json

import numpy as np
import pytest

from tests.photos.projector import BOTTLE, Shot
from weftglass.errors import InputError
from weftglass.photos import handles_of, measure_outline, scale_from_bar, scale_from_height
from weftglass.photos.frame import Frame
from weftglass.photos.solve import unit_from_bar

SHOTS = {
    "level": Shot(600, 140),
    "from above": Shot(600, 225, tilt_deg=8),
    "near and from above": Shot(500, 275, tilt_deg=15, focal_px=2000),
    "far": Shot(1200, 250, tilt_deg=5, focal_px=4500),
    "leaning": Shot(600, 190, tilt_deg=5, roll_deg=3),
    "beside the middle": Shot(700, 200, tilt_deg=5, aside_mm=50),
    "from below": Shot(700, 90, tilt_deg=-4),
}


def measured(shot: Shot, **more: object):
    bar = scale_from_bar(*shot.bar(), 100, in_axis_plane=True)
    facts = {"scale": bar, "focal_35mm": shot.focal_35mm, "image_size": shot.size} | more
    return measure_outline(shot.silhouette(BOTTLE), **facts)


@pytest.mark.parametrize("shot", SHOTS.values(), ids=SHOTS)
def test_measure_outline_recovers_the_diameter_and_height(shot: Shot) -> None:
    found = measured(shot)
    widest = int(found.points[:, 1].argmax())
    sd = np.hypot(found.sd_mm[widest], found.points[widest, 1] * found.scale_sd)
    assert abs(found.points[widest, 1] - 45.0) < 2.2 * sd
    assert found.points[widest, 1] == pytest.approx(45.0, rel=0.025)
    assert abs(found.height_mm - 285.0) < 2.2 * found.axis["height_sd_mm"]
    assert found.warnings == ()


@pytest.mark.parametrize("shot", SHOTS.values(), ids=SHOTS)
def test_measure_outline_is_right_within_its_own_sd(shot: Shot) -> None:
    """Root mean square of error over sd, scale included, along body, shoulder and neck: of the order of 1."""
    found = measured(shot)
    z, half = found.points.T
    normal = 1 / np.hypot(1, np.gradient(half, z))
    error = (half - np.interp(z, BOTTLE[:, 0], BOTTLE[:, 1])) * normal
    sd = np.hypot(found.sd_mm, half * found.scale_sd)
    along = (z > 5) & (z < 262)
    assert np.sqrt(np.mean((error[along] / sd[along]) ** 2)) < 2.0


@pytest.mark.parametrize("shot", SHOTS.values(), ids=SHOTS)
def test_measure_outline_knows_the_camera(shot: Shot) -> None:
    found = measured(shot)
    distance = np.hypot(shot.distance_mm, shot.aside_mm)
    assert abs(found.axis["distance_mm"] - distance) < 3 * found.axis["distance_sd_mm"]
    assert abs(found.axis["tilt_deg"] - shot.tilt_deg) < 2.5 * found.axis["tilt_sd_deg"]
    if shot.aside_mm == 0:
        # A roll of the camera turns a level axis with it; a tilt makes the two differ by less than half a degree.
        assert found.axis["roll_deg"] == pytest.approx(shot.roll_deg, abs=0.5)


def test_measure_outline_without_perspective_gets_the_height_wrong() -> None:
    """The control: seen from 0.5 m and above, the outline alone is taller than the vessel by several per cent."""
    shot = SHOTS["near and from above"]
    polygon = shot.silhouette(BOTTLE)
    x1, y1, x2, y2 = shot.bar()
    naive = np.ptp(polygon[:, 1]) * 100 / np.hypot(x2 - x1, y2 - y1)
    undone = measured(shot, tilt_deg=15.0).height_mm
    assert abs(naive - 285) > 4 * abs(undone - 285)


def test_measure_outline_with_the_true_tilt_is_right_to_a_hundredth() -> None:
    shot = SHOTS["from above"]
    found = measured(shot, tilt_deg=8.0)
    z, half = found.points.T
    along = (z > 5) & (z < 262)
    assert found.height_mm == pytest.approx(285.0, rel=0.01)
    assert np.abs(half - np.interp(z, BOTTLE[:, 0], BOTTLE[:, 1]))[along].max() < 1.5


def test_measure_outline_by_known_height_returns_that_height() -> None:
    shot = SHOTS["from above"]
    found = measured(shot, scale=None, height_mm=285.0)
    assert found.height_mm == pytest.approx(285.0, abs=0.01)
    assert 2 * found.points[:, 1].max() == pytest.approx(90.0, rel=0.025)


def test_measure_outline_without_focal_length_says_so_and_is_less_sure() -> None:
    shot = SHOTS["from above"]
    known, unknown = measured(shot), measured(shot, focal_35mm=None)
    assert any("focal length" in text for text in unknown.warnings)
    assert unknown.axis["height_sd_mm"] > known.axis["height_sd_mm"]
    assert unknown.axis["distance_sd_mm"] > 3 * known.axis["distance_sd_mm"]
    assert abs(unknown.height_mm - 285.0) < 2 * unknown.axis["height_sd_mm"]


def test_measure_outline_names_a_handle_and_measures_the_other_side() -> None:
    shot = SHOTS["level"]
    polygon = shot.silhouette(BOTTLE)
    at_left = (polygon[:, 0] < 500) & (polygon[:, 1] > 900) & (polygon[:, 1] < 1200)
    polygon[at_left, 0] -= 60
    found = measure_outline(
        polygon,
        scale=scale_from_bar(*shot.bar(), 100, in_axis_plane=True),
        focal_35mm=shot.focal_35mm,
        image_size=shot.size,
    )
    assert any("on the left between" in text for text in found.warnings)
    low, high = found.hidden[0]
    assert (low, high) == (pytest.approx(44, abs=8), pytest.approx(116, abs=8))
    assert 2 * found.points[:, 1].max() == pytest.approx(90.0, rel=0.02)


def test_measure_outline_of_handles_agrees_with_the_outline_they_came_from() -> None:
    shot = SHOTS["from above"]
    handles = handles_of(shot.silhouette(BOTTLE))
    scale = scale_from_bar(*shot.bar(), 100)
    again = measure_outline(handles, scale=scale, focal_35mm=shot.focal_35mm, image_size=shot.size, tilt_deg=8.0)
    first = measured(shot, tilt_deg=8.0)
    assert 12 <= len(handles) <= 60
    assert again.height_mm == pytest.approx(first.height_mm, abs=0.5)
    assert 2 * again.points[:, 1].max() == pytest.approx(2 * first.points[:, 1].max(), abs=0.8)


def test_measure_outline_says_where_the_picture_cuts_the_piece() -> None:
    square = [[0, 100], [300, 100], [300, 700], [0, 700]]
    found = measure_outline(square, scale=scale_from_height(200, 600), image_size=(800, 1000))
    assert any("cut off by the left edge" in text for text in found.warnings)


def test_to_record_keeps_the_contract_and_is_json() -> None:
    record = json.loads(json.dumps(measured(SHOTS["level"]).to_record()))
    assert set(record) == {"polygon_px", "mm_per_px", "axis", "profile", "sd_mm", "scale_sd", "hidden", "warnings"}
    heights = [z for z, _ in record["profile"]]
    assert heights[0] == 0
    assert heights == sorted(set(heights))
    assert len(record["sd_mm"]) == len(heights)
    assert min(record["sd_mm"]) > 0


@pytest.mark.parametrize(
    ("polygon", "field"),
    [([[0, 0], [1, 1]], "polygon"), ([[0, 0], [np.nan, 1], [2, 90]], "polygon"), ([[0, 0], [3, 0], [3, 3]], "polygon")],
    ids=["too few", "not finite", "too small"],
)
def test_measure_outline_refuses_what_is_no_outline(polygon: list[list[float]], field: str) -> None:
    with pytest.raises(InputError) as refused:
        measure_outline(polygon, scale=scale_from_height(200, 600), image_size=(800, 1000))
    assert refused.value.field == field


def test_measure_outline_needs_a_scale_or_a_height() -> None:
    with pytest.raises(InputError, match="scale bar or a known height"):
        measure_outline([[0, 0], [100, 0], [100, 300], [0, 300]], image_size=(800, 1000))


@pytest.mark.parametrize(
    ("numbers", "field"),
    [((0, 0, 3, 0, 100), "points"), ((0, 0, 300, 0, 0), "length"), ((0, float("nan"), 300, 0, 10), "points")],
    ids=["too near", "no length", "not finite"],
)
def test_scale_from_bar_refuses(numbers: tuple[float, ...], field: str) -> None:
    with pytest.raises(InputError) as refused:
        scale_from_bar(*numbers)
    assert refused.value.field == field


def test_scale_from_bar_is_less_sure_when_the_plane_is_not_known() -> None:
    apart, within = scale_from_bar(0, 0, 400, 0, 100), scale_from_bar(0, 0, 400, 0, 100, in_axis_plane=True)
    assert apart.rel_sd**2 - within.rel_sd**2 == pytest.approx(0.01**2)


@pytest.mark.parametrize("turned_mm", [-60.0, 60.0], ids=["aimed left", "aimed right"])
def test_unit_from_bar_is_the_distance_wherever_the_camera_is_turned(turned_mm: float) -> None:
    """Camera before the piece at 500 mm and level, turned about itself; the bar 90 mm beside the axis."""
    centre, focal = (599.5, 799.5), 2000.0

    def pixel(across: float, up: float) -> tuple[float, float]:
        turn = np.arctan2(turned_mm, 500.0)
        aside, ahead = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]]) @ [across, 500.0]
        return float(centre[0] + focal * aside / ahead), float(centre[1] - focal * up / ahead)

    frame = Frame.facing((pixel(0.0, 100.0), pixel(0.0, -100.0)), 0.0, focal, centre)
    bar = scale_from_bar(*pixel(90.0, -40.0), *pixel(90.0, 60.0), 100, in_axis_plane=True)
    assert unit_from_bar(frame, bar) == pytest.approx(500.0, rel=1e-9)
