"""The engine's parts against brute force and against closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad
from scipy.stats import multivariate_normal, norm

from weftglass.evidence import Covering, Outline, Sighting
from weftglass.inside.bank import STEPS, FormBank, looked_up, slopes_at, swollen
from weftglass.inside.cover import CoverPrior
from weftglass.inside.likelihood.edges import EdgeErrors, Kind, matern
from weftglass.inside.likelihood.letters import windows
from weftglass.inside.likelihood.outline import Sheet, place, take_outlines
from weftglass.inside.likelihood.sighting import agrees, sighting_likelihood
from weftglass.inside.next_look import Told, reading_law
from weftglass.inside.nodes import Nodes
from weftglass.inside.state import FIRST_SCALE, State

from .conftest import laid_over, plain_form


def test_swollen_is_the_envelope_of_discs() -> None:
    """The fast dilation agrees with the definition at every height."""
    rng = np.random.default_rng(1)
    table = 20 + np.cumsum(rng.normal(0, 0.6, (3, 193)), axis=1)
    step, thickness = np.array([1.0, 1.4, 0.5]), np.array([3.0, 5.5, 0.0])
    fast = swollen(table, step, thickness)
    for i in range(3):
        z = np.arange(193) * step[i]
        gap = np.abs(z[:, None] - z[None, :])
        reach = np.where(gap <= thickness[i], np.sqrt(np.maximum(thickness[i] ** 2 - gap**2, 0)), -np.inf)
        assert_allclose(fast[i], (table[i][None, :] + reach).max(axis=1), atol=1e-9)


def test_looked_up_is_linear_interpolation_with_held_ends() -> None:
    """Same as numpy's own."""
    table = np.random.default_rng(2).normal(size=(2, 193))
    share = np.array([[-0.2, 0.0, 0.333, 1.0, 1.7]] * 2)
    expected = [np.interp(share[i], np.linspace(0, 1, 193), table[i]) for i in range(2)]
    assert_allclose(looked_up(table, share), expected)


def test_slopes_of_a_cone_are_its_own_from_base_to_lip() -> None:
    """30 mm narrower over 288 mm, whatever the reach in steps; a step too steep to read is capped."""
    table = np.stack([np.linspace(40.0, 10.0, STEPS + 1)] * 2)
    found = slopes_at(table, np.array([1.5, 0.3]), np.array([[0.0, 0.31, 1.0]] * 2))
    assert_allclose(found, np.array([[-30.0 / 288.0], [-30.0 / 57.6]]).repeat(3, axis=1))
    ledge = np.where(np.arange(STEPS + 1) < 96, 90.0, 10.0)[None]
    assert slopes_at(ledge, np.array([0.5]), np.array([[0.5]])).item() == -12.0


def test_with_row_is_exact_normal_updating() -> None:
    """Likelihood and laws after three rows equal those of the joint normal law (scipy)."""
    rng = np.random.default_rng(3)
    size, rows = 6, 3
    a = rng.normal(size=(size, size))
    precision = a @ a.T + np.eye(size)
    state = State(precision[None, None], np.zeros((1, 1, size)), np.zeros((1, 1)), np.zeros((1, 1)), 0)
    slopes, readings, variances = rng.normal(size=(rows, size)), rng.normal(size=rows), rng.uniform(0.5, 2, rows)
    for slope, reading, variance in zip(slopes, readings, variances, strict=True):
        state = state.with_row(np.full((1, 1), reading), slope[None, None], np.full((1, 1), variance))
    covariance = slopes @ np.linalg.inv(precision) @ slopes.T + np.diag(variances)
    assert_allclose(state.log_weight[0, 0], multivariate_normal(np.zeros(rows), covariance).logpdf(readings))
    assert_allclose(state.misfit()[0], readings @ np.linalg.solve(covariance, readings) / rows)
    gain = np.linalg.inv(precision) @ slopes.T @ np.linalg.inv(covariance)
    assert_allclose(state.mean[0, 0], gain @ readings)


