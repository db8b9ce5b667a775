"""The scale of a close-up from the piece's own profile, against a camera that projects by itself."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from tests.desk.conftest import BOTTLE as DRAWN
from tests.photos.projector import BOTTLE, Shot
from weftglass.desk import (
    Collection,
    ScaleAsked,
    count_covering,
    covering_of,
    get_view,
    keep_hand_count,
    mark_bare,
    record_sighting,
)
from weftglass.desk.face_scale import (
    OwnProfile,
    box_on_covering,
    own_profile,
    profile_from_outline,
    scale_by_bar,
    scale_by_edges,
    scale_by_outline,
)
from weftglass.errors import InputError
from weftglass.records import MeasuredProfile, View

HEIGHT = 100.0
JAR = OwnProfile(BOTTLE, 0.005)


def mm_a_pixel(shot: Shot, across: float, back: float) -> float:
    """Scale at a place 100 mm up, by projecting two points 2 mm apart, level and square to the view."""
    ray = np.array([across, shot.distance_mm + back])
    aside = np.array([ray[1], -ray[0]]) / np.hypot(*ray)
    places = np.array([across, back]) + np.array([[-1.0], [1.0]]) * aside
    ends = shot.pixel(places[:, 0], np.full(2, HEIGHT), places[:, 1])
    return 2 / float(np.hypot(*(ends[1] - ends[0])))


def edges_of(shot: Shot) -> tuple[float, float, float, float]:
    """Left and right edge of the silhouette where the middle of the wall is 100 mm up."""
    outline = shot.silhouette(BOTTLE)
    level = float(shot.pixel(np.array(0.0), np.array(HEIGHT), np.array(-44.7))[1])
    near = outline[np.abs(outline[:, 1] - level) < 1.0]
    return float(near[:, 0].min()), level, float(near[:, 0].max()), level


@pytest.mark.parametrize("distance", [180.0, 300.0, 600.0])
def test_edges_give_the_scale_at_the_face_with_the_cameras_focal_length(distance: float) -> None:
    """Within half a percent of what the camera shows, from near and from far."""
    shot = Shot(distance, HEIGHT, focal_px=4.0 * distance, size=(1200, 1600))
    found = scale_by_edges(edges_of(shot), JAR, HEIGHT, focal_35mm=shot.focal_35mm, size_px=shot.size)
    assert found.mm_per_px == pytest.approx(mm_a_pixel(shot, 0.0, -44.7), rel=0.005)
    assert found.known is not None
    assert found.known.radius_mm == pytest.approx(44.7, abs=0.2)
    assert found.known.distance_mm == pytest.approx(distance - 44.7, rel=0.02)


def test_edges_without_a_focal_length_own_up_to_not_knowing_how_near_the_camera_stood() -> None:
    """The true scale is within two standard deviations, which are wider than with the focal length."""
    shot = Shot(220.0, HEIGHT, focal_px=900.0)
    with_lens, without = (
        scale_by_edges(edges_of(shot), JAR, HEIGHT, focal_35mm=focal, size_px=shot.size)
        for focal in (shot.focal_35mm, None)
    )
    assert without.rel_sd > 1.5 * with_lens.rel_sd
    assert without.mm_per_px == pytest.approx(mm_a_pixel(shot, 0.0, -44.7), rel=2 * without.rel_sd)


def view_of(shot: Shot) -> View:
    """A view measured without error."""
    ends = [shot.pixel(np.array(0.0), np.array(z), np.array(0.0)) for z in (285.0, 0.0)]
    top, bottom = ((float(end[0]), float(end[1])) for end in ends)
    points = tuple((float(z), float(half)) for z, half in BOTTLE)
    found = MeasuredProfile(
        points, (0.2,) * len(points), 0.005, 0.2, top, bottom, 0.0, shot.tilt_deg, shot.distance_mm, 285.0, 1.5
    )
    return View(id="v", piece="p", photo="0" * 64, measured=found)


@pytest.mark.parametrize("turn", [-0.7, 0.0, 0.5])
def test_outline_of_the_photograph_itself_gives_scale_radius_and_height(turn: float) -> None:
    """A box anywhere on the near side: the scale of that place, and the wall's radius there."""
    shot = Shot(500.0, 160.0, tilt_deg=4.0, focal_px=2400.0)
    place = 44.7 * np.sin(turn), -44.7 * np.cos(turn)
    x, y = shot.pixel(np.array(place[0]), np.array(HEIGHT), np.array(place[1]))
    found = scale_by_outline(view_of(shot), JAR, (x - 90, y - 60, x + 90, y + 60), shot.size, "covering")
    assert found.mm_per_px == pytest.approx(mm_a_pixel(shot, *place), rel=0.006)
    assert found.known is not None
    assert found.known.radius_mm == pytest.approx(44.7, abs=0.3)
    assert "100 mm up" in found.words


def test_box_beside_the_piece_is_refused() -> None:
    """Its middle has no place on the wall."""
    with pytest.raises(InputError, match="the middle of the box, 5, 5 in pixels, lies off the piece"):
        scale_by_outline(view_of(Shot(500.0, 160.0)), JAR, (0, 0, 10, 10), (1200, 1600), "covering")


