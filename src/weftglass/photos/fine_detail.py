"""A picture of nothing but its fine detail, held against the light at each place: no hue, no shade is left in it."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.photos.appearance import Map, lab_of
from weftglass.photos.decode import Pixels
from weftglass.photos.patches import resized
from weftglass.photos.reduce import working_copy

BoolArray = NDArray[np.bool_]

FINE_SIDE_PX, SIDE_PX = 1600, 560
"""Longest side of the picture that edges are looked for in, and of the one they are gathered in."""

BLUR_PX = 1.2
AROUND_PX, DARKEST = 9, 8.0
"""The steepness of an edge is held against the mean lightness so far about it and this, so that a neck in the shade
has the edges that it has in the light, and the grain of a dark corner has none."""

HALF = 0.08
"""A steepness of so much of the light a pixel is half an edge."""

WIDTHS = ((1.5, 5), (2.5, 9), (5.0, 13))
"""Over how far edges are gathered, and how thick what they leave must be (see `gathered`)."""

LEAST, USUAL = 0.02, 0.15
"""Less detail than the first counts as so much; a body of less than the second as one of that."""

BODYS, FALL = 160.0, 33.0
"""Grey value of what has as much detail as the body, and how far it falls where there is e times less."""

CHROMA = 3.0
"""Grey value for each unit of chroma: 85 and more are white."""


def edges_against_light(pixels: Pixels) -> Map:
    """How much edge is at each place of a picture reduced to 560 pixels, 0 to 1, in the shade as in the light."""
    copy, _ = working_copy(pixels, FINE_SIDE_PX)
    lab = lab_of(np.asarray(cv2.GaussianBlur(copy, (0, 0), BLUR_PX), dtype=np.uint8))
    square: Map = np.zeros(lab.shape[:2], dtype=np.float32)
    for layer in cv2.split(lab):
        for order in ((1, 0), (0, 1)):
            square += (cv2.Scharr(layer, cv2.CV_32F, *order) / np.float32(32.0)) ** 2
    steep = np.sqrt(square) / (cv2.blur(lab[:, :, 0], (AROUND_PX, AROUND_PX)) + np.float32(DARKEST))
    steep = cv2.dilate(steep, np.ones((3, 3), np.uint8))
    small = working_copy(pixels, SIDE_PX)[0].shape[1::-1]
    steep = cv2.resize(steep, small, interpolation=cv2.INTER_AREA)
    return np.asarray(np.minimum(1.2 * steep**2 / (steep**2 + HALF**2), 1.0), dtype=np.float32)


def gathered(edges: Map, over: float, thick: int) -> Map:
    """
    Edges (h, w) gathered over so many pixels (standard deviation), and what is less thick taken off again.

    A lone edge makes a thin ridge; a weave, or a neck full of streaks, is thick with edges.
    """
    blurred = cv2.GaussianBlur(edges, (0, 0), over)
    return np.asarray(cv2.morphologyEx(blurred, cv2.MORPH_OPEN, np.ones((thick, thick), np.uint8)), dtype=np.float32)


def in_three_widths(edges: Map, core: BoolArray) -> Pixels:
    """
    A picture whose three colours are its detail gathered over three widths, longest side 560 pixels.

    Parameters
    ----------
    edges : array, shape (h, w)
        From `edges_against_light`.
    core : array, shape (k, l), bool
        What is surely within the woven body, at any size: 160 stands for its detail.
    """
    return np.ascontiguousarray(np.dstack([_grey(edges, core, *width) for width in WIDTHS]))


def with_chroma(edges: Map, core: BoolArray, pixels: Pixels) -> Pixels:
    """The same of one width twice, and for the third how strongly places are coloured, as smooth glass is too."""
    lab = lab_of(working_copy(pixels, SIDE_PX)[0])
    chroma = np.clip(CHROMA * np.hypot(lab[:, :, 1], lab[:, :, 2]), 0.0, 255.0).astype(np.uint8)
    grey = _grey(edges, core, *WIDTHS[1])
    return np.ascontiguousarray(np.dstack([grey, grey, chroma]))


def _grey(edges: Map, core: BoolArray, over: float, thick: int) -> NDArray[np.uint8]:
    """Detail on a scale of ratios, 0 to 255."""
    detail = gathered(edges, over, thick)
    body = detail[resized(core, detail.shape)]
    usual = max(float(np.median(body)), USUAL) if len(body) else USUAL
    ratio = np.log(np.maximum(detail, LEAST) / usual)
    return np.clip(BODYS + FALL * ratio, 0.0, 255.0).astype(np.uint8)
