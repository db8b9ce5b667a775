"""The part of a close-up that is looked at: cut out, reduced to a workable size, evened in light."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.errors import InputError, Unfit

FloatArray = NDArray[np.float64]
Pixels = NDArray[np.uint8]
Box = tuple[float, float, float, float]

LONGEST_PX = 900
LEAST_PX = 48
COARSE_REACH_PX = 6.0
CLIP_SD = 2.5  # lights and shadows beyond this many local standard deviations count no more
FLAT = 0.004  # local contrast (of 1) under which there is nothing but noise and compression


@dataclass(frozen=True, eq=False)
class Patch:
    """
    A part of a picture.

    Parameters
    ----------
    grey : array, shape (height, width), float64
        Lightness, 0 to 1.
    corner_px : tuple (x, y)
        Position of the patch's top left pixel centre in the photograph.
    factor : float
        Pixels of the patch for one of the photograph, at most 1.
    """

    grey: FloatArray
    corner_px: tuple[float, float]
    factor: float

    @property
    def height(self) -> int:
        """Rows of pixels."""
        return int(self.grey.shape[0])

    @property
    def width(self) -> int:
        """Columns of pixels."""
        return int(self.grey.shape[1])

    def in_photograph(self, points: FloatArray) -> FloatArray:
        """Positions (n, 2) of the patch as pixels of the photograph."""
        return np.asarray((np.asarray(points) + 0.5) / self.factor - 0.5 + np.array(self.corner_px))


def patch_of(pixels: Pixels, box: Box | None = None, *, where: str = "close-up") -> Patch:
    """
    Cut a box out of a picture and even its light.

    Parameters
    ----------
    pixels : array, shape (height, width, 3), uint8
    box : tuple (x0, y0, x1, y1), optional
        Two opposite corners in pixels, in any order. Default: the whole picture.
    where : str
        For messages.

    Returns
    -------
    Patch

    Raises
    ------
    InputError
        If the box holds less than 48 pixels each way, or lies outside the picture.
    """
    height, width = pixels.shape[:2]
    x0, y0, x1, y1 = (0.0, 0.0, float(width), float(height)) if box is None else box
    left, right = (round(v) for v in (max(0.0, min(x0, x1)), min(float(width), max(x0, x1))))
    top, bottom = (round(v) for v in (max(0.0, min(y0, y1)), min(float(height), max(y0, y1))))
    if right - left < LEAST_PX or bottom - top < LEAST_PX:
        expected = f"at least {LEAST_PX} pixels wide and high"
        if box is None:
            raise Unfit(where, "photograph", f"the picture has {width} × {height} pixels", f"one that is {expected}")
        within = f"{expected}, within the picture of {width} × {height} pixels"
        raise InputError(where, "box", f"{x0:g},{y0:g},{x1:g},{y1:g}", within)
    cut = pixels[top:bottom, left:right]
    factor = min(1.0, LONGEST_PX / max(cut.shape[:2]))
    if factor < 1:
        size = (max(1, round(cut.shape[1] * factor)), max(1, round(cut.shape[0] * factor)))
        cut = np.asarray(cv2.resize(cut, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)
    grey = np.asarray(cv2.cvtColor(np.ascontiguousarray(cut), cv2.COLOR_RGB2LAB)[..., 0], dtype=np.float64) / 255
    grey.setflags(write=False)
    return Patch(grey, (float(left), float(top)), factor)


def evened(grey: FloatArray, reach_px: float) -> FloatArray:
    """Lightness against its surroundings within about `reach_px` pixels, in their standard deviations, cut at 2.5."""
    mean = _smooth(grey, reach_px)
    off = grey - mean
    spread = np.sqrt(np.maximum(_smooth(off * off, 1.5 * reach_px), 0.0))
    return np.clip(off / np.maximum(spread, FLAT), -CLIP_SD, CLIP_SD)


def _smooth(field: FloatArray, reach_px: float) -> FloatArray:
    """Blurred; on a reduced copy where the reach is long, since nothing fine is left of it then."""
    height, width = field.shape
    shrink = max(1, min(int(reach_px / COARSE_REACH_PX), min(height, width) // 16))
    small = (max(2, width // shrink), max(2, height // shrink))
    coarse = field if shrink == 1 else cv2.resize(field, small, interpolation=cv2.INTER_AREA)
    blurred = cv2.GaussianBlur(coarse, (0, 0), max(1.0, reach_px / shrink), borderType=cv2.BORDER_REFLECT_101)
    return np.asarray(blurred if shrink == 1 else cv2.resize(blurred, (width, height), interpolation=cv2.INTER_LINEAR))
