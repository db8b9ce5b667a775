"""One photograph laid flat, against a painted vessel whose marks are known."""

from __future__ import annotations

import numpy as np
import pytest

from tests.photos.painted import photographed
from tests.photos.projector import BOTTLE, Shot
from weftglass.errors import InputError
from weftglass.photos.standing import Standing
from weftglass.photos.unroll import place_sd_mm, unroll
from weftglass.photos.wall import wall_of
from weftglass.vessels import Section

SHOT = Shot(distance_mm=620, height_mm=190, tilt_deg=6, roll_deg=1.2, aside_mm=6, focal_px=1300, size=(600, 800))


def standing(shot: Shot, tall: float = 285.0) -> Standing:
    top, bottom = (tuple(shot.pixel(np.array(0.0), np.array(z), np.array(0.0))) for z in (tall, 0.0))
    return Standing.of(
        top, bottom, tilt_deg=shot.tilt_deg, distance_mm=shot.distance_mm, height_mm=tall, image_size=shot.size
    )


def eye_deg(shot: Shot) -> float:
    """Turn of the line from the axis to the eye: what faces the camera."""
    return float(np.degrees(np.arctan2(-shot.aside_mm, shot.distance_mm)))


def marks(around, z):
    """Dark dots every 20 degrees and every 20 mm on a light ground."""
    turn = np.mod(around + 10, 20) - 10
    up = np.mod(z + 10, 20) - 10
    dot = np.exp(-((turn * np.pi / 180 * 45 / 1.6) ** 2) - (up / 1.6) ** 2)
    return np.repeat((0.9 - 0.8 * dot)[..., None], 3, axis=-1)


def test_places_of_the_piece_come_out_at_the_pixels_of_an_independent_camera():
    rng = np.random.default_rng(3)
    points = rng.uniform([-45, -45, 0], [45, 45, 285], (50, 3))
    turn = np.radians(eye_deg(SHOT))
    across = points[:, 0] * np.cos(turn) - points[:, 1] * np.sin(turn)
    back = points[:, 0] * np.sin(turn) + points[:, 1] * np.cos(turn)
    np.testing.assert_allclose(standing(SHOT).pixels(points), SHOT.pixel(across, points[:, 2], back), atol=0.1)


def test_painted_dots_lie_where_they_were_painted_in_mm_both_ways():
    """Girth within 1 % and height within 0.5 % (acceptance anchors of the facts), out to 50 degrees."""
    wall = wall_of(BOTTLE, px_per_mm=4, heights_mm=(10, 145))
    strip = unroll(photographed(SHOT, BOTTLE, marks), standing(SHOT), wall, widest_deg=60)
    dark = 1 - strip.colours[..., 0]
    for turn in (-40, -20, 0, 20, 40):
        for height in (40.0, 60.0, 80.0, 100.0, 120.0):
            column = ((turn - eye_deg(SHOT)) / 360 + 0.5) * wall.shape[1] - 0.5
            row = np.interp(height, wall.height_mm, np.arange(wall.shape[0]))
            r, c = round(row), round(column)
            patch = dark[r - 12 : r + 13, c - 12 : c + 13].astype(float) ** 2
            rows, columns = np.mgrid[r - 12 : r + 13, c - 12 : c + 13]
            found = np.array([(patch * rows).sum(), (patch * columns).sum()]) / patch.sum()
            off_mm = (found - [row, column]) / 4
            assert abs(off_mm[0]) < 0.3, (turn, height, off_mm)
            assert abs(off_mm[1]) < 0.3, (turn, height, off_mm)


def test_what_the_camera_does_not_see_stays_blank():
    wall = wall_of(BOTTLE, px_per_mm=2, heights_mm=(10, 140))
    strip = unroll(photographed(SHOT, BOTTLE, marks), standing(SHOT), wall, widest_deg=55)
    angle = (np.arange(wall.shape[1]) + 0.5) / wall.shape[1] * 360 - 180
    assert not strip.seen[:, np.abs(angle) > 56].any()
    assert strip.seen[:, np.abs(angle) < 45].all()
    assert np.all(strip.colours[~strip.seen] == 0)


def test_places_are_less_certain_the_farther_round_they_lie():
    wall = wall_of(BOTTLE, px_per_mm=2, heights_mm=(20, 140))
    strip = unroll(photographed(SHOT, BOTTLE, marks), standing(SHOT), wall)
    sd = place_sd_mm(strip, wall, scale_sd=0.01, edge_sd_mm=0.5)
    middle = wall.shape[1] // 2
    row = sd[wall.shape[0] // 2, middle : middle + 70]
    seen = row[np.isfinite(row)]
    assert np.all(np.diff(seen) > 0)
    assert seen[0] < 0.5 < seen[-1] < 2.5


def test_a_square_wall_has_four_equal_faces_and_its_front_is_flat():
    square = [[0.0, 40.0], [120.0, 40.0]]
    wall = wall_of(square, px_per_mm=2, section=Section("square", corner=0.1))
    assert wall.girth_mm == pytest.approx(float(Section("square", corner=0.1).perimeter_mm(40, 40)), rel=2e-3)
    places, outward = wall.points(0.0)
    middle = wall.shape[1] // 2
    front = places[60, middle - 60 : middle + 60]
    np.testing.assert_allclose(front[:, 1], -40, atol=0.05)
    np.testing.assert_allclose(np.diff(front[:, 0]), 0.5, atol=0.01)
    turned, _ = wall.points(90.0)
    np.testing.assert_allclose(turned[60, middle + wall.shape[1] // 4, :2], [0, -40], atol=0.6)
    assert outward[60, middle, 1] == pytest.approx(-1, abs=1e-3)


def test_a_wall_finer_than_can_be_shown_is_refused():
    with pytest.raises(InputError, match="pixels per mm"):
        wall_of(BOTTLE, px_per_mm=400)
    with pytest.raises(InputError, match="heights"):
        wall_of(BOTTLE, px_per_mm=2, heights_mm=(200, 100))
