"""The air in a vessel: its inside has the right room, its tone follows physics and an independent solution."""

from __future__ import annotations

import numpy as np
import pytest
from benchmarks.air_finite_elements import tone_by_finite_elements

from weftglass.errors import InputError
from weftglass.vessels import FormLibrary, Profile
from weftglass.vessels.air import air_tone, air_tones, form_tones, tone_spread
from weftglass.vessels.atmosphere import Atmosphere
from weftglass.vessels.interior import Interior, interior_of

LIBRARY = FormLibrary.starter()


@pytest.mark.parametrize("name", ["med-boston-120ml", "wine-onion-650ml"])
def test_tone_agrees_with_finite_elements(name: str) -> None:
    """Waveguide and axisymmetric finite elements (scikit-fem) differ by at most 2 %."""
    inside = interior_of(LIBRARY[name])
    ours = air_tone(inside)
    np.testing.assert_allclose(ours, tone_by_finite_elements(LIBRARY[name], inside, ours), rtol=0.02)


def test_insides_hold_what_their_forms_say() -> None:
    """Brimful over nominal capacity lies where the starter drawings put it."""
    share = [interior_of(form).capacity_ml / form.capacity_ml for form in LIBRARY if form.capacity_ml]
    assert 1.02 < float(np.median(share)) < 1.05


def test_every_starter_form_has_a_tone_and_a_spread() -> None:
    """No form is left out, and all lie where bottles sound."""
    tones = form_tones(list(LIBRARY))
    assert np.isfinite(tones).all()
    assert 15 < tones.min() < tones.max() < 2000
    assert all(0.01 < tone_spread(form) < 0.3 for form in LIBRARY)


def test_many_vessels_sound_as_each_alone() -> None:
    """Batches change nothing."""
    insides = [interior_of(form) for form in list(LIBRARY)[:12]]
    np.testing.assert_allclose(air_tones(insides), [air_tone(inside) for inside in insides], rtol=1e-6)


def test_warm_air_sounds_higher_and_a_wider_bore_too() -> None:
    """Tone rises with the speed of sound, nearly in proportion, and with the bore."""
    form = LIBRARY["wine-bordeaux-mod"]
    inside = interior_of(form)
    cold, warm = Atmosphere(5, 50), Atmosphere(30, 50)
    ratio = air_tone(inside, warm) / air_tone(inside, cold)
    np.testing.assert_allclose(ratio, warm.speed_m_s / cold.speed_m_s, rtol=2e-3)
    assert air_tone(interior_of(form, bore_mm=1.1 * inside.bore_mm)) > air_tone(inside)


def test_glass_that_fills_the_vessel_is_refused() -> None:
    """The error names the mass."""
    with pytest.raises(InputError) as caught:
        interior_of(LIBRARY["wine-bordeaux-mod"], weight_g=50_000)
    assert caught.value.field == "weight_g"


@pytest.mark.parametrize(("field", "value"), [("temperature_c", 60), ("humidity_pct", 101), ("pressure_hpa", 10)])
def test_weather_out_of_range_is_refused(field: str, value: float) -> None:
    """The error names the field."""
    with pytest.raises(InputError) as caught:
        Atmosphere(**{field: value})
    assert caught.value.field == field


def test_a_mouth_wider_than_its_lip_is_refused() -> None:
    """A lip cannot lie inside the bore."""
    with pytest.raises(InputError):
        Interior.of_round(Profile.of([[0, 10], [100, 10]]), lip_half_width_mm=5)
