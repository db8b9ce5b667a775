"""A rounded heel is seen as the outline of a torus; the plane it stands on is found behind it."""

from __future__ import annotations

import numpy as np
import pytest

from tests.photos.projector import BOTTLE, Shot
from weftglass.photos import measure_outline, scale_from_bar
from weftglass.photos.heel import end_edge

ROUND_HEEL_MM = 9.0


def round_heeled() -> np.ndarray:
    """The bottle with a heel rounded by a quarter of a circle."""
    turn = np.linspace(0, np.pi / 2, 24)
    heel = np.column_stack([ROUND_HEEL_MM * (1 - np.cos(turn)), 44.0 - ROUND_HEEL_MM * (1 - np.sin(turn))])
    return np.vstack([heel, BOTTLE[2:]])


@pytest.mark.parametrize("drop", [0.3, 0.02, -0.2], ids=["from above", "nearly level", "from below"])
def test_end_edge_is_the_lowest_picture_of_all_points_of_the_torus(drop: float) -> None:
    ring, tube = 0.09, 0.012
    t, a = np.meshgrid(np.linspace(-np.pi, np.pi, 1441), np.linspace(-np.pi, np.pi, 721))
    outward = ring + tube * np.cos(a)
    x, y, ahead = outward * np.sin(t), drop - tube + tube * np.sin(a), 1 - outward * np.cos(t)
    column = np.round(x / ahead / 0.002).astype(int)
    for k in (0, 15, -30):
        lowest = (y / ahead)[np.abs(column - k) < 1].max()
        seen = end_edge([0.002 * k], np.array([ring]), np.array([tube]), np.array([drop]))[0, 0]
        assert seen == pytest.approx(lowest, abs=4e-4)


def test_end_edge_of_nothing_is_nan() -> None:
    assert np.isnan(end_edge([0.3], np.array([0.1]), np.array([0.01]), np.array([0.2])))[0, 0]


@pytest.mark.parametrize("tilt_deg", [5.0, 9.0, 14.0])
def test_measure_outline_sees_past_a_round_heel(tilt_deg: float) -> None:
    """The ring it stands on is hidden behind the heel, and narrower than the foot looks."""
    shot = Shot(560, 120 + 560 * np.tan(np.radians(tilt_deg)), tilt_deg=tilt_deg, focal_px=1900)
    found = measure_outline(
        shot.silhouette(round_heeled()),
        scale=scale_from_bar(*shot.bar(), 100, in_axis_plane=True),
        focal_35mm=shot.focal_35mm,
        image_size=shot.size,
    )
    assert found.axis["tilt_deg"] == pytest.approx(tilt_deg, abs=2.0)
    assert found.height_mm == pytest.approx(285.0, rel=0.015)
    assert abs(found.height_mm - 285.0) < 2 * found.axis["height_sd_mm"]
    assert 2 * found.points[:, 1].max() == pytest.approx(90.0, rel=0.015)
