"""The best choices where each fills one gap at most: money is given a rate, and the few doubtful choices are listed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize_scalar

Numbers = NDArray[np.float64]
Places = NDArray[np.intp]

FIRST_DOUBTFUL = 16
MOST_SETS = 500_000
"""With more sets in hand than this the listing is given up: a general solver does better then."""


@dataclass(frozen=True, eq=False)
class Groups:
    """
    Choices in groups, each with a gain that the first choice taken brings, once.

    Parameters
    ----------
    price, worth : array, shape (n,)
        Of the choices, group after group, 0 or more.
    start : array of int, shape (g,)
        Where each group begins.
    gain : array, shape (g,)
        Of the groups, 0 or more.
    one_only : array of bool, shape (g,), optional
        Groups of which at most one choice may be taken; default: none.
    """

    price: Numbers
    worth: Numbers
    start: Places
    gain: Numbers
    one_only: NDArray[np.bool_] | None = None

    @property
    def alone(self) -> NDArray[np.bool_]:
        """Groups of which at most one choice may be taken."""
        return np.zeros(len(self.start), dtype=bool) if self.one_only is None else self.one_only

    @property
    def group(self) -> Places:
        """Group of each choice."""
        return np.repeat(np.arange(len(self.start)), np.diff([*self.start, len(self.price)]))

    def promise(self, rate: float) -> Numbers:
        """The most each group can bring when money costs ``rate`` worth a unit."""
        value = self.worth - rate * self.price
        return self._promise(np.add.reduceat(np.maximum(value, 0), self.start), np.maximum.reduceat(value, self.start))

    def _promise(self, positive: Numbers, best: Numbers) -> Numbers:
        several = np.where(best > 0, positive + self.gain, np.maximum(self.gain + best, 0))
        return np.asarray(np.where(self.alone, np.maximum(self.gain + best, 0), several))

    def losses(self, rate: float) -> tuple[Numbers, NDArray[np.bool_]]:
        """What deciding a choice the other way would lose of its group's promise, and how the promise decides it."""
        value, group = self.worth - rate * self.price, self.group
        positive = np.add.reduceat(np.maximum(value, 0), self.start)
        best = np.maximum.reduceat(value, self.start)
        promise = self._promise(positive, best)
        alone = self.alone[group]
        rest = np.where(alone, 0.0, positive[group] - np.maximum(value, 0))
        taken = self.gain[group] + value + rest
        first = np.zeros(len(value), dtype=bool)
        first[[start + int(np.argmax(part)) for start, part in self._parts(value)]] = True
        second = [np.sort(part)[-2] if len(part) > 1 else -np.inf for _, part in self._parts(value)]
        others = np.where(first, np.asarray(second)[group], best[group])
        one_other = np.maximum(np.where(others > -np.inf, self.gain[group] + others, 0), 0)
        left = np.where((others > 0) & ~alone, rest + self.gain[group], one_other)
        take = taken >= left
        return np.asarray(promise[group] - np.where(take, left, taken)), np.asarray(take)

    def _parts(self, value: Numbers) -> list[tuple[int, Numbers]]:
        ends = [*self.start[1:].tolist(), len(value)]
        return [(int(start), value[start:end]) for start, end in zip(self.start.tolist(), ends, strict=True)]


def most_worth(groups: Groups, budget: float) -> Places | None:
    """
    Places of the choices worth most for at most a budget, the cheapest of several such sets; None if too many to list.

    Notes
    -----
    With money at a rate of worth a unit, what the groups promise plus the rate times the budget bounds every set (the
    Lagrangean bound of one constraint). Deciding a choice otherwise than the promise does loses a known part of that
    bound, so that a set within ``slack`` of the bound differs in choices of small loss only. These are listed, sets
    dearer and no better than another dropped, with a growing slack until one set within it is found: it is proven best.
    """
    if not groups.worth.any() and not groups.gain.any():
        return np.zeros(0, dtype=np.intp)
    top = _dearest(groups)
    rate = _least(lambda mu: mu * budget + float(groups.promise(mu).sum()), top)
    bound = rate * budget + float(groups.promise(rate).sum())
    for slack in _slacks(groups, rate):
        floor = max(bound - slack, 0.0)
        found = _within(groups, rate, slack, budget, floor)
        if found is None:
            return None
        cost, value, places = found
        if len(cost):
            return places(int(np.flatnonzero(value >= value.max() - _tiny(groups))[0]))
    return np.zeros(0, dtype=np.intp)


def least_price(groups: Groups, worth: float) -> Places | None:
    """
    Places of the cheapest choices worth at least so much, which all together are; None if too many to list.

    Notes
    -----
    As `most_worth`, the bound read the other way: no set worth so much can cost less than the groups' promise allows.
    """
    if worth <= 0:
        return np.zeros(0, dtype=np.intp)
    top = _dearest(groups)
    least = 1e-12 * top

    def below(mu: float) -> float:
        return (worth - float(groups.promise(mu).sum())) / max(mu, least)

    rate = max(_least(lambda mu: -below(mu), top), least)
    floor = max(below(rate), 0.0)
    everything = float(groups.price.sum())
    for slack in _slacks(groups, rate):
        found = _within(groups, rate, slack, min(floor + slack / rate, everything), worth)
        if found is None:
            return None
        cost, _, places = found
        if len(cost):
            return places(0)
    return None


def _dearest(groups: Groups) -> float:
    """A rate at which no choice with a price is worth it."""
    cheapest = max(float(groups.price[groups.price > 0].min(initial=1.0)), 1e-9)
    return float(groups.worth.sum() + groups.gain.sum()) / cheapest


