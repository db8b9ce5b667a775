"""Recordings made up for the tone's benchmark and tests: vessels sounded in noise, and rooms without a vessel."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

from weftglass.tone import Sound

FloatArray = NDArray[np.float64]

RATES_HZ = (16_000, 22_050, 44_100, 48_000)
WITHOUT = ("white noise", "pink noise", "rumble", "hum", "hum and noise", "voice", "voice and hum", "knocks", "siren",
           "silence")  # fmt: skip


@dataclass(frozen=True, eq=False)
class Recording:
    """A sound, the tone in it (None: none) and what it is."""

    sound: Sound
    tone_hz: float | None
    kind: str


def coloured(n: int, power: float, rng: np.random.Generator) -> FloatArray:
    """Noise whose spectrum falls with the frequency to a power (0 white, 1 pink, 2 brown), unit rms."""
    spectrum = np.fft.rfft(rng.standard_normal(n))
    f = np.arange(len(spectrum), dtype=float)
    f[0] = 1.0
    f = np.maximum(f, 10.0)
    made = np.fft.irfft(spectrum * f ** (-power / 2), n)
    return np.asarray(made / made.std())


def patted(n: int, rate: int, hz: float, quality: float, rng: np.random.Generator) -> FloatArray:
    """A pat or several: each a knock that leaves a dying hum."""
    t = np.arange(n) / rate
    made = np.zeros(n)
    for start in _starts(n / rate, 0.45, rng):
        since = np.maximum(t - start, 0.0)
        rise = np.clip(since / 0.004, 0, 1)
        phase = rng.uniform(0, 2 * np.pi)
        made += (t >= start) * rise * np.exp(-np.pi * hz / quality * since) * np.sin(2 * np.pi * hz * since + phase)
    return made


def puffed(n: int, rate: int, hz: float, quality: float, rng: np.random.Generator) -> FloatArray:
    """A puff or several: a held tone with a weak octave, a little unsteady, with breath noise coloured by the air."""
    t = np.arange(n) / rate
    made = np.zeros(n)
    for start in _starts(n / rate, 0.7, rng):
        length = rng.uniform(0.25, 0.6)
        wander = 0.002 * np.sin(2 * np.pi * rng.uniform(2, 5) * t + rng.uniform(0, 6))
        sag = 0.004 * rng.standard_normal() * np.clip((t - start) / length - 0.5, -0.5, 0.5)
        phase = 2 * np.pi * np.cumsum(hz * (1 + wander + sag)) / rate
        dying = np.exp(-np.pi * hz / quality * np.maximum(t - start - length, 0.0))
        size = np.clip((t - start) / 0.05, 0, 1) * dying
        breath = _resonant(rng.standard_normal(n), rate, hz, quality)
        made += size * (np.sin(phase) + 0.05 * np.sin(2 * phase) + 0.25 * breath / breath.std())
    return made


def voice(n: int, rate: int, rng: np.random.Generator) -> FloatArray:
    """Somebody speaking: gliding pulses through three moving formants, syllables and hissing between."""
    t = np.arange(n) / rate
    base = rng.uniform(85, 230)
    bend = np.interp(t, np.arange(0, t[-1] + 0.3, 0.15), rng.uniform(0.85, 1.2, int((t[-1] + 0.3) / 0.15) + 1))
    turns = np.cumsum(base * bend) / rate
    pulses = np.diff(np.floor(turns), prepend=0.0)
    made = np.zeros(n)
    for low, high in ((300, 800), (900, 2200), (2300, 3000)):
        made += _resonant(pulses, rate, rng.uniform(low, high), 9.0)
    loud = np.clip(
        np.interp(t, np.arange(0, t[-1] + 0.4, 0.2), rng.uniform(-0.4, 1.0, int((t[-1] + 0.4) / 0.2) + 1)), 0, 1
    )
    hiss = 0.1 * coloured(n, 0, rng) * np.clip(0.3 - loud, 0, 1)
    return made / made.std() * loud + hiss


def hum(n: int, rate: int, rng: np.random.Generator) -> FloatArray:
    """Mains hum with harmonics."""
    t = np.arange(n) / rate
    mains = rng.choice([50.0, 60.0]) * (1 + 0.0006 * rng.standard_normal())
    made = np.zeros(n)
    for multiple in range(1, int(rng.integers(3, 12))):
        size = rng.uniform(0.2, 1.0) / multiple ** rng.uniform(0.2, 1.2)
        made += size * np.sin(2 * np.pi * multiple * mains * t + rng.uniform(0, 6))
    return made / made.std()


def with_tone(rng: np.random.Generator, snr_db: float = 10.0, hz: float | None = None) -> Recording:
    """
    A vessel sounded by pat or puff in noise.

    The ratio is the tone's mean power while it sounds (within 20 dB of its loudest) to that of the noise, over the
    noise's whole band to 8 kHz or half the rate, whichever is less. One recording in three has hum at the tone's level.
    """
    rate = int(rng.choice(RATES_HZ))
    n = int(rng.uniform(1.5, 6.0) * rate)
    hz = float(np.exp(rng.uniform(np.log(35), np.log(800)))) if hz is None else hz
    quality = float(rng.uniform(15, 60))
    kind = str(rng.choice(["patted", "puffed"]))
    made = (patted if kind == "patted" else puffed)(n, rate, hz, quality, rng)
    block = max(1, rate // 50)
    power = (made[: n // block * block] ** 2).reshape(-1, block).mean(axis=1)
    made = made / np.sqrt(power[power > 0.01 * power.max()].mean())
    noise = coloured(n, float(rng.choice([0.0, 0.5, 1.0])), rng) * 10 ** (-snr_db / 20)
    if rng.random() < 1 / 3:
        made = made + hum(n, rate, rng)
        kind += " with hum"
    return Recording(_recorded(made + noise, rate, rng), hz, kind)


def without_tone(kind: str, rng: np.random.Generator) -> Recording:
    """A recording of one of the kinds in `WITHOUT`."""
    rate = int(rng.choice(RATES_HZ))
    n = int(rng.uniform(1.5, 6.0) * rate)
    quiet = 0.03 * coloured(n, 0.5, rng)
    if kind == "silence":
        return Recording(Sound.of(np.zeros(n), rate, kind), None, kind)
    if kind == "knocks":
        made = np.zeros(n)
        for start in _starts(n / rate, 0.3, rng):
            made[int(start * rate)] = 1.0
        made = _resonant(made, rate, rng.uniform(80, 400), rng.uniform(0.8, 2.5)) + 0.01 * quiet
    elif kind == "siren":
        t = np.arange(n) / rate
        pitch = 600 * 2 ** (0.6 * np.sin(2 * np.pi * rng.uniform(0.2, 1.0) * t))
        made = np.sin(2 * np.pi * np.cumsum(pitch) / rate) + quiet
    else:
        parts = {
            "white noise": lambda: coloured(n, 0, rng),
            "pink noise": lambda: coloured(n, 1, rng),
            "rumble": lambda: coloured(n, 2, rng),
            "hum": lambda: hum(n, rate, rng) + quiet,
            "hum and noise": lambda: hum(n, rate, rng) + coloured(n, 0.5, rng),
            "voice": lambda: voice(n, rate, rng) + quiet,
            "voice and hum": lambda: voice(n, rate, rng) + 0.5 * hum(n, rate, rng) + quiet,
        }
        made = parts[kind]()
    return Recording(_recorded(made, rate, rng), None, kind)


def _resonant(signal: FloatArray, rate: int, hz: float, quality: float) -> FloatArray:
    """A signal through one resonance."""
    turn, keep = 2 * np.pi * hz / rate, np.exp(-np.pi * hz / quality / rate)
    return np.asarray(lfilter([1.0 - keep], [1.0, -2 * keep * np.cos(turn), keep * keep], signal))


def _starts(seconds: float, apart: float, rng: np.random.Generator) -> FloatArray:
    """One to four moments, some time apart, with some time left."""
    room = max(int((seconds - 0.6) / (2 * apart)), 1)
    count = min(int(rng.integers(1, 5)), room)
    slots = np.sort(rng.choice(room, count, replace=False))
    return np.asarray(0.15 + 2 * apart * slots + rng.uniform(0, 0.5 * apart, count))


def _recorded(samples: FloatArray, rate: int, rng: np.random.Generator) -> Sound:
    """At half scale, in 16 bits."""
    scaled = samples / np.abs(samples).max() * rng.uniform(0.05, 0.8)
    return Sound.of(np.round(scaled * 32767) / 32768, rate, "recording")
