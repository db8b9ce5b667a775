"""How complete a set of pieces is: sample coverage, kinds not yet seen, rarefaction and extrapolation."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammaln
from scipy.stats import beta, norm

from weftglass.errors import InputError

RARE = 10
"""A kind seen at most so often counts as rare in the coverage-based estimate (common practice of the method)."""


@dataclass(frozen=True)
class Estimate:
    """
    A number with an interval.

    Parameters
    ----------
    value : float
    low, high : float
        Ends of the interval.
    level : float
        Probability that the interval holds the truth, as the method states it.
    """

    value: float
    low: float
    high: float
    level: float = 0.95


@dataclass(frozen=True)
class Completeness:
    """
    What a set of pieces says about the kinds it does not hold.

    Parameters
    ----------
    pieces, kinds, singletons, doubletons : int
        Pieces looked at, kinds among them, kinds seen once, kinds seen twice.
    coverage : Estimate
        Share of what is out there (by piece, not by kind) that belongs to kinds already seen, 0 to 1.
    unseen_mass : float
        Good-Turing: probability that the next piece is of a new kind, 0 to 1.
    kinds_at_least : Estimate
        Lower bound for the number of kinds in all (Chao 1984, with (n-1)/n).
    by_coverage : Estimate or None
        Number of kinds by the abundance-based coverage estimator; None where all rare kinds were seen once.
    """

    pieces: int
    kinds: int
    singletons: int
    doubletons: int
    coverage: Estimate
    unseen_mass: float
    kinds_at_least: Estimate
    by_coverage: Estimate | None


def counts_of(counts: ArrayLike) -> NDArray[np.int64]:
    """
    Counts by kind as positive whole numbers, kinds with none left out.

    Raises
    ------
    InputError
        If a count is negative, not whole, or there is none above 0.
    """
    given = np.asarray(counts, dtype=float).ravel()
    if not (np.isfinite(given).all() and (given >= 0).all() and (given == np.round(given)).all()):
        raise InputError("kinds", "counts", given.tolist(), "whole numbers of 0 or more")
    kept = given[given > 0].astype(np.int64)
    if kept.size == 0:
        raise InputError("kinds", "counts", given.tolist(), "at least one kind that was seen")
    return kept


def completeness(counts: ArrayLike, *, level: float = 0.95) -> Completeness:
    """
    Coverage and unseen kinds of a set of pieces.

    Parameters
    ----------
    counts : array of int
        Pieces of each kind; kinds with 0 are ignored.
    level : float
        Of the intervals.

    Notes
    -----
    The intervals take the pieces for a random sample of what is out there; a collector's choice is none, so read them
    as a guide to what this way of collecting will meet.
    """
    seen = counts_of(counts)
    ones, twos = int((seen == 1).sum()), int((seen == 2).sum())
    total = int(seen.sum())
    return Completeness(
        pieces=total,
        kinds=seen.size,
        singletons=ones,
        doubletons=twos,
        coverage=coverage(seen, level=level),
        unseen_mass=ones / total,
        kinds_at_least=chao1(seen, level=level),
        by_coverage=ace(seen, level=level),
    )


def coverage(counts: ArrayLike, *, level: float = 0.95) -> Estimate:
    """
    Share of what is out there that belongs to kinds already seen.

    Returns
    -------
    Estimate
        Between 0 and 1; the interval is normal with the variance of Good's estimator, cut at 0 and 1, but never
        narrower than Jeffreys' interval for the share of pieces whose kind was met before.

    References
    ----------
    .. [1] Chao, A. & Jost, L. (2012), Ecology 93, 2533-2547, equation 4a.
    .. [2] Good, I. J. (1953), Biometrika 40, 237-264; variance after Esty, W. (1983), Ann. Statist. 11, 905-912.
    """
    seen = counts_of(counts)
    total, ones, twos = int(seen.sum()), int((seen == 1).sum()), int((seen == 2).sum())
    value = 1 - ones / total * _unseen_share(total, ones, twos) if ones else 1.0
    variance = (ones * (1 - ones / total) + 2 * twos) / total**2
    side = (1 - level) / 2
    reach = float(norm.ppf(1 - side)) * sqrt(variance)
    of_share = beta(total - ones + 0.5, ones + 0.5)
    low, high = min(value - reach, float(of_share.ppf(side))), max(value + reach, float(of_share.ppf(1 - side)))
    return Estimate(value, max(0.0, min(low, value)), min(1.0, max(high, value)), level)


def _unseen_share(total: int, ones: int, twos: int) -> float:
    """(n-1) f1 / ((n-1) f1 + 2 f2), with the bias-corrected form where no kind was seen twice."""
    if twos:
        return (total - 1) * ones / ((total - 1) * ones + 2 * twos)
    return (total - 1) * (ones - 1) / ((total - 1) * (ones - 1) + 2) if total > 1 else 0.0


def chao1(
    counts: ArrayLike, *, bias_corrected: bool = False, sample_term: bool = True, level: float = 0.95
) -> Estimate:
    """
    Lower bound for the number of kinds.

    Parameters
    ----------
    counts : array of int
        Pieces of each kind.
    bias_corrected : bool
        ``f1 (f1 - 1) / (2 (f2 + 1))`` in place of ``f1^2 / (2 f2)``; used in any case where no kind was seen twice.
    sample_term : bool
        Multiply by (n-1)/n.
    level : float
        Of the log-normal interval.

    References
    ----------
    .. [1] Chao, A. (1984), Scand. J. Statist. 11, 265-270; interval: Chao, A. (1987), Biometrics 43, 783-791.
    """
    seen = counts_of(counts)
    total, ones, twos = int(seen.sum()), int((seen == 1).sum()), int((seen == 2).sum())
    factor = (total - 1) / total if sample_term else 1.0
    if ones == 0:
        return _complete(seen, level)
    if twos == 0:
        more = factor * ones * (ones - 1) / 2
        value = seen.size + more
        variance = (
            factor * ones * (ones - 1) / 2
            + factor**2 * ones * (2 * ones - 1) ** 2 / 4
            - factor**2 * ones**4 / 4 / value
        )
    elif bias_corrected:
        more = factor * ones * (ones - 1) / (2 * (twos + 1))
        variance = (
            factor * ones * (ones - 1) / (2 * (twos + 1))
            + factor**2 * ones * (2 * ones - 1) ** 2 / (4 * (twos + 1) ** 2)
            + factor**2 * ones**2 * twos * (ones - 1) ** 2 / (4 * (twos + 1) ** 4)
        )
    else:
        ratio = ones / twos
        more = factor * ones**2 / (2 * twos)
        variance = twos * (factor / 2 * ratio**2 + factor**2 * ratio**3 + factor**2 / 4 * ratio**4)
    return _log_normal(seen.size, more, variance, level)


def _log_normal(seen: int, more: float, variance: float, level: float) -> Estimate:
    """The interval of Chao (1987): the unseen number is log-normal, so the lower end is never below what was seen."""
    if more <= 0 or variance <= 0:
        return Estimate(float(seen + max(more, 0.0)), float(seen), float(seen + max(more, 0.0)), level)
    spread = exp(float(norm.ppf(0.5 + level / 2)) * sqrt(log(1 + variance / more**2)))
    return Estimate(seen + more, seen + more / spread, seen + more * spread, level)


def _complete(seen: NDArray[np.int64], level: float) -> Estimate:
    """No kind was seen once, so nothing points to more; the interval takes the pieces as Poisson (Colwell 2013)."""
    kinds = float(seen.size)
    missed = exp(-float(seen.sum()) / kinds)
    middle, reach = kinds / (1 - missed), float(norm.ppf(0.5 + level / 2)) * sqrt(kinds * missed / (1 - missed))
    return Estimate(kinds, max(kinds, middle - reach), middle + reach, level)


def ace(counts: ArrayLike, *, level: float = 0.95) -> Estimate | None:
    """
    Number of kinds by the abundance-based coverage estimator, cut-off at 10 pieces.

    Returns
    -------
    Estimate or None
        None where every rare kind was seen just once, so that nothing can be said. The interval comes from 400
        bootstrap draws of the estimated law of kinds, with a fixed seed.

    References
    ----------
    .. [1] Chao, A. & Lee, S.-M. (1992), J. Amer. Statist. Assoc. 87, 210-217.
    """
    seen = counts_of(counts)
    value = _ace(seen)
    if value is None:
        return None
    if value <= seen.size:
        return Estimate(value, value, value, level)
    rng = np.random.default_rng(1)
    total, law = int(seen.sum()), _law(seen)
    draws = [_ace(draw[draw > 0]) for draw in rng.multinomial(total, law, 400)]
    found = np.array([draw for draw in draws if draw is not None])
    spread = float(found.std()) if found.size > 1 else 0.0
    return _log_normal(seen.size, value - seen.size, spread**2, level)


def _ace(seen: NDArray[np.int64]) -> float | None:
    rare = seen[seen <= RARE]
    common = seen.size - rare.size
    ones, pieces = int((rare == 1).sum()), int(rare.sum())
    if pieces == 0:
        return float(common)
    if ones == pieces:
        return None
    share = 1 - ones / pieces
    pairs = float((rare * (rare - 1)).sum())
    spread = max(rare.size / share * pairs / (pieces * (pieces - 1)) - 1, 0.0) if pieces > 1 else 0.0
    return common + rare.size / share + ones / share * spread


def _law(seen: NDArray[np.int64]) -> NDArray[np.float64]:
    """Probabilities of the kinds seen, shrunk by the coverage, and of as many unseen ones as Chao's bound asks for."""
    held = coverage(seen).value
    unseen = max(round(chao1(seen).value - seen.size), 0)
    law: NDArray[np.float64] = seen / seen.sum()
    if unseen == 0:
        return law
    return np.concatenate([law * held, np.full(unseen, (1 - held) / unseen)])