def _least(bound: Callable[[float], float], top: float) -> float:
    """The rate at which a bound is least; any rate gives a true bound, so that a rough one only costs time."""
    return float(minimize_scalar(bound, bounds=(0.0, top), method="bounded", options={"xatol": 1e-12 * top}).x)


def _tiny(groups: Groups) -> float:
    return 1e-10 * max(float(groups.worth.max(initial=0)), float(groups.gain.max(initial=0)), 1e-300)


def _slacks(groups: Groups, rate: float) -> list[float]:
    """Growing slacks: the loss of the 16th least certain choice, the 32nd and so on, and at last one that holds all."""
    losses = np.sort(groups.losses(rate)[0])
    steps = [FIRST_DOUBTFUL * 2**i for i in range(20) if FIRST_DOUBTFUL * 2**i < len(losses)]
    everything = float(groups.promise(rate).sum() + rate * groups.price.sum()) + 1.0
    return [*(float(losses[step]) for step in steps), everything]


@dataclass(eq=False)
class _Sets:
    """Sets under way: cost, worth, and the step by which each came about."""

    cost: Numbers
    value: Numbers
    step: Places

    def with_choice(self, price: float, worth: float) -> _Sets:
        return _Sets(self.cost + price, self.value + worth, self.step)

    def only(self, keep: NDArray[np.bool_] | Places) -> _Sets:
        return _Sets(self.cost[keep], self.value[keep], self.step[keep])

    def beside(self, other: _Sets) -> _Sets:
        return _Sets(
            np.concatenate([self.cost, other.cost]),
            np.concatenate([self.value, other.value]),
            np.concatenate([self.step, other.step]),
        )

    def undominated(self, tiny: float) -> _Sets:
        """By rising cost and worth; those dearer and no better than another are dropped."""
        ordered = self.only(np.lexsort((-self.value, self.cost)))
        best_before = np.concatenate([[-np.inf], np.maximum.accumulate(ordered.value)[:-1]])
        return ordered.only(ordered.value > best_before + tiny)


class _Listing:
    """Steps of all sets listed: which choice was added to which earlier set."""

    def __init__(self) -> None:
        self._before = [np.full(1, -1)]
        self._choice = [np.full(1, -1)]
        self._count = 1

    def add(self, sets: _Sets, choice: int) -> _Sets:
        """The same sets with a step that says the choice was added."""
        self._before.append(sets.step)
        self._choice.append(np.full(len(sets.step), choice))
        steps = np.arange(self._count, self._count + len(sets.step))
        self._count += len(sets.step)
        return _Sets(sets.cost, sets.value, steps)

    def choices(self, step: int) -> list[int]:
        """Choices of a set, by its last step."""
        before, choice, found = np.concatenate(self._before), np.concatenate(self._choice), list[int]()
        while step > 0:
            found.append(int(choice[step]))
            step = int(before[step])
        return found


def _within(
    groups: Groups, rate: float, slack: float, cap: float, floor: float
) -> tuple[Numbers, Numbers, Callable[[int], Places]] | None:
    """All undominated sets that cost at most the cap and are worth at least the floor, cheapest first."""
    tiny = _tiny(groups)
    losses, take = groups.losses(rate)
    doubtful, group = losses <= slack + tiny, groups.group
    sure = np.flatnonzero(take & ~doubtful)
    begun = np.zeros(len(groups.gain), dtype=bool)
    begun[group[sure]] = True
    gain = np.where(begun, 0.0, groups.gain)
    listing = _Listing()
    sets = _Sets(
        np.array([groups.price[sure].sum()]),
        np.array([groups.worth[sure].sum() + groups.gain[begun].sum()]),
        np.zeros(1, dtype=np.intp),
    )
    parts = [np.flatnonzero(doubtful & (group == g)).tolist() for g in np.unique(group[doubtful])]
    promises = [_promise_of(groups, part, float(gain[group[part[0]]]), rate) for part in parts]
    order = np.argsort([-max(losses[part]) for part in parts], kind="stable")
    left = float(sum(promises))

    def hopeful(some: _Sets, still: float) -> _Sets:
        kept = some.only(
            (some.cost <= cap * (1 + 1e-12)) & (some.value + rate * (cap - some.cost) + still >= floor - tiny)
        )
        return kept.undominated(0.0 if still else tiny)

    for at in order:
        part, promise = parts[at], promises[at]
        first = float(gain[group[part[0]]])
        without, having = sets, sets.only(np.zeros(0, dtype=np.intp))
        for choice in part:
            price, worth = float(groups.price[choice]), float(groups.worth[choice])
            more = without.with_choice(price, worth + first)
            if not groups.alone[group[choice]]:
                more = more.beside(having.with_choice(price, worth))
            having = having.beside(listing.add(hopeful(more, left), choice))
        left -= promise
        sets = hopeful(without.beside(having), left)
        if len(sets.cost) > MOST_SETS:
            return None
    sets = sets.only(sets.value >= floor - tiny).undominated(tiny)

    def places(number: int) -> Places:
        return np.sort(np.array([*sure.tolist(), *listing.choices(int(sets.step[number]))], dtype=np.intp))

    return sets.cost, sets.value, places


def _promise_of(groups: Groups, part: Sequence[int], gain: float, rate: float) -> float:
    value = groups.worth[list(part)] - rate * groups.price[list(part)]
    best = float(value.max())
    if groups.alone[groups.group[part[0]]]:
        return max(gain + best, 0.0)
    return float(np.maximum(value, 0).sum()) + gain if best > 0 else max(gain + best, 0.0)
