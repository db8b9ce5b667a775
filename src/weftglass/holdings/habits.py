"""Whether the way pieces were bought can explain a preference: the same comparison within each source."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import norm

from weftglass.errors import InputError
from weftglass.holdings.association import Preference
from weftglass.holdings.crosstable import Holding
from weftglass.holdings.unseen import Estimate

Numbers = NDArray[np.float64]

ONE_SOURCE = 0.6
"""A cell of which so great a share came from one source is warned of (working figure, no source)."""


@dataclass(frozen=True)
class WithinSources:
    """
    A preference seen within each source instead of over all.

    Parameters
    ----------
    p : float
        Exact conditional probability, two-sided, of the count found if within each source there is no preference.
    odds_ratio : Estimate
        Mantel and Haenszel's common odds ratio with the interval of Robins, Breslow and Greenland.
    sources : int
        Sources that say anything (both rows and both columns occur).
    """

    p: float
    odds_ratio: Estimate
    sources: int


def within_strata(tables: ArrayLike, *, level: float = 0.95) -> WithinSources:
    """
    Common association of several 2 x 2 tables.

    Parameters
    ----------
    tables : array of int, shape (n, 2, 2)
    level : float

    Notes
    -----
    ``p`` is exact: the sum over the tables has the convolution of hypergeometric laws under no association.

    References
    ----------
    .. [1] Mantel, N. & Haenszel, W. (1959), J. Natl. Cancer Inst. 22, 719-748.
    .. [2] Robins, J., Breslow, N. & Greenland, S. (1986), Biometrics 42, 311-323.
    """
    given = np.asarray(tables, dtype=float)
    if given.ndim != 3 or given.shape[1:] != (2, 2) or (given < 0).any():
        raise InputError("strata", "tables", given.shape, "n tables of 2 x 2 counts of 0 or more")
    a, b, c, d = given[:, 0, 0], given[:, 0, 1], given[:, 1, 0], given[:, 1, 1]
    total = a + b + c + d
    telling = ((a + b) * (c + d) * (a + c) * (b + d)) > 0
    if not telling.any():
        return WithinSources(1.0, Estimate(1.0, 0.0, inf, level), 0)
    a, b, c, d, total = a[telling], b[telling], c[telling], d[telling], total[telling]
    return WithinSources(_exact(a, b, c, d), _common_odds(a, b, c, d, total, level), int(telling.sum()))


def _exact(a: Numbers, b: Numbers, c: Numbers, d: Numbers) -> float:
    law, start = np.ones(1), 0
    for one, two, three, four in zip(a, b, c, d, strict=True):
        row, column, total = int(one + two), int(one + three), int(one + two + three + four)
        low, high = max(0, row + column - total), min(row, column)
        law = np.convolve(law, _hypergeometric(low, high, row, column, total))
        start += low
    found = law[int(a.sum()) - start]
    return float(min(1.0, law[law <= found * (1 + 1e-7)].sum()))


def _hypergeometric(low: int, high: int, row: int, column: int, total: int) -> Numbers:
    count = np.arange(low, high)
    ratio = (row - count) * (column - count) / ((count + 1) * (total - row - column + count + 1))
    logs = np.concatenate([[0.0], np.cumsum(np.log(ratio))])
    chances = np.exp(logs - logs.max())
    return np.asarray(chances / chances.sum())


def _common_odds(a: Numbers, b: Numbers, c: Numbers, d: Numbers, total: Numbers, level: float) -> Estimate:
    up, down = a * d / total, b * c / total
    if up.sum() == 0 or down.sum() == 0:
        return Estimate(0.0 if up.sum() == 0 else inf, 0.0, inf, level)
    value = float(up.sum() / down.sum())
    agree, differ = (a + d) / total, (b + c) / total
    variance = (
        (agree * up).sum() / (2 * up.sum() ** 2)
        + (agree * down + differ * up).sum() / (2 * up.sum() * down.sum())
        + (differ * down).sum() / (2 * down.sum() ** 2)
    )
    factor = float(np.exp(norm.ppf(0.5 + level / 2) * sqrt(float(variance))))
    return Estimate(value, value / factor, value * factor, level)


def buying_warning(
    preference: Preference, holdings: Sequence[Holding], row_term: str, column_term: str, *, source_term: str = "source"
) -> str:
    """
    A sentence where buying habits rather than makers can explain a preference, else an empty text.

    Parameters
    ----------
    preference : Preference
    holdings : sequence of Holding
        With ``source_term`` where it is known.
    row_term, column_term, source_term : str
        Terms of the preference, and the one that tells where a piece was bought.
    """
    known = [one.terms for one in holdings if one.terms.get(row_term) and one.terms.get(column_term)]
    cell = [t for t in known if t[row_term] == preference.row and t[column_term] == preference.column]
    sources = [terms[source_term] for terms in cell if terms.get(source_term)]
    if not sources:
        return "Nothing is known of where these pieces were bought, so buying habits may explain it." if cell else ""
    counts = {source: sources.count(source) for source in sources}
    most = max(counts, key=lambda source: (counts[source], source))
    if len(cell) > 1 and counts[most] >= ONE_SOURCE * len(cell):
        return f"{counts[most]} of these {len(cell)} pieces came from one source ({most}): its taste may explain it."
    within = within_strata(_tables(known, preference, row_term, column_term, source_term))
    if within.sources and within.p > 0.1:
        return "Within single sources it cannot be seen, so where you bought may explain it."
    return ""


def _tables(
    known: Sequence[Mapping[str, str]], preference: Preference, row_term: str, column_term: str, source_term: str
) -> Numbers:
    found: dict[str, Numbers] = {}
    for terms in known:
        table = found.setdefault(terms.get(source_term, ""), np.zeros((2, 2)))
        table[int(terms.get(row_term) != preference.row), int(terms.get(column_term) != preference.column)] += 1
    return np.array(list(found.values()))
