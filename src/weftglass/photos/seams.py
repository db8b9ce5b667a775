"""Joining strips into one round: cut where neighbours differ least, blended coarse over far and fine over near."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import minimum_filter1d

from weftglass.photos.unroll import Colours, Strip
from weftglass.photos.wall import Wall

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

SEAM_SWAY_DEG = 6.0
LEVELS = 4
PAD = 1 << (LEVELS + 3)
TRIALS = 400


@dataclass(frozen=True, eq=False)
class Joined:
    """
    One picture of the round.

    Parameters
    ----------
    colours : array, shape (rows, columns, 3), float32
        0 to 1, row 0 lowest; 0 where nothing was seen.
    source : array, shape (rows, columns), int
        Number of the strip that each place mostly comes from; -1 where nothing was seen.
    seams : array, shape (strips, rows), int
        Column at which each strip gives way to the next.
    """

    colours: Colours
    source: IntArray
    seams: IntArray


def joined(strips: Sequence[Strip], colours: Sequence[Colours], wall: Wall) -> Joined:
    """
    Join strips, in the order of their turns, into one picture.

    Parameters
    ----------
    strips : sequence of Strip
    colours : sequence of array
        Their colours, evened.
    wall : Wall
    """
    if len(strips) == 1:
        source = np.where(strips[0].seen, 0, -1)
        return Joined(colours[0], source, np.zeros((0, wall.shape[0]), dtype=np.int64))
    seams = np.stack([_seam(strips, colours, wall, k) for k in range(len(strips))])
    source = _sources(strips, seams, wall)
    hard = np.zeros((*wall.shape, 3), dtype=np.float32)
    for k, colour in enumerate(colours):
        hard[source == k] = colour[source == k]
    return Joined(_blended(strips, colours, source, hard), source, seams)


def seam_visibility(colours: Colours, seams: IntArray, seed: int = 0) -> tuple[float, float]:
    """
    Whether the eye could find the seams.

    Parameters
    ----------
    colours : array, shape (rows, columns, 3)
        0 to 1, all round.
    seams : array, shape (n, rows)
        Columns of the seams.
    seed : int
        Of the random paths they are compared with.

    Returns
    -------
    ratio : float
        CIELAB difference across the seams over that across the same lines laid elsewhere: 1 or less if no seam shows.
    rank : float
        Share of the lines laid elsewhere that show more than the seams do.
    """
    lab = cv2.cvtColor(np.clip(colours, 0, 1).astype(np.float32), cv2.COLOR_RGB2LAB)
    step = np.linalg.norm(np.roll(lab, -1, axis=1) - np.roll(lab, 1, axis=1), axis=2)
    rows, columns = np.arange(step.shape[0]), step.shape[1]
    rng = np.random.default_rng(seed)
    own = float(np.mean([step[rows, np.mod(seam, columns)].mean() for seam in seams]))
    elsewhere = np.array(
        [
            np.mean([step[rows, np.mod(seam + shift, columns)].mean() for seam in seams])
            for shift in rng.integers(3, columns - 3, TRIALS)
        ]
    )
    return own / float(elsewhere.mean()), float(np.mean(elsewhere >= own))


def _seam(strips: Sequence[Strip], colours: Sequence[Colours], wall: Wall, k: int) -> IntArray:
    """Column, row by row, where strip k gives way to the next: the way up of least difference near the middle."""
    one, other = k, (k + 1) % len(strips)
    columns = wall.shape[1]
    apart = float(np.mod(strips[other].turn_deg - strips[one].turn_deg, 360))
    middle = round(((strips[one].turn_deg + apart / 2) / 360 + 0.5) * columns)
    sway = max(2, int(min(SEAM_SWAY_DEG, 0.3 * apart) / 360 * columns))
    window = middle + np.arange(-sway, sway + 1)
    at = np.mod(window, columns)
    difference = np.abs(colours[one][:, at] - colours[other][:, at]).sum(axis=2)
    both = strips[one].seen[:, at] & strips[other].seen[:, at]
    cost = np.where(both, cv2.GaussianBlur(difference, (0, 0), 1.0), 3.0).astype(np.float64)
    cost += 0.02 * (np.arange(-sway, sway + 1) / sway) ** 2
    return np.asarray(window[_least_way(cost)], dtype=np.int64)


def _least_way(cost: FloatArray) -> IntArray:
    """Column in each row of the way of least cost from the first row to the last, one column a row at most."""
    total = cost.copy()
    for row in range(1, len(cost)):
        total[row] += minimum_filter1d(total[row - 1], 3, mode="nearest")
    way = np.zeros(len(cost), dtype=np.int64)
    way[-1] = int(np.argmin(total[-1]))
    for row in range(len(cost) - 2, -1, -1):
        low = max(way[row + 1] - 1, 0)
        way[row] = low + int(np.argmin(total[row, low : way[row + 1] + 2]))
    return way


def _sources(strips: Sequence[Strip], seams: IntArray, wall: Wall) -> IntArray:
    rows, columns = wall.shape
    source = np.full((rows, columns), -1, dtype=np.int64)
    column = np.arange(columns)[None, :]
    for k, strip in enumerate(strips):
        start, end = seams[k - 1][:, None], seams[k][:, None]
        width = np.mod(end - start, columns)
        source[(np.mod(column - start, columns) < width) & strip.seen] = k
    facing = np.stack([strip.facing for strip in strips])
    best = np.argmax(facing, axis=0)
    empty = (source < 0) & (facing.max(axis=0) > 0)
    source[empty] = best[empty]
    return source


def _blended(strips: Sequence[Strip], colours: Sequence[Colours], source: IntArray, hard: Colours) -> Colours:
    """Burt and Adelson's blending: each octave of detail over a width of its own size, wrapped round the piece."""
    total: list[Colours] = []
    weights: list[Colours] = []
    for k, strip in enumerate(strips):
        whole = _padded(np.where(strip.seen[..., None], colours[k], hard))
        bands, shares = _bands(whole, _padded((source == k).astype(np.float32)))
        weighted = [_f32(band * share[..., None]) for band, share in zip(bands, shares, strict=True)]
        total = weighted if k == 0 else [_f32(a + b) for a, b in zip(total, weighted, strict=True)]
        weights = shares if k == 0 else [_f32(a + b) for a, b in zip(weights, shares, strict=True)]
    bands = [_f32(band / np.maximum(weight, 1e-4)[..., None]) for band, weight in zip(total, weights, strict=True)]
    result = bands[-1]
    for band in reversed(bands[:-1]):
        result = _f32(cv2.pyrUp(result, dstsize=(band.shape[1], band.shape[0]))) + band
    inner = np.asarray(result)[PAD:-PAD, PAD:-PAD]
    return np.asarray(np.where((source >= 0)[..., None], np.clip(inner, 0, 1), 0), dtype=np.float32)


def _padded(picture: Colours) -> Colours:
    """With more of the round at both sides and its edge repeated above and below."""
    more = ((0, 0),) * (picture.ndim - 2)
    wide = np.pad(picture, ((0, 0), (PAD, PAD), *more), mode="wrap")
    return np.asarray(np.pad(wide, ((PAD, PAD), (0, 0), *more), mode="edge"))


def _bands(picture: Colours, share: Colours) -> tuple[list[Colours], list[Colours]]:
    bands, weights = [], []
    for _ in range(LEVELS):
        smaller = cv2.pyrDown(picture)
        size = (picture.shape[1], picture.shape[0])
        bands.append(_f32(picture - cv2.pyrUp(smaller, dstsize=size)))
        weights.append(share)
        picture, share = _f32(smaller), _f32(cv2.pyrDown(share))
    return [*bands, picture], [*weights, share]


def _f32(values: NDArray[Any]) -> Colours:
    return np.asarray(values, dtype=np.float32)
