"""Rows of a covering run level: where they do tells how far a camera looks down, and what a body is in plan."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from tests.photos.projector import Shot
from weftglass.photos import SectionHint, measure_outline, scale_from_bar
from weftglass.photos.frame import Frame
from weftglass.photos.level_rows import detail_of, levelness
from weftglass.photos.plan import BOXY, PLANS, ROUND, Plan
from weftglass.photos.rows import dense
from weftglass.photos.sight import sight_of

FloatArray = NDArray[np.float64]
Pattern = Callable[[FloatArray, FloatArray], FloatArray]
BODY = np.array([[0.0, 44.0], [150.0, 46.0], [200.0, 34.0]])
HEEL = 0.28
"""A covered foot is rounded by this share of its half-width: the median of the rendered pieces (`photos.heel`)."""
BOX_HALF, BOX_DEEP = 40.0, 36.0


def rows(z: FloatArray, along: FloatArray) -> FloatArray:
    """Rows 5 mm apart, and stitches that stand upright."""
    return np.sin(2 * np.pi * z / 5.0) + 0.6 * np.sin(2 * np.pi * along / 4.0)


def leaning(z: FloatArray, along: FloatArray) -> FloatArray:
    """The same rows under stitches that lean by a third of a right angle, and are stronger."""
    return np.sin(2 * np.pi * z / 5.0) + 1.2 * np.sin(2 * np.pi * (along + 0.58 * z) / 4.0)


def net(z: FloatArray, along: FloatArray) -> FloatArray:
    """Two slanting sets of cords, uneven as hands tie them."""
    wander = 2.5 * np.sin(along / 11.0) + 2.0 * np.sin(z / 17.0)
    one, other = (np.abs(np.sin(np.pi * (along + sign * 0.5 * z + wander) / 16.0)) < 0.15 for sign in (1, -1))
    return 1.5 * (one | other).astype(np.float64)


def painted(shot: Shot, place: tuple[FloatArray, FloatArray, FloatArray], value: FloatArray) -> NDArray[np.uint8]:
    """A picture of points of a surface (across, up, back), each with a value, pixels without any grey."""
    at = np.round(shot.pixel(*place)).astype(int).reshape(-1, 2)
    keep = (at >= 0).all(axis=1) & (at < np.array(shot.size)).all(axis=1)
    index = at[keep, 1] * shot.size[0] + at[keep, 0]
    total = np.bincount(index, value.ravel()[keep], shot.size[0] * shot.size[1])
    count = np.bincount(index, minlength=shot.size[0] * shot.size[1])
    light = 120 + 30 * (total / np.maximum(count, 1)).reshape(shot.size[::-1])
    grain = np.random.default_rng(5).normal(0, 4, light.shape)
    grey = cv2.GaussianBlur(np.clip(light + grain, 0, 255).astype(np.uint8), (0, 0), 0.8)
    return np.repeat(grey[:, :, None], 3, axis=2)


def heeled(profile: FloatArray) -> FloatArray:
    """The same body with its heel rounded as a covered foot's is."""
    round_mm = HEEL * profile[0, 1]
    turn = np.linspace(0.0, np.pi / 2, 13)
    side = np.interp(round_mm, profile[:, 0], profile[:, 1])
    heel = np.column_stack([round_mm * (1 - np.cos(turn)), side - round_mm * (1 - np.sin(turn))])
    return np.vstack([heel, profile[profile[:, 0] > round_mm]])


@cache
def pot(tilt_deg: float, pattern: Pattern, covered: bool = False) -> tuple[Shot, FloatArray, NDArray[np.uint8]]:
    """A round pot seen from above by a tilt, its foot sharp or as a covered one's, its outline and its picture."""
    shot = Shot(600, 100 + 600 * np.tan(np.radians(tilt_deg)), tilt_deg=tilt_deg, focal_px=1500, size=(700, 900))
    body = heeled(BODY) if covered else BODY
    z, t = np.meshgrid(np.arange(0, 200, 0.15), np.radians(np.arange(-88, 88, 0.15)), indexing="ij")
    r = np.interp(z, body[:, 0], body[:, 1])
    across, back = r * np.sin(t), -r * np.cos(t)
    flare = np.gradient(r[:, 0], z[:, 0])[:, None]
    faced = (600 + back) * np.cos(t) - across * np.sin(t) > flare * (shot.height_mm - z)
    picture = painted(shot, (across[faced], z[faced], back[faced]), pattern(z, 45.0 * t)[faced])
    return shot, dense(shot.silhouette(body)), picture


def seen(shot: Shot, outline: FloatArray, picture: NDArray[np.uint8], plans: tuple[Plan, ...] = (ROUND,)):
    middle = ((shot.size[0] - 1) / 2, (shot.size[1] - 1) / 2)
    axis = ((middle[0], float(outline[:, 1].min())), (middle[0], float(outline[:, 1].max())))
    detail = detail_of(picture, outline)
    return sight_of(outline, axis, shot.focal_px, middle, plans=plans, ends=(), detail=detail)