def test_take_outlines_equals_the_joint_normal_law() -> None:
    """Two views of one form, one class: the block-by-block route gives the density of the linearised model (scipy)."""
    form = plain_form("b", 230.0, 38.0)
    bank = FormBank.of([form])
    views = (laid_over(form, 3.0), laid_over(form, 3.2))
    sheets = [Sheet(Nodes.of(one, most=30), "front", FIRST_SCALE + i) for i, one in enumerate(views)]
    cover = CoverPrior(np.array([3.0]), np.array([0.5]), np.ones(1), np.zeros(1))
    start = State.prior(bank, cover, [0.01, 0.02], top_bare=False, base_bare=False)
    found = take_outlines(start, bank, sheets, cover, around=start)
    zero = np.zeros((1, FIRST_SCALE + 2))
    placed = [place(bank, sheet, 0.0, 3.0, 3.0, zero, exact=True, bridged=False) for sheet in sheets]
    whole = bank.heights[0] + 6.0
    tops, rows = [], np.zeros((2, FIRST_SCALE + 2))
    for i, sheet in enumerate(sheets):
        rows[i, [0, 2, 3]] = np.array([bank.heights[0], 1.0, 1.0]) / whole
        rows[i, FIRST_SCALE + i] = 1.0
        tops.append(np.log(sheet.nodes.top_mm) - np.log(whole))
    errors = EdgeErrors(tuple(sheet.nodes for sheet in sheets))
    noise = np.diag([0.32 / sheet.nodes.top_mm**2 for sheet in sheets] + [0.0] * len(errors.stack.z_mm))
    noise[2:, 2:] = errors.covariance(Kind(3.0, 0.3))
    change = np.vstack([rows, *(one.change[0].T for one in placed)])
    edges = np.concatenate(
        [sheet.nodes.half_width_mm - one.predicted[0] for sheet, one in zip(sheets, placed, strict=True)]
    )
    reading = np.concatenate([tops, edges])
    covariance = change @ np.linalg.inv(start.precision[0, 0]) @ change.T + noise
    in_mm = sum(float(np.log(sheet.nodes.top_mm)) for sheet in sheets)
    joint = multivariate_normal(np.zeros(len(change)), covariance).logpdf(reading) - in_mm
    assert_allclose(found[-1].log_weight[0, 0], joint, rtol=1e-8)


def test_linearised_change_agrees_with_finite_differences() -> None:
    """Slopes of the prediction against central differences, away from corners."""
    form = plain_form("b", 230.0, 38.0)
    bank = FormBank.of([form])
    sheet = Sheet(Nodes.of(laid_over(form, 3.0)), "front", FIRST_SCALE)
    zero = np.zeros((1, FIRST_SCALE + 1))
    placed = place(bank, sheet, 0.0, 3.0, 3.0, zero, exact=True, bridged=False)
    for unknown, small in ((0, 0.004), (1, 0.004), (2, 0.4), (4, 0.4), (FIRST_SCALE, 0.004)):
        ends = []
        for sign in (1, -1):
            moved = zero.copy()
            moved[0, unknown] = sign * small
            ends.append(place(bank, sheet, 0.0, 3.0, 3.0, moved, exact=True, bridged=False).predicted[0])
        numeric = (ends[0] - ends[1]) / (2 * small)
        error = np.abs(numeric - placed.change[0, unknown])
        assert np.median(error) < 0.03 * np.abs(placed.change[0, unknown]).max() + 0.02


def test_laws_are_cut_off_where_glass_would_stand_outside() -> None:
    """A class whose law puts the covering at -1 +- 1 mm keeps the share above nothing (scipy's normal law)."""
    cover = CoverPrior(np.array([2.0]), np.array([1.0]), np.ones(1), np.zeros(1))
    start = State.prior(FormBank.of([plain_form("b", 200.0, 30.0)]), cover, [], top_bare=False, base_bare=False)
    slope = np.zeros((1, 1, FIRST_SCALE))
    slope[..., 4] = 1.0
    told = start.with_row(np.full((1, 1), -6.0), slope, np.ones((1, 1)))
    assert_allclose(told.mean[0, 0, 4], -3.0)
    share = norm.cdf((2.0 - 3.0) / np.sqrt(0.5)) / norm.cdf(2.0)
    assert_allclose(told.inside_its_covering(cover).log_weight - told.log_weight, np.log(share))


def test_matern_is_a_correlation() -> None:
    """One at no distance, falling, positive definite."""
    gap = np.abs(np.subtract.outer(np.arange(40.0), np.arange(40.0))) / 7
    correlation = matern(gap)
    assert_allclose(np.diag(correlation), 1.0)
    assert np.linalg.eigvalsh(correlation).min() > 0
    assert np.all(np.diff(correlation[0]) < 0)


def test_nodes_leave_out_hidden_ranges_and_ends_of_coverings() -> None:
    """Hidden heights are not read; the step at the end of a covering is read from neither side."""
    z = np.linspace(0, 200, 300)
    half = np.where(z < 150, 40.0, 20.0)
    nodes = Nodes.of(Outline.of(np.column_stack([z, half]), bare=[(150, 205)], hidden=[(50, 70)]))
    assert not np.any((nodes.z_mm > 50) & (nodes.z_mm < 70))
    assert not np.any(np.abs(nodes.z_mm - 150) < 1.4)
    assert np.all(np.abs(nodes.slope) < 0.5)
    assert np.all(nodes.bare == (nodes.z_mm > 150))
    assert nodes.top_is_bare
    assert not nodes.base_is_bare


