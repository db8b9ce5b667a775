"""A count by hand: a person taps every row or stitch along a line; length, gauge and how sure that is."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from weftglass.errors import InputError, Unfit

TAP_SD_MM = 0.5
"""How well the edge of one element is placed by hand, one standard deviation (common practice, no source)."""

LEAST_TAPS = 3


@dataclass(frozen=True)
class HandCount:
    """
    What a person counted.

    Parameters
    ----------
    count : int
        Whole elements between the first and the last tap.
    length_mm, length_sd_mm : float
        Between those two taps.
    per_cm, sd : float
        Elements per centimetre, and its standard deviation.
    spread : float
        Relative standard deviation of the single distances: how even the work is.
    """

    count: int
    length_mm: float
    length_sd_mm: float
    per_cm: float
    sd: float
    spread: float


def counted_by_hand(
    taps_px: ArrayLike, mm_per_px: float, *, scale_sd: float = 0.0, tap_sd_mm: float = TAP_SD_MM, where: str = "count"
) -> HandCount:
    """
    Gauge from taps along a line, one on each row or stitch, first and last included.

    Parameters
    ----------
    taps_px : array, shape (n, 2), n >= 3
        Taps in order along the line, pixels.
    mm_per_px : float
    scale_sd : float
        Relative standard deviation of the scale.
    tap_sd_mm : float
        Of each end.
    where : str
        For messages.

    Returns
    -------
    HandCount
        With n taps, n - 1 elements; relative sd of the length is ``sqrt(2) * tap_sd_mm / length``.

    Raises
    ------
    InputError
        With fewer than 3 taps, taps on one spot, or a scale that is not above 0.

    Examples
    --------
    >>> found = counted_by_hand([[0, 0], [0, 100], [0, 200], [0, 300], [0, 400]], 0.1)
    >>> found.count, found.length_mm, found.per_cm, round(found.sd, 4)
    (4, 40.0, 1.0, 0.0177)
    """
    taps = np.asarray(taps_px, dtype=np.float64)
    if taps.ndim != 2 or taps.shape[1:] != (2,) or len(taps) < LEAST_TAPS or not np.all(np.isfinite(taps)):
        raise Unfit(where, "taps", f"there are {len(taps)} taps", f"at least {LEAST_TAPS}, each x and y in pixels")
    if not (math.isfinite(mm_per_px) and mm_per_px > 0):
        raise InputError(where, "scale", mm_per_px, "a number above 0, in mm a pixel")
    along = taps[-1] - taps[0]
    length = float(np.hypot(*along)) * mm_per_px
    if length <= 0:
        raise Unfit(where, "taps", "first and last tap lie on one spot", "two that lie apart")
    steps = np.diff(taps @ (along / np.hypot(*along))) * mm_per_px
    count = len(taps) - 1
    sd_mm = math.hypot(math.sqrt(2) * tap_sd_mm, scale_sd * length)
    per_cm = 10 * count / length
    return HandCount(count, length, sd_mm, per_cm, per_cm * sd_mm / length, float(np.std(steps) / np.mean(steps)))
