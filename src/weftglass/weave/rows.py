"""The rows of the work as a field: how many rows down any pixel lies, followed from the middle outwards."""

from __future__ import annotations

import heapq
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.weave.lattice import Guess

FloatArray = NDArray[np.float64]

ROUNDS = (2, 3, 3)
"""Degree of the surface laid through the rows in each round of following."""

WIDEST_MISS = 0.35  # of a row; what misses the surface by more is another row or none
START_SHARE = 0.5  # of the patch: where following may start


@dataclass(frozen=True, eq=False)
class Rows:
    """
    Row number over the patch, a polynomial of the pixel's place, with what was seen at sample points.

    Parameters
    ----------
    size : tuple (height, width)
    coefficients : dict of (power of x, power of y) to rows
        In places counted from the middle in units of half the longer side.
    x, y : array, shape (n,)
        Sample points, pixels.
    seen : array, shape (n,)
        Row number read there; whole numbers are the same place of every row.
    weight : array, shape (n,)
        How plainly rows are seen there: amplitude of the row pattern in local standard deviations.
    """

    size: tuple[int, int]
    coefficients: dict[tuple[int, int], float]
    x: FloatArray
    y: FloatArray
    seen: FloatArray
    weight: FloatArray

    def number(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """Row number (not whole) at pixels."""
        return _surface(self.size, self.coefficients, x, y)

    def miss(self) -> FloatArray:
        """How far what was seen is from the surface, in rows."""
        return np.asarray(self.seen - self.number(self.x, self.y))


def followed(values: FloatArray, guess: Guess) -> Rows:
    """
    Follow the rows outwards from the middle of the patch.

    The picture is multiplied by the guessed wave; what remains after smoothing is how far the rows are from the guess,
    which corrects the surface of row numbers over a larger part of the patch each time.

    Parameters
    ----------
    values : array, shape (height, width)
        Evened lightness.
    guess : Guess
        Row distance and direction about the middle.

    References
    ----------
    .. [1] Johnson, Johnson, Erdmann (2013), Signal Processing 93, 527-540, for reading density and angle of threads
       from the spectrum piece by piece; following the phase instead of the peak is our own.
    """
    height, width = values.shape
    half = max(height, width) / 2
    known = {(0, 0): 0.0, (1, 0): -np.sin(guess.turn) / guess.row_px * half,
             (0, 1): np.cos(guess.turn) / guess.row_px * half}  # fmt: skip
    step = max(2, int(guess.row_px / 5))
    rows, columns = height // step, width // step
    cut = values[: rows * step, : columns * step]
    reach = (0.9 * max(guess.row_px, 0.6 * guess.stitch_px) / step, 0.65 * guess.row_px / step)
    held, x, y = _held((rows, columns), reach, step)
    off: FloatArray = np.zeros(len(x))
    weight: FloatArray = np.ones(len(x))
    for round_, degree in enumerate(ROUNDS):
        wave = cut * np.exp(-2j * np.pi * _grid((height, width), known, (rows * step, columns * step)))
        coarse = wave.reshape(rows, step, columns, step).mean((1, 3))
        here = (_blurred(coarse.real, reach) + 1j * _blurred(coarse.imag, reach)) / held
        weight = 2 * np.abs(here).ravel()
        off = _unwrapped(np.angle(here) / (2 * np.pi), np.abs(here)).ravel()
        powers = [(i, j) for i in range(degree + 1) for j in range(degree + 1 - i)]
        terms = np.stack([_term((height, width), x, y, power) for power in powers], 1)
        change: FloatArray = np.zeros(len(powers))
        for _ in range(4 if round_ == 0 else 2):
            w = weight * (1.0 if not change.any() else np.abs(off - terms @ change) < WIDEST_MISS)
            change = np.asarray(np.linalg.lstsq(terms * w[:, None], off * w, rcond=None)[0], dtype=np.float64)
        for power, value in zip(powers, change, strict=True):
            known[power] = known.get(power, 0.0) + float(value)
        off = off - terms @ change
    return Rows((height, width), known, x, y, _surface((height, width), known, x, y) + off, weight)


def _blurred(field: FloatArray, reach: tuple[float, float]) -> FloatArray:
    """Smoothed, with nothing beyond the edge."""
    return np.asarray(
        cv2.GaussianBlur(
            np.ascontiguousarray(field), (0, 0), sigmaX=reach[0], sigmaY=reach[1], borderType=cv2.BORDER_CONSTANT
        )
    )


def _held(shape: tuple[int, int], reach: tuple[float, float], step: int) -> tuple[FloatArray, FloatArray, FloatArray]:
    """How much of each smoothing window lies within the patch, and where its middle is, in pixels."""
    held = _blurred(np.ones(shape), reach)
    at = [(np.arange(n) + 0.5) * step - 0.5 for n in shape]
    y, x = np.meshgrid(*at, indexing="ij")
    return held, (_blurred(x, reach) / held).ravel(), (_blurred(y, reach) / held).ravel()


def _unwrapped(phase: FloatArray, quality: FloatArray) -> FloatArray:
    """Phases (in turns) made continuous from a good place near the middle outwards, plain places first."""
    rows, columns = phase.shape
    near = np.zeros_like(quality)
    edge = (1 - START_SHARE) / 2
    inner = (
        slice(int(edge * rows), int((1 - edge) * rows) + 1),
        slice(int(edge * columns), int((1 - edge) * columns) + 1),
    )
    near[inner] = quality[inner]
    start = divmod(int(near.argmax()), columns)
    done = np.full(phase.shape, np.nan)
    done[start] = phase[start]
    waiting = [(-quality[start], *start)]
    while waiting:
        _, i, j = heapq.heappop(waiting)
        for k, m in ((i - 1, j), (i + 1, j), (i, j - 1), (i, j + 1)):
            if 0 <= k < rows and 0 <= m < columns and np.isnan(done[k, m]):
                done[k, m] = done[i, j] + (phase[k, m] - done[i, j] + 0.5) % 1.0 - 0.5
                heapq.heappush(waiting, (-quality[k, m], k, m))
    return done


def _term(size: tuple[int, int], x: FloatArray, y: FloatArray, power: tuple[int, int]) -> FloatArray:
    half = max(size) / 2
    return np.asarray(((x - (size[1] - 1) / 2) / half) ** power[0] * ((y - (size[0] - 1) / 2) / half) ** power[1])


def _grid(size: tuple[int, int], coefficients: dict[tuple[int, int], float], shape: tuple[int, int]) -> FloatArray:
    """The surface at every pixel of the upper left part of a shape."""
    half, most = max(size) / 2, 1 + max(max(power) for power in coefficients)
    table = np.zeros((most, most))
    for power, value in coefficients.items():
        table[power] = value
    across, down = (
        np.vander((np.arange(n) - (full - 1) / 2) / half, most, increasing=True)
        for n, full in zip(shape[::-1], size[::-1], strict=True)
    )
    return np.asarray(down @ table.T @ across.T)


def _surface(
    size: tuple[int, int], coefficients: dict[tuple[int, int], float], x: FloatArray, y: FloatArray
) -> FloatArray:
    total = np.zeros(np.broadcast_shapes(np.shape(x), np.shape(y)))
    for power, value in coefficients.items():
        total = total + value * _term(size, x, y, power)
    return np.asarray(total)
