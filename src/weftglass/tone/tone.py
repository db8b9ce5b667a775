"""The tone of a vessel from one or several recordings, with how well it is known; or why there is none."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.signal import resample_poly

from weftglass.tone.hum import without_hum
from weftglass.tone.ringing import Ringing, measured
from weftglass.tone.search import Peak, peaks
from weftglass.tone.sound import Sound
from weftglass.tone.voice import refusal

FloatArray = NDArray[np.float64]

WORKING_RATE_HZ = 8000
SILENCE = 1e-6  # rms below this is no sound
CLOSE = 0.035  # windows that overlap and differ by less show one ringing
LOOKED_AT = 6  # peaks tried in a recording
SAME = 0.08  # ringings within this share of each other may be one tone
SHARPENED = 6  # windows compared for one ringing
MOST_RINGINGS = 12  # of one recording
AGREEING_SD = 0.004  # relative scatter between two tries at one vessel; working figure, no source
STRAY_SHARE = 0.1  # ringings that are something else
BLOWN_SHIFT_SD = 0.015  # relative; a blown pitch is within 1 to 3 % of the resonance; working figure, no source
STRUCK_SHIFT_SD = 0.007  # relative; the hand still near the mouth lowers the pitch; working figure, no source


@dataclass(frozen=True)
class Tone:
    """
    What was heard.

    Parameters
    ----------
    frequency_hz : float or None
        Pitch of the vessel; None when no tone was found.
    sd_hz : float or None
        Its standard deviation as the resonance of the vessel at rest, Hz: reading, scatter and how it was sounded.
    reading_sd_hz : float or None
        Standard deviation of the pitch as sounded alone, Hz.
    struck : bool
        Whether it died away like a patted vessel's; else blown.
    ringings : tuple of Ringing
        What it rests on.
    reason : str or None
        Why there is no tone.
    warnings : tuple of str
        What may spoil it.
    """

    frequency_hz: float | None
    sd_hz: float | None
    reading_sd_hz: float | None = None
    struck: bool = False
    ringings: tuple[Ringing, ...] = ()
    reason: str | None = None
    warnings: tuple[str, ...] = ()

    def to_record(self) -> dict[str, Any]:
        """The tone's part of the `weftglass tone --json` contract."""
        rounded = {
            "frequency_hz": self.frequency_hz,
            "sd_hz": self.sd_hz,
            "reading_sd_hz": self.reading_sd_hz,
        }
        return {
            **{key: None if value is None else round(value, 3) for key, value in rounded.items()},
            "sounded": None if self.frequency_hz is None else "patted" if self.struck else "blown",
            "ringings": len(self.ringings),
            "reason": self.reason,
            "warnings": list(self.warnings),
        }


def find_tone(sounds: Sequence[Sound]) -> Tone:
    """
    The tone common to some recordings of one vessel.

    Parameters
    ----------
    sounds : sequence of Sound
        Recordings of a puff of air across the open mouth from a rubber bulb, or of a palm's pat on it. Never blow with
        the lips: what the vessel held is not known.

    Returns
    -------
    Tone
        With no frequency, and the reason, when nothing in them is a vessel's tone: silence, noise, mains hum, voices.

    Notes
    -----
    Every ringing is read by itself; the common pitch is the most likely one when each is either that pitch, scattered
    by its own uncertainty and 0.4 % from try to try, or with one chance in ten something else.
    """
    warnings = [warning for sound in sounds for warning in sound.warnings]
    ringings: list[Ringing] = []
    reasons: list[str] = []
    for sound in sounds:
        found, reason, told = ringings_in(sound)
        ringings += found
        reasons += [] if reason is None else [reason]
        warnings += told
    if not ringings:
        return Tone(None, None, reason=_common(reasons), warnings=tuple(warnings))
    return _combined(ringings, warnings)


def ringings_in(sound: Sound) -> tuple[list[Ringing], str | None, list[str]]:
    """
    The ringings of one recording's tone, else why there is none; and warnings.

    Parameters
    ----------
    sound : Sound
        A recording.
    """
    samples, rate_hz = _working(sound)
    if math.sqrt(float(np.mean(samples**2))) < SILENCE:
        return [], "silence", []
    hum = without_hum(samples, rate_hz)
    found = peaks(hum.rest, rate_hz)
    told = []
    if hum.lines_hz:
        told.append(f"{sound.where}: mains hum at {hum.lines_hz[0]:.0f} Hz was taken out")
    reason = "only mains hum" if hum.lines_hz else "only noise: nothing rings clearly above it"
    tried: list[float] = []
    for peak in found:
        if any(abs(math.log(peak.hz / hz)) < SAME for hz in tried):
            continue
        if len(tried) == LOOKED_AT:
            break
        tried.append(peak.hz)
        ringing = _sharpest(hum.rest, rate_hz, peak, found)
        why = refusal(hum.rest, rate_hz, ringing)
        if why is None and changeable(found, ringing.hz):
            return [], "what sounds changes its pitch, like a voice", told
        if why is None:
            return _all_of(hum.rest, rate_hz, ringing, found), None, told
        reason = why
        if "partials" in why or "glides" in why:
            break
    return [], reason, told


