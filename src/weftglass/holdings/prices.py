"""A price range from comparable sales: robust regression on one's own price records, refusing with too few."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp, log

import numpy as np
from numpy.typing import NDArray

from weftglass.errors import InputError
from weftglass.holdings.money import in_money_of
from weftglass.holdings.unseen import Estimate

Numbers = NDArray[np.float64]

FEWEST = 12
"""Fewest price records for a range (working figure, no source); an interval of 80 % from leaving one out needs 9."""
PER_TRAIT = 6
"""Records that a trait's value must have, with it and without it, to be given a weight of its own (working figure)."""
HUBER = 1.345
"""Of residual sd: 95 % efficient on normal errors (Huber 1981, Robust Statistics)."""
RIDGE = 1.0
"""Pull of each trait's weight towards none, in records (working figure)."""


@dataclass(frozen=True)
class Sale:
    """
    A price that was paid or asked and met.

    Parameters
    ----------
    piece : str
        Its id or a description.
    amount : float
        Above 0, in the money of its year.
    year : int
    traits : dict
        Term to value (community, form, condition, signed).
    """

    piece: str
    amount: float
    year: int
    traits: Mapping[str, str]


@dataclass(frozen=True)
class PriceRange:
    """
    What a piece with such traits would cost.

    Parameters
    ----------
    amount : Estimate
        Middle and 80 % prediction interval, in the money of ``of_year``.
    of_year : int
    records : int
        Price records it rests on.
    used : tuple of (str, str, float)
        Traits that had enough records: term, value, and the factor on the price.
    nearest : tuple of str
        The most comparable records, best first, at most five.
    """

    amount: Estimate
    of_year: int
    records: int
    used: tuple[tuple[str, str, float], ...]
    nearest: tuple[str, ...]


@dataclass(frozen=True)
class TooFew:
    """No price range: why, in words."""

    reason: str


def price_range(
    sales: Sequence[Sale], traits: Mapping[str, str], *, of_year: int, level: float = 0.8
) -> PriceRange | TooFew:
    """
    What a piece with such traits would cost, from one's own records.

    Parameters
    ----------
    sales : sequence of Sale
    traits : dict
        Term to value of the piece in question.
    of_year : int
        Year of the money of the answer.
    level : float
        Of the prediction interval, 0.5 to 0.95.

    Returns
    -------
    PriceRange or TooFew
        `TooFew` with fewer than 12 records.

    Notes
    -----
    Log prices in constant money are fitted by Huber's M-estimator with a small ridge; the interval is the jackknife+ of
    the residuals left out (Barber, Candes, Ramdas and Tibshirani 2021, Ann. Statist. 49, 486-507), which asks no law of
    them. Its promise (at least 2 level - 1, in practice about the level) holds for pieces like those on record.
    """
    for sale in sales:
        if not sale.amount > 0:
            raise InputError(f"price of {sale.piece}", "amount", sale.amount, "more than 0")
    if len(sales) < FEWEST:
        return TooFew(f"{len(sales)} price records; at least {FEWEST} are needed before a range means anything.")
    values = np.array([log(in_money_of(sale.amount, sale.year, of_year)) for sale in sales])
    terms = _telling(sales, traits)
    design = np.array([[sale.traits.get(term) == traits[term] for term in terms] for sale in sales], dtype=float)
    design = design.reshape(len(sales), len(terms))
    weights, middle = robust_fit(design, values)
    ones = np.ones(len(terms))
    low, high = _jackknife_plus(design, values, ones, level)
    amount = float(middle + weights @ ones)
    used = tuple((term, traits[term], exp(weight)) for term, weight in zip(terms, weights, strict=True))
    estimate = Estimate(exp(amount), exp(min(low, amount)), exp(max(high, amount)), level)
    return PriceRange(estimate, of_year, len(sales), used, _nearest(sales, traits))


def _telling(sales: Sequence[Sale], traits: Mapping[str, str]) -> list[str]:
    """Traits of the piece that enough records have and enough lack."""
    counted = {term: sum(sale.traits.get(term) == value for sale in sales) for term, value in traits.items() if value}
    return [term for term, count in counted.items() if min(count, len(sales) - count) >= PER_TRAIT]


def _nearest(sales: Sequence[Sale], traits: Mapping[str, str]) -> tuple[str, ...]:
    shared = [(sum(sale.traits.get(term) == value for term, value in traits.items()), sale) for sale in sales]
    best = sorted((one for one in shared if one[0]), key=lambda one: (-one[0], -one[1].year, one[1].piece))
    return tuple(sale.piece for _, sale in best[:5])


def robust_fit(design: Numbers, values: Numbers, *, ridge: float = RIDGE, turns: int = 40) -> tuple[Numbers, float]:
    """
    Huber's M-estimator with an intercept.

    Parameters
    ----------
    design : array, shape (n, k)
        k may be 0.
    values : array, shape (n,)
    ridge : float
        0 for none.
    turns : int
        Most reweightings; it stops when nothing moves by 1e-10.

    Returns
    -------
    weights : array, shape (k,)
    intercept : float
        With ``ridge`` 0 and no outliers this is ordinary least squares.
    """
    found = _fits(design, values, np.ones((1, len(values))), ridge, turns)[0]
    return found[1:], float(found[0])


def _fits(design: Numbers, values: Numbers, kept: Numbers, ridge: float = RIDGE, turns: int = 40) -> Numbers:
    """Huber fits of several selections of the records at once: ``kept`` is 1 or 0, shape (m, n); intercept first."""
    full = np.column_stack([np.ones(len(values)), design])
    size = full.shape[1]
    products = (full[:, :, None] * full[:, None, :]).reshape(len(full), size * size)
    pull = np.diag([0.0] + [ridge] * design.shape[1])
    trust, found = kept, np.zeros((len(kept), full.shape[1]))
    for _ in range(turns):
        weighted = (trust @ products).reshape(-1, size, size) + pull
        following = np.linalg.solve(weighted, ((trust * values) @ full)[..., None])[..., 0]
        moved = float(np.abs(following - found).max())
        found = following
        if moved < 1e-7:
            break
        residual = values - found @ full.T
        spread = _middles(np.abs(residual - _middles(residual, kept)), kept) / 0.6745
        trust = kept * np.minimum(1.0, HUBER * np.maximum(spread, 1e-12) / np.maximum(np.abs(residual), 1e-300))
    return found


def _middles(values: Numbers, kept: Numbers) -> Numbers:
    """Median of each row's values that are kept, shape (m, 1)."""
    ordered = np.sort(np.where(kept > 0, values, np.inf), axis=1)
    number = np.count_nonzero(kept, axis=1)[:, None]
    ends = [np.take_along_axis(ordered, at, axis=1) for at in ((number - 1) // 2, number // 2)]
    return np.asarray((ends[0] + ends[1]) / 2)


def _jackknife_plus(design: Numbers, values: Numbers, asked: Numbers, level: float) -> tuple[float, float]:
    number = len(values)
    found = _fits(design, values, 1.0 - np.eye(number))
    guess = found[:, 0] + found[:, 1:] @ asked
    miss = np.abs(values - found[:, 0] - np.sum(found[:, 1:] * design, axis=1))
    at = min(int(np.ceil(level * (number + 1))), number)
    return float(np.sort(guess - miss)[number - at]), float(np.sort(guess + miss)[at - 1])
