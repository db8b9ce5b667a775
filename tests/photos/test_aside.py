"""A book of a neck's width behind the lip stands aside of the bottle; necks, bent ones too, do not."""

from __future__ import annotations

import numpy as np
import pytest

from weftglass.photos import Photograph, trace_outline
from weftglass.photos.aside import standing_aside
from weftglass.photos.rows import dense
from weftglass.photos.top_edge import doubted_top
from weftglass.vessels import FormLibrary

LIP, FOOT, MIDDLE = 300, 800, 320


def outline(y: np.ndarray, middle: np.ndarray, half: np.ndarray) -> np.ndarray:
    return dense(np.vstack([np.column_stack([middle + half, y]), np.column_stack([middle - half, y])[::-1]]))


def bottle() -> tuple[np.ndarray, np.ndarray]:
    y = np.arange(LIP, FOOT, dtype=float)
    return y, np.interp(y, [LIP, 320, 322, 420, 500, 799], [30, 30, 26, 26, 95, 95])


def with_book(aside: float) -> np.ndarray:
    y, half = bottle()
    above = np.arange(LIP - 130, LIP, dtype=float)
    middle = np.r_[np.full(len(above), MIDDLE + aside), np.full(len(y), MIDDLE)]
    return outline(np.r_[above, y], middle, np.r_[np.full(len(above), 27.0), half])


def test_standing_aside_ends_at_the_lip() -> None:
    for aside in (-8.0, 5.0, 12.0):
        end = standing_aside(with_book(aside))
        assert end is not None
        assert abs(end - LIP) < 12


def test_standing_aside_is_none_where_nothing_is_or_the_neck_is_bent() -> None:
    y, half = bottle()
    bent = MIDDLE + np.interp(y, [LIP, 460], [14.0, 0.0])
    assert standing_aside(outline(y, np.full(len(y), float(MIDDLE)), half)) is None
    assert standing_aside(outline(y, bent, half)) is None
    assert standing_aside(with_book(0.0)) is None  # nothing tells it from a neck then


@pytest.mark.parametrize("turn_deg", [0.0, 90.0])
def test_nothing_of_a_form_stands_aside(turn_deg: float) -> None:
    for form in FormLibrary.starter():
        z, half = form.silhouette(turn_deg).points.T
        assert standing_aside(outline(-z, np.zeros(len(z)), half)) is None


def test_doubted_top_says_that_a_part_stands_aside_and_from_where_the_height_is_open() -> None:
    found = doubted_top(with_book(9.0), None)
    assert found is not None
    assert "stands aside" in found.why
    assert abs(found.open_by - 130 / 630) < 0.03


def test_trace_outline_ends_at_the_lip_below_a_book_that_stands_a_little_aside() -> None:
    chance = np.random.default_rng(12)
    canvas = np.full((900, 640, 3), (196.0, 188.0, 170.0))
    canvas[LIP - 130 : 560, MIDDLE - 14 : MIDDLE + 30] = (150.0, 62.0, 44.0)
    for row, wide in zip(*bottle(), strict=True):
        shown = (46.0, 58.0, 48.0) if row < 440 else (120.0, 92.0, 60.0)
        canvas[int(row), round(MIDDLE - wide) : round(MIDDLE + wide)] = shown
    found = trace_outline(Photograph(np.clip(canvas + chance.normal(0, 2, canvas.shape), 0, 255).astype(np.uint8)))
    assert abs(float(found.polygon_px[:, 1].min()) - LIP) < 8
