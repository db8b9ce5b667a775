"""A picture turned by a few degrees, so that a piece that leans in it stands upright, and what is found turned back."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.photos.appearance import Map
from weftglass.photos.decode import Pixels

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class SetUpright:
    """
    A picture turned clockwise, nothing of it cut off; beyond its frame its outermost pixels are repeated.

    Parameters
    ----------
    pixels : array, shape (h, w, 3), uint8
        The turned picture, larger than the one it was made from.
    inside : array, shape (h, w), bool
        Where in it the piece may be.
    matrix : array, shape (2, 3)
        From (x, y, 1) in the picture to (x, y) in the turned one.
    size : tuple (width, height)
        Of the picture.
    """

    pixels: Pixels
    inside: BoolArray
    matrix: FloatArray
    size: tuple[int, int]

    @classmethod
    def by(cls, pixels: Pixels, inside: BoolArray, clockwise_deg: float) -> SetUpright:
        """
        Turn a picture and the mask (height, width) of where the piece may be about the picture's middle.

        Examples
        --------
        >>> dot = np.zeros((101, 101, 3), np.uint8)
        >>> dot[10, 50] = 255
        >>> turned = SetUpright.by(dot, np.ones((101, 101), bool), 5.0)
        >>> y, x = np.unravel_index(np.argmax(turned.pixels[:, :, 0]), turned.pixels.shape[:2])
        >>> bool(np.abs(turned.back(np.array([[x, y]])) - [[50, 10]]).max() < 1)
        True
        """
        height, width = pixels.shape[:2]
        turn = np.radians(clockwise_deg)
        cos, sin = float(np.cos(turn)), float(np.sin(turn))
        size = (int(np.ceil(width * cos + height * abs(sin))), int(np.ceil(height * cos + width * abs(sin))))
        linear = np.array([[cos, -sin], [sin, cos]])
        shift = (np.array(size) - 1) / 2 - linear @ ((np.array([width, height]) - 1) / 2)
        matrix = np.column_stack([linear, shift])
        turned = cv2.warpAffine(pixels, matrix, size, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        mask = cv2.warpAffine(
            inside.astype(np.uint8), matrix, size, flags=cv2.INTER_NEAREST, borderMode=cv2.BORDER_REPLICATE
        )
        return cls(np.asarray(turned, dtype=np.uint8), mask.astype(bool), matrix, (width, height))

    def back(self, points: FloatArray) -> FloatArray:
        """Points (n, 2) of the turned picture in pixels of the picture."""
        linear, shift = self.matrix[:, :2], self.matrix[:, 2]
        return np.asarray((points - shift) @ linear, dtype=np.float64)

    def layer_back(self, layer: Map, factor: float) -> Map:
        """A map of the turned picture reduced by `factor` as one of the picture, equally reduced."""
        linear, shift = self.matrix[:, :2], self.matrix[:, 2]
        half = np.full(2, 0.5 * (1.0 - factor))
        matrix = np.column_stack([linear, linear @ half - half + factor * shift])
        size = (max(1, round(self.size[0] * factor)), max(1, round(self.size[1] * factor)))
        flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
        moved = cv2.warpAffine(layer, matrix, size, flags=flags, borderMode=cv2.BORDER_REPLICATE)
        return np.asarray(moved, dtype=np.float32)