@pytest.mark.parametrize("tilt_deg", [-2.0, 5.0, 13.0])
@pytest.mark.parametrize("pattern", [rows, leaning])
def test_sight_of_reads_the_tilt_off_level_rows_alone(pattern: Pattern, tilt_deg: float) -> None:
    """Neither foot nor lip is asked; stitches that lean alike on both sides favour no tilt."""
    found = seen(*pot(tilt_deg, pattern))
    assert found.tilt.degrees == pytest.approx(tilt_deg, abs=1.2)
    assert abs(found.tilt.degrees - tilt_deg) < 2.2 * found.tilt.sd
    assert found.tilt.sd < 2.5


def test_sight_of_claims_nothing_from_a_net() -> None:
    assert seen(*pot(13.0, net)).tilt.sd > 4.0


def test_sight_of_tells_a_round_body_from_every_other_plan() -> None:
    found = seen(*pot(5.0, rows), plans=PLANS)
    assert found.depth is None
    assert found.plan.depth == pytest.approx(1.0, abs=0.12)
    assert found.otherwise < 0.1


def boxed() -> tuple[Shot, FloatArray, NDArray[np.uint8]]:
    """The front of a square box seen from above: rows that run straight."""
    shot = Shot(600, 160, tilt_deg=8.0, focal_px=1500, size=(700, 900))
    z, x = np.meshgrid(np.arange(0, 200, 0.15), np.arange(-BOX_HALF, BOX_HALF, 0.15), indexing="ij")
    picture = painted(shot, (x, z, np.full_like(x, -BOX_DEEP)), rows(z, x))
    corners = [(-BOX_HALF, 0.0), (BOX_HALF, 0.0), (BOX_HALF, 200.0), (-BOX_HALF, 200.0)]
    outline = [shot.pixel(np.array(a), np.array(b), np.array(-BOX_DEEP)) for a, b in corners]
    return shot, dense(np.array(outline)), picture


def test_sight_of_takes_a_body_with_straight_rows_for_a_box() -> None:
    found = seen(*boxed(), plans=PLANS)
    assert found.plan.boxy
    assert found.depth is not None
    assert found.otherwise < 0.2


def test_levelness_is_greatest_for_the_true_tilt() -> None:
    shot, outline, picture = pot(5.0, rows)
    middle = ((shot.size[0] - 1) / 2, (shot.size[1] - 1) / 2)
    axis = ((middle[0], float(outline[:, 1].min())), (middle[0], float(outline[:, 1].max())))
    frames = [Frame.facing(axis, tilt, shot.focal_px, middle) for tilt in (-5.0, 0.0, 5.0, 10.0, 15.0)]
    level = levelness(detail_of(picture, outline), outline, frames, (ROUND,))[0]
    assert int(np.argmax(level)) == 2
    assert level.min() >= 0
    assert level.max() <= 1


def test_measure_outline_is_surer_of_the_height_with_the_photograph() -> None:
    """A covered pot: its foot is rounded as covered ones are, and its bar stands level with its axis."""
    shot, outline, picture = pot(13.0, rows, covered=True)
    facts = {"scale": scale_from_bar(*shot.bar(), 100, in_axis_plane=True), "focal_35mm": shot.focal_35mm}
    without = measure_outline(outline, image_size=shot.size, **facts)
    found = measure_outline(outline, image_size=shot.size, pixels=picture, **facts)
    assert found.axis["tilt_sd_deg"] < 0.6 * without.axis["tilt_sd_deg"]
    assert found.axis["tilt_deg"] == pytest.approx(13.0, abs=1.2)
    assert found.height_mm == pytest.approx(200.0, rel=0.015)
    assert abs(found.height_mm - 200.0) < 2 * found.axis["height_sd_mm"]


def test_plans_of_a_hint_are_what_a_person_said() -> None:
    assert SectionHint.of("round").plans == (ROUND,)
    assert {plan.power for plan in SectionHint.of("square").plans} == {BOXY}
    assert {plan.depth for plan in SectionHint.of("flat:0.4").plans} == {0.4}
    assert SectionHint.of("square", turn_deg=20).plans == ()


@pytest.mark.parametrize("plan", PLANS, ids=lambda plan: f"{plan.depth}-{plan.power}")
def test_plan_walked_round_agrees_with_its_front(plan: Plan) -> None:
    beside, before, aside, ahead = plan.around(np.linspace(0.05, 1.5, 20))
    np.testing.assert_allclose(plan.front(beside), before, atol=1e-9)
    np.testing.assert_allclose(np.hypot(aside, ahead), 1.0)
    along = np.gradient(beside) * aside + np.gradient(before) * ahead
    assert np.abs(along[2:-2]).max() < 0.02
