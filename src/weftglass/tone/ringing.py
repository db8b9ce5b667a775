"""The pitch of one ringing: where its power is centred, how wide it is, and how well that is known."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.signal import butter, hilbert, sosfiltfilt

from weftglass.tone.search import Peak

FloatArray = NDArray[np.float64]

BESIDE_OCTAVES = 0.45
HANN_HALF_WIDTH = 0.72  # half width at half power of a Hann window's line, in bins
HANN_TIES = 1.5  # neighbouring bins under a Hann window tell this much less than independent ones
LEAST_SD = 0.0005  # relative; sampling clocks and warm air in the neck leave no pitch better known
STRUCK_PLATEAU = 0.5  # a ringing that spends less of its time near its loudest dies away like a struck one


@dataclass(frozen=True)
class Ringing:
    """
    One ringing in one recording.

    Parameters
    ----------
    hz, sd_hz : float
        Pitch and its standard deviation.
    width_hz : float
        Full width at half power.
    struck : bool
        Whether it dies away from the start, as after a pat; a blown one is held.
    peak : Peak
        Where it was found.
    """

    hz: float
    sd_hz: float
    width_hz: float
    struck: bool
    peak: Peak

    @property
    def quality(self) -> float:
        """Pitch over width: 5 for a thud, 15 to 60 for the air in a bottle, more for a held note."""
        return self.hz / self.width_hz


def measured(samples: FloatArray, rate_hz: int, peak: Peak) -> Ringing:
    """
    Fit one ringing in its window.

    Parameters
    ----------
    samples : array, shape (n,)
        The recording, hum taken out.
    rate_hz : int
        Samples a second.
    peak : Peak
        Where to look.

    Notes
    -----
    Whittle's likelihood [1]_ of the periodogram for a resonance curve over a power law of noise; the standard deviation
    is from the expected information, which for a struck tone is on the safe side.

    References
    ----------
    .. [1] Whittle (1953), Estimation and information in stationary time series, Ark. Mat. 2, 423-434.
    """
    first = round(peak.start_s * rate_hz)
    part = samples[first : first + round(peak.length_s * rate_hz)]
    step = rate_hz / len(part)
    power = np.abs(np.fft.rfft(part * np.hanning(len(part)))) ** 2
    hz = np.arange(len(power)) * step
    near = (hz > peak.hz * 2.0**-BESIDE_OCTAVES) & (hz < peak.hz * 2.0**BESIDE_OCTAVES)
    centre, half, sd = _curve(hz[near], power[near], peak.hz, step)
    sd = float(np.hypot(sd, LEAST_SD * centre))
    own = max(half**2 - (HANN_HALF_WIDTH * step) ** 2, (0.1 * step) ** 2) ** 0.5
    return Ringing(centre, sd, 2 * own, _struck(samples, rate_hz, peak, centre, own), peak)


def _curve(hz: FloatArray, power: FloatArray, start: float, step: float) -> tuple[float, float, float]:
    """Centre, half width at half power and sd of the centre, Hz."""
    scale = float(np.median(power)) + 1e-300
    seen = power / scale
    least = np.log(0.6 * HANN_HALF_WIDTH * step)
    log_ratio = np.log(hz / start)

    def model(theta: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        noise = np.exp(theta[0] + theta[1] * log_ratio)
        away = (hz - start - theta[3] * step) / np.exp(theta[4])
        curve = np.exp(theta[2]) / (1.0 + away * away)
        return noise, away, curve

    def cost(theta: FloatArray) -> tuple[float, FloatArray]:
        noise, away, curve = model(theta)
        total = noise + curve
        pull = (1.0 - seen / total) / total
        narrow = 2.0 * away / (1.0 + away * away) * curve
        slope = np.array([
            np.sum(pull * noise), np.sum(pull * noise * log_ratio), np.sum(pull * curve),
            np.sum(pull * narrow) * step / np.exp(theta[4]), np.sum(pull * narrow * away),
        ])  # fmt: skip
        return float(np.sum(np.log(total) + seen / total)), slope

    begin = np.array([0.0, 0.0, np.log(seen.max()), 0.0, np.log(max(2.0 * step, start / 60.0))])
    reach = max(2.0, 0.06 * start / step)
    bounds = [(-12, 12), (-12, 12), (-12, 60), (-reach, reach), (least, np.log(0.3 * start))]
    best = minimize(cost, begin, jac=True, method="L-BFGS-B", bounds=bounds)
    noise, away, curve = model(best.x)
    total, half = noise + curve, float(np.exp(best.x[4]))
    narrow = 2.0 * away / (1.0 + away * away) * curve / total
    slopes = np.stack([noise / total, noise / total * log_ratio, curve / total, narrow / half, narrow * away])
    information = slopes @ slopes.T / HANN_TIES + 1e-9 * np.eye(5)
    sd = float(np.sqrt(np.linalg.inv(information)[3, 3]))
    return float(start + best.x[3] * step), half, min(sd, 0.1 * start)


def _struck(samples: FloatArray, rate_hz: int, peak: Peak, hz: float, half: float) -> bool:
    """Whether the ringing dies away from its loudest instead of being held."""
    reach = max(0.1 * hz, 2.0 * half)
    low, high = max(hz - reach, 0.3 * hz), min(hz + reach, 0.49 * rate_hz)
    first = max(0, round((peak.start_s - 0.5) * rate_hz))
    part = samples[first : round((peak.end_s + 0.5) * rate_hz)]
    band = butter(2, [low, high], "bandpass", fs=rate_hz, output="sos")
    size = np.abs(hilbert(sosfiltfilt(band, part, padlen=min(len(part) - 1, int(3 * rate_hz / hz)))))
    loud, plateau = np.sum(size > 0.3 * size.max()), np.sum(size > 0.7 * size.max())
    return bool(plateau < STRUCK_PLATEAU * loud)
