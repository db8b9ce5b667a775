"""Mains hum: steady lines at multiples of 50 or 60 Hz, found and taken out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

MAINS_HZ = (50.0, 60.0)
MAINS_DRIFT = 0.003  # the grid stays within this share of its nominal frequency; usual limits are 0.2 to 0.5 %
HIGHEST_HZ = 2500.0
LINE_OVER_FLOOR = 20.0  # power of a line over the noise beside it before it counts
STEADY_SHARE = 0.5  # the weakest block of a steady line has at least this share of its mean amplitude
BLOCK_S = 0.25
TELLING = 2  # one line is called hum only among the first two of its series, several only with one of the first three


@dataclass(frozen=True, eq=False)
class Hum:
    """Hum found in a recording: its lines in Hz, and the samples without them."""

    lines_hz: tuple[float, ...]
    rest: FloatArray


def without_hum(samples: FloatArray, rate_hz: int) -> Hum:
    """
    Take out mains hum.

    Parameters
    ----------
    samples : array, shape (n,)
        A recording, mean taken off.
    rate_hz : int
        Samples a second.

    Returns
    -------
    Hum
        Lines taken out, Hz, rising; empty where there is no hum. A line counts when it is narrow, as strong at all
        times, and stands at a multiple of one grid frequency within 0.3 % of 50 or 60 Hz.

    Notes
    -----
    A tone that begins or dies away is no hum even at 150 Hz. A single steady line is called hum only at the grid
    frequency or twice it. Once hum is found, every line of its series is taken out up to the highest
    steady one, so that those beating with something else go too.
    Several steady lines count as hum only with one of the first three of their series.
    """
    found: list[float] = []
    for mains in MAINS_HZ:
        lines = _series(samples, rate_hz, mains)
        if lines:
            found += [line for line in lines if all(abs(line - other) > 0.5 for other in found)]
    if not found:
        return Hum((), samples)
    t = np.arange(len(samples)) / rate_hz
    waves = np.column_stack([part(2 * np.pi * line * t) for line in found for part in (np.cos, np.sin)])
    share, *_ = np.linalg.lstsq(waves, samples, rcond=None)
    return Hum(tuple(sorted(found)), samples - waves @ share)


def _series(samples: FloatArray, rate_hz: int, mains: float) -> list[float]:
    """Narrow lines at multiples of one grid frequency, if enough of them are steady."""
    n = len(samples)
    window = np.hanning(n)
    size = 4 * (1 << (n - 1).bit_length())
    power = np.abs(np.fft.rfft(samples * window, size)) ** 2
    step = rate_hz / size
    width = 2.0 * rate_hz / n  # of a line, half of its main lobe
    lines: list[tuple[int, float]] = []
    steady: list[tuple[int, float]] = []
    for multiple in range(1, int(min(HIGHEST_HZ, 0.45 * rate_hz) / mains) + 1):
        wanted = multiple * mains
        reach = MAINS_DRIFT * wanted + 0.1 * width
        near = slice(int((wanted - reach - width) / step), int((wanted + reach + width) / step) + 2)
        peak = near.start + int(power[near].argmax())
        line = _between(power, peak) * step
        if abs(line - wanted) > reach:
            continue
        beside = np.r_[power[max(0, peak - int(12 * width / step)) : max(0, peak - int(2 * width / step))],
                       power[peak + int(2 * width / step) : peak + int(12 * width / step)]]  # fmt: skip
        if power[peak] > LINE_OVER_FLOOR * np.median(beside) / np.log(2):
            lines.append((multiple, line))
            if _steady(samples, rate_hz, line):
                steady.append((multiple, line))
    if not steady:
        return []
    strongest = max(steady, key=lambda item: power[round(item[1] / step)])
    grid = strongest[1] / strongest[0]
    series = {multiple: line for multiple, line in steady if abs(line - multiple * grid) < 0.3 * width + 5e-4 * line}
    if min(series) > (TELLING if len(series) == 1 else TELLING + 1):
        return []
    grid = sum(series.values()) / sum(series)
    apart = {multiple for multiple, line in lines if abs(line - multiple * grid) > 0.3 * width}
    drowned = {multiple: multiple * grid for multiple in range(1, max(series) + 1) if multiple not in apart}
    return sorted((drowned | series).values())


def _between(power: FloatArray, peak: int) -> float:
    """Place of a peak between bins, by the parabola through three logarithms."""
    if not 0 < peak < len(power) - 1:
        return float(peak)
    left, middle, right = np.log(power[peak - 1 : peak + 2] + 1e-300)
    bend = left - 2 * middle + right
    return peak + (0.5 * (left - right) / bend if bend < 0 else 0.0)


def _steady(samples: FloatArray, rate_hz: int, line: float) -> bool:
    """Whether a line is about as strong at all times."""
    blocks = max(4, int(len(samples) / (BLOCK_S * rate_hz)))
    length = len(samples) // blocks
    if length < 3 * rate_hz / line:
        return False
    turn = np.exp(-2j * np.pi * line * np.arange(blocks * length) / rate_hz)
    carried = (samples[: blocks * length] * turn).reshape(blocks, length)
    size = np.abs((carried * np.hanning(length)).sum(axis=1))
    return bool(np.quantile(size, 0.05) > STEADY_SHARE * size.mean())
