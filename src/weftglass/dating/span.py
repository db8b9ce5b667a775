"""A date as four years: earliest, likely from, likely to, latest; and the same as an ISO 8601-2 extended date."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from weftglass.dating.years import YEARS, FloatArray, normal
from weftglass.errors import InputError

LIKELY = 0.68  # share of the curve in the likely range
TAIL = 0.025  # share of the curve left before earliest, and after latest


@dataclass(frozen=True)
class DateSpan:
    """
    Four years CE that do not fall.

    Parameters
    ----------
    earliest, latest : int
        It is 95 % certain that the date lies between them.
    likely_from, likely_to : int
        The shortest range that holds at least 68 %.
    """

    earliest: int
    likely_from: int
    likely_to: int
    latest: int

    def __post_init__(self) -> None:
        four = (self.earliest, self.likely_from, self.likely_to, self.latest)
        if list(four) != sorted(four):
            raise InputError("date", "years", four, "earliest, likely from, likely to, latest, none before the other")

    @property
    def edtf(self) -> str:
        """
        One of the years from earliest to latest, as an ISO 8601-2 extended date (level 2, one-of set).

        Examples
        --------
        >>> DateSpan(1868, 1878, 1895, 1910).edtf, DateSpan(1908, 1908, 1908, 1908).edtf
        ('[1868..1910]', '1908')
        """
        return _one_of(self.earliest, self.latest)

    @property
    def likely_edtf(self) -> str:
        """The likely range in the same form."""
        return _one_of(self.likely_from, self.likely_to)

    @property
    def words(self) -> str:
        """For people: the likely range, and the outer one where it is wider."""
        likely = _range_words(self.likely_from, self.likely_to)
        if (self.earliest, self.latest) == (self.likely_from, self.likely_to):
            return likely
        return f"likely {likely}, hardly before {self.earliest} or after {self.latest}"

    def to_record(self) -> dict[str, Any]:
        """The contract's four years, and both extended dates."""
        years = {name: getattr(self, name) for name in ("earliest", "likely_from", "likely_to", "latest")}
        return {**years, "edtf": self.edtf, "likely_edtf": self.likely_edtf}


def span_of(curve: FloatArray) -> DateSpan:
    """
    The four years of a year curve.

    Parameters
    ----------
    curve : array (Y,)
        For `YEARS`, any positive factor.

    Examples
    --------
    >>> flat = ((YEARS >= 1801) & (YEARS <= 1900)).astype(float)
    >>> span_of(flat)
    DateSpan(earliest=1801, likely_from=1801, likely_to=1868, latest=1898)
    """
    share = normal(curve)
    total = np.concatenate([[0.0], np.cumsum(share)])
    first = int(np.searchsorted(total[1:], TAIL + 1e-12))
    last = int(np.searchsorted(total[1:], 1.0 - TAIL - 1e-12))
    start = np.arange(len(share))
    end = np.searchsorted(total, total[:-1] + LIKELY - 1e-9)  # shortest run from each start
    whole = end < len(total)
    width = np.where(whole, end - start, len(share) + 1)
    best = int(np.argmin(width))
    low, high = best, int(end[best]) - 1
    return DateSpan(int(YEARS[min(first, low)]), int(YEARS[low]), int(YEARS[high]), int(YEARS[max(last, high)]))


def mean_and_sd(curve: FloatArray) -> tuple[float, float]:
    """Mean and standard deviation of a year curve, years CE."""
    share = normal(curve)
    mean = float(share @ YEARS)
    return mean, float(np.sqrt(share @ (YEARS - mean) ** 2))


def _one_of(first: int, last: int) -> str:
    return _year(first) if first == last else f"[{_year(first)}..{_year(last)}]"


def _year(year: int) -> str:
    return f"{year:04d}" if 0 <= year <= 9999 else f"Y{year}" if abs(year) > 9999 else f"-{-year:04d}"


def _range_words(first: int, last: int) -> str:
    return str(first) if first == last else f"{first} to {last}"
