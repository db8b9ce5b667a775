"""Perspective by closed form: the pinhole camera and a sphere or cylinder square to the view (Euclid, Elements III)."""

from __future__ import annotations

import numpy as np
import pytest

from weftglass.photos.camera import appearing_half_width, focal_px, front_edge, rim_edge, touched_circle, true_radius

# Radius and distance in mm, and the diameter that appears in the plane of the axis: 2 R / sqrt(1 - (R / d)**2).
APPEARING = [(50, 300, 101.42), (50, 500, 100.50), (50, 1000, 100.13), (150, 600, 309.84), (150, 1000, 303.43)]


@pytest.mark.parametrize(("radius", "distance", "diameter"), APPEARING)
def test_appearing_half_width_is_that_of_the_tangents(radius: float, distance: float, diameter: float) -> None:
    assert 2 * float(appearing_half_width(radius, distance)) == pytest.approx(diameter, abs=0.006)
    assert float(true_radius(diameter / 2, distance)) == pytest.approx(radius, abs=0.003)


def test_focal_px_follows_the_diagonal() -> None:
    """CIPA DCG-001: 26 mm on a 4032 by 3024 picture; by the width it would be 2912 px, 4.0 % less."""
    assert focal_px(26, 4032, 3024) == pytest.approx(3028.7, abs=0.05)
    assert focal_px(26, 4032, 3024) / (4032 * 26 / 36) == pytest.approx(1.040, abs=1e-3)


def test_touched_circle_undoes_a_sphere_seen_from_above() -> None:
    """Each silhouette ray of a sphere touches it; the circle of contact must lie on the sphere."""
    radius, drop = 0.12, 0.3
    centre = np.array([0.0, drop, 1.0])
    away = np.linalg.norm(centre)
    turn = np.linspace(0.3, np.pi - 0.3, 40)
    ahead = centre / away
    across, down = np.array([1.0, 0.0, 0.0]), np.cross(ahead, [1.0, 0.0, 0.0])
    sine = radius / away
    rays = np.sqrt(1 - sine**2) * ahead + sine * (np.sin(turn)[:, None] * across + np.cos(turn)[:, None] * down)
    w, y = rays[:, 0] / rays[:, 2], rays[:, 1] / rays[:, 2]
    slope = np.gradient(w, turn) / np.gradient(y, turn)
    ring, below = touched_circle(w, y, slope)
    np.testing.assert_allclose(np.hypot(ring, below - drop)[3:-3], radius, rtol=2e-3)


@pytest.mark.parametrize("front", [True, False])
def test_rim_edge_lies_on_the_circle(front: bool) -> None:
    radius, drop = 0.1, 0.25
    turn = np.linspace(-1.2, 1.2, 9) + (0.0 if front else np.pi)
    depth = 1 - radius * np.cos(turn)
    np.testing.assert_allclose(rim_edge(radius * np.sin(turn) / depth, radius, drop, front=front), drop / depth)


def test_front_edge_undoes_a_box_seen_square_on() -> None:
    half, drop = front_edge(0.1 / (1 - 0.05), 0.2 / (1 - 0.05), 0.5)
    assert (float(half), float(drop)) == (pytest.approx(0.1), pytest.approx(0.2))
