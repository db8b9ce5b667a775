"""Combining year curves: one cause counts once, a works may run ahead of the trade, forms keep their own years."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import product

import numpy as np
from numpy.typing import ArrayLike

from weftglass.dating.item import Item
from weftglass.dating.years import LAST_YEAR, YEARS, FloatArray, lagging, normal, not_after, soft_range, usual_mean
from weftglass.errors import InputError

PRIOR_FROM = 1500  # no covered glass before; working figure, no source
SURVIVING_FROM, LOST_YEARS = 1800, 70.0  # older vessels are rarer, e-folding in years; working figure, no source
MOST_ALIKE = 8  # items of one cause weighed together; more than that add nothing
WORKS_LAG_YEARS = 2.0  # how far a works runs behind the trade's published years; working figure, no source
OF_TRADE = frozenset({"making", "share", "material"})  # kinds whose years are the trade's, not a decree's
FORM_SOFT_YEARS = 6.0  # how far beyond its published years a form was still made; working figure, no source
FORM_LEFT = 0.01  # share of a form's vessels made outside its published years; working figure, no source
BY_IDENTIFICATION = frozenset({"finish", "closure", "colour", "base", "letters", "section", "contents", "seller"})


def prior_years(until: int = LAST_YEAR) -> FloatArray:
    """Years of vessels that are left: alike from `SURVIVING_FROM`, rarer before, none after ``until``; sums to 1."""
    left = np.exp(-np.clip(SURVIVING_FROM - YEARS, 0, None) / LOST_YEARS)
    return normal(left * ((YEARS >= PRIOR_FROM) & (until >= YEARS)))


def together(items: Iterable[Item]) -> FloatArray:
    """
    Joint likelihood of items over the years, (Y,), up to a factor.

    Notes
    -----
    Items of one cause come from one change in making (a machine leaves a seam over the lip and a scar on the base
    alike): they are taken as fully dependent, so among those that were seen rightly the least likely counts in each
    year; a second sighting of the same change makes it surer that the eye was right, not the date closer. Causes are
    independent given the year. The years of the trade are blurred with the freedom of one works, once for all of them
    together, so that ten diagnostics of the trade never date a vessel more closely than a works keeps to it; decrees
    and written dates are not blurred.
    """
    trade, exact = np.ones(len(YEARS)), np.ones(len(YEARS))
    by_cause: dict[str, list[Item]] = {}
    for item in items:
        by_cause.setdefault(item.cause, []).append(item)
    any_trade = False
    for alike in by_cause.values():
        curve = one_change(alike)
        if alike[0].kind in OF_TRADE:
            trade, any_trade = trade * curve, True
        else:
            exact = exact * curve
    return np.asarray((lagging(trade, WORKS_LAG_YEARS) if any_trade else trade) * exact)


def one_change(alike: Sequence[Item]) -> FloatArray:
    """
    Joint likelihood of items that come from one change, (Y,).

    Each was seen rightly or wrongly by itself; of those seen rightly the least likely counts. What reads the same is
    one item, as sure as its surest sighting.
    """
    surest: dict[str, Item] = {}
    for item in sorted(alike, key=lambda one: -one.sure):
        surest.setdefault(item.means, item)
    kept = list(surest.values())[:MOST_ALIKE]
    total = np.zeros(len(YEARS))
    for right in product((True, False), repeat=len(kept)):
        chance = float(np.prod([one.sure if seen else 1.0 - one.sure for one, seen in zip(kept, right, strict=True)]))
        wrong = [usual_mean(one.curve) for one, seen in zip(kept, right, strict=True) if not seen]
        curves = [one.curve for one, seen in zip(kept, right, strict=True) if seen]
        total += chance * float(np.prod(wrong)) * (np.min(curves, axis=0) if curves else 1.0)
    return total


def form_years(ranges: Sequence[tuple[float, float] | None], probabilities: ArrayLike) -> FloatArray:
    """
    Year weights of the forms that may be inside.

    Parameters
    ----------
    ranges : sequence of (from, to) or None
        Years of making of each of F forms; None: not known, all years alike.
    probabilities : array (F,)
        Of each form, from 0.

    Returns
    -------
    array (F, Y)
        Row f sums to the form's probability; soft at both ends, a little left outside.
    """
    share = np.asarray(probabilities, dtype=np.float64)
    if share.shape != (len(ranges),) or (share < 0).any():
        raise InputError("dating", "probabilities", share.shape, f"{len(ranges)} probabilities from 0")
    rows = np.empty((len(ranges), len(YEARS)))
    for i, years in enumerate(ranges):
        row = prior_years()
        if years is not None:
            soft = soft_range(years[0] - FORM_SOFT_YEARS, years[0], years[1], years[1] + FORM_SOFT_YEARS, "low")
            row = (1.0 - FORM_LEFT) * normal(soft) + FORM_LEFT * row
        rows[i] = share[i] * row
    return rows


def glass_curve(items: Sequence[Item], forms: FloatArray | None, until: int = LAST_YEAR) -> FloatArray:
    """
    Year curve of the glass, sums to 1.

    Parameters
    ----------
    items : sequence of Item
        Of the glass.
    forms : array (F, Y) or None
        As `form_years`; the probabilities already rest on the sightings that identification uses.
    until : int
        Nothing is later.

    Notes
    -----
    A form's probability has already taken in the lip, closure, colour and base; those sightings therefore only choose
    the years *within* each form, and the forms are weighed anew only by what identification did not use (seams, marks,
    statements). With F forms f, years t, used sightings u and others o:
    p(t) = sum_f p(f | u) p(o | f, u) p(t | f, u, o).
    """
    cap = not_after(until, within=0.0, floor=1e-12) * (until >= YEARS)
    every = together(items) * cap
    if forms is None:
        return normal(prior_years(until) * every)
    used = together([item for item in items if item.feature in BY_IDENTIFICATION]) * cap
    share = forms.sum(axis=1)
    with_used, with_all = forms @ used, forms @ every
    keep = (with_used > 0) & (with_all > 0)
    weight = np.where(keep, share * with_all / np.where(keep, with_used, 1.0), 0.0)
    rows = forms * every
    curve = (weight[keep] / with_all[keep]) @ rows[keep]
    return normal(curve)
