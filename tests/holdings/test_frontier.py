"""The fast way to the best set agrees with HiGHS, a general solver of integer programs, on many drawn shelves."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from weftglass.holdings import Choice, best_plan, next_sum
from weftglass.holdings.frontier import Groups, least_price, most_worth


def drawn(rng: np.random.Generator, number: int, *, alike: bool) -> Groups:
    """Choices in groups of 1 to 4; ``alike``: few different prices and worths, so that many sets tie."""
    start = [0]
    while start[-1] < number:
        start.append(start[-1] + int(rng.integers(1, 5)))
    price = rng.integers(1, 6, number) * 10.0 if alike else rng.integers(100, 40_000, number) / 100
    worth = np.full(number, 0.02) if alike else rng.random(number) * 0.3
    begins = np.array([one for one in start if one < number])
    gain = np.where(rng.random(len(begins)) < 0.6, rng.choice([0.5, 1.0], len(begins)), 0.0)
    one_only = rng.random(len(begins)) < 0.3
    return Groups(price, worth, begins, gain if alike else gain * rng.random(len(begins)), one_only)


def worth_of(groups: Groups, places: np.ndarray) -> float:
    return float(groups.worth[places].sum() + groups.gain[np.unique(groups.group[places])].sum())


def by_highs(groups: Groups, *, budget: float = np.inf, worth: float = 0.0) -> float:
    """The most worth within a budget, or with a worth the least price."""
    number, gaps = len(groups.price), len(groups.gain)
    gain = np.concatenate([groups.worth, groups.gain])
    price = np.concatenate([groups.price, np.zeros(gaps)])
    filled = np.zeros((gaps, number + gaps))
    filled[np.arange(gaps), number + np.arange(gaps)] = 1
    filled[groups.group, np.arange(number)] = -1
    taken = np.zeros((gaps, number + gaps))
    taken[groups.group, np.arange(number)] = 1
    rules = [LinearConstraint(filled, -np.inf, 0), LinearConstraint(taken, 0, np.where(groups.alone, 1, np.inf))]
    rules.append(
        LinearConstraint(gain[None, :], worth, np.inf) if worth else LinearConstraint(price[None, :], 0, budget)
    )
    whole = np.ones(number + gaps)
    found = milp(
        price if worth else -gain, constraints=rules, integrality=whole, bounds=Bounds(0, 1), options={"mip_rel_gap": 0}
    )
    assert found.status == 0
    return float(found.fun) if worth else -float(found.fun)


@pytest.mark.parametrize("alike", [False, True], ids=["all different", "many ties"])
@pytest.mark.parametrize("seed", range(12))
def test_the_listing_agrees_with_highs(seed: int, alike: bool) -> None:
    rng = np.random.default_rng(seed)
    groups = drawn(rng, int(rng.integers(1, 30)), alike=alike)
    budget = float(rng.random() * groups.price.sum())
    best = most_worth(groups, budget)
    assert best is not None
    assert groups.price[best].sum() <= budget + 1e-9
    assert all(np.bincount(groups.group[best], minlength=len(groups.gain))[groups.alone] <= 1)
    np.testing.assert_allclose(worth_of(groups, best), by_highs(groups, budget=budget), atol=2e-6)
    wanted = float(rng.random() * groups.promise(0.0).sum())
    cheapest = least_price(groups, wanted)
    assert cheapest is not None
    assert worth_of(groups, cheapest) >= wanted - 1e-9
    np.testing.assert_allclose(groups.price[cheapest].sum(), by_highs(groups, worth=wanted), atol=0.005)


def test_of_sets_worth_the_same_the_cheapest_is_taken() -> None:
    groups = Groups(np.array([30.0, 20.0, 25.0]), np.full(3, 1.0), np.array([0, 1, 2]), np.zeros(3))
    best = most_worth(groups, 50.0)
    assert best is not None
    assert best.tolist() == [1, 2]


def test_nothing_is_bought_for_nothing_or_when_nothing_is_worth_anything() -> None:
    groups = Groups(np.array([30.0, 20.0]), np.zeros(2), np.array([0, 1]), np.zeros(2))
    for places in (most_worth(groups, 100.0), least_price(groups, 0.0)):
        assert places is not None
        assert places.size == 0


def test_gifts_are_always_taken() -> None:
    assert [one.id for one in best_plan([Choice("a", 0, 1), Choice("b", 5, 1)], 0).chosen] == ["a"]


def test_a_plan_is_the_same_whether_or_not_the_choices_fall_into_groups() -> None:
    """A choice that has a mark and fills a gap sends the same shelf to HiGHS, though the mark excludes nothing."""
    rng = np.random.default_rng(3)
    plain = [
        Choice(str(i), float(rng.integers(5, 60)), float(rng.integers(1, 9)), (f"gap {rng.integers(8)}",))
        for i in range(25)
    ]
    marked = [Choice(one.id, one.price, one.worth, one.fills, "alone") if one.id == "0" else one for one in plain]
    gaps = {f"gap {i}": float(rng.integers(0, 20)) for i in range(8)}
    fast, general = best_plan(plain, 200, gaps), best_plan(marked, 200, gaps)
    assert (fast.worth, fast.proven, general.proven) == (general.worth, True, True)
    one, other = next_sum(plain, 200, gaps), next_sum(marked, 200, gaps)
    assert [(step.more, step.gain) for step in one] == [(step.more, step.gain) for step in other]


def test_next_sums_may_be_asked_to_be_worth_the_while() -> None:
    choices = [Choice(str(i), 10.0 + i, 1.0 + i / 100) for i in range(9)]
    now = best_plan(choices, 30)
    steps = next_sum(choices, 30, least_gain=1.0, now=now)
    assert [len(step.plan.chosen) - len(now.chosen) for step in steps] == [1, 2, 3]
