"""A thing out of focus behind a lip in focus, and outlines that run along the one or the other."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from weftglass.photos.focus import out_of_focus
from weftglass.photos.rows import dense
from weftglass.photos.top_edge import doubted_top

HEIGHT, WIDTH, TOP, LIP, SHOULDER, FOOT = 900, 700, 120, 250, 400, 800


def outline(top: int, half: float) -> np.ndarray:
    """A body with a part of some half-width from a row down to the shoulder."""
    right = np.array([[half, top], [half, SHOULDER], [150.0, SHOULDER + 40], [150.0, FOOT]])
    left = right[::-1] * np.array([-1.0, 1.0])
    return dense(np.vstack([right, left]) + np.array([350.0, 0.0]), 1200)


def photograph(behind_blur: float, sharp: float = 0.8, grain: float = 1.5) -> np.ndarray:
    """A pale vase behind the neck of a bottle, the first blurred by as much, the bottle by ``sharp``, uint8."""
    picture = np.full((HEIGHT, WIDTH, 3), (90.0, 100.0, 110.0))
    vase = cv2.fillPoly(np.zeros((HEIGHT, WIDTH)), [outline(TOP, 90.0).round().astype(np.int32)], 1.0)
    bottle = cv2.fillPoly(np.zeros((HEIGHT, WIDTH)), [outline(LIP, 40.0).round().astype(np.int32)], 1.0)
    for mask, blur, colour in ((vase, behind_blur, (170, 140, 150)), (bottle, sharp, (60, 90, 50))):
        share = cv2.GaussianBlur(mask, (0, 0), blur)[:, :, None]
        picture = picture * (1 - share) + np.array(colour, dtype=float) * share
    picture += np.random.default_rng(2).normal(0, grain, picture.shape)
    return np.clip(picture, 0, 255).astype(np.uint8)


@pytest.mark.parametrize("blur", [2.5, 4.0])
def test_out_of_focus_is_the_part_that_runs_along_the_thing_behind(blur: float) -> None:
    found = out_of_focus(outline(TOP, 90.0), photograph(blur))
    assert found == pytest.approx((SHOULDER - TOP) / (FOOT - TOP), abs=0.05)


def test_out_of_focus_is_none_along_the_bottle_itself() -> None:
    for blur in (1.0, 4.0):
        assert out_of_focus(outline(LIP, 40.0), photograph(blur)) is None


def test_out_of_focus_is_none_where_all_is_as_sharp_or_as_blurred() -> None:
    assert out_of_focus(outline(TOP, 90.0), photograph(0.8)) is None
    assert out_of_focus(outline(TOP, 90.0), photograph(3.0, sharp=3.0)) is None


def test_out_of_focus_is_none_where_only_the_shoulder_seems_blurred() -> None:
    """Below a lip in focus nothing that stands behind ends the piece."""
    wide = outline(LIP, 40.0)
    below = (wide[:, 1] > LIP + 60) & (wide[:, 1] < SHOULDER)
    wide[below, 0] = 350.0 + np.sign(wide[below, 0] - 350.0) * 90.0
    assert out_of_focus(wide, photograph(4.0)) is None


def test_a_top_out_of_focus_is_doubted_down_to_where_it_is_sharp() -> None:
    doubted = doubted_top(outline(TOP, 90.0), photograph(3.0))
    assert doubted is not None
    assert "out of focus" in doubted.why
    assert doubted.open_by == pytest.approx((SHOULDER - TOP) / (FOOT - TOP), abs=0.06)
    assert doubted_top(outline(LIP, 40.0), photograph(3.0)) is None
