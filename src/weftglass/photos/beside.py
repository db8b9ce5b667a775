"""What piece and ground look like at each height: colours learnt row by row, left and right and in shadow."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.photos.appearance import BINS, Features, Map, bin_of

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

SHADES = 40
"""How many colours a picture is reduced to, each with its roughness."""

INNER, OUTER = 0.85, 1.12
"""Learnt is what lies within this share of the half-width, and beyond that one."""

OUTSIDE_WIDE, LEAST_WIDE = 0.5, 0.05
"""How wide the strip beside the piece is, in greatest half-widths, and at least, in widths of the picture."""

FEWEST = 3.0
"""A side with fewer pixels a row beside the piece tells nothing."""

ALL_ROWS = 0.12
"""What the piece's colours at other heights count beside those of the same height."""

STRANGE_IN, STRANGE_OUT = 0.004, 0.012
"""Share given to a colour that was not seen: things behind are stranger than what a piece shows."""

DIMMED = (0.85, 0.7, 0.55, 0.42, 0.32, 0.24, 0.2)
"""Shares of L* + 16 (and of a*, b*) that shadows of growing depth leave."""

IN_SHADOW = 0.35
"""How much of the ground beside the foot of a piece may be its shadow."""

TOLD_FROM, TOLD_WHOLLY = 0.7, 0.95
"""Shares of a row of the piece that look like the piece, from which the row is trusted, and wholly: through clear glass
the ground is seen."""


@dataclass(frozen=True, eq=False)
class Beside:
    """
    What piece and ground looking different at each height tells.

    Parameters
    ----------
    odds : array, shape (h, w)
        Log odds (-3 to 3) of each pixel.
    told : array, shape (h,)
        How far piece and ground are told apart at each height, 0 (clear glass) to 1 (a weave before a wall).
    """

    odds: Map
    told: FloatArray


def unlike_beside(
    features: Features,
    left: FloatArray,
    right: FloatArray,
    *,
    rows: tuple[int, int],
    spread_px: float,
    known: Map,
    by_roughness: bool = True,
) -> Beside:
    """
    Log odds of each pixel by what the piece looks like at its height, and what stands beside it there.

    A book behind may have the colour of a band of the piece, but not at the height of the band. In the lowest third
    the ground counts in shadow too.

    Parameters
    ----------
    features : Features
        Of a picture (h, w).
    left, right : array, shape (h,)
        Column of the piece's borders, for every row; outside the piece's own rows, where they would be.
    rows : tuple (first, last)
        The piece's own rows.
    spread_px : float
        Over how many rows up and down a height's colours are gathered (standard deviation).
    known : array, shape (h, w)
        Log odds by what is known already: what looks like the piece is hardly learnt from as ground.
    by_roughness : bool
        Whether roughness tells colours apart; it reaches a few pixels beyond an edge.

    Returns
    -------
    Beside
    """
    height, width = features.shape
    first, last = rows
    shade, centres = _shades(features, by_roughness)
    half, middle = (right - left) / 2, (right + left) / 2
    column = np.arange(width)[None, :]
    away = np.abs(column - middle[:, None])
    own = (np.arange(height) >= first) & (np.arange(height) <= last)
    piece = (away < INNER * half[:, None]) & own[:, None]
    beyond = OUTER * half + 2.0
    wide = max(OUTSIDE_WIDE * float(half.max()), LEAST_WIDE * width)
    strip = (away > beyond[:, None]) & (away < (beyond + wide)[:, None])
    inside = _by_row(shade, piece, np.ones_like(known), spread_px)
    trust = np.asarray(1.0 / (1.0 + np.exp(known)), dtype=np.float32)
    total = inside.sum(axis=0)
    inside = _shares(inside + ALL_ROWS * _weight(inside) * total / max(float(total.sum()), 1.0), STRANGE_IN)
    low = np.clip((np.arange(height) - first - 0.67 * (last - first)) / max(1.0, 0.1 * (last - first)), 0.0, 1.0)
    shadow = _dimming(centres)
    odds = np.zeros((height, width), dtype=np.float32)
    for side in (column <= middle[:, None], column > middle[:, None]):
        outside = _by_row(shade, strip & side, trust, spread_px)
        dim = IN_SHADOW * low[:, None]
        ground = _shares((1 - dim) * outside + dim * (outside @ shadow), STRANGE_OUT)
        told = np.where(_weight(outside) > FEWEST, np.log(inside / ground), 0.0)
        odds = np.where(side, np.take_along_axis(told.astype(np.float32), shade, axis=1), odds)
    odds = np.asarray(cv2.GaussianBlur(odds, (0, 0), 1.0 if by_roughness else 0.7), dtype=np.float32)
    looks = np.sum((odds > 0.0) & piece, axis=1) / np.maximum(np.sum(piece, axis=1), 1)
    looks = cv2.GaussianBlur(looks[:, None], (1, 0), sigmaX=0.01, sigmaY=spread_px)[:, 0]
    told = np.clip((looks - TOLD_FROM) / (TOLD_WHOLLY - TOLD_FROM), 0.0, 1.0)
    return Beside(np.asarray(np.clip(odds, -3.0, 3.0), dtype=np.float32), np.asarray(told, dtype=np.float64))


