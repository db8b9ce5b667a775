"""Banks from arrays, libraries in brief, and the screen: the same forms found, only faster."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from numpy.typing import NDArray

from weftglass.errors import InputError
from weftglass.inside import screening
from weftglass.inside.bank import STEPS, FormBank
from weftglass.inside.brief import NUMBERS, Brief, read_at_centres
from weftglass.inside.first_look import first_look
from weftglass.inside.identify import identify
from weftglass.inside.posterior import commonness_prior, posterior
from weftglass.inside.weighing import Case, weigh

from .conftest import bottle, laid_over, piece, plain_form

FloatArray = NDArray[np.float64]
GRID = np.linspace(0.0, 1.0, STEPS + 1)


def _arrays(count: int, seed: int) -> tuple[FloatArray, FloatArray]:
    """Half-widths and heights of plain bottles of many sizes and shoulders."""
    rng = np.random.default_rng(seed)
    heights = rng.uniform(120.0, 340.0, count)
    table = np.empty((count, STEPS + 1))
    for row, height in zip(table, heights, strict=True):
        points = np.array(bottle(height, rng.uniform(25, 55), rng.uniform(0.4, 0.7), rng.uniform(9, 20)))
        row[:] = np.interp(GRID * height, points[:, 0], points[:, 1])
    return table, heights


TABLE, HEIGHTS = _arrays(600, 5)
BANK = FormBank.from_arrays(TABLE.astype(np.float32), HEIGHTS, height_sd=0.01, width_sd=0.01, shape_sd_mm=0.3)


def test_bank_from_arrays_equals_the_bank_of_its_own_forms() -> None:
    """Every table, tolerance and the prior agree; forms are made only when asked for."""
    some = np.array([3, 400, 7])
    part = BANK.part(some)
    whole = FormBank.of([BANK.forms[i] for i in some])
    for name in ("heights", "front", "side", "girth", "height_sd", "width_sd", "shape_sd", "is_round"):
        assert_allclose(getattr(part, name), getattr(whole, name), rtol=1e-12)
    assert [form.id for form in part.forms] == [BANK.ids[i] for i in some] == ["form-3", "form-400", "form-7"]
    assert_allclose(commonness_prior(BANK), 1.0 / len(BANK))


def test_families_given_with_arrays_share_their_commonness() -> None:
    families = ["a"] * 4 + ["b"]
    bank = FormBank.from_arrays(TABLE[:5], HEIGHTS[:5], families=families, ids=list("vwxyz"))
    names, family = bank.families
    assert (list(names), family.tolist()) == (["a", "b"], [0, 0, 0, 0, 1])
    assert_allclose(commonness_prior(bank), np.array([0.5, 0.5, 0.5, 0.5, 1.0]) / 3.0)
    assert bank.forms[1].family_name == "a"


@pytest.mark.parametrize(
    ("table", "heights", "field"),
    [
        (TABLE[:3, :-1], HEIGHTS[:3], "profiles"),
        (TABLE[:3], HEIGHTS[:2], "heights_mm"),
        (TABLE[:3], -HEIGHTS[:3], "heights_mm"),
        (TABLE[:3] * np.nan, HEIGHTS[:3], "profiles"),
    ],
)
def test_arrays_that_are_no_bank_are_refused_by_name(table: FloatArray, heights: FloatArray, field: str) -> None:
    with pytest.raises(InputError) as caught:
        FormBank.from_arrays(table, heights)
    assert caught.value.field == field


def test_brief_keeps_half_widths_to_a_tenth_of_a_millimetre() -> None:
    """Two dozen numbers give back the silhouettes they stand for."""
    brief = Brief.of(BANK)
    given_back = brief.mean + brief.coordinates.T @ brief.basis.T
    rows = read_at_centres(BANK, 0.0, slice(0, len(BANK)))
    assert np.sqrt(np.mean((given_back - rows) ** 2)) < 0.1
    assert brief.table.shape == (NUMBERS + 2, len(BANK))
    assert Brief.of(BANK) is brief


def test_sweep_is_the_squared_distance_in_its_measure() -> None:
    """One matrix product against the distance written out."""
    brief = Brief.of(BANK)
    wanted = read_at_centres(BANK, 0.0, slice(9, 10))[0] + 0.5
    gap = brief.coordinates.T - brief.basis.T @ (wanted - brief.mean)
    expected = -0.5 * np.einsum("fi,ij,fj->f", gap, brief.measure, gap)
    assert_allclose(brief.swept(wanted), expected, atol=0.02 + 1e-5 * np.abs(expected).max())


@pytest.mark.parametrize(("cover", "bare_from"), [(2.0, None), (4.5, None), (3.0, 0.85)])
def test_screen_ranks_the_true_form_among_the_first(cover: float, bare_from: float | None) -> None:
    """Thirty covered bottles: the true one is always among the best ten of 600."""
    for truth in range(0, 600, 20):
        form = BANK.forms[truth]
        height = float(HEIGHTS[truth])
        outline = laid_over(form, cover, bare_from=None if bare_from is None else bare_from * height)
        case = Case.of(piece(outline), any_flat=False)
        found = screening.screen(case, BANK)
        assert_array_equal(found.index, np.arange(600))
        assert int((found.log_likelihood > found.log_likelihood[truth]).sum()) < 10


def test_sweep_hands_the_true_form_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """With room for 48 of 600 the true form is still handed on to the closer look."""
    monkeypatch.setattr(screening, "SWEPT", 48)
    for truth in range(5, 600, 40):
        case = Case.of(piece(laid_over(BANK.forms[truth], 3.0)), any_flat=False)
        found = screening.screen(case, BANK)
        assert len(found.index) == 48
        assert truth in found.index


@pytest.mark.parametrize("scale", [0.7, 1.0, 1.5])
def test_sweep_hands_the_true_form_on_at_an_unknown_scale(monkeypatch: pytest.MonkeyPatch, scale: float) -> None:
    """Shape only: small forms are not favoured for missing by fewer millimetres."""
    monkeypatch.setattr(screening, "SWEPT", 100)
    for truth in range(7, 600, 100):
        outline = replace(laid_over(BANK.forms[truth], 3.0, scale=scale), scale_sd=0.5)
        found = screening.screen(Case.of(piece(outline), any_flat=False), BANK)
        at = np.flatnonzero(found.index == truth)
        assert len(at) == 1
        assert int((found.log_likelihood > found.log_likelihood[at[0]]).sum()) < 10


def test_screened_and_unscreened_answers_name_the_same_forms(monkeypatch: pytest.MonkeyPatch) -> None:
    """The screen changes who is weighed, not what is said of those who matter."""
    case = piece(laid_over(BANK.forms[44], 3.0))
    screened = posterior(case, BANK)
    monkeypatch.setattr(screening, "FEWEST", 10_000)
    whole = posterior(case, BANK)
    assert screened.survivors[0] == whole.survivors[0] == 44
    likely = np.flatnonzero(whole.probability > 1e-3)
    assert_allclose(screened.probability[likely], whole.probability[likely], rtol=0.02)


def test_forms_are_not_screened_where_no_outline_shows_base_and_top() -> None:
    bare = Case.of(piece(), any_flat=False)
    assert not screening.can_screen(bare, BANK)
    look = first_look(bare, BANK, np.zeros(len(BANK)))
    assert not look.screened
    assert look.running.shape == (1, len(BANK))


def test_flat_forms_seen_from_an_unknown_turn_are_screened_over_all_turns() -> None:
    """A rectangular form among round ones, turned by 30 degrees."""
    shape = {"section": {"kind": "rectangle"}, "side_profile": [[0.0, 20.0], [200.0, 12.0]]}
    flat = plain_form("flat", 200.0, 40.0, **shape)
    bank = FormBank.of([*(BANK.forms[i] for i in range(300)), flat])
    seen = laid_over(plain_form("seen", 200.0, 40.0), 3.0)
    turned = np.array(flat.silhouette(30.0).points)
    seen = laid_over(type(flat)(**{**vars(flat), "profile": type(flat.profile).of(turned)}), 3.0)
    outline = type(seen)(**{**vars(seen), "view": "turned"})
    case = Case.of(piece(outline), any_flat=True)
    found = screening.screen(case, bank)
    assert int((found.log_likelihood > found.log_likelihood[-1]).sum()) < 10


def test_looks_over_a_large_library_in_blocks_equal_one_look(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without an outline every form is weighed, block by block."""
    case = Case.of(piece(), any_flat=False)
    monkeypatch.setattr("weftglass.inside.first_look.BLOCK", 100)
    assert_allclose(first_look(case, BANK, np.zeros(600)).running, weigh(case, BANK).running)


def test_an_answer_over_a_bank_names_its_forms_and_sums_to_one() -> None:
    """Probabilities are a mapping by id; families are the forms' own."""
    answer = identify(piece(laid_over(BANK.forms[44], 3.0)), BANK)
    assert answer.candidates[0].form == "form-44"
    assert len(answer.probabilities) == answer.forms_weighed == 600
    assert_allclose(sum(answer.probabilities.values()) + answer.unlisted, 1.0)
    assert answer.probabilities["form-44"] == answer.candidates[0].probability
    assert answer.probabilities.get("nowhere", 0.0) == 0.0
    assert answer.families[0] == ("form-44", answer.candidates[0].probability)
    assert len(answer.families) >= 3
    assert_allclose(sum(c.probability for c in answer.candidates) + answer.rest + answer.unlisted, 1.0)
