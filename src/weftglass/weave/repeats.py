"""How often a band's design comes round a vessel, or that it does not."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

FloatArray = NDArray[np.float64]

MOST_REPEATS = 72
LEAST_WIDTH = 6.0
"""Cells (about mm) below which a period is the weave's own."""

LEAST_SHARE = 0.25
AS_GOOD = 0.9
SIGNIFICANT = 0.01
TRIALS = 600


@dataclass(frozen=True, eq=False)
class Repeats:
    """
    A design that comes again.

    Parameters
    ----------
    count : int or None
        Times it goes round; None where only a part was seen and more than one number would do.
    count_range : (low, high)
        Numbers that are not excluded.
    width : float
        Of one repeat, in cells of the field.
    width_sd : float
        Of the mean width, in cells, from how unevenly the repeats lie.
    uneven : float
        Standard deviation from one repeat to the next, in cells.
    share : float
        Share of the band's variation along the girth that the repeat explains, at most 1.
    chance : float
        Probability that a band without a repeat would look as regular.
    starts : tuple of float
        Columns where repeats begin, at the emptiest place between two.
    motif : array, shape (rows, width, channels)
        The mean of all repeats.
    alike : float
        Correlation that the mean motif would have with the mean of as many others.
    """

    count: int | None
    count_range: tuple[int, int]
    width: float
    width_sd: float
    uneven: float
    share: float
    chance: float
    starts: tuple[float, ...]
    motif: FloatArray
    alike: float


def repeats_round(field: FloatArray, *, seed: int = 0) -> Repeats | None:
    """
    Repeats of a band seen all round.

    Parameters
    ----------
    field : array, shape (rows, columns, channels)
        The band, its last column meeting its first; cells about 1 mm.
    seed : int
        Of the chance level's trials.

    Returns
    -------
    Repeats or None
        None where nothing comes again more regularly than chance would have it.

    Notes
    -----
    A design that goes round n times has all its power in harmonics that n divides. The share of power there, less what
    would fall there anyhow, is the share of variation the repeat explains; divisors of n explain as much, so the
    greatest number that explains nearly the most is taken, unless neighbours differ alike all round. Chance: spectra of
    the same smooth shape with as many degrees of freedom as the band has independent rows and colours, the best over
    all numbers each time.
    """
    around = field - field.mean(axis=1, keepdims=True)
    columns = field.shape[1]
    most = min(MOST_REPEATS, int(columns / LEAST_WIDTH))
    if most < 2 or float(np.sum(around**2)) <= 0:
        return None
    power = np.sum(np.abs(np.fft.rfft(around, axis=1)[:, 1:]) ** 2, axis=(0, 2))
    numbers = np.arange(2, most + 1)
    shares = _explained(power[None], numbers)[0]
    level, spread, best = _by_chance(power, numbers, around, np.random.default_rng(seed))
    score = (shares - level) / spread
    chance = float((1 + np.sum(best >= score.max())) / (1 + len(best)))
    if chance > SIGNIFICANT or shares.max() < LEAST_SHARE:
        return None
    firm = (shares >= AS_GOOD * shares[int(np.argmax(score))]) & (score > 0.5 * score.max())
    count = _told_apart(power, int(numbers[np.flatnonzero(firm)[-1]]))
    return _described(around, count, float(shares[count - 2]), chance)