def changeable(found: list[Peak], hz: float) -> bool:
    """Whether most of what rings strongly in a recording, each moment once, has another pitch than this."""
    moments: list[Peak] = []
    for peak in found:
        if peak.weight < 0.1 * found[0].weight or len(moments) == MOST_RINGINGS:
            break
        if all(peak.end_s <= other.start_s or peak.start_s >= other.end_s for other in moments):
            moments.append(peak)
    other = sum(abs(math.log(peak.hz / hz)) > SAME for peak in moments)
    return 2 * other > len(moments)


def _working(sound: Sound) -> tuple[FloatArray, int]:
    """Samples at the working rate, mean taken off."""
    samples = sound.samples - sound.samples.mean()
    if sound.rate_hz <= WORKING_RATE_HZ:
        return samples, sound.rate_hz
    share = Fraction(WORKING_RATE_HZ, sound.rate_hz).limit_denominator(2000)
    rate = round(sound.rate_hz * share)
    return np.asarray(resample_poly(samples, share.numerator, share.denominator)), rate


def _sharpest(samples: FloatArray, rate_hz: int, peak: Peak, found: list[Peak]) -> Ringing:
    """The best known pitch among windows that overlap a peak's and tell much the same."""
    near = [
        other
        for other in found
        if other.start_s < peak.end_s
        and other.end_s > peak.start_s
        and abs(math.log(other.hz / peak.hz)) < CLOSE
        and other.weight > 0.3 * peak.weight
    ]
    return min((measured(samples, rate_hz, other) for other in near[:SHARPENED]), key=lambda ringing: ringing.sd_hz)


def _all_of(samples: FloatArray, rate_hz: int, best: Ringing, found: list[Peak]) -> list[Ringing]:
    """The best ringing and every other of about its pitch, at other times, that may be a vessel's."""
    kept = [best]
    for peak in found:
        apart = all(peak.end_s <= other.peak.start_s or peak.start_s >= other.peak.end_s for other in kept)
        near = abs(math.log(peak.hz / best.hz)) < SAME
        if not (apart and near and peak.weight > 0.1 * best.peak.weight):
            continue
        ringing = _sharpest(samples, rate_hz, peak, found)
        clear = all(ringing.peak.end_s <= o.peak.start_s or ringing.peak.start_s >= o.peak.end_s for o in kept)
        if clear and refusal(samples, rate_hz, ringing) is None:
            kept.append(ringing)
        if len(kept) == MOST_RINGINGS:
            break
    return kept


def _combined(ringings: list[Ringing], warnings: list[str]) -> Tone:
    hz = np.array([ringing.hz for ringing in ringings])
    sd = np.hypot([ringing.sd_hz for ringing in ringings], AGREEING_SD * hz)
    grid = np.unique(np.concatenate([hz[:, None] * (1 + 0.002 * np.linspace(-20, 20, 81))]).ravel())
    fits = np.exp(-0.5 * ((grid[:, None] - hz) / sd) ** 2) / (math.sqrt(2 * math.pi) * sd)
    stray = 1.0 / (hz * math.log(2500.0 / 20.0))
    score = np.log((1 - STRAY_SHARE) * fits + STRAY_SHARE * stray).sum(axis=1)
    middle = float(grid[int(score.argmax())])
    for _ in range(20):
        fit = np.exp(-0.5 * ((middle - hz) / sd) ** 2) / (math.sqrt(2 * math.pi) * sd)
        good = (1 - STRAY_SHARE) * fit / ((1 - STRAY_SHARE) * fit + STRAY_SHARE * stray)
        middle = float(np.sum(good * hz / sd**2) / np.sum(good / sd**2))
    agreeing = [ringing for ringing, share in zip(ringings, good, strict=True) if share > 0.5]
    if len(agreeing) * 2 <= len(ringings) and len(ringings) > 1:
        heard = ", ".join(f"{value:.1f} Hz" for value in hz[:6])
        reason = f"the ringings disagree ({heard}): record the same vessel again, several times"
        return Tone(None, None, ringings=tuple(ringings), reason=reason, warnings=tuple(warnings))
    if len(agreeing) < len(ringings):
        warnings.append(f"{len(ringings) - len(agreeing)} of {len(ringings)} ringings are of another pitch; left out")
    reading = math.sqrt(1.0 / float(np.sum(good / sd**2)))
    if len(agreeing) > 1:
        reading *= max(1.0, math.sqrt(float(np.sum(good * ((hz - middle) / sd) ** 2)) / (len(agreeing) - 1)))
    struck = sum(ringing.struck for ringing in agreeing) * 2 > len(agreeing)
    shift = (STRUCK_SHIFT_SD if struck else BLOWN_SHIFT_SD) * middle
    return Tone(middle, math.hypot(reading, shift), reading, struck, tuple(agreeing), None, tuple(warnings))


def _common(reasons: list[str]) -> str:
    """The reason most often met."""
    return max(reasons, key=reasons.count) if reasons else "no recording was given"