def test_flat_and_shallow_bodies_are_not_taken_for_round() -> None:
    """A flat side hardly bends and its edges are its own; a shallow oval bends less than its width says."""
    flat, oval = replace(JAR, flat=True, depth_share=0.5), replace(JAR, depth_share=0.5, depth_sd=0.1)
    edges = (100.0, 500.0, 994.0, 500.0)
    on_flat = scale_by_edges(edges, flat, HEIGHT, focal_35mm=None, size_px=(1200, 1600))
    assert on_flat.mm_per_px == pytest.approx(2 * 44.7 / 894, rel=1e-3)
    assert on_flat.known is not None
    assert on_flat.known.radius_mm is not None
    assert on_flat.known.radius_mm > 500
    bends = oval.known_at(HEIGHT, "here").radius_mm
    assert bends == pytest.approx(2 * 44.7, rel=0.01)


def test_bar_with_a_height_tells_the_wall_and_needs_a_profile() -> None:
    """The bar gives the scale, the profile the radius and the taper."""
    found = scale_by_bar((0, 0, 100, 0, 10), JAR, 170.0)
    assert found.mm_per_px == pytest.approx(0.1)
    assert found.known is not None
    assert found.known.radius_mm == pytest.approx(37.5, abs=0.3)
    assert found.known.slope == pytest.approx(-15 / 40, abs=0.01)
    assert scale_by_bar((0, 0, 100, 0, 10)).known is None
    with pytest.raises(InputError, match="before its outline has been measured"):
        scale_by_bar((0, 0, 100, 0, 10), None, 170.0)
    with pytest.raises(InputError, match="height is 400"):
        scale_by_bar((0, 0, 100, 0, 10), JAR, 400.0)


def test_profile_is_read_from_what_outline_prints() -> None:
    """The profile of the `outline` contract; anything else is refused in words."""
    read = profile_from_outline(json.dumps({"profile": BOTTLE.tolist(), "sd_mm": 0.4}), "outline.json")
    assert read.wall_at(HEIGHT, "here")[0] == pytest.approx(44.7, abs=0.1)
    for wrong in ("no JSON", "[]", '{"profile": null}', '{"profile": [[0, 1], [0, 2]]}', '{"profile": [[0, "a"]]}'):
        with pytest.raises(InputError, match="weftglass outline --json"):
            profile_from_outline(wrong, "outline.json")


def test_section_and_depth_that_were_recorded_count(collection: Collection, measured: View) -> None:
    """Nothing seen: round; square: flat sides as deep as wide; an oval whose depth nobody took: 0.6 +- 0.15."""
    plain = own_profile(collection, measured.piece)
    assert plain is not None
    assert (plain.flat, plain.depth_share) == (False, 1.0)
    record_sighting(collection, measured.piece, "section", "oval", who="Mira")
    oval = own_profile(collection, measured.piece)
    assert oval is not None
    assert (oval.flat, oval.depth_share, oval.depth_sd) == (False, 0.6, 0.15)
    record_sighting(collection, measured.piece, "section", "square", who="Mira")
    square = own_profile(collection, measured.piece)
    assert square is not None
    assert (square.flat, square.depth_share, square.depth_sd) == (True, 1.0, 0.0)


def test_hand_count_on_a_measured_front_needs_no_bar(collection: Collection, measured: View) -> None:
    """Taps on the drawn bottle's body count against the outline's own scale, nearer than the axis plane's."""
    (x0, _), (x1, _) = DRAWN[4], DRAWN[5]
    taps = [((x0 + x1) / 2, 450.0 + 20 * k) for k in range(15)]
    study = keep_hand_count(
        collection, measured.piece, measured.id, who="Mira", on=measured.created_at.date(), scale=ScaleAsked(),
        what="rows", taps=taps,
    )  # fmt: skip
    found = measured.measured
    assert found is not None
    assert study.rows_per_cm is not None
    nearer = (found.distance_mm - 40) / found.distance_mm
    assert study.rows_per_cm == pytest.approx(10 / (20 * 0.4 * nearer), rel=0.02)
    assert study.remark.startswith("Scale from the outline of this photograph")


def test_box_that_nobody_drew_lies_on_the_covering(collection: Collection, measured: View) -> None:
    """On the drawn bottle's body, clear of its edges, its foot and bare glass."""
    left, upper, right, lower = box_on_covering(measured)
    assert 200 < left < 250
    assert 350 < right < 400
    assert 340 < upper < lower < 850
    mark_bare(collection, measured.id, [[140, 290]], who="Mira")
    assert box_on_covering(get_view(collection, measured.id).view)[1] > upper


def test_nothing_said_of_the_scale_of_an_unmeasured_photograph_is_refused(collection: Collection, view: View) -> None:
    """It names what would do."""
    assert covering_of(collection, view.piece).profile is None
    with pytest.raises(InputError, match="bar is left out; it should be two points"):
        count_covering(collection, view.piece, view.id, scale=ScaleAsked())
    with pytest.raises(InputError, match="mm is left out"):
        count_covering(collection, view.piece, view.id, scale=ScaleAsked((0, 0, 100, 0)))
