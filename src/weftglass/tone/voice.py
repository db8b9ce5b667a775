"""Is it a vessel at all? Voices have partials and glide; the air in a vessel has one tone and keeps it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from weftglass.tone.ringing import Ringing
from weftglass.tone.search import HIGHEST_HZ, Peak, noise_floor

FloatArray = NDArray[np.float64]

PARTIALS = 8
STRONG_PARTIALS = 0.12  # power of the partials together, over the tone's own, from which a voice is taken
GLIDE = 0.06  # relative; a semitone
STEPS_S = 0.06
BROAD = 5.0  # a quality below this is a thud or a rush of noise


def refusal(samples: FloatArray, rate_hz: int, ringing: Ringing) -> str | None:
    """
    Why a ringing is not a vessel's; None when it may be.

    Parameters
    ----------
    samples : array, shape (n,)
        The recording, hum taken out.
    rate_hz : int
        Samples a second.
    ringing : Ringing
        What was found.
    """
    if ringing.quality < BROAD:
        return "only broad noise or thuds"
    if partial_power(samples, rate_hz, ringing.peak, ringing.hz) > STRONG_PARTIALS:
        return "what sounds has strong partials, like a voice or an instrument"
    if glide(samples, rate_hz, ringing) > GLIDE:
        return "what sounds glides in pitch, like a voice or a siren"
    return None


def partial_power(samples: FloatArray, rate_hz: int, peak: Peak, hz: float) -> float:
    """
    Power at whole multiples of a pitch, or of its half or third, over the power at the pitch itself.

    Only what stands clear of the noise counts, and at least two partials of one series must.
    """
    first = round(peak.start_s * rate_hz)
    part = samples[first : first + round(peak.length_s * rate_hz)]
    step = rate_hz / len(part)
    power = np.abs(np.fft.rfft(part * np.hanning(len(part)))) ** 2
    power = power[: int(min(PARTIALS * HIGHEST_HZ, 0.48 * rate_hz) / step)]
    floor = noise_floor(power[None, :], step)[0]
    own = _line(power, floor, hz, step)
    most = 0.0
    for divisor in (1, 2, 3):
        base = hz / divisor
        partials = [_line(power, floor, base * k, step) for k in range(1, PARTIALS * divisor + 1) if k != divisor]
        heard = [value for value in partials if value > 0.003 * own]
        if len(heard) >= 2 and (divisor == 1 or len(heard) >= 3):
            most = max(most, sum(heard) / max(own, 1e-300))
    return most


def _line(power: FloatArray, floor: FloatArray, hz: float, step: float) -> float:
    """Power of a narrow peak near a frequency, less the noise; 0 where none stands out."""
    reach = max(2, round(0.015 * hz / step))
    middle = round(hz / step)
    low, high = max(1, middle - reach), middle + reach + 1
    if high >= len(power):
        return 0.0
    top = low + int(power[low:high].argmax())
    if power[top] < 12.0 * floor[top]:
        return 0.0
    return float(np.sum(np.maximum(power[low:high] - floor[low:high], 0.0)))


def glide(samples: FloatArray, rate_hz: int, ringing: Ringing) -> float:
    """How far the pitch wanders while it is loud, relative: the spread of short readings, 5 to 95 %."""
    peak, hz = ringing.peak, ringing.hz
    first = max(0, round(peak.start_s * rate_hz))
    part = samples[first : round(peak.end_s * rate_hz)]
    length = round(max(STEPS_S, 8.0 / hz) * rate_hz)
    if len(part) < 2 * length:
        return 0.0
    starts = np.arange(0, len(part) - length + 1, length // 2)
    blocks = part[starts[:, None] + np.arange(length)] * np.hanning(length)
    size = 8 * length
    power = np.abs(np.fft.rfft(blocks, size, axis=1)) ** 2
    f = np.arange(power.shape[1]) * rate_hz / size
    near = np.flatnonzero((f > 0.75 * hz) & (f < 1.33 * hz))
    loud = power[:, near].max(axis=1)
    held = loud > 0.1 * loud.max()
    if held.sum() < 3:
        return 0.0
    track = f[near][power[held][:, near].argmax(axis=1)]
    low, high = np.quantile(track, [0.05, 0.95])
    return float((high - low) / hz)
