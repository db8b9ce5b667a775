"""Readings in the engine: what a vessel weighs, holds and sounds like, and what readings share."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.stats import multivariate_normal

from weftglass.errors import InputError
from weftglass.evidence import Covering, Evidence, Measurement
from weftglass.inside import identify
from weftglass.inside.bank import FormBank
from weftglass.inside.cover import CoverPrior
from weftglass.inside.covering_mass import fibre_g_per_ml
from weftglass.inside.glass import EXACT_TONES, glass_of, lumped_tones, tones_of
from weftglass.inside.likelihood.measurement import Setting, measured_rows, predict
from weftglass.inside.state import FIRST_SCALE, State
from weftglass.vessels import CONTAINER_GLASS_G_PER_ML, FormLibrary, Profile, outer_volume_ml
from weftglass.vessels.air import air_tone
from weftglass.vessels.interior import interior_of

from .conftest import plain_form

ONE_CLASS = CoverPrior(np.array([3.0]), np.array([0.5]), np.ones(1), np.zeros(1))


@pytest.fixture(scope="module")
def starter() -> FormLibrary:
    """The bundled forms."""
    return FormLibrary.starter()


def setting(**more: object) -> Setting:
    """One thickness class, no outline."""
    return Setting(ONE_CLASS, FIRST_SCALE, False, False, **more)  # type: ignore[arg-type]


def test_outer_volume_of_the_bank_is_that_of_the_exact_formula(starter: FormLibrary) -> None:
    """Round forms without a push-up: the table against exact segments."""
    forms = [form for form in starter if form.section.kind == "round" and not form.push_up_mm][:20]
    exact = [outer_volume_ml(form.profile) for form in forms]
    assert_allclose(glass_of(FormBank.of(forms)).outer_ml, exact, rtol=0.01)


def test_glass_and_capacity_fill_the_outer_volume(starter: FormLibrary) -> None:
    """Outer volume = capacity + glass mass / density, within what is stated to be unknown of both."""
    glass = glass_of(FormBank.of(starter.forms))
    left = glass.outer_ml - glass.capacity_ml - glass.weight_g / CONTAINER_GLASS_G_PER_ML
    unknown = np.hypot(glass.capacity_sd_ml, glass.weight_sd_g / CONTAINER_GLASS_G_PER_ML)
    assert np.mean(np.abs(left) < 2 * unknown) > 0.95


def test_tone_of_a_survivor_is_its_own_waveguide(starter: FormLibrary) -> None:
    """A small bank's tones come through each form's own inside; a large bank's lumped ones are near them."""
    forms = starter.forms[:40]
    tones, computed_sd = tones_of(FormBank.of(forms))
    assert_allclose(tones[3], air_tone(interior_of(forms[3])), rtol=1e-6)
    assert not computed_sd.any()
    assert np.median(np.abs(lumped_tones(FormBank.of(forms)) / tones - 1)) < 0.06
    many = FormBank.of([plain_form(f"b{i}", 200.0 + i, 30.0) for i in range(EXACT_TONES + 1)])
    assert tones_of(many)[1].min() > 0.05


def test_readings_that_share_an_error_have_the_joint_normal_density(starter: FormLibrary) -> None:
    """Weight, capacity, tone and a lip measured twice: rows one by one give scipy's joint density."""
    bank = FormBank.of([starter["wine-bordeaux-mod"]])
    taken = [
        Measurement("weight", 700.0, 5.0),
        Measurement("lip_diameter", 29.0, 0.4, None, False),
        Measurement("capacity", 760.0, 10.0),
        Measurement("lip_diameter", 29.3, 0.4, None, False),
        Measurement("tone", 97.0, 1.0),
        Measurement("bore", 19.0, 0.3, None, False),
    ]
    state = start = State.prior(bank, ONE_CLASS, [], top_bare=False, base_bare=False)
    for row in measured_rows(taken, bank, setting()):
        state = state.with_row(*row)
    rows = [predict(m.what, m.z_mm, m.covered, bank, setting()) for m in taken]
    names = sorted({name for row in rows if row for name in row.errors})
    loads = np.array([[float(row.errors[n][0, 0]) if row and n in row.errors else 0.0 for n in names] for row in rows])
    slopes = np.array([row.slope[0, 0] for row in rows if row])
    prior = np.linalg.inv(start.precision[0, 0])
    covariance = slopes @ prior @ slopes.T + loads @ loads.T + np.diag([m.sd**2 for m in taken])
    miss = np.array([m.value - row.predicted[0, 0] for m, row in zip(taken, rows, strict=True) if row])
    expected = multivariate_normal(np.zeros(len(miss)), covariance).logpdf(miss)
    assert_allclose(state.log_likelihood()[0], expected, rtol=1e-9)