def expected_kinds(counts: ArrayLike, pieces: ArrayLike) -> NDArray[np.float64]:
    """
    Kinds expected among numbers of pieces: drawn from those at hand (fewer), or if collecting went on (more).

    Parameters
    ----------
    counts : array of int
        Pieces of each kind.
    pieces : array of int
        Each 1 or more; beyond twice those at hand the answer leans wholly on the estimate of unseen kinds.

    Returns
    -------
    array
        As ``pieces``.

    References
    ----------
    .. [1] Hurlbert, S. H. (1971), Ecology 52, 577-586 (rarefaction).
    .. [2] Colwell, R. K. et al. (2012), J. Plant Ecol. 5, 3-21, equation 9 (extrapolation).
    """
    seen, asked = counts_of(counts), np.atleast_1d(np.asarray(pieces, dtype=np.int64))
    if (asked < 1).any():
        raise InputError("kinds", "pieces", asked.tolist(), "1 or more")
    total, ones = int(seen.sum()), int((seen == 1).sum())
    size, kinds = np.unique(seen, return_counts=True)
    found = np.array([float(kinds @ (1.0 - _missed(total, size, int(some)))) for some in np.minimum(asked, total)])
    unseen = chao1(seen).value - seen.size
    if unseen > 0 and ones:
        found = found + unseen * (1 - (1 - ones / (total * unseen + ones)) ** np.maximum(asked - total, 0))
    return found


