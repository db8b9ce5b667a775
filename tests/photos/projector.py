"""A pinhole camera looking at a vessel of revolution: the silhouette from circles, without the code under test."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
FINER = 4


@dataclass(frozen=True)
class Shot:
    """Camera at `distance_mm` from the axis, `height_mm` above the standing plane, looking down by `tilt_deg`."""

    distance_mm: float
    height_mm: float
    tilt_deg: float = 0.0
    roll_deg: float = 0.0
    aside_mm: float = 0.0
    focal_px: float = 2500.0
    size: tuple[int, int] = (1200, 1600)

    @property
    def focal_35mm(self) -> float:
        return self.focal_px * float(np.hypot(36, 24)) / float(np.hypot(*self.size))

    def pixel(self, across: FloatArray, up: FloatArray, back: FloatArray) -> FloatArray:
        """Pixels of points given from the vessel's foot: across to the right, up, back away from the camera (mm)."""
        tilt, roll = np.radians(self.tilt_deg), np.radians(self.roll_deg)
        x, down, ahead = across + self.aside_mm, self.height_mm - up, self.distance_mm + back
        y, depth = down * np.cos(tilt) - ahead * np.sin(tilt), ahead * np.cos(tilt) + down * np.sin(tilt)
        u, v = x / depth, y / depth
        u, v = u * np.cos(roll) - v * np.sin(roll), u * np.sin(roll) + v * np.cos(roll)
        middle = (np.array(self.size) - 1) / 2
        return np.stack([self.focal_px * u + middle[0], self.focal_px * v + middle[1]], axis=-1)

    def bar(self, mm: float = 100.0, across: float = 90.0) -> tuple[float, float, float, float]:
        """
        Ends of an upright bar beside the axis, its plane square to the level line from the camera to the axis: it faces
        whoever stands before the piece, wherever the camera is turned (the convention of `photos.solve.unit_from_bar`).
        """
        aside = np.arctan2(self.aside_mm, self.distance_mm)
        beside, back = np.array(across * np.cos(aside)), np.array(-across * np.sin(aside))
        low, high = (self.pixel(beside, np.array(z), back) for z in (0.0, mm))
        return float(low[0]), float(low[1]), float(high[0]), float(high[1])

    def mask(self, profile: FloatArray) -> NDArray[np.uint8]:
        """Silhouette, four times as fine as the picture: hulls of neighbouring circles."""
        z = np.union1d(np.linspace(profile[0, 0], profile[-1, 0], 300), profile[:, 0])
        radius = np.interp(z, profile[:, 0], profile[:, 1])
        turn = np.linspace(0, 2 * np.pi, 181)
        rings = self.pixel(
            radius[:, None] * np.sin(turn), np.repeat(z[:, None], 181, 1), -radius[:, None] * np.cos(turn)
        )
        mask = np.zeros((self.size[1] * FINER, self.size[0] * FINER), np.uint8)
        for lower, upper in pairwise(rings):
            hull = cv2.convexHull(np.vstack([lower, upper]).astype(np.float32))
            cv2.fillConvexPoly(mask, np.round(((hull + 0.5) * FINER - 0.5) * 16).astype(np.int32), 255, shift=4)
        return mask

    def silhouette(self, profile: FloatArray) -> FloatArray:
        """Outline of the vessel in pixels."""
        curves, _ = cv2.findContours(self.mask(profile), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
        return (max(curves, key=len)[:, 0].astype(np.float64) + 0.5) / FINER - 0.5


BOTTLE = np.array(
    [[0, 42], [2, 44], [150, 45], [190, 30], [205, 16], [268, 14], [272, 17], [285, 17]], dtype=np.float64
)
