"""Turning the camera in thought until a vessel's axis stands upright before it: roll, offset and tilt undone."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Frame:
    """
    A camera turned so that the axis of the vessel is upright and straight ahead.

    Parameters
    ----------
    focal_px : float
        Focal length in pixels.
    centre_px : tuple (x, y)
        Where the optical axis meets the picture; taken to be its middle.
    turn : array, shape (3, 3)
        Rows: the right, down and forward directions of the turned camera, in the real camera's frame.
    """

    focal_px: float
    centre_px: tuple[float, float]
    turn: FloatArray

    @classmethod
    def facing(
        cls,
        axis_px: tuple[tuple[float, float], tuple[float, float]],
        tilt_deg: float,
        focal_px: float,
        centre_px: tuple[float, float],
    ) -> Frame:
        """
        Frame for an axis seen through two points (upper, lower), by a camera that looks down by `tilt_deg`.

        The tilt is measured in the plane of eye and axis, between the axis's level and the direction in that plane
        nearest to the optical axis.
        """
        upper, lower = (
            np.array([(x - centre_px[0]) / focal_px, (y - centre_px[1]) / focal_px, 1.0]) for x, y in axis_px
        )
        right = np.cross(lower, upper)
        right /= np.linalg.norm(right)
        ahead = np.array([0.0, 0.0, 1.0]) - right[2] * right
        ahead /= np.linalg.norm(ahead)
        down = np.cross(ahead, right)
        tilt = math.radians(tilt_deg)
        level = math.cos(tilt) * ahead - math.sin(tilt) * down
        plumb = math.cos(tilt) * down + math.sin(tilt) * ahead
        return cls(focal_px, centre_px, np.array([right, plumb, level]))

    def seen(self, points_px: ArrayLike) -> FloatArray:
        """Picture points (n, 2) in the turned camera, in units of its focal length: x from the axis, y down."""
        points = np.asarray(points_px, dtype=np.float64).reshape(-1, 2)
        offset = (points - np.array(self.centre_px)) / self.focal_px
        rays = offset @ self.turn[:, :2].T + self.turn[:, 2]
        return np.asarray(rays[:, :2] / rays[:, 2:])

    def back(self, seen: ArrayLike) -> FloatArray:
        """Pixels (n, 2) of points given in the turned camera; undoes `seen`."""
        points = np.asarray(seen, dtype=np.float64).reshape(-1, 2)
        rays = np.column_stack([points, np.ones(len(points))]) @ self.turn
        return np.asarray(rays[:, :2] / rays[:, 2:] * self.focal_px + np.array(self.centre_px))
