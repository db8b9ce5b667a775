"""A painted vessel before a pinhole camera, ray by ray: the truth for rollouts, without the code under test."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from tests.photos.projector import Shot

FloatArray = NDArray[np.float64]
Paint = Callable[[FloatArray, FloatArray], FloatArray]
"""Colours (..., 3), 0 to 1, from turn (degrees to the right of the front) and height (mm)."""

GROUND = (0.42, 0.62, 0.92)


def photographed(
    shot: Shot, profile: FloatArray, paint: Paint, turn_deg: float = 0.0, shade: float = 0.0, *, square: bool = False
) -> NDArray[np.uint8]:
    """
    Picture of a surface of revolution, uint8 (height, width, 3): each pixel's ray is walked until it enters the vessel.

    A ``square`` piece has sharp corners and its profile is its half-width across the flats. ``shade`` darkens the left:
    the light stands to the right of the camera and does not turn with the piece.
    """
    width, height = shot.size
    x, y = np.meshgrid(np.arange(width, dtype=float), np.arange(height, dtype=float))
    u = (x - (width - 1) / 2) / shot.focal_px
    v = (y - (height - 1) / 2) / shot.focal_px
    roll, tilt = np.radians(shot.roll_deg), np.radians(shot.tilt_deg)
    u, v = u * np.cos(roll) + v * np.sin(roll), -u * np.sin(roll) + v * np.cos(roll)
    down, ahead = v * np.cos(tilt) + np.sin(tilt), np.cos(tilt) - v * np.sin(tilt)
    ray = np.stack([u, ahead, -down], axis=-1)
    start = np.array([-shot.aside_mm, -shot.distance_mm, shot.height_mm])
    flat = np.hypot(ray[..., 0], ray[..., 1])
    near = -(start[0] * ray[..., 0] + start[1] * ray[..., 1]) / flat**2
    corners = np.radians(turn_deg) if square else None
    reach = float(profile[:, 1].max()) * (1.5 if square else 1) + 1
    passing = np.hypot(*np.moveaxis((start + ray * near[..., None])[..., :2], -1, 0)) < reach
    ray, flat, near = ray[passing], flat[passing], near[passing]
    steps = reach / flat / 40
    hit, at = np.zeros(near.shape, dtype=bool), near + 40 * steps
    for k in range(-40, 41):
        far = near + k * steps
        new = ~hit & _inside(start + ray * far[..., None], profile, corners)
        hit |= new
        at = np.where(new, far, at)
    low, high = at - steps, at
    for _ in range(16):
        middle = (low + high) / 2
        within = _inside(start + ray * middle[..., None], profile, corners)
        low, high = np.where(within, low, middle), np.where(within, middle, high)
    place = start + ray * high[..., None]
    around = np.degrees(np.arctan2(place[..., 0], -place[..., 1]))
    colours = paint(around + turn_deg, place[..., 2]) * (1 + shade * np.sin(np.radians(around)))[..., None]
    picture = np.broadcast_to(np.array(GROUND), (height, width, 3)).copy()
    picture[passing] = np.where(hit[..., None], colours, GROUND)
    return np.asarray(np.clip(np.rint(picture * 255), 0, 255), dtype=np.uint8)


def _inside(points: FloatArray, profile: FloatArray, corners: float | None) -> NDArray[np.bool_]:
    z = points[..., 2]
    radius = np.interp(z, profile[:, 0], profile[:, 1], left=-1.0, right=-1.0)
    if corners is None:
        return np.hypot(points[..., 0], points[..., 1]) < radius
    across = points[..., 0] * np.cos(corners) - points[..., 1] * np.sin(corners)
    back = points[..., 0] * np.sin(corners) + points[..., 1] * np.cos(corners)
    return np.maximum(np.abs(across), np.abs(back)) < radius
