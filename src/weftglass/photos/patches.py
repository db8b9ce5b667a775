"""Regions of a picture as masks: within a polygon, grown by a disc, the patch that matters of several."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


def filled(polygon: FloatArray, shape: tuple[int, int]) -> BoolArray:
    """Pixels (h, w) within a polygon (n, 2) of x and y."""
    mask = np.zeros(shape, dtype=np.uint8)
    cv2.fillPoly(mask, [np.round(polygon * 16).astype(np.int32)], 1, shift=4)
    return mask.astype(bool)


def resized(mask: BoolArray, shape: tuple[int, int]) -> BoolArray:
    """A mask (height, width) for the same picture at another size (h, w)."""
    return cv2.resize(mask.astype(np.uint8), shape[::-1], interpolation=cv2.INTER_NEAREST).astype(bool)


def overlap(one: BoolArray, other: BoolArray) -> float:
    """Share of what either of two masks (h, w) covers that both cover; 0 where both are empty."""
    return float((one & other).sum() / max(1, (one | other).sum()))


def disc(radius_px: int) -> NDArray[np.uint8]:
    """What a region is grown or shrunk by."""
    size = 2 * radius_px + 1
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size)), dtype=np.uint8)


def joined_to(where: BoolArray, region: BoolArray) -> BoolArray:
    """
    The patch of a mask (h, w) that holds most of a region (h, w); empty where none touches it.

    Examples
    --------
    >>> where = np.array([[True, True, False, True]])
    >>> joined_to(where, np.array([[False, True, True, False]])).tolist()
    [[True, True, False, False]]
    """
    count, labels = cv2.connectedComponents(where.astype(np.uint8))
    sizes = np.bincount(labels[region], minlength=count)
    sizes[0] = 0
    return np.asarray((labels == int(np.argmax(sizes))) & (sizes.max() > 0))


def largest(where: BoolArray, thread_px: int) -> BoolArray:
    """The largest patch of a mask (h, w), threads up to twice as thick cut; empty where nothing is left."""
    opened = cv2.morphologyEx(where.astype(np.uint8), cv2.MORPH_OPEN, disc(thread_px))
    _, labels, known, _ = cv2.connectedComponentsWithStats(opened)
    if len(known) < 2:
        return np.zeros(where.shape, dtype=bool)
    return np.asarray(labels == 1 + int(np.argmax(known[1:, cv2.CC_STAT_AREA])))