def unlike_shaded(features: Features, piece: NDArray[np.bool_], ground: NDArray[np.bool_]) -> Map:
    """
    Log odds (-3 to 3) of each pixel by the colours of two sets of pixels, the second also as they are in shadow.

    Parameters
    ----------
    features : Features
        Of a picture (h, w).
    piece, ground : array, shape (h, w)
    """
    shade, centres = _shades(features, by_roughness=False)
    counts = (np.bincount(shade[members], minlength=SHADES)[None].astype(np.float64) for members in (piece, ground))
    inside, outside = counts
    inside = _shares(inside, STRANGE_IN)
    outside = _shares(0.5 * outside + 0.5 * outside @ _dimming(centres), STRANGE_OUT)
    told = np.clip(np.log(inside / outside)[0], -3.0, 3.0).astype(np.float32)
    return np.asarray(cv2.GaussianBlur(told[shade], (0, 0), 0.7), dtype=np.float32)


def _shades(features: Features, by_roughness: bool) -> tuple[IntArray, FloatArray]:
    """Number of the nearest of `SHADES` colours at each pixel, and the colours: rows of L*, a*, b*, roughness."""
    index = bin_of(features, by_roughness)
    counts = np.bincount(index.ravel(), minlength=int(np.prod(BINS)))
    used = np.flatnonzero(counts)
    place = np.column_stack(np.unravel_index(used, BINS)).astype(np.float64)
    colour = np.column_stack(
        [
            (place[:, 0] + 0.5) / BINS[0] * 100.0,
            (place[:, 1] + 0.5) / BINS[1] * 128.0 - 64.0,
            (place[:, 2] + 0.5) / BINS[2] * 128.0 - 64.0,
            2.0 ** ((place[:, 3] + 0.5) / BINS[3] * 4.0) - 1.0,
        ]
    )
    if not by_roughness:
        colour[:, 3] = 0.0
    weight = np.sqrt(counts[used])
    centres = colour[_spread_out(_metric(colour), weight)]
    nearest = np.zeros(len(used), dtype=np.intp)
    for _ in range(6):
        nearest = _nearest(colour, centres)
        share = np.bincount(nearest, weight, minlength=len(centres))
        sums = np.column_stack([np.bincount(nearest, weight * colour[:, k], minlength=len(centres)) for k in range(4)])
        centres = np.where(share[:, None] > 0, sums / np.maximum(share, 1e-9)[:, None], centres)
    table = np.zeros(len(counts), dtype=np.intp)
    table[used] = nearest
    return table[index], centres


def _metric(colour: FloatArray) -> FloatArray:
    """Colours laid out so that distances are differences as they are seen; roughness by its logarithm."""
    return np.column_stack([colour[:, 0], 1.4 * colour[:, 1], 1.4 * colour[:, 2], 10.0 * np.log2(1.0 + colour[:, 3])])


def _spread_out(at: FloatArray, weight: FloatArray) -> IntArray:
    """Farthest points first, the commonest colour to begin with."""
    chosen = [int(np.argmax(weight))]
    far = np.sum((at - at[chosen[0]]) ** 2, axis=1)
    for _ in range(SHADES - 1):
        chosen.append(int(np.argmax(far * weight)))
        far = np.minimum(far, np.sum((at - at[chosen[-1]]) ** 2, axis=1))
    return np.array(chosen)


def _nearest(colour: FloatArray, centres: FloatArray) -> IntArray:
    one, other = _metric(colour), _metric(centres)
    return np.asarray(np.argmin(np.sum(other**2, axis=1) - 2.0 * one @ other.T, axis=1))


def _dimming(centres: FloatArray) -> FloatArray:
    """Shares (n, n) in which each colour, dimmed by shadows, turns into the others."""
    share = np.zeros((SHADES, SHADES))
    for f in DIMMED:
        dim = np.column_stack([f * (centres[:, 0] + 16.0) - 16.0, f * centres[:, 1:]])
        dim[:, 0] = np.maximum(dim[:, 0], 0.0)  # no darker than black
        share[np.arange(len(centres)), _nearest(dim, centres)] += 1.0 / len(DIMMED)
    return share


def _by_row(shade: IntArray, members: NDArray[np.bool_], trust: Map, spread_px: float) -> FloatArray:
    """How many pixels of each shade (h, n) the rows near each height hold, each counted as far as it is trusted."""
    height = shade.shape[0]
    y, x = np.nonzero(members)
    count = np.bincount(y * SHADES + shade[y, x], trust[y, x], minlength=height * SHADES).reshape(height, SHADES)
    gathered = cv2.GaussianBlur(count.astype(np.float32), (1, 0), sigmaX=0.01, sigmaY=spread_px)
    return np.asarray(gathered, dtype=np.float64)


def _weight(count: FloatArray) -> FloatArray:
    return np.asarray(count.sum(axis=1, keepdims=True))


def _shares(count: FloatArray, strange: float) -> FloatArray:
    """Counts as shares of their row, a little given to every shade."""
    return np.asarray(count / np.maximum(_weight(count), 1e-9) + strange)