@pytest.mark.parametrize(
    ("technique", "low", "high"),
    [(None, 1.5, 5.5), ("plain twining", 1.5, 4.0), ("willow wicker", 3.5, 8.0), ("coiled", 2.5, 6.0)],
)
def test_cover_prior_follows_the_technique(technique: str | None, low: float, high: float) -> None:
    """Wicker is thicker than twining; weights sum to one."""
    prior = CoverPrior.for_covering(Covering(technique=technique))
    assert prior.weight.sum() == pytest.approx(1.0)
    assert low < float(prior.weight @ prior.mean_mm) < high


@pytest.mark.parametrize(
    ("reading", "text", "wrong", "expected"),
    [
        ("H?R??W", "HARLOW & TINE", 0, 1),
        ("A", "BANANA", 0, 3),
        ("A?A", "BANANA", 0, 2),
        ("B*A", "BANANA", 0, 1),
        ("KANANA", "BANANA", 0, 0),
        ("KANANA", "BANANA", 1, 1),
        ("12", "No 1237", 0, 1),
        ("???", "AB", 0, 0),
    ],
)
def test_windows_counts_places(reading: str, text: str, wrong: int, expected: int) -> None:
    """By hand."""
    assert windows(reading, text, wrong=wrong) == expected


@pytest.mark.parametrize(
    ("seen", "listed", "same"),
    [
        ("Blob", "blob", True),
        ("olive", "dark olive", True),
        ("clear", "colourless", True),
        ("crown", "crown26", False),
        ("cobalt", "amber", False),
    ],
)
def test_agrees_folds_spelling_not_sense(seen: str, listed: str, same: bool) -> None:
    """Trade synonyms meet; different things don't."""
    assert agrees(seen, listed) is same


def test_sighting_says_nothing_about_forms_that_list_nothing() -> None:
    """Silence is no evidence; a listed form gains, a contradicting one loses, doubt draws both to the middle."""
    forms = [
        plain_form("a", 200.0, 35.0, colours=["amber"]),
        plain_form("b", 200.0, 35.0, colours=["cobalt"]),
        plain_form("c", 200.0, 35.0),
    ]
    sure, general = sighting_likelihood(Sighting("colour", "amber", 0.99), forms)
    unsure, _ = sighting_likelihood(Sighting("colour", "amber", 0.3), forms)
    assert sure[0] > sure[2] > sure[1] > 0
    assert sure[2] == pytest.approx(general)
    assert unsure[0] / unsure[1] < sure[0] / sure[1]


def told(mean: list[float], weight: list[float]) -> Told:
    """What a reading with a standard deviation of 1 tells."""
    one = np.ones((len(mean), 1))
    return Told.by(reading_law(np.array(mean)[:, None], one, one, np.array(weight)))


def test_bits_are_nil_for_equal_forms_and_one_for_a_clear_pair() -> None:
    """Against the known ends, and halfway against scipy's numerical integral for two normals two sds apart."""
    half = [0.5, 0.5]
    assert told([0.0, 0.0], half).bits == pytest.approx(0.0, abs=1e-3)
    assert told([0.0, 40.0], half).bits == pytest.approx(1.0, abs=1e-3)
    p, q = norm(0, 1), norm(2, 1)
    exact = sum(
        quad(lambda y, a=a: a.pdf(y) * np.log2(2 * a.pdf(y) / (p.pdf(y) + q.pdf(y))) / 2, -8, 10)[0] for a in (p, q)
    )
    assert told([0.0, 2.0], half).bits == pytest.approx(exact, abs=2e-3)


def test_a_look_settles_as_often_as_its_readings_leave_one_form_at_95_percent() -> None:
    """Two normals d apart and even odds: the odds are 19 to 1 beyond ln(19) / d from the middle."""
    d = 3.0
    beyond = np.log(19) / d
    exact = norm.cdf(d / 2 - beyond) + norm.cdf(-d / 2 - beyond)
    assert told([0.0, d], [0.5, 0.5]).settles == pytest.approx(exact, abs=0.02)
    assert told([0.0, 40.0], [0.5, 0.5]).settles == pytest.approx(1.0, abs=1e-3)
    assert told([0.0, 0.0], [0.5, 0.5]).settles == 0.0
    assert told([0.0, 40.0], [0.97, 0.03]).settles == 0.0  # settled already
