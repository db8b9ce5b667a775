"""The even backdrop behind a piece's upper half, and what stands out from it: necks and shoulders of bare glass."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.photos.appearance import Features, Map
from weftglass.photos.ground import HIGH, LEAST, LOW, NOTHING, SOMETHING

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

BEYOND, STRIP = 1.12, 0.5
"""From how many greatest half-widths the backdrop is looked for, and over how many more."""

ABOVE, HEADROOM = 0.3, 0.1
"""How far above the piece it is looked for, and how much of that may still be the piece, in heights of the piece."""

UPPER = 0.5
"""Share of the height, from the top, that is compared: further down stands what the piece stands on."""

OUTLYING, ROUNDS = 2.5, 4
"""What lies so many spreads off is no backdrop and is left out; how often that is done."""

EVERY = 3
"""One pixel of so many, each way, is enough to learn a backdrop from."""

RESTLESS = 3.0
"""A backdrop that spreads by so many times the least tells nothing."""

BLURRED_PX, HALFWAY = 2, 4.0
"""An edge is blurred so far: it lies where colours are half-way from the backdrop to what stands before it."""

MOST = 0.65
"""A backdrop is seen in a row where so much of what is beside the piece is like it, on either side."""

FEWEST = 200
"""Pixels."""


@dataclass(frozen=True, eq=False)
class Backdrop:
    """
    What an even backdrop tells.

    Parameters
    ----------
    odds : array, shape (h, w)
        Log odds (-0.6 to 1.5) of each pixel by how unlike the backdrop it is; beside the piece -0.6.
    seen : array, shape (h, w), bool
        Where that tells something: rows of the upper half in which a backdrop is seen on both sides.
    """

    odds: Map
    seen: BoolArray

    def told_by(self, odds: Map) -> Map:
        """Other log odds, replaced where the backdrop is seen."""
        return np.asarray(np.where(self.seen, self.odds, odds), dtype=np.float32)

    def kept(self, odds: Map) -> Map:
        """Other log odds, none of them against what stands out from the backdrop."""
        return np.asarray(np.where(self.odds > 0, np.maximum(odds, 0.0), odds), dtype=np.float32)


def backdrop_of(features: Features, axis: FloatArray, half: FloatArray, rows: tuple[int, int]) -> Backdrop:
    """
    What stands out from an even backdrop, if there is one.

    Parameters
    ----------
    features : Features
        Of a picture (h, w).
    axis, half : array, shape (h,)
        Column of the axis and the piece's half-width, in every row.
    rows : tuple (first, last)
        The piece's own rows.

    Returns
    -------
    Backdrop

    Notes
    -----
    Colours of a wall or a cloth change slowly: a surface of the second degree is laid through what is seen of it beside
    the piece and above it, without what lies far off.
    """
    first, last = rows
    height, width = features.shape
    tall, wide = last - first, float(half.max())
    top, bottom = max(0, round(first - ABOVE * tall)), round(first + UPPER * tall)
    away_px = np.abs(np.arange(width)[None, :] - axis[top:bottom, None])
    nothing = Backdrop(np.full((height, width), LOW, dtype=np.float32), np.zeros((height, width), dtype=bool))
    beside = (away_px > BEYOND * wide) & (away_px < (BEYOND + STRIP) * wide)
    above = (np.arange(top, bottom) < first - HEADROOM * tall)[:, None] & (away_px < (BEYOND + STRIP) * wide)
    lab = np.asarray(cv2.GaussianBlur(features.lab[top:bottom], (0, 0), 0.9), dtype=np.float32)
    found = _surface(lab, beside | above)
    if found is None:
        return nothing
    surface, spread = found
    away = np.sqrt((((lab - surface) / np.hypot(spread, LEAST[:3])) ** 2).sum(axis=2))
    odds, seen = nothing.odds, nothing.seen
    seen[top:bottom] = _seen(away, beside, axis[top:bottom])[:, None]
    odds[top:bottom] = np.where(seen[top:bottom] & (away_px < BEYOND * wide), _told(away), LOW)
    return Backdrop(odds, seen)


def _surface(lab: Map, where: BoolArray) -> tuple[FloatArray, FloatArray] | None:
    """A surface of the second degree through colours (h, w, 3), and its spread (3,); nothing where there is none."""
    height, width = where.shape
    y, x = np.nonzero(where[::EVERY, ::EVERY])
    if len(y) < FEWEST:
        return None
    colours = lab[::EVERY, ::EVERY][y, x].astype(np.float64)
    terms = _terms(EVERY * y / height, EVERY * x / width)
    kept = np.ones(len(y), dtype=bool)
    for _ in range(ROUNDS):
        solved = np.linalg.lstsq(terms[kept], colours[kept], rcond=None)[0]
        miss = colours - terms @ solved
        spread = 1.48 * np.median(np.abs(miss[kept]), axis=0)
        kept = np.sqrt(((miss / np.hypot(spread, LEAST[:3])) ** 2).mean(axis=1)) < OUTLYING
        if kept.sum() < FEWEST:
            return None
    if np.sqrt(np.mean((spread / LEAST[:3]) ** 2)) > RESTLESS:
        return None
    rows, columns = np.arange(height)[:, None] / height, np.arange(width)[None, :] / width
    return _terms(rows, columns) @ solved, spread


def _terms(y: FloatArray, x: FloatArray) -> FloatArray:
    return np.stack(np.broadcast_arrays(np.ones(1), y, x, y * y, y * x, x * x), axis=-1)


def _told(away: FloatArray) -> FloatArray:
    """Log odds by how far off colours are, and by whether they are nearer to the backdrop than to what stands there."""
    around = cv2.dilate(away, np.ones((2 * BLURRED_PX + 1,) * 2, np.uint8))
    most = (away - NOTHING) / (SOMETHING - NOTHING)
    return np.clip(np.minimum(most, HALFWAY * (away / np.maximum(around, 1e-9) - 0.5)), LOW, HIGH)


def _seen(away: FloatArray, beside: BoolArray, axis: FloatArray) -> BoolArray:
    """Rows in which most of what is beside the piece is backdrop, left as well as right, (h,)."""
    left = np.arange(away.shape[1])[None, :] < axis[:, None]
    near = away < NOTHING
    sides = []
    for side in (beside & left, beside & ~left):
        share = (near & side).sum(axis=1) / np.maximum(side.sum(axis=1), 1)
        sides.append(cv2.blur(share[:, None].astype(np.float32), (1, 5))[:, 0] > MOST)
    return np.asarray(sides[0] & sides[1])
