"""Likelihoods over years: soft-edged ranges, 'not before', 'not after', and what a curve's range is."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from weftglass.errors import InputError

FloatArray = NDArray[np.float64]
FIRST_YEAR, LAST_YEAR = 1400, 2030
YEARS: NDArray[np.int64] = np.arange(FIRST_YEAR, LAST_YEAR + 1)
YEARS.setflags(write=False)

AT_LIMIT = 0.10  # likelihood at a published outer limit against the core; working figure, no source
FADE_YEARS = (1.0, 12.0)  # least and greatest e-folding beyond the outer limit, years; working figure, no source
LEFT = {"high": 0.002, "medium": 0.008, "low": 0.04}  # floor far outside, by how sure the source is; no source
WIDE_YEARS = 50.0  # a core at least this long has the whole floor, a shorter one its share
USUAL = (1750, 1950)  # years over which 'the eye was wrong' averages a curve


def soft_range(
    earliest: float, common_from: float, common_to: float | None, latest: float | None, how_sure: str = "medium"
) -> FloatArray:
    """
    How likely a feature is in each year, up to a factor: 1 in its core, falling softly to its outer limits and beyond.

    Parameters
    ----------
    earliest, common_from, common_to, latest : float
        Years CE, not falling. None for the last two: still made.
    how_sure : str
        high, medium or low: how far the years can be trusted; sets what is left far outside.

    Returns
    -------
    array (Y,)
        For `YEARS`, above 0 everywhere, greatest value 1.

    Examples
    --------
    >>> curve = soft_range(1905, 1910, 1950, 1982, "high")
    >>> curve[YEARS == 1930].item(), curve[YEARS == 1890].item() < 0.05
    (1.0, True)
    """
    core = np.inf if common_to is None else common_to - common_from + 1.0
    floor = LEFT[how_sure] * min(1.0, core / WIDE_YEARS)
    rising = _edge(common_from - YEARS, max(common_from - earliest, 0.0), floor)
    if common_to is None:
        return rising
    last = common_to if latest is None else latest
    return np.minimum(rising, _edge(YEARS - common_to, max(last - common_to, 0.0), floor))


def not_before(year: float, *, within: float = 1.0, floor: float = 0.002) -> FloatArray:
    """1 from a year on, soft by some years below it, nearly nothing earlier; (Y,) for `YEARS`."""
    return _edge(year - YEARS, within, floor)


def not_after(year: float, *, within: float = 1.0, floor: float = 0.002) -> FloatArray:
    """1 up to a year, soft by some years above it, nearly nothing later; (Y,) for `YEARS`."""
    return _edge(YEARS - year, within, floor)


def usual_mean(curve: FloatArray) -> float:
    """Mean of a curve over the years of most covered vessels: how likely a wrong eye is to see the same thing."""
    return float(curve[(USUAL[0] <= YEARS) & (USUAL[1] >= YEARS)].mean())


def normal(curve: ArrayLike) -> FloatArray:
    """A curve as probabilities that sum to 1, read-only."""
    values = np.asarray(curve, dtype=np.float64)
    if values.shape != YEARS.shape or not np.isfinite(values).all() or (values < 0).any() or not values.sum() > 0:
        raise InputError("year curve", "weights", values.shape, f"{len(YEARS)} numbers from 0, not all 0")
    result = np.asarray(values / values.sum(), dtype=np.float64)
    result.setflags(write=False)
    return result


def lagging(curve: FloatArray, lag_years: float) -> FloatArray:
    """A curve with every year behind by a half-normal law: nobody is ahead of an invention, some are slow to follow."""
    wait = np.arange(max(2, round(4 * lag_years)) + 1)
    kernel = np.exp(-0.5 * (wait / lag_years) ** 2)
    return np.asarray(np.convolve(curve, kernel)[: len(curve)] / kernel.sum())


def _edge(beyond: ArrayLike, width: float, floor: float) -> FloatArray:
    """1 up to the core's end, `AT_LIMIT` at the outer limit, fading to the floor; ``beyond`` in years past the core."""
    past = np.asarray(beyond, dtype=np.float64)
    share = np.clip(past / width, 0.0, 1.0) if width > 0 else (past > 0).astype(np.float64)
    inside = AT_LIMIT + (1.0 - AT_LIMIT) * 0.5 * (1.0 + np.cos(np.pi * share))
    fade = min(max(width, FADE_YEARS[0]), FADE_YEARS[1])
    outside = floor + (AT_LIMIT - floor) * np.exp(-np.clip(past - width, 0.0, None) / fade)
    return np.asarray(np.where(past <= width, inside, outside))
