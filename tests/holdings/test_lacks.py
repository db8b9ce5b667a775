"""What a collection lacks and what to buy: wants, prices, plans, values."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from weftglass.errors import InputError
from weftglass.holdings import (
    Choice,
    CrossTable,
    Holding,
    PriceRange,
    Sale,
    TooFew,
    Value,
    best_plan,
    cross,
    fewest_covering,
    in_money_of,
    is_stale,
    merit,
    next_sum,
    price_range,
    totals,
    turns_up,
    wants,
)


def table(*cells: tuple[str, str, int]) -> CrossTable:
    terms = [{"community": row, "form": column} for row, column, count in cells for _ in range(count)]
    return cross([Holding(f"p-{i}", one) for i, one in enumerate(terms)], "community", "form")


def test_wants_ranks_empty_cells_by_what_is_met() -> None:
    held = table(("A", "flask", 3), ("B", "jar", 2))
    met = table(("A", "flask", 5), ("B", "jar", 4), ("A", "jar", 6), ("B", "flask", 1))
    first, second = wants(held, met)
    assert (first.row, first.column, first.worth) == ("A", "jar", 1.0)
    assert (second.row, second.column) == ("B", "flask")
    assert first.turns_up > second.turns_up
    assert first.share.low < 6 / 16 < first.share.high


def test_one_of_each_wants_whole_rows() -> None:
    held, met = table(("A", "flask", 1)), table(("A", "flask", 1), ("B", "jar", 2))
    (only,) = wants(held, met, objective="rows")
    assert (only.row, only.column, only.held) == ("B", "", 0)


def test_the_mirror_wants_what_is_too_few_not_only_what_is_missing() -> None:
    held = table(("A", "flask", 9), ("B", "jar", 1))
    met = table(("A", "flask", 10), ("B", "jar", 10))
    assert wants(held, met, objective="mirror")[0].row == "B"


def test_what_a_gap_gains_is_a_share_of_what_is_met_with_its_range() -> None:
    """Of pairs, the share met itself; of shares out there, what is short of it; of examples, times what is missing."""
    held = table(("A", "flask", 1), ("B", "jar", 1))
    met = table(("A", "flask", 4), ("B", "jar", 4), ("A", "jar", 4), ("B", "flask", 4))
    for one in wants(held, met):
        assert one.gain == one.share
    for one in wants(held, met, objective="mirror"):
        lag = one.held / 2
        assert one.gain.value == pytest.approx(one.share.value - lag)
        assert (one.gain.low, one.gain.high) == pytest.approx((one.share.low - lag, one.share.high - lag))
    poor = merit({}, "danger", 0.25)
    (flask,) = (
        one
        for one in wants(held, met, objective="best", best={("A", "flask"): poor})
        if one.held and (one.row, one.column) == ("A", "flask")
    )
    assert flask.gain.high == pytest.approx(flask.share.high * (1 - poor.value))
    assert 0 < flask.gain.low < flask.gain.value < flask.gain.high


def test_the_best_examples_are_wanted_where_the_best_held_is_poor_or_none_is() -> None:
    """Three pairs met alike often: none held before a poor one, a poor one before a good one."""
    held = table(("A", "flask", 1), ("B", "jar", 1))
    met = table(("A", "flask", 4), ("B", "jar", 4), ("A", "jar", 4), ("B", "flask", 4))
    poor, good = merit({}, "danger", 0.25), merit({"signed": "yes", "dated": "yes"}, "sound", 0.25)
    found = wants(held, met, objective="best", best={("A", "flask"): poor, ("B", "jar"): good})
    assert [(one.row, one.column) for one in found] == [("A", "jar"), ("B", "flask"), ("A", "flask"), ("B", "jar")]
    assert found[1].worth == 1.0
    assert "the best scores 0.08 of 1 (in danger, 1 in 4 of those met)" in found[2].why


def test_merit_rises_with_condition_signature_date_picture_and_rarity() -> None:
    plain = merit({"signed": "no"}, "watch", 0.1)
    better = [
        merit({"signed": "no"}, "sound", 0.1),
        merit({"signed": "yes"}, "watch", 0.1),
        merit({"dated": "yes"}, "watch", 0.1),
        merit({"pictorial": "yes"}, "watch", 0.1),
        merit({"signed": "no"}, "watch", 0.01),
    ]
    assert all(one.value > plain.value for one in better)
    everything = merit(dict.fromkeys(("signed", "dated", "pictorial"), "yes"), "sound", 1e-4)
    assert everything.value == pytest.approx(1.0)
    with pytest.raises(InputError, match="splendid"):
        merit({}, "splendid", 0.1)


def test_wants_refuses_an_unknown_objective() -> None:
    with pytest.raises(InputError, match="one of: rows"):
        wants(table(("A", "x", 1)), table(("A", "x", 1)), objective="most")


def test_chance_of_turning_up_follows_the_beta_binomial_law() -> None:
    """Against draws from the same law."""
    rng = np.random.default_rng(5)
    share = rng.beta(2 + 5 * 0.1, 18 + 5 * 0.9, 200_000)
    drawn = float((rng.binomial(10, share) > 0).mean())
    assert abs(turns_up(2, 20, 0.1, 10) - drawn) < 0.005
    assert turns_up(2, 20, 0.1, 0) == 0


def sales(number: int, rng: np.random.Generator) -> list[Sale]:
    found = []
    for i in range(number):
        form = "flask" if rng.random() < 0.5 else "jar"
        amount = float(np.exp(4 + (0.7 if form == "flask" else 0) + rng.normal(0, 0.3)))
        found.append(Sale(f"s-{i}", amount, 2020, {"form": form}))
    return found


def test_price_range_refuses_with_too_few() -> None:
    found = price_range(sales(11, np.random.default_rng(1)), {"form": "jar"}, of_year=2024)
    assert isinstance(found, TooFew)
    assert "at least 12" in found.reason


def test_price_range_holds_new_prices_about_as_often_as_it_says() -> None:
    """100 new prices, each against 30 records with outliers: 80 % intervals, binomial sd 4 %."""
    rng = np.random.default_rng(2)
    held = 0
    for _ in range(100):
        records, asked = sales(30, rng), sales(1, rng)[0]
        records[0] = Sale("typing error", records[0].amount * 100, 2020, records[0].traits)
        found = price_range(records, asked.traits, of_year=2020)
        assert isinstance(found, PriceRange)
        held += found.amount.low <= asked.amount <= found.amount.high
    assert 0.68 <= held / 100 <= 0.93


def test_price_range_moves_with_trait_and_money() -> None:
    records = sales(60, np.random.default_rng(4))
    flask = price_range(records, {"form": "flask"}, of_year=2024)
    jar = price_range(records, {"form": "jar"}, of_year=2024)
    earlier = price_range(records, {"form": "jar"}, of_year=2020)
    assert isinstance(flask, PriceRange)
    assert isinstance(jar, PriceRange)
    assert isinstance(earlier, PriceRange)
    assert flask.amount.value > 1.5 * jar.amount.value
    np.testing.assert_allclose(jar.amount.value / earlier.amount.value, in_money_of(1, 2020, 2024), rtol=1e-6)


def test_price_range_refuses_a_price_of_nothing() -> None:
    with pytest.raises(InputError, match="amount is 0"):
        price_range([Sale("s", 0, 2020, {})], {}, of_year=2024)


def test_best_plan_counts_a_gap_once_and_takes_one_of_two_offers_of_a_piece() -> None:
    choices = [
        Choice("a", 40, fills=("flask",)),
        Choice("b", 30, fills=("flask",)),
        Choice("c", 50, worth=1, instead_of="same"),
        Choice("d", 45, worth=1, instead_of="same"),
    ]
    plan = best_plan(choices, 200, {"flask": 2.0})
    assert [one.id for one in plan.chosen] == ["b", "d"]
    assert (plan.cost, plan.worth, plan.filled, plan.proven) == (75, 3, ("flask",), True)


def test_best_plan_agrees_with_trying_every_set() -> None:
    rng = np.random.default_rng(6)
    for _ in range(20):
        prices, worths = rng.integers(1, 40, 8), rng.integers(0, 20, 8)
        fills = [tuple(str(gap) for gap in range(4) if rng.random() < 0.3) for _ in range(8)]
        gaps = {str(gap): float(rng.integers(0, 15)) for gap in range(4)}
        choices = [Choice(str(i), float(prices[i]), float(worths[i]), fills[i]) for i in range(8)]
        best = 0.0
        for chosen in range(256):
            some = [choices[i] for i in range(8) if chosen >> i & 1]
            if sum(one.price for one in some) <= 60:
                filled = {gap for one in some for gap in one.fills}
                best = max(best, sum(one.worth for one in some) + sum(gaps[gap] for gap in filled))
        plan = best_plan(choices, 60, gaps)
        assert plan.worth == best
        assert plan.cost <= 60


def test_next_sum_is_the_least_that_buys_more() -> None:
    choices = [Choice("a", 10, 1), Choice("b", 25, 2), Choice("c", 100, 3)]
    steps = next_sum(choices, 12)
    assert [(step.more, step.gain) for step in steps] == [(13.0, 1.0), (23.0, 2.0), (98.0, 3.0)]
    assert next_sum(choices, 1000) == ()


@pytest.mark.parametrize(
    ("choices", "budget", "field"),
    [
        ([Choice("a", -1)], 10, "price"),
        ([Choice("a", 1, float("nan"))], 10, "worth"),
        ([Choice("a", 1), Choice("a", 2)], 10, "id"),
        ([], -5, "budget"),
    ],
)
def test_best_plan_refuses_what_cannot_be(choices: list[Choice], budget: float, field: str) -> None:
    with pytest.raises(InputError) as fault:
        best_plan(choices, budget)
    assert fault.value.field == field


def test_covering_refuses_a_gap_that_nothing_fills() -> None:
    with pytest.raises(InputError, match="at least one choice"):
        fewest_covering([Choice("a", 1, fills=("x",))], ["x", "y"])


def test_totals_keep_currencies_apart_and_name_what_is_stale_or_missing() -> None:
    values = [
        Value("p-1", "replacement", 100, "USD", date(2020, 1, 1), "dealer"),
        Value("p-1", "replacement", 120, "USD", date(2026, 1, 1), "dealer"),
        Value("p-2", "replacement", 80, "EUR", date(2019, 1, 1), "auction"),
    ]
    found = totals(values, {"p-1": "case", "p-2": "case", "p-3": "case"}, date(2026, 6, 1))
    assert [(one.currency, one.amount, one.stale, one.without) for one in found] == [
        ("EUR", 80, ("p-2",), 1),
        ("USD", 120, (), 1),
    ]
    assert not is_stale(Value("p-1", "cost", 5, "USD", date(1990, 1, 1), "receipt"), date(2026, 1, 1))


@pytest.mark.parametrize(("field", "value"), [("kind", "sentimental"), ("amount", -1.0), ("currency", "U$")])
def test_a_value_refuses_what_it_cannot_be(field: str, value: object) -> None:
    given = {"piece": "p", "kind": "cost", "amount": 1.0, "currency": "USD", "on": date(2026, 1, 1), "source": "me"}
    with pytest.raises(InputError) as fault:
        Value(**{**given, field: value})  # type: ignore[arg-type]
    assert fault.value.field == field
