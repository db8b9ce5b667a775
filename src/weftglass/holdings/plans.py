"""The best set of pieces for a sum of money, proven best by a solver."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from weftglass.errors import InputError
from weftglass.holdings.frontier import Groups, least_price, most_worth

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
    An integer program, solved by HiGHS through SciPy to a gap of zero; where every choice fills one gap at most, or
    stands in one group of which one makes sense, it is solved by `weftglass.holdings.frontier`, which for hundreds of
    offers is faster by far. Ties go to the cheaper set.

    Examples
    --------
    >>> plan = best_plan([Choice("a", 60, 5), Choice("b", 50, 4), Choice("c", 50, 4)], 100)
    >>> [choice.id for choice in plan.chosen], plan.worth
    (['b', 'c'], 8.0)
    """
    _look(choices, budget, gaps or {})
    return _best(_Program.of(choices, gaps or {}), budget)


def _best(program: _Program, budget: float) -> Plan:
    if not program.choices:
        return program.plan(np.zeros(0, dtype=np.intp), True)
    if program.groups is not None:
        places = most_worth(program.groups, budget)
        if places is not None:
            return program.plan(program.order[places], True)
    number = len(program.choices)
    gain = np.concatenate([program.worth, program.gains])
    cost = -gain
    cost[:number] += _tie_breaker(gain, program.price)
    taken, proven = _solved(cost, program.rules(budget), number)
    return program.plan(taken, proven)


def _look(choices: Sequence[Choice], budget: float, worths: Mapping[str, float]) -> None:
    if not (np.isfinite(budget) and budget >= 0):
        raise InputError("plan", "budget", budget, "0 or more")
    seen = set[str]()
    for choice in choices:
        if choice.id in seen:
            raise InputError("plan", "id", choice.id, "an id given once")
        seen.add(choice.id)
        for field, value in (("price", choice.price), ("worth", choice.worth)):
            if not (np.isfinite(value) and value >= 0):
                raise InputError(f"choice {choice.id}", field, value, "0 or more")
    for gap, value in worths.items():
        if not (np.isfinite(value) and value >= 0):
            raise InputError(f"gap {gap}", "worth", value, "0 or more")


@dataclass(frozen=True, eq=False)
class _Program:
    """Choices and gaps as numbers; gaps that the same choices fill are one, those that none fills are left out."""

    choices: Sequence[Choice]
    worths: Mapping[str, float]
    price: Numbers
    worth: Numbers
    fillers: tuple[tuple[int, ...], ...]
    gains: Numbers
    order: NDArray[np.intp]
    groups: Groups | None

    @classmethod
    def of(cls, choices: Sequence[Choice], worths: Mapping[str, float]) -> _Program:
        filled: dict[str, list[int]] = {}
        for number, choice in enumerate(choices):
            for gap in dict.fromkeys(choice.fills):
                if worths.get(gap, 0.0) > 0:
                    filled.setdefault(gap, []).append(number)
        gains: dict[tuple[int, ...], float] = {}
        for gap, by in filled.items():
            gains[tuple(by)] = gains.get(tuple(by), 0.0) + worths[gap]
        price = np.array([choice.price for choice in choices], dtype=float)
        worth = np.array([choice.worth for choice in choices], dtype=float)
        order, groups = _grouped(choices, price, worth, gains)
        return cls(choices, worths, price, worth, tuple(gains), np.array(list(gains.values())), order, groups)

    def plan(self, places: NDArray[np.intp], proven: bool) -> Plan:
        """The plan of the choices at these places."""
        chosen = tuple(self.choices[int(i)] for i in np.sort(places))
        some = {gap for choice in chosen for gap in choice.fills}
        filled = tuple(gap for gap in self.worths if gap in some)
        worth = sum(choice.worth for choice in chosen) + sum(self.worths[gap] for gap in filled)
        return Plan(chosen, float(self.price[places].sum()), float(worth), filled, proven)

    def rules(self, budget: float) -> LinearConstraint:
        """The budget, that a gap is filled by a choice only, and what excludes each other."""
        number, size = len(self.choices), len(self.choices) + len(self.fillers)
        rows: list[dict[int, float]] = [dict(enumerate(self.price.tolist()))]
        limits = [budget]
        for j, by in enumerate(self.fillers):
            rows.append({number + j: 1.0} | dict.fromkeys(by, -1.0))
            limits.append(0.0)
        for mark in sorted({choice.instead_of for choice in self.choices if choice.instead_of}):
            rows.append({i: 1.0 for i, choice in enumerate(self.choices) if choice.instead_of == mark})
            limits.append(1.0)
        at = [(row, column, value) for row, entries in enumerate(rows) for column, value in entries.items()]
        where = ([row for row, _, _ in at], [column for _, column, _ in at])
        matrix = csr_array(([value for _, _, value in at], where), shape=(len(rows), size))
        return LinearConstraint(matrix, -np.inf, np.array(limits))


