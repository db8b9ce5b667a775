"""The wall a close-up looks at: a round wall before a camera, and where on it each pixel lies."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

ROUNDS = 5  # of finding the height at which a ray meets a wall that tapers
LEAST_RADIUS_SHARE = 0.2  # of the middle's radius: a wall does not taper further within a close-up


@dataclass(frozen=True)
class Wall:
    """
    A round wall, perhaps tapering or bulging, and the camera before it.

    The camera looks at the middle of the patch. Its distance and angles are told from that point of the wall.

    Parameters
    ----------
    radius_mm : float
        Of the covering's outer face, square to the axis, at the middle of the patch.
    distance_mm : float
        From the camera to the middle of the patch.
    yaw : float
        Radians from the outward normal, positive when the camera stands to the right.
    lift : float
        Radians above the plane square to the axis, positive when the camera looks down.
    roll : float
        Radians by which the wall's axis is turned in the picture, positive anticlockwise.
    slope : float
        Change of the radius for one mm up the axis; 0 for a cylinder.
    bulge : float
        How much that change grows for one mm up, in 1/mm; below 0 for a barrel.
    mm_per_px : float
        At the middle of the patch, square to the view.
    centre_px : tuple (x, y)
        The middle of the patch in its own pixels.
    """

    radius_mm: float
    distance_mm: float
    yaw: float
    lift: float
    roll: float
    slope: float
    bulge: float
    mm_per_px: float
    centre_px: tuple[float, float]

    def place(self, x: ArrayLike, y: ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
        """
        Where on the wall pixels lie.

        Parameters
        ----------
        x, y : array
            Pixels of the patch, y down.

        Returns
        -------
        down : array
            Distance along the wall from the middle of the patch, mm, downwards.
        turn : array
            Angle round the axis, radians, to the right.
        radius : array
            Of the wall there, mm. All three are nan where the ray misses the wall.

        Examples
        --------
        >>> wall = Wall(40.0, 300.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.1, (0.0, 0.0))
        >>> down, turn, radius = wall.place([0.0, 100.0], [100.0, 0.0])
        >>> (turn * radius).round(2).tolist(), down.round(2).tolist()
        ([0.0, 10.15], [10.0, -0.0])
        """
        ray = self._rays(np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64))
        eye = self._eye()
        height = np.zeros(ray.shape[1:])
        a = ray[0] ** 2 + ray[1] ** 2
        b = eye[0] * ray[0] + eye[1] * ray[1]
        for _ in range(ROUNDS):
            radius = self._radius(height)
            inside = b * b - a * (eye[0] ** 2 + eye[1] ** 2 - radius**2)
            t = (-b - np.sqrt(np.where(inside >= 0, inside, np.nan))) / a
            height = eye[2] + t * ray[2]
        turn = np.arctan2(eye[0] + t * ray[0], -(eye[1] + t * ray[1]))
        return -self._along(height), turn, self._radius(height)

    def _radius(self, height: FloatArray) -> FloatArray:
        wide = self.radius_mm + self.slope * height + self.bulge * height**2 / 2
        return np.maximum(wide, LEAST_RADIUS_SHARE * self.radius_mm)

    def _along(self, height: FloatArray) -> FloatArray:
        """Length of the wall from the middle up to a height; the steepness read at five places (Gauss-Legendre)."""
        nodes, weights = np.polynomial.legendre.leggauss(5)
        steep = self.slope + self.bulge * height[..., None] * (nodes + 1) / 2
        return np.asarray(height / 2 * (np.hypot(1.0, steep) * weights).sum(-1))

    def _axes(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Right, down and forward of the camera; x right, y away, z up the axis."""
        away = self._away()
        right = np.array([math.cos(self.yaw), math.sin(self.yaw), 0.0])
        up = np.cross(right, -away)
        c, s = math.cos(self.roll), math.sin(self.roll)
        return right * c + up * s, -(up * c - right * s), -away

    def _away(self) -> FloatArray:
        c = math.cos(self.lift)
        return np.array([math.sin(self.yaw) * c, -math.cos(self.yaw) * c, math.sin(self.lift)])

    def _eye(self) -> FloatArray:
        return np.array([0.0, -self.radius_mm, 0.0]) + self.distance_mm * self._away()

    def _rays(self, x: FloatArray, y: FloatArray) -> FloatArray:
        right, down, forward = self._axes()
        unit = self.mm_per_px / self.distance_mm
        x, y = np.broadcast_arrays(x, y)
        across, below = (x - self.centre_px[0]) * unit, (y - self.centre_px[1]) * unit
        flat = right[:, None] * across.ravel() + down[:, None] * below.ravel() + forward[:, None]
        return np.asarray(flat.reshape(3, *x.shape))