def test_heavy_glass_holds_less(starter: FormLibrary) -> None:
    """After a heavy weight, a smaller capacity is expected of the same form."""
    bank = FormBank.of([starter["wine-bordeaux-mod"]])
    expected = []
    for grams in (600.0, 900.0):
        rows = list(
            measured_rows([Measurement("weight", grams, 5.0), Measurement("capacity", 1.0, 5.0)], bank, setting())
        )
        expected.append(1.0 - float(rows[1][0][0, 0]))
    assert expected[1] < expected[0] - 10


@pytest.mark.parametrize(
    ("covering", "least", "most"),
    [
        (Covering("wicker", "willow"), 0.2, 0.3),
        (Covering("hitching", "hemp twine"), 0.55, 0.75),
        (Covering("knotted netting", "hemp"), 0.1, 0.3),
        (Covering(None, "leather"), 0.8, 0.95),
    ],
)
def test_fibre_weighs_by_material_and_technique(covering: Covering, least: float, most: float) -> None:
    """Areal masses over thickness: willow 0.272 g/cm² at 11 mm, hemp 0.332 at 5 mm, leather 0.194 at 2.2 mm."""
    assert least < fibre_g_per_ml(covering)[0] < most


def test_weight_of_the_covering_follows_its_material(starter: FormLibrary) -> None:
    """The same vessel under the same thickness weighs more in hemp than in rush, most in the covering's share."""
    bank = FormBank.of([starter["wine-bordeaux-mod"]])
    rush, hemp = (predict("weight", None, True, bank, setting(covering=Covering(None, m))) for m in ("rush", "hemp"))
    assert rush is not None
    assert hemp is not None
    area = glass_of(bank).area_mm2[0]
    assert_allclose(hemp.predicted - rush.predicted, area * 3.0 * (0.95 * 0.7 - 0.18 * 0.7) / 1000.0)


def test_tone_tells_two_vessels_of_one_outline_apart() -> None:
    """Light and heavy glass of one shape: the recording names the one whose own air has that tone."""
    light = plain_form("light", 230.0, 38.0, weight_g=[300, 320], bore_mm=20.0)
    heavy = plain_form("heavy", 230.0, 38.0, weight_g=[900, 950], bore_mm=12.0)
    tone = air_tone(interior_of(heavy))
    answer = identify(Evidence(measurements=(Measurement("tone", tone, 0.01 * tone),)), FormLibrary([light, heavy]))
    assert answer.candidates[0].form == "heavy"
    assert answer.probabilities["heavy"] > 10 * answer.probabilities["light"]


def test_stated_spread_of_tone_and_weight_holds_vessels_drawn_from_the_forms_own_spread(starter: FormLibrary) -> None:
    """Forty vessels with their own size, glass and bore: readings lie as far from the prediction as it says."""
    rng = np.random.default_rng(8)
    misses: dict[str, list[float]] = {"tone": [], "capacity": []}
    for form in [form for form in starter if form.section.kind == "round" and form.bore_mm][::3][:40]:
        bank = FormBank.of([form])
        glass = glass_of(bank)
        stretch, widen = 1 + np.array([form.tolerance.height_sd, form.tolerance.width_sd]) * rng.standard_normal(2)
        grown = np.asarray(form.profile.points) * [stretch, widen]
        usual = float(glass.weight_g[0] + glass.weight_sd_g[0] * rng.standard_normal())
        mass = usual * (1 + 0.08 * float(rng.standard_normal()))
        bore = float(glass.bore[0] * widen * (1 + glass.bore_sd[0] * rng.standard_normal()))
        one = replace(form, profile=Profile.of(grown))
        try:
            inside = interior_of(one, weight_g=mass, bore_mm=bore)
        except InputError:
            continue  # so much glass that no room is left: no such vessel
        for what, reading in (("tone", air_tone(inside)), ("capacity", inside.capacity_ml)):
            state = State.prior(bank, ONE_CLASS, [], top_bare=False, base_bare=False)
            (residual, slope, variance), *_ = measured_rows([Measurement(what, reading, 1e-3)], bank, setting())
            spread = np.einsum("fkp,fkpq,fkq->fk", slope, state.covariance, slope) + variance
            misses[what].append(float(residual[0, 0] / np.sqrt(spread[0, 0])))
    for what, scores in misses.items():
        assert len(scores) >= 30
        assert np.mean(np.abs(scores) < 2.0) > 0.85, what
        assert 0.35 < np.std(scores) < 1.5, what
