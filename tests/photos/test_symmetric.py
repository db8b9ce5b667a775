"""Outlines symmetric about an axis: light from one side, and different things on both sides."""

from __future__ import annotations

import json
from pathlib import Path

import cv2
import numpy as np
import pytest

import weftglass.demo
from weftglass.photos import read_photograph, trace_outline
from weftglass.photos.symmetric import unlike_mirror

DEMO = Path(weftglass.demo.__file__).parent / "data"
AXIS, REACH = 10, 8


def halves(left: tuple[float, float, float], right: tuple[float, float, float]) -> np.ndarray:
    """A picture (4, 21, 3) of two L*a*b* colours beside the axis column."""
    colour = np.empty((4, 21, 3), dtype=np.float32)
    colour[:, : AXIS + 1], colour[:, AXIS + 1 :] = left, right
    return colour


def test_unlike_mirror_allows_for_light_from_one_side_as_far_as_it_is_told() -> None:
    lit, share = (60.0, 20.0, 40.0), 0.5  # CIE 15: L* + 16, a*, b* all go with the cube root of light
    dark = (share * 76.0 - 16.0, share * 20.0, share * 40.0)
    unlike = [unlike_mirror(halves(lit, dark), AXIS, REACH, sidelit)[:, 2:].max() for sidelit in (0.0, 0.5, 1.0)]
    assert unlike[0] == 2.5
    assert unlike[0] > unlike[1] > unlike[2] == 0.0


def test_unlike_mirror_tells_other_colours_in_any_light() -> None:
    assert unlike_mirror(halves((60.0, 20.0, 40.0), (30.0, -15.0, -5.0)), AXIS, REACH, 1.0)[:, 2:].min() == 2.5


@pytest.mark.parametrize("name", ["p-29-front", "p-02-front"])
def test_trace_outline_of_a_piece_lit_from_one_side(name: str) -> None:
    """The first is cut off at both ends too; of the second a doubtful outline would lose a part of the shoulder."""
    truth = json.loads((DEMO / "truth.json").read_text(encoding="utf-8"))[name]
    photo = read_photograph((DEMO / f"photographs/{name}.jpg").read_bytes(), name)
    true = np.zeros((photo.height_px, photo.width_px), np.uint8)
    cv2.fillPoly(true, [np.round(truth["polygon_px"]).astype(np.int32)], 1)
    found = trace_outline(photo)
    assert (found.mask & (true > 0)).sum() > 0.98 * (found.mask | (true > 0)).sum()
    assert not found.warnings
