"""The best set of pieces for a sum of money, proven best by a solver."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from weftglass.errors import InputError

Numbers = NDArray[np.float64]


@dataclass(frozen=True)
class Choice:
    """
    Something that could be bought.

    Parameters
    ----------
    id : str
    price : float
        What it would cost, 0 or more.
    worth : float
        What it is worth by itself, 0 or more, in any unit shared by all choices.
    fills : tuple of str
        Gaps of the collection it would fill; a gap counts once, however many choices fill it.
    instead_of : str
        A mark shared by choices of which at most one makes sense (two offers of the same piece); empty for none.
    """

    id: str
    price: float
    worth: float = 0.0
    fills: tuple[str, ...] = ()
    instead_of: str = ""


@dataclass(frozen=True)
class Plan:
    """
    The best set for a sum.

    Parameters
    ----------
    chosen : tuple of Choice
        What to buy, in the order given.
    cost, worth : float
        Of the set; ``worth`` counts every filled gap once.
    filled : tuple of str
        Gaps it fills.
    proven : bool
        The solver proved that no set is worth more.
    """

    chosen: tuple[Choice, ...]
    cost: float
    worth: float
    filled: tuple[str, ...]
    proven: bool


def best_plan(choices: Sequence[Choice], budget: float, gaps: Mapping[str, float] | None = None) -> Plan:
    """
    The set of choices worth most for at most a sum.

    Parameters
    ----------
    choices : sequence of Choice
        With different ids.
    budget : float
        0 or more.
    gaps : dict, optional
        Gap to its worth, 0 or more; gaps not named are worth nothing.

    Raises
    ------
    InputError
        For a price, worth or budget below 0 or not finite, or an id given twice.

    Notes
    -----
    Solved as an integer program by HiGHS through SciPy, to a gap of zero; ties go to the cheaper set.

    Examples
    --------
    >>> plan = best_plan([Choice("a", 60, 5), Choice("b", 50, 4), Choice("c", 50, 4)], 100)
    >>> [choice.id for choice in plan.chosen], plan.worth
    (['b', 'c'], 8.0)
    """
    worths = dict(gaps or {})
    _look(choices, budget, worths)
    wanted = [gap for gap in worths if any(gap in choice.fills for choice in choices)]
    if not choices:
        return Plan((), 0.0, 0.0, (), True)
    number = len(choices)
    gain = np.array([choice.worth for choice in choices] + [worths[gap] for gap in wanted], dtype=float)
    price = np.array([choice.price for choice in choices])
    cost = -gain
    cost[:number] += _tie_breaker(gain, price)
    taken, proven = _solved(cost, _constraints(choices, wanted, budget))
    taken = taken[taken < number]
    chosen = tuple(choices[int(i)] for i in taken)
    filled = tuple(gap for gap in wanted if any(gap in choice.fills for choice in chosen))
    worth = sum(choice.worth for choice in chosen) + sum(worths[gap] for gap in filled)
    return Plan(chosen, float(price[taken].sum()), float(worth), filled, proven)


def _look(choices: Sequence[Choice], budget: float, worths: Mapping[str, float]) -> None:
    if not (np.isfinite(budget) and budget >= 0):
        raise InputError("plan", "budget", budget, "0 or more")
    ids = [choice.id for choice in choices]
    for choice in choices:
        if ids.count(choice.id) > 1:
            raise InputError("plan", "id", choice.id, "an id given once")
        for field, value in (("price", choice.price), ("worth", choice.worth)):
            if not (np.isfinite(value) and value >= 0):
                raise InputError(f"choice {choice.id}", field, value, "0 or more")
    for gap, value in worths.items():
        if not (np.isfinite(value) and value >= 0):
            raise InputError(f"gap {gap}", "worth", value, "0 or more")


def _tie_breaker(gain: Numbers, price: Numbers) -> Numbers:
    """A cost so small that it decides between equals only: all together less than a millionth of the least worth."""
    least = gain[gain > 0].min() if (gain > 0).any() else 1.0
    return np.asarray(1e-6 * least * price / max(float(price.sum()), 1e-12))


def _constraints(choices: Sequence[Choice], wanted: Sequence[str], budget: float) -> LinearConstraint:
    number, size = len(choices), len(choices) + len(wanted)
    rows: list[dict[int, float]] = [{i: choice.price for i, choice in enumerate(choices)}]
    limits = [budget]
    for j, gap in enumerate(wanted):
        rows.append({number + j: 1.0} | {i: -1.0 for i, choice in enumerate(choices) if gap in choice.fills})
        limits.append(0.0)
    for mark in sorted({choice.instead_of for choice in choices if choice.instead_of}):
        rows.append({i: 1.0 for i, choice in enumerate(choices) if choice.instead_of == mark})
        limits.append(1.0)
    at = [(row, column, value) for row, entries in enumerate(rows) for column, value in entries.items()]
    matrix = csr_array(([v for _, _, v in at], ([r for r, _, _ in at], [c for _, c, _ in at])), shape=(len(rows), size))
    return LinearConstraint(matrix, -np.inf, np.array(limits))


@dataclass(frozen=True)
class Step:
    """
    What the next sum would buy.

    Parameters
    ----------
    more : float
        Money beyond the budget.
    plan : Plan
        The best set with it.
    gain : float
        Worth beyond the plan within the budget.
    """

    more: float
    plan: Plan
    gain: float


def next_sum(
    choices: Sequence[Choice], budget: float, gaps: Mapping[str, float] | None = None, *, steps: int = 3
) -> tuple[Step, ...]:
    """
    The smallest sums beyond the budget at which a better set comes within reach, with these sets.

    Parameters
    ----------
    steps : int
        How many such sums at most.

    Notes
    -----
    Each is the solution of a second integer program: the cheapest set worth more than the plan before it.
    """
    worths = dict(gaps or {})
    now = best_plan(choices, budget, worths)
    plan, found = now, list[Step]()
    while len(found) < steps:
        least = _cheapest_beyond(choices, worths, plan.worth)
        if least is None:
            break
        plan = best_plan(choices, least, worths)
        found.append(Step(max(plan.cost - budget, 0.0), plan, plan.worth - now.worth))
    return tuple(found)


def _cheapest_beyond(choices: Sequence[Choice], worths: Mapping[str, float], worth: float) -> float | None:
    """Cost of the cheapest set worth more than a plan; None where there is none."""
    wanted = [gap for gap in worths if any(gap in choice.fills for choice in choices)]
    gain = np.array([choice.worth for choice in choices] + [worths[gap] for gap in wanted], dtype=float)
    price = np.array([choice.price for choice in choices] + [0.0] * len(wanted))
    if not choices:
        return None
    rules = _constraints(choices, wanted, float(price.sum()))
    beyond = LinearConstraint(gain[None, :], worth + 1e-6 * max(1.0, worth), np.inf)
    taken, proven = _solved(price, [rules, beyond])
    return float(price[taken].sum()) if proven else None


def fewest_covering(choices: Sequence[Choice], gaps: Sequence[str]) -> Plan:
    """
    The fewest choices that together fill every gap.

    Raises
    ------
    InputError
        If a gap is filled by none.
    """
    for gap in gaps:
        if not any(gap in choice.fills for choice in choices):
            raise InputError("plan", "gap", gap, "a gap that at least one choice fills")
    rows = np.array([[gap in choice.fills for choice in choices] for gap in gaps], dtype=float)
    taken, proven = _solved(np.ones(len(choices)), LinearConstraint(rows, 1, np.inf))
    chosen = tuple(choices[int(i)] for i in taken)
    return Plan(chosen, float(sum(c.price for c in chosen)), float(len(gaps)), tuple(gaps), proven)


def _solved(cost: Numbers, constraints: LinearConstraint | list[LinearConstraint]) -> tuple[NDArray[np.intp], bool]:
    """Which unknowns of 0 or 1 are 1 at the least cost, and whether that is proven; none where no choice is allowed."""
    whole = np.ones(len(cost), dtype=np.int64)
    result = milp(cost, constraints=constraints, integrality=whole, bounds=Bounds(0, 1), options={"mip_rel_gap": 0.0})
    taken = np.zeros(0) if result.x is None else np.round(result.x)
    return np.flatnonzero(taken == 1), bool(result.status == 0)
