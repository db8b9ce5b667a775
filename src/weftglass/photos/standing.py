"""Where an upright vessel stands before the camera: from a place on its surface to a pixel of the photograph."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from weftglass.errors import Unfit
from weftglass.photos.frame import Frame

FloatArray = NDArray[np.float64]
Pair = tuple[float, float]


@dataclass(frozen=True, eq=False)
class Standing:
    """
    A vessel before a camera.

    Points of the piece are (x to the right, y away from the camera, z up) in mm, from where the axis meets the standing
    plane.

    Parameters
    ----------
    frame : Frame
        The camera turned until the axis is upright and straight ahead.
    distance_mm : float
        Eye to axis, level.
    drop_mm : float
        How far the standing plane lies below the eye.
    axis_px : (top, bottom)
        Where the axis meets the top and the standing plane, pixels.
    tilt_deg, height_mm : float
        How far the camera looked down; standing plane to top.
    """

    frame: Frame
    distance_mm: float
    drop_mm: float
    axis_px: tuple[Pair, Pair]
    tilt_deg: float
    height_mm: float

    @classmethod
    def of(
        cls,
        top_px: Pair,
        bottom_px: Pair,
        *,
        tilt_deg: float,
        distance_mm: float,
        height_mm: float,
        image_size: tuple[int, int],
        where: str = "outline",
    ) -> Standing:
        """
        From what was measured on an outline.

        Parameters
        ----------
        top_px, bottom_px : (x, y)
            Where the axis meets the top and the standing plane, pixels.
        tilt_deg : float
            How far the camera looked down.
        distance_mm, height_mm : float
            Camera to axis, and standing plane to top.
        image_size : (width, height)
            Of the uncropped upright photograph, whose middle the optical axis goes through.
        where : str
            For messages.

        Raises
        ------
        InputError
            If the four do not fit together: no focal length shows such a height at such a distance.

        Notes
        -----
        The focal length need not be known: it is the one at which the height appears as tall as it does.
        """
        centre = ((image_size[0] - 1) / 2, (image_size[1] - 1) / 2)
        return cls._solved((top_px, bottom_px), tilt_deg, distance_mm, height_mm, centre, where)

    @classmethod
    def _solved(
        cls, axis: tuple[Pair, Pair], tilt_deg: float, distance_mm: float, height_mm: float, centre: Pair, where: str
    ) -> Standing:
        top_px, bottom_px = axis
        focal = float(np.hypot(bottom_px[0] - top_px[0], bottom_px[1] - top_px[1])) * distance_mm / height_mm
        for _ in range(60):
            frame = Frame.facing(axis, tilt_deg, focal, centre)
            ends = frame.seen([top_px, bottom_px])[:, 1]
            tall = float(ends[1] - ends[0]) * distance_mm
            if not (np.isfinite(tall) and tall > 0):
                break
            focal *= tall / height_mm
            if abs(tall / height_mm - 1) < 1e-9:
                return cls(frame, distance_mm, float(ends[1]) * distance_mm, axis, tilt_deg, height_mm)
        wrong = f"no camera at {distance_mm:g} mm shows it {height_mm:g} mm tall"
        raise Unfit(where, "measured", wrong, "an outline measured anew")

    def at_distance(self, distance_mm: float) -> Standing:
        """The same photograph taken from another distance, with the lens that would show the piece as tall."""
        return self._solved(
            self.axis_px, self.tilt_deg, distance_mm, self.height_mm, self.frame.centre_px, "distance of the camera"
        )

    @property
    def px_per_mm(self) -> float:
        """Pixels per mm in the plane of the axis."""
        return self.frame.focal_px / self.distance_mm

    def pixels(self, points_mm: ArrayLike) -> FloatArray:
        """Pixels (..., 2) of points (..., 3) of the piece."""
        points = np.asarray(points_mm, dtype=np.float64)
        ahead = self.distance_mm + points[..., 1]
        seen = np.stack([points[..., 0] / ahead, (self.drop_mm - points[..., 2]) / ahead], axis=-1)
        return self.frame.back(seen).reshape(seen.shape)

    def towards_eye(self, points_mm: ArrayLike) -> FloatArray:
        """Unit vectors (..., 3) from points of the piece to the eye."""
        points = np.asarray(points_mm, dtype=np.float64)
        ray = np.array([0.0, -self.distance_mm, self.drop_mm]) - points
        return np.asarray(ray / np.linalg.norm(ray, axis=-1, keepdims=True))