@dataclass(frozen=True, eq=False)
class GrowthCurve:
    """
    Kinds against pieces: rarefied below the number at hand, extrapolated to twice as many.

    Parameters
    ----------
    pieces : array of int, shape (n,)
    kinds, low, high : array, shape (n,)
        Expected number of kinds and its interval.
    at_hand : int
        Pieces at hand.
    """

    pieces: NDArray[np.int64]
    kinds: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    at_hand: int


def growth_curve(counts: ArrayLike, *, points: int = 25, level: float = 0.95, draws: int = 100) -> GrowthCurve:
    """
    Rarefaction and extrapolation with bootstrap intervals from a fixed seed.

    References
    ----------
    .. [1] Chao, A. et al. (2014), Ecol. Monogr. 84, 45-67 (curve; bootstrap of the estimated law, appendix G).
    """
    seen = counts_of(counts)
    total = int(seen.sum())
    at = np.unique(np.linspace(1, 2 * total, points).round().astype(np.int64))
    at = np.unique(np.append(at, total))
    middle = expected_kinds(seen, at)
    rng = np.random.default_rng(2)
    drawn = np.array([expected_kinds(draw, at) for draw in rng.multinomial(total, _law(seen), draws)])
    reach = norm.ppf(0.5 + level / 2) * drawn.std(axis=0)
    low, high = np.minimum(np.maximum(middle - reach, 1.0), middle), middle + reach
    for column in (at, middle, low, high):
        column.setflags(write=False)
    return GrowthCurve(at, middle, low, high, total)


def _missed(total: int, size: NDArray[np.int64], pieces: int) -> NDArray[np.float64]:
    """Probability that a kind of ``size`` pieces out of ``total`` is missing from a draw of ``pieces``."""
    left = total - size - pieces
    logs = gammaln(total - size + 1) + gammaln(total - pieces + 1) - gammaln(np.maximum(left, 0) + 1)
    return np.where(left < 0, 0.0, np.exp(logs - gammaln(total + 1)))
