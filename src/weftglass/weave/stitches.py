"""Along the rows: the distance of stitches, row by row, and which way they lean."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates

from weftglass.weave.rows import Rows

FloatArray = NDArray[np.float64]

HEIGHTS = np.arange(-0.45, 0.5, 0.1)
"""Heights within a row at which the picture is read, in rows down from its middle line."""

LEANS = np.arange(-1.5, 1.51, 0.1)
"""Sideways steps tried, in row distances for one row down."""

LEAST_SHARE = 0.55  # of the patch's width that a row must cross to be read


@dataclass(frozen=True, eq=False)
class Readings:
    """
    The picture read along its rows.

    Parameters
    ----------
    number : array, shape (rows,)
        Whole row numbers.
    y : array, shape (rows, heights, width)
        Where each line lies, pixels; nan outside.
    values : array, shape (rows, heights, width)
        Evened lightness there, mean of each line taken off, 0 outside.
    inside : array of bool, shape (rows, width)
    light : array, shape (heights,)
        Evened lightness at each height, mean of all rows: below 0 in the grooves between them.
    row_px : float
        Distance of rows in the picture about the middle.
    """

    number: FloatArray
    y: FloatArray
    values: FloatArray
    inside: NDArray[np.bool_]
    light: FloatArray
    row_px: float


def readings_of(values: FloatArray, rows: Rows) -> Readings:
    """Read the evened picture along every row at ten heights."""
    height, width = values.shape
    down = np.arange(height, dtype=np.float64)
    across = np.arange(width, dtype=np.float64)
    number = rows.number(across[None, :], down[:, None])
    first, last = int(np.ceil(number.min())), int(np.floor(number.max()))
    whole = np.arange(first, last + 1, dtype=np.float64)
    wanted = (whole[:, None] + HEIGHTS).ravel()
    lines = np.full((len(wanted), width), np.nan)
    for column in range(width):
        run = number[:, column]
        if np.all(np.diff(run) > 0):
            lines[:, column] = np.interp(wanted, run, down, left=np.nan, right=np.nan)
    y = lines.reshape(len(whole), len(HEIGHTS), width)
    inside = np.isfinite(y).all(1)
    x = np.broadcast_to(across, y.shape)
    read = map_coordinates(values, [np.nan_to_num(y), x], order=1, mode="nearest") * inside[:, None, :]
    count = np.maximum(inside.sum(1), 1)[:, None, None]
    light = read.sum((0, 2)) / max(float(inside.sum()), 1.0)
    read = (read - read.sum(2, keepdims=True) / count) * inside[:, None, :]
    keep = inside.sum(1) >= LEAST_SHARE * width
    middle = number[:, width // 2]
    row_px = (height - 1) / max(float(middle[-1] - middle[0]), 1e-9)
    return Readings(whole[keep], y[keep], read[keep], inside[keep], light, row_px)


def spectrum_along(readings: Readings, frequency: FloatArray) -> FloatArray:
    """
    Power along the rows for every frequency and lean, mean of all rows.

    Parameters
    ----------
    frequency : array, shape (n,)
        Cycles a pixel.

    Returns
    -------
    array, shape (n, len(LEANS))
    """
    _, _, width = readings.values.shape
    window = readings.inside * np.hanning(width + 2)[1:-1]
    wave = np.exp(-2j * np.pi * frequency[:, None] * np.arange(width))
    heights = np.einsum("rhx,fx->rhf", readings.values * window[:, None, :], wave)
    heights /= np.sqrt(np.maximum((window**2).sum(1), 1.0))[:, None, None]
    shift = np.exp(2j * np.pi * frequency[None, :, None] * HEIGHTS[:, None, None] * LEANS * readings.row_px)
    together = np.einsum("rhf,hfl->rfl", heights, shift) / len(HEIGHTS)
    return np.asarray((np.abs(together) ** 2).mean(0))


TWICE = (1.7, 2.35)
TWICE_SHARE = 0.35


def fundamental(power: FloatArray, frequency: FloatArray, *, finest_px: float = 0.0) -> int:
    """
    Which frequency is one stitch: the strongest, unless one about twice as high is nearly as strong.

    Where every second stitch has another colour the pair stands out more than the stitch. The overtone of plain
    stitches stays under a fifth of their own power (on the tuning close-ups), that of such pairs is above a third.

    Parameters
    ----------
    power, frequency : array, shape (n,)
        Power at rising frequencies.
    finest_px : float
        Stitches of this technique are not nearer to each other: the two legs of a loop are no two stitches.

    Examples
    --------
    >>> f = np.linspace(0.01, 0.1, 91)
    >>> lone = np.exp(-(((f - 0.03) / 0.002) ** 2)) + 0.15 * np.exp(-(((f - 0.06) / 0.002) ** 2))
    >>> pairs = np.exp(-(((f - 0.03) / 0.002) ** 2)) + 0.5 * np.exp(-(((f - 0.06) / 0.002) ** 2))
    >>> [round(float(f[fundamental(one, f)]), 3) for one in (lone, pairs)]
    [0.03, 0.06]
    """
    best = int(power.argmax())
    peak = np.zeros(len(power), dtype=bool)
    peak[1:-1] = (power[1:-1] > power[:-2]) & (power[1:-1] >= power[2:])
    twice = peak & (frequency > TWICE[0] * frequency[best]) & (frequency < TWICE[1] * frequency[best])
    twice &= frequency * finest_px <= 1.0
    if twice.any():
        second = int(np.flatnonzero(twice)[power[twice].argmax()])
        if power[second] >= TWICE_SHARE * power[best]:
            return second
    return best


@dataclass(frozen=True, eq=False)
class Stitches:
    """
    Stitches counted along the rows.

    Parameters
    ----------
    frequency : float
        Repeats a pixel about the middle.
    lean_rows, lean_sd : float
        Sideways step for one row down, in row distances, to the right above 0, and its standard deviation from the
        differences between the rows.
    row : array of int, shape (n,)
        To which row (place in `Readings.number`) a reading belongs.
    x, y : array, shape (n,)
        Where it was read, pixels.
    seen : array, shape (n,)
        Repeats along the row, each row from a start of its own.
    weight : array, shape (n,)
    """

    frequency: float
    lean_rows: float
    lean_sd: float
    row: NDArray[np.int64]
    x: FloatArray
    y: FloatArray
    seen: FloatArray
    weight: FloatArray


REACH = 0.9  # of a stitch: how far a reading of the wave along a row looks to either side
STEP = 0.5  # of a stitch between readings


def counted_along(readings: Readings, frequency: float, lean_rows: float) -> Stitches:
    """
    Count along every row.

    Parameters
    ----------
    readings : Readings
    frequency : float
        Repeats a pixel about the middle.
    lean_rows : float
        Sideways step for one row down, in row distances.
    """
    n, _, width = readings.values.shape
    x = np.arange(width, dtype=np.float64)
    turn = np.exp(2j * np.pi * frequency * HEIGHTS * lean_rows * readings.row_px)
    wave = np.einsum("rhx,h->rx", readings.values, turn) / len(HEIGHTS) * np.exp(-2j * np.pi * frequency * x)
    reach = REACH / frequency
    kernel = np.exp(-0.5 * (np.arange(-int(3 * reach), int(3 * reach) + 1) / reach) ** 2)
    inside = readings.inside.astype(np.float64)
    held = np.maximum(_smoothed(inside, kernel), 1e-6 * kernel.sum())
    smooth = _smoothed(wave, kernel) / held
    at = _smoothed(inside * x, kernel) / held
    phase = np.unwrap(np.angle(smooth), axis=1) / (2 * np.pi) + frequency * at
    columns = np.arange(0, width, max(1, round(STEP / frequency)))
    row, column = (part.ravel() for part in np.meshgrid(np.arange(n), columns, indexing="ij"))
    keep = readings.inside[row, column]
    row, column = row[keep], column[keep]
    middle = readings.y[:, len(HEIGHTS) // 2]
    lean, lean_sd = _lean(readings, frequency)
    return Stitches(
        frequency, lean, lean_sd,
        row, at[row, column], middle[row, column], phase[row, column], 2 * np.abs(smooth[row, column]),
    )  # fmt: skip


def _lean(readings: Readings, frequency: float) -> tuple[float, float]:
    """
    Sideways step for one row down, and its standard deviation.

    Read from one height to the next on the lit body of each row by itself: rows need not stand over each other, and
    the grooves, where ends of stitches hide each other, do not mislead.
    """
    x = np.arange(readings.values.shape[2], dtype=np.float64)
    reach = REACH / frequency
    kernel = np.exp(-0.5 * (np.arange(-int(3 * reach), int(3 * reach) + 1) / reach) ** 2)
    wave = readings.values * np.exp(-2j * np.pi * frequency * x)
    local = np.stack([_smoothed(row, kernel) for row in wave])
    lit = (readings.light[1:] > 0) & (readings.light[:-1] > 0)
    lit = lit if lit.any() else np.ones(len(lit), dtype=bool)
    step = (local[:, 1:][:, lit] * local[:, :-1][:, lit].conj()).sum(2)
    far = 2 * np.pi * frequency * readings.row_px * float(HEIGHTS[1] - HEIGHTS[0])
    shift = np.median(-np.angle(step) / far, axis=1)
    mean = float(np.median(-np.angle(step.sum(0)) / far))
    spread = 1.4826 * float(np.median(np.abs(shift - np.median(shift))))
    return mean, 1.25 * max(spread, 0.02) / max(len(shift) - 1, 1) ** 0.5


def _smoothed(lines: NDArray[Any], kernel: FloatArray) -> NDArray[Any]:
    start, width = len(kernel) // 2, lines.shape[1]
    return np.stack([np.convolve(line, kernel, mode="full")[start : start + width] for line in lines])
