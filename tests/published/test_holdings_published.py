"""Collection statistics against published examples (``*.toml`` beside this file) and general-purpose libraries."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.stats import false_discovery_control, fisher_exact
from statsmodels.stats.contingency_tables import StratifiedTable
from statsmodels.stats.proportion import proportion_confint

from weftglass.holdings import (
    Choice,
    Holding,
    association,
    best_plan,
    cross,
    fewest_covering,
    in_money_of,
    preferences,
    proportion,
    within_strata,
)
from weftglass.holdings.association import adjusted_residuals, cramers_v, freeman_halton
from weftglass.holdings.prices import robust_fit
from weftglass.holdings.unseen import Estimate, ace, chao1, coverage, expected_kinds

Case = dict[str, Any]
FILES = [tomllib.loads(path.read_text(encoding="utf-8")) for path in sorted(Path(__file__).parent.glob("*.toml"))]
CASES = [case for file in FILES if file.get("subject") == "holdings" for case in file["case"]]


def ends(estimate: Estimate) -> list[float]:
    return [estimate.value, estimate.low, estimate.high]


def check_chao1(case: Case) -> None:
    corrected = chao1(case["counts"], bias_corrected=True, sample_term=False)
    classic = chao1(case["counts"], sample_term=False)
    np.testing.assert_allclose(ends(corrected), case["bias_corrected"], atol=case["abs"])
    np.testing.assert_allclose(ends(classic), case["classic"], atol=case["abs"])


def check_ace(case: Case) -> None:
    found = [ace(counts) for counts in case["counts"]]
    np.testing.assert_allclose([one and one.value for one in found], case["kinds"], atol=case["abs"])


def check_growth(case: Case) -> None:
    counts = case["counts"]
    assert sum(counts) == case["pieces"]
    np.testing.assert_allclose(coverage(counts).value, case["coverage"], atol=1e-4)
    np.testing.assert_allclose(ends(chao1(counts)), [case["chao1"], *case["interval"]], atol=case["interval_abs"])
    np.testing.assert_allclose(expected_kinds(counts, case["at"]), case["kinds"], atol=case["abs"])


def check_residuals(case: Case) -> None:
    found = association(case["counts"])
    np.testing.assert_allclose(found.chi_squared, case["chi_squared"], atol=5e-3)
    np.testing.assert_allclose(found.p, case["p"], rtol=2e-2)
    np.testing.assert_allclose(found.residuals[:, 0], case["first_column"], atol=case["abs"])
    library = sm.stats.Table(np.array(case["counts"]), shift_zeros=False)
    np.testing.assert_allclose(adjusted_residuals(case["counts"]), library.standardized_resids, rtol=1e-9)


def check_strength(case: Case) -> None:
    np.testing.assert_allclose(cramers_v(case["counts"], bias_corrected=False), case["plain"], atol=case["abs"])
    np.testing.assert_allclose(cramers_v(case["counts"]), case["corrected"], atol=case["abs"])


def check_exact(case: Case) -> None:
    np.testing.assert_allclose(freeman_halton(case["counts"]), case["p"], atol=case["abs"])


def check_fisher(case: Case) -> None:
    (a, b), (c, d) = case["counts"]
    pieces = [("A", "x")] * a + [("A", "y")] * b + [("B", "x")] * c + [("B", "y")] * d
    holdings = [Holding(f"p-{i}", {"maker": row, "form": column}) for i, (row, column) in enumerate(pieces)]
    found = preferences(cross(holdings, "maker", "form"))
    np.testing.assert_allclose([one.p for one in found], case["p"], atol=case["abs"])
    np.testing.assert_allclose([one.p for one in found], fisher_exact(case["counts"]).pvalue, atol=case["abs"])


def check_knapsack(case: Case) -> None:
    """By the listing, and by HiGHS, to which a shelf goes once one choice fills two gaps."""
    offers = list(enumerate(zip(case["prices"], case["worths"], strict=True)))
    for fills in ({}, {0: ("this", "that"), 1: ("that",)}):
        choices = [Choice(str(i), price, worth, fills.get(i, ())) for i, (price, worth) in offers]
        plan = best_plan(choices, case["capacity"], {"this": 1e-9, "that": 1e-9})
        assert (round(plan.worth, 6), plan.cost, plan.proven) == (case["best"], case["cost"], True)


def check_cover(case: Case) -> None:
    gaps = [str(i) for i in range(len(case["sets"]))]
    points = sorted({point for line in case["sets"] for point in line})
    choices = [
        Choice(str(point), 1.0, fills=tuple(gap for gap, line in zip(gaps, case["sets"], strict=True) if point in line))
        for point in points
    ]
    plan = fewest_covering(choices, gaps)
    assert (len(plan.chosen), plan.proven) == (case["fewest"], True)


def check_most(case: Case) -> None:
    choices = [Choice(str(i), 1.0, fills=tuple(map(str, members))) for i, members in enumerate(case["sets"])]
    gaps = {gap: 1.0 for choice in choices for gap in choice.fills}
    assert best_plan(choices, case["sets_bought"], gaps).worth == case["best"]


def check_money(case: Case) -> None:
    found = [in_money_of(case["amount"], year, case["of_year"]) for year in case["years"]]
    np.testing.assert_allclose(found, case["amounts"], atol=case["abs"])


def check_regression(case: Case) -> None:
    design = np.column_stack([np.log(case["litres"]), case["period"]])
    weights, _ = robust_fit(design, np.log(case["prices"]), ridge=0.0)
    np.testing.assert_allclose(weights, case["weights"], atol=2e-3)


CHECKS: dict[str, Callable[[Case], None]] = {
    name.removeprefix("check_"): check for name, check in globals().items() if name.startswith("check_")
}


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_published(case: Case) -> None:
    CHECKS[case["check"]](case)


def test_false_discoveries_are_held_as_by_benjamini_and_hochberg() -> None:
    """The worked example of 1995 as SciPy reproduces it; `preferences` calls the same function on its cells."""
    p = [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344]
    p += [0.0459, 0.324, 0.4262, 0.5719, 0.6528, 0.759, 1.0]
    assert int((false_discovery_control(p) <= 0.05).sum()) == 4


def test_common_odds_ratio_agrees_with_statsmodels() -> None:
    """Mantel-Haenszel with the interval of Robins, Breslow and Greenland."""
    tables = np.array([[[12, 5], [7, 16]], [[4, 9], [3, 22]], [[8, 2], [5, 6]]])
    library = StratifiedTable(list(tables))
    found = within_strata(tables).odds_ratio
    np.testing.assert_allclose(found.value, library.oddsratio_pooled, rtol=1e-9)
    np.testing.assert_allclose([found.low, found.high], library.oddsratio_pooled_confint(), rtol=1e-6)


def test_exact_stratified_test_of_one_table_is_fishers() -> None:
    """With one table the convolution is the hypergeometric law itself (SciPy)."""
    table = [[8, 2], [1, 5]]
    np.testing.assert_allclose(within_strata([table]).p, fisher_exact(table).pvalue, rtol=1e-9)


@pytest.mark.parametrize(("alike", "pieces"), [(1, 20), (7, 30), (0, 12), (12, 12)])
def test_interval_of_a_share_agrees_with_statsmodels(alike: int, pieces: int) -> None:
    """Jeffreys' interval; at none and all the outer end is 0 and 1 (Brown, Cai and DasGupta 2001)."""
    low, high = proportion_confint(alike, pieces, method="jeffreys")
    found = proportion(alike, pieces)
    np.testing.assert_allclose(found.low, 0.0 if alike == 0 else low, rtol=1e-9)
    np.testing.assert_allclose(found.high, 1.0 if alike == pieces else high, rtol=1e-9)


def test_robust_fit_agrees_with_statsmodels() -> None:
    """Huber's M-estimator on data with outliers; the scale estimates differ a little, hence 1 %."""
    rng = np.random.default_rng(3)
    design = rng.normal(size=(200, 2))
    values = 1.0 + design @ [0.5, -0.3] + rng.normal(0, 0.2, 200)
    values[:10] += 5
    library = sm.RLM(values, sm.add_constant(design), M=sm.robust.norms.HuberT()).fit()
    weights, middle = robust_fit(design, values, ridge=0.0)
    np.testing.assert_allclose([middle, *weights], library.params, rtol=1e-2, atol=5e-3)