def repeats_seen(field: FloatArray, columns_round: float, relative_sd: float) -> Repeats | None:
    """
    Repeats of a band of which only a part is seen.

    Parameters
    ----------
    field : array, shape (rows, columns, channels)
        The part seen.
    columns_round : float
        How many columns the whole round would have.
    relative_sd : float
        Relative standard deviation of the girth against the part seen.

    Returns
    -------
    Repeats or None
        None where fewer than two repeats are seen or nothing comes again.

    Notes
    -----
    The band is laid over itself at every shift up to half the part seen. The least shift at which it fits nearly as
    well as at any is the width; at least two repeats are needed.
    """
    around = field - field.mean(axis=1, keepdims=True)
    columns = field.shape[1]
    shifts = np.arange(int(LEAST_WIDTH), columns // 2 + 1)
    if len(shifts) < 5:
        return None
    fits = np.array([_fit(around[:, :-s], around[:, s:]) for s in shifts])
    peaks = np.flatnonzero((fits[1:-1] >= fits[:-2]) & (fits[1:-1] > fits[2:])) + 1
    if len(peaks) == 0 or fits[peaks].max() < 0.5:
        return None
    first = int(peaks[np.flatnonzero(fits[peaks] >= AS_GOOD * fits[peaks].max())[0]])
    rank, length = _freedom(around), _run(around)
    freedom = max(4.0, rank * (columns - shifts[first]) / length)
    chance = min(1.0, len(shifts) / length * math.erfc(math.atanh(min(fits[first], 0.999)) * math.sqrt(freedom / 2)))
    if chance > SIGNIFICANT:
        return None
    before, here, after = fits[first - 1 : first + 2]
    width = float(shifts[first] + 0.5 * (before - after) / min(before - 2 * here + after, -1e-9))
    width_sd = 0.5 * math.sqrt((1 - here) / max(here, 0.05)) + 0.1
    spread = 2 * math.hypot(width_sd / width, relative_sd)
    low, high = (columns_round / width * (1 + side * spread) for side in (-1, 1))
    span = (math.ceil(low - 1e-9), math.floor(high + 1e-9))
    nearest = round(columns_round / width)
    count_range = span if span[0] <= span[1] else (nearest, nearest)
    motif = np.mean([_slice(around, k * width, round(width), width) for k in range(int(columns / width))], axis=0)
    start = _emptiest(motif)
    starts = tuple(float(start + k * width) for k in range(int((columns - start) / width) + 1))
    count = count_range[0] if count_range[0] == count_range[1] else None
    return Repeats(count, count_range, width, width_sd, 0.0, float(here), chance, starts, motif, float(here))


def _explained(power: FloatArray, numbers: NDArray[np.int64]) -> FloatArray:
    """Share of variation that each number of repeats explains, for each spectrum (spectra, numbers)."""
    harmonics = power.shape[1]
    result = np.empty((len(power), len(numbers)))
    for i, n in enumerate(numbers):
        there = power[:, n - 1 :: n].sum(axis=1) / power.sum(axis=1)
        anyhow = (harmonics // n) / harmonics
        result[:, i] = (there - anyhow) / (1 - anyhow)
    return result


def _told_apart(power: FloatArray, count: int) -> int:
    """
    A lesser number of repeats where neighbouring ones differ alike all the way round (a boat and a fish by turns).

    Then the harmonics of the lesser number stand out of the rest one and all, as light falling off would not make them.
    """
    harmonic = np.arange(1, min(len(power), 4 * count) + 1)
    here = power[: len(harmonic)]
    floor = 1e-4 * float(here.mean())
    for lesser in range(2, count):
        between = (harmonic % lesser == 0) & (harmonic % count != 0)
        if count % lesser or not between.any():
            continue
        rest = float(np.median(here[harmonic % lesser != 0])) + floor
        if np.median(here[between]) > 6 * rest and here[between].sum() > 0.04 * here.sum():
            return lesser
    return count


def _by_chance(
    power: FloatArray, numbers: NDArray[np.int64], around: FloatArray, rng: np.random.Generator
) -> tuple[FloatArray, FloatArray, FloatArray]:
    freedom = _freedom(around)
    log_step = np.maximum(3, 0.5 * np.arange(1, len(power) + 1))
    total = np.concatenate([[0.0], np.cumsum(power)])
    at = np.arange(len(power))
    low = np.clip(at - log_step, 0, len(power) - 1).astype(int)
    high = np.clip(at + log_step, 0, len(power) - 1).astype(int) + 1
    smooth = (total[high] - total[low]) / (high - low)
    trials = smooth * rng.gamma(freedom, 1 / freedom, (TRIALS, len(power)))
    shares = _explained(trials, numbers)
    level, spread = shares.mean(axis=0), shares.std(axis=0) + 1e-9
    return level, spread, np.asarray(((shares - level) / spread).max(axis=1))


def _freedom(around: FloatArray) -> float:
    """Independent rows and colours of a band: the participation ratio of its covariance."""
    flat = around.transpose(0, 2, 1).reshape(-1, around.shape[1])
    gram = flat @ flat.T
    return float(np.trace(gram) ** 2 / max(np.sum(gram**2), 1e-12))


def _run(around: FloatArray) -> float:
    """Columns over which a band is like itself."""
    power = np.sum(np.abs(np.fft.rfft(around, axis=1)[:, 1:]) ** 2, axis=(0, 2))
    return float(max(2.0, around.shape[1] * np.sum(power**2) / np.sum(power) ** 2))


def _described(around: FloatArray, count: int, share: float, chance: float) -> Repeats:
    columns = around.shape[1]
    width = columns / count
    cells = max(4, round(width))
    parts = np.stack([_slice(around, k * width, cells, width) for k in range(count)])
    motif = parts.mean(axis=0)
    start = _emptiest(motif) * width / cells
    parts = np.stack([_slice(around, start + k * width, cells, width) for k in range(count)])
    motif = parts.mean(axis=0)
    off = np.array([_offset(part, motif) for part in parts]) * width / cells
    widths = width + np.diff(off, append=off[:1])
    uneven = float(np.std(widths))
    noise = float(np.var(parts - motif, axis=0, ddof=0).mean()) * count / max(count - 1, 1)
    signal = max(float(np.mean(motif**2)) - noise / count, 1e-12)
    alike = signal / (signal + noise / count)
    starts = tuple(float(np.mod(start + k * width, columns)) for k in range(count))
    width_sd = float(np.std(off)) / math.sqrt(count) / count
    return Repeats(count, (count, count), width, width_sd, uneven, share, chance, starts, motif, alike)


def _slice(around: FloatArray, start: float, cells: int, width: float) -> FloatArray:
    """So many places over a width from a start on, between cells where need be, round the end."""
    at = start + np.arange(cells) * (width / cells)
    low = np.floor(at).astype(int)
    part = (at - low)[None, :, None]
    columns = around.shape[1]
    return np.asarray((1 - part) * around[:, low % columns] + part * around[:, (low + 1) % columns])


def _emptiest(motif: FloatArray) -> float:
    """Column about which least changes from one to the next."""
    energy = np.sum((motif - np.roll(motif, 1, axis=1)) ** 2, axis=(0, 2))
    return float(np.argmin(uniform_filter1d(energy, max(3, len(energy) // 5), mode="wrap")))


def _offset(part: FloatArray, motif: FloatArray) -> float:
    """How far a repeat lies to the right of where it should, cells, within a quarter of its width."""
    reach = max(1, motif.shape[1] // 4)
    shifts = np.arange(-reach, reach + 1)
    fits = np.array([_fit(np.roll(motif, s, axis=1), part) for s in shifts])
    best = int(np.clip(np.argmax(fits), 1, len(fits) - 2))
    before, here, after = fits[best - 1 : best + 2]
    bend = before - 2 * here + after
    return float(shifts[best] + (0.5 * (before - after) / bend if bend < -1e-9 else 0.0))


def _fit(one: FloatArray, other: FloatArray) -> float:
    scale = math.sqrt(float(np.sum(one**2)) * float(np.sum(other**2)))
    return float(np.sum(one * other)) / max(scale, 1e-12)
