"""Smaller copies of a photograph: to trace on, to show on the shelf, to hand out without what the camera wrote."""

from __future__ import annotations

import io

import cv2
import numpy as np
from PIL import Image

from weftglass.photos.decode import Photograph, Pixels

TRACING_SIDE_PX = 1600


def working_copy(pixels: Pixels, long_side_px: int = TRACING_SIDE_PX) -> tuple[Pixels, float]:
    """
    Reduce a picture by averaging; never enlarge it.

    Parameters
    ----------
    pixels : array, shape (height, width, 3), uint8
    long_side_px : int
        Longest side wanted, in pixels.

    Returns
    -------
    copy : array, shape (h, w, 3), uint8
    factor : float
        Pixels of the copy for one of the original, at most 1. With pixel centres at whole numbers,
        ``x_copy = (x + 0.5) * factor - 0.5``.

    Examples
    --------
    >>> small, factor = working_copy(np.zeros((300, 200, 3), np.uint8), 150)
    >>> small.shape, factor
    ((150, 100, 3), 0.5)
    """
    height, width = pixels.shape[:2]
    factor = min(1.0, long_side_px / max(height, width))
    if factor == 1.0:
        return pixels, 1.0
    size = (max(1, round(width * factor)), max(1, round(height * factor)))
    return np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), dtype=np.uint8), factor


def thumbnail_jpeg(photo: Photograph, long_side_px: int = 480, quality: int = 82) -> bytes:
    """A small JPEG (bytes) of the photograph, longest side at most `long_side_px` pixels, without camera notes."""
    return _jpeg(working_copy(photo.pixels, long_side_px)[0], quality)


def without_camera_notes(photo: Photograph, quality: int = 92) -> bytes:
    """
    The photograph as a fresh JPEG (bytes) at full size, upright.

    Nothing the camera or another program wrote beside the pixels comes along: no place, no date, no serial number,
    no preview.
    """
    return _jpeg(photo.pixels, quality)


def _jpeg(pixels: Pixels, quality: int) -> bytes:
    target = io.BytesIO()
    Image.fromarray(pixels).save(target, "JPEG", quality=quality, optimize=True)
    return target.getvalue()
