"""Outlines that run in along a rim and back are closed there; grooves, waists and necks are kept."""

from __future__ import annotations

import numpy as np
import pytest

from weftglass.photos.rows import dense, rows_of
from weftglass.photos.slit import without_slits

NECK = [[12.0, 0.0], [12.0, 60.0], [50.0, 90.0]]


def bottle(*between: list[float]) -> np.ndarray:
    """A bottle 200 high, some points of its right side given, mirrored on the left; from the top, clockwise."""
    right = np.array([*NECK, *between, [50.0, 200.0]])
    return dense(np.vstack([right, right[::-1] * [-1.0, 1.0]]), 1200)


def narrowest_below_shoulder(polygon: np.ndarray) -> float:
    rows = rows_of(polygon, 400)
    return float((rows.right - rows.left)[rows.y > 95].min())


@pytest.mark.parametrize("deep", [8.0, 25.0, 45.0])
def test_without_slits_closes_a_slit_on_both_sides(deep: float) -> None:
    slit = bottle([50.0, 120.0], [50.0 - deep, 120.8], [50.0 - deep, 121.6], [50.0, 122.4])
    assert narrowest_below_shoulder(slit) == pytest.approx(100.0 - 2 * deep, abs=1.0)
    assert narrowest_below_shoulder(without_slits(slit)) == pytest.approx(100.0, abs=0.5)


def test_without_slits_closes_a_slit_that_slopes_behind_the_rim() -> None:
    slit = bottle([50.0, 120.0], [30.0, 128.0], [30.0, 130.0], [50.0, 122.0])
    closed = without_slits(slit)
    assert len(closed) < len(slit)
    assert not ((np.abs(closed[:, 0]) < 45.0) & (closed[:, 1] > 110.0) & (closed[:, 1] < 190.0)).any()


def test_without_slits_keeps_a_groove_a_waist_a_neck_and_a_plain_side_as_they_are() -> None:
    groove = bottle([50.0, 120.0], [44.0, 124.0], [44.0, 128.0], [50.0, 132.0])
    waist = bottle([50.0, 110.0], [35.0, 140.0], [50.0, 170.0])
    for kept in (groove, waist, bottle()):
        assert without_slits(kept) is kept


def test_without_slits_is_the_same_whichever_way_round() -> None:
    slit = bottle([50.0, 120.0], [25.0, 120.8], [25.0, 121.6], [50.0, 122.4])
    assert narrowest_below_shoulder(without_slits(slit[::-1])) == pytest.approx(100.0, abs=0.5)
