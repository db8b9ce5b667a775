"""Capacity by weighed water: the corrections point the right way and bad input is refused."""

from __future__ import annotations

import math

import pytest

from weftglass.errors import InputError
from weftglass.vessels import capacity_from_water_ml, permitted_error_ml, water_density_g_per_ml


def test_warm_water_takes_more_room() -> None:
    """Above 4 °C density falls, so a gram fills more."""
    volumes = [capacity_from_water_ml(1000, t) for t in (5, 15, 25, 35)]
    assert volumes == sorted(volumes)


def test_thin_air_buoys_less() -> None:
    """In the mountains the correction shrinks."""
    assert capacity_from_water_ml(1000, 20, 800) < capacity_from_water_ml(1000, 20)


def test_permitted_error_never_jumps_down_within_a_step() -> None:
    """The scheme is continuous at every bound."""
    for bound in (50, 100, 200, 300, 500, 1000):
        assert permitted_error_ml(bound) == pytest.approx(permitted_error_ml(bound * 1.0000001), rel=1e-4)


@pytest.mark.parametrize("temperature", [-1, 41, math.nan])
def test_frozen_and_hot_water_are_refused(temperature: float) -> None:
    """The formula holds from 0 to 40 °C."""
    with pytest.raises(InputError, match="0 to 40"):
        water_density_g_per_ml(temperature)


def test_masses_pressures_and_capacities_out_of_range_are_refused() -> None:
    """Each names its own range."""
    with pytest.raises(InputError, match="at least 0"):
        capacity_from_water_ml(-1, 20)
    with pytest.raises(InputError, match="hPa"):
        capacity_from_water_ml(1, 20, 100)
    with pytest.raises(InputError, match="5000"):
        permitted_error_ml(6000)
