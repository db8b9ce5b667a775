"""Is it a vessel at all? Voices have partials and glide; the air in a vessel has one tone and keeps it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from weftglass.tone.ringing import Ringing
from weftglass.tone.search import HIGHEST_HZ, Peak, noise_floor

FloatArray = NDArray[np.float64]

PARTIALS = 8
STRONG_PARTIALS = 0.12  # power of the partials above a tone, over its own, from which a voice is taken
HEARD = 0.0005  # power of a partial over the tone's own before it counts
NEIGHBOURS = 0.004  # the same where the tone has partials below it too, which the air in a vessel never has
DIVISORS = 6  # a pitch may be a partial itself, up to the sixth
GLIDE = 0.018  # relative standard deviation of the pitch; a puff's is about 1 % at most; working figure, no source
WIDE_GLIDE, MOST_GLIDE = 0.7, 0.028
MOMENT_S, MOMENT_CYCLES = 0.1, 24.0
STEPS_S, AROUND_S = 0.06, 0.3
FOLLOWED = 1.5
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
    for moment in (ringing.peak, loudest(samples, rate_hz, ringing)):
        above, as_partial = partial_power(samples, rate_hz, moment, ringing.hz)
        if above > STRONG_PARTIALS or as_partial > NEIGHBOURS:
            return "what sounds has strong partials, like a voice or an instrument"
    breathy = WIDE_GLIDE * ringing.width_hz / ringing.hz  # a wide resonance blown faintly wanders by itself
    if glide(samples, rate_hz, ringing) > min(max(GLIDE, breathy), MOST_GLIDE):
        return "what sounds glides in pitch, like a voice or a siren"
    return None


def loudest(samples: FloatArray, rate_hz: int, ringing: Ringing) -> Peak:
    """The loudest short while within a ringing's window, so short that a gliding voice stands still in it."""
    peak = ringing.peak
    length = max(MOMENT_S, MOMENT_CYCLES / ringing.hz)
    if length >= peak.length_s:
        return peak
    first, count = round(peak.start_s * rate_hz), round(length * rate_hz)
    part = samples[first : first + round(peak.length_s * rate_hz)]
    power = np.convolve(part * part, np.ones(count), "valid")
    return replace(peak, start_s=(first + int(power.argmax())) / rate_hz, length_s=count / rate_hz)


def partial_power(samples: FloatArray, rate_hz: int, peak: Peak, hz: float) -> tuple[float, float]:
    """
    Power at whole multiples of a pitch over the power at the pitch; the same for a series of which it is a member.

    Only what stands clear of the noise counts. A series must show at least two partials; where the pitch itself is
    taken for a higher partial, at least three, both its neighbours among them.
    """
    first = round(peak.start_s * rate_hz)
    part = samples[first : first + round(peak.length_s * rate_hz)]
    step = rate_hz / len(part)
    power = np.abs(np.fft.rfft(part * np.hanning(len(part)))) ** 2
    power = power[: int(min(PARTIALS * HIGHEST_HZ, 0.48 * rate_hz) / step)]
    floor = noise_floor(power[None, :], step)[0]
    own = _line(power, floor, hz, step)
    above, as_partial = 0.0, 0.0
    for divisor in range(1, DIVISORS + 1):
        base = hz / divisor
        if base < 4 * step:
            break
        partials = {k: _line(power, floor, base * k, step) for k in range(1, PARTIALS + divisor) if k != divisor}
        heard = {k: value for k, value in partials.items() if value > HEARD * own}
        beside = {divisor - 1, divisor + 1} <= set(heard)
        strength = sum(heard.values()) / max(own, 1e-300)
        if divisor == 1 and len(heard) >= 2:
            above = strength
        if divisor > 1 and len(heard) >= 3 and beside:
            as_partial = max(as_partial, strength)
    return above, as_partial


def _line(power: FloatArray, floor: FloatArray, hz: float, step: float) -> float:
    """Power of a narrow peak near a frequency, less the noise; 0 where none stands out."""
    reach = max(1, round(0.012 * hz / step))
    middle = round(hz / step)
    low, high = max(1, middle - reach), middle + reach + 1
    if high >= len(power):
        return 0.0
    top = low + int(power[low:high].argmax())
    if power[top] < 12.0 * floor[top]:
        return 0.0
    return float(np.sum(np.maximum(power[low:high] - floor[low:high], 0.0)))


def glide(samples: FloatArray, rate_hz: int, ringing: Ringing) -> float:
    """
    How far the pitch wanders, relative: the standard deviation of short readings, each weighed by its power.

    Readings reach a little beyond the window and far beyond the pitch, so that a siren is followed out of the window in
    which it happened to stand still.
    """
    peak, hz = ringing.peak, ringing.hz
    first = max(0, round((peak.start_s - AROUND_S) * rate_hz))
    part = samples[first : round((peak.end_s + AROUND_S) * rate_hz)]
    length = round(max(STEPS_S, 12.0 / hz) * rate_hz)
    if len(part) < 2 * length:
        return 0.0
    starts = np.arange(0, len(part) - length + 1, length // 2)
    blocks = part[starts[:, None] + np.arange(length)] * np.hanning(length)
    size = 8 * length
    power = np.abs(np.fft.rfft(blocks, size, axis=1)) ** 2
    f = np.arange(power.shape[1]) * rate_hz / size
    near = np.flatnonzero((f > hz / FOLLOWED) & (f < hz * FOLLOWED))
    loud = power[:, near].max(axis=1)
    held = loud > 0.1 * loud.max()
    if held.sum() < 3:
        return 0.0
    track = f[near][power[held][:, near].argmax(axis=1)]
    mean = np.average(track, weights=loud[held])
    return float(np.sqrt(np.average((track - mean) ** 2, weights=loud[held])) / hz)