def _grouped(
    choices: Sequence[Choice], price: Numbers, worth: Numbers, gains: Mapping[tuple[int, ...], float]
) -> tuple[NDArray[np.intp], Groups | None]:
    """Choices in the order of groups, and the groups; None where one choice belongs to two."""
    filling = [number for by in gains for number in by]
    marked: dict[str, list[int]] = {}
    for number, choice in enumerate(choices):
        if choice.instead_of:
            marked.setdefault(choice.instead_of, []).append(number)
    exclusive = [number for by in marked.values() for number in by]
    lone = sorted(set(range(len(choices))) - {*filling, *exclusive})
    order = np.array([*filling, *exclusive, *lone], dtype=np.intp)
    if not choices or len(order) > len(choices):
        return order, None
    sizes = [*map(len, gains), *map(len, marked.values()), *(1 for _ in lone)]
    gain = np.array([*gains.values(), *(0.0 for _ in marked), *(0.0 for _ in lone)])
    one_only = np.array([False] * len(gains) + [True] * len(marked) + [False] * len(lone))
    return order, Groups(price[order], worth[order], np.cumsum([0, *sizes])[:-1], gain, one_only)


def _tie_breaker(gain: Numbers, price: Numbers) -> Numbers:
    """A cost so small that it decides between equals only: all together less than a millionth of the least worth."""
    least = gain[gain > 0].min() if (gain > 0).any() else 1.0
    return np.asarray(1e-6 * least * price / max(float(price.sum()), 1e-12))


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
    choices: Sequence[Choice],
    budget: float,
    gaps: Mapping[str, float] | None = None,
    *,
    steps: int = 3,
    least_gain: float = 0.0,
    now: Plan | None = None,
) -> tuple[Step, ...]:
    """
    The smallest sums beyond the budget at which a better set comes within reach, with these sets.

    Parameters
    ----------
    steps : int
        How many such sums at most.
    least_gain : float
        How much more each set should be worth than the one before; 0: any more at all.
    now : Plan, optional
        The best plan within the budget where it is known already.

    Notes
    -----
    Each is the solution of a second program: the cheapest set worth so much more than the plan before it.
    """
    worths = dict(gaps or {})
    _look(choices, budget, worths)
    program = _Program.of(choices, worths)
    now = now or _best(program, budget)
    plan, found = now, list[Step]()
    while len(found) < steps:
        least = _cheapest(program, plan.worth + max(least_gain, 1e-6 * max(1.0, plan.worth)))
        if least is None:
            break
        plan = _best(program, least)
        found.append(Step(max(plan.cost - budget, 0.0), plan, plan.worth - now.worth))
    return tuple(found)


def _cheapest(program: _Program, worth: float) -> float | None:
    """Cost of the cheapest set worth so much; None where there is none."""
    if program.groups is not None:
        if float(program.groups.promise(0.0).sum()) < worth:
            return None
        places = least_price(program.groups, worth)
        if places is not None:
            return float(program.price[program.order[places]].sum())
    if not program.choices:
        return None
    number = len(program.choices)
    gain = np.concatenate([program.worth, program.gains])
    price = np.concatenate([program.price, np.zeros(len(program.gains))])
    rules = [program.rules(float(price.sum())), LinearConstraint(gain[None, :], worth, np.inf)]
    taken, proven = _solved(price, rules, number)
    return float(program.price[taken].sum()) if proven else None


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
    taken, proven = _solved(np.ones(len(choices)), LinearConstraint(rows, 1, np.inf), len(choices))
    chosen = tuple(choices[int(i)] for i in taken)
    return Plan(chosen, float(sum(c.price for c in chosen)), float(len(gaps)), tuple(gaps), proven)


def _solved(
    cost: Numbers, constraints: LinearConstraint | list[LinearConstraint], number: int
) -> tuple[NDArray[np.intp], bool]:
    """
    Which of the first ``number`` unknowns are taken at the least cost, and whether that is proven; none if impossible.

    Those unknowns are 0 or 1, the others (gaps) between 0 and 1: a gap's is whole once the choices' are.
    """
    whole = np.concatenate([np.ones(number, dtype=np.int64), np.zeros(len(cost) - number, dtype=np.int64)])
    result = milp(cost, constraints=constraints, integrality=whole, bounds=Bounds(0, 1), options={"mip_rel_gap": 0.0})
    taken = np.zeros(0) if result.x is None else np.round(result.x[:number])
    return np.flatnonzero(taken == 1), bool(result.status == 0)
