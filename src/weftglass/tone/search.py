"""Where in a recording something rings: narrow peaks over the noise beside them, in windows of several lengths."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import median_filter

FloatArray = NDArray[np.float64]

LOWEST_HZ, HIGHEST_HZ = 20.0, 2500.0
WINDOWS_S = (0.125, 0.25, 0.5, 1.0, 2.0)
CYCLES = 20.0  # a window must hold so many cycles of a tone, else the noise beside it cannot be told
BANDS = 24  # an octave, in which the noise is told
BESIDE = 19  # bands, the peak's own in the middle: its median is the noise
PEAK_OVER_NOISE = 30.0  # power over the noise beside it before a peak counts
MOST_PEAKS = 4  # a window


@dataclass(frozen=True)
class Peak:
    """
    Something that rings for a while.

    Parameters
    ----------
    hz : float
        Where the window's power stands highest over the noise.
    start_s, length_s : float
        The window.
    over_noise : float
        Power over the noise beside it.
    weight : float
        Log-likelihood ratio, ringing against noise alone, nats.
    """

    hz: float
    start_s: float
    length_s: float
    over_noise: float
    weight: float

    @property
    def end_s(self) -> float:
        """End of the window, s."""
        return self.start_s + self.length_s


def peaks(samples: FloatArray, rate_hz: int) -> list[Peak]:
    """
    Everything narrow that stands out, the most telling first.

    Parameters
    ----------
    samples : array, shape (n,)
        A recording, hum taken out.
    rate_hz : int
        Samples a second.
    """
    found: list[Peak] = []
    for length_s in WINDOWS_S:
        length = int(length_s * rate_hz)
        if length > len(samples):
            if found or (length_s > WINDOWS_S[0] and length > 2 * len(samples)):
                break
            length = len(samples)
        found += _in_windows(samples, rate_hz, length)
        if length == len(samples):
            break
    return sorted(found, key=lambda peak: -peak.weight)


def noise_floor(power: FloatArray, step_hz: float) -> FloatArray:
    """
    Power of the noise at each frequency: the median of what stands beside it, on a scale of octaves.

    Parameters
    ----------
    power : array, shape (windows, m)
        Periodograms from 0 Hz on.
    step_hz : float
        Distance of their frequencies.
    """
    top = (power.shape[1] - 1) * step_hz
    octaves = np.log2(top / LOWEST_HZ)
    centres = LOWEST_HZ * 2.0 ** np.linspace(0, octaves, max(2, int(octaves * BANDS)))
    at = centres / step_hz
    low = np.minimum(at.astype(int), power.shape[1] - 2)
    banded = power[:, low] + (power[:, low + 1] - power[:, low]) * (at - low)
    middle = median_filter(banded, size=(1, BESIDE), mode="nearest") / np.log(2)
    place = np.interp(np.log(np.maximum(np.arange(power.shape[1]) * step_hz, LOWEST_HZ)), np.log(centres),
                      np.arange(len(centres)))  # fmt: skip
    left = np.minimum(place.astype(int), len(centres) - 2)
    share = place - left
    return np.asarray(middle[:, left] * (1 - share) + middle[:, left + 1] * share)


def _in_windows(samples: FloatArray, rate_hz: int, length: int) -> list[Peak]:
    hop = max(1, length // 4)
    starts = np.arange(0, len(samples) - length + 1, hop)
    window = np.hanning(length)
    blocks = samples[starts[:, None] + np.arange(length)] * window
    power = np.abs(np.fft.rfft(blocks, axis=1)) ** 2
    step = rate_hz / length
    power = power[:, : min(power.shape[1], int(1.5 * HIGHEST_HZ / step) + 2)]
    floor = noise_floor(power, step)
    smallest = 1e-12 * power.max(axis=1, keepdims=True) + 1e-300
    ratio = power / np.maximum(floor, smallest)
    hz = np.arange(power.shape[1]) * step
    telling = (hz >= max(LOWEST_HZ, CYCLES * step)) & (hz <= min(HIGHEST_HZ, 0.45 * rate_hz))
    found = []
    gain = np.cumsum(np.where(ratio > 1, ratio - 1 - np.log(np.maximum(ratio, 1.0)), 0.0), axis=1)
    for i, start in enumerate(starts):
        row = np.where(telling, ratio[i], 0.0)
        for _ in range(MOST_PEAKS):
            top = int(row.argmax())
            if row[top] < PEAK_OVER_NOISE:
                break
            reach = max(2, int(0.04 * top))
            low, high = max(0, top - reach), min(len(row) - 1, top + reach)
            weight = float(gain[i, high] - gain[i, low]) / 1.5
            found.append(Peak(float(hz[top]), float(start) / rate_hz, length / rate_hz, float(row[top]), weight))
            row[max(0, top - 2 * reach) : top + 2 * reach + 1] = 0.0
    return found
