"""The air a tone sounds in: speed of sound, density and viscosity from temperature, humidity and pressure."""

from __future__ import annotations

import math
from dataclasses import dataclass

from weftglass.errors import InputError

ZERO_CELSIUS_K = 273.15
CARBON_DIOXIDE = 0.0004  # mole fraction; recommended by IEC 61094-2:2009 where it is not measured
HEAT_RATIO = 1.4
PRANDTL = 0.71
VAPOUR = (1.2378847e-5, -1.9121316e-2, 33.93711047, -6.3431645e3)  # Davis 1992; kelvin, Pa
ENHANCEMENT = (1.00062, 3.14e-8, 5.6e-7)  # Davis 1992; Pa, °C
SPEED = (  # Cramer 1993, table III; °C, mole fractions, Pa, m/s
    331.5024, 0.603055, -0.000528, 51.471935, 0.1495874, -0.000782, -1.82e-7, 3.73e-8, -2.93e-10,
    -85.20931, -0.228525, 5.91e-5, -2.835149, -2.15e-13, 29.179762, 0.000486,
)  # fmt: skip
VISCOSITY = (84.986, 7.0, 113.157, -1.0, -3.7501e-3, -100.015)  # IEC 61094-2:2009, table F.2; kelvin, 1e-8 Pa s
RANGES = {
    "temperature_c": (0.0, 40.0, "a temperature from 0 to 40 °C"),
    "humidity_pct": (0.0, 100.0, "a relative humidity from 0 to 100 %"),
    "pressure_hpa": (600.0, 1100.0, "an air pressure from 600 to 1100 hPa"),
}


@dataclass(frozen=True)
class Atmosphere:
    """
    Air at rest.

    Parameters
    ----------
    temperature_c : float
        0 to 40 °C. Cramer's polynomial is stated for 0 to 30 °C; above that it is an extrapolation of well under 0.1 %.
    humidity_pct : float
        Relative humidity, 0 to 100 %.
    pressure_hpa : float
        600 to 1100 hPa.

    Raises
    ------
    InputError
        A number outside its range.

    References
    ----------
    .. [1] Cramer (1993), The variation of the specific heat ratio and the speed of sound in air, J. Acoust. Soc. Am.
       93, 2510-2516, equation 15 and table III, doi 10.1121/1.405827.
    .. [2] Davis (1992), Equation for the determination of the density of moist air, Metrologia 29, 67-70.
    .. [3] IEC 61094-2:2009, annex F: viscosity and density of humid air.

    Examples
    --------
    >>> round(Atmosphere(20, 50).speed_m_s, 2)
    343.99
    """

    temperature_c: float = 20.0
    humidity_pct: float = 50.0
    pressure_hpa: float = 1013.25

    def __post_init__(self) -> None:
        for field, (low, high, expected) in RANGES.items():
            value = getattr(self, field)
            if not low <= value <= high:
                raise InputError("air", field, value, expected)

    @property
    def vapour_share(self) -> float:
        """Mole fraction of water vapour."""
        kelvin, pascal = self.temperature_c + ZERO_CELSIUS_K, 100.0 * self.pressure_hpa
        a, b, c, d = VAPOUR
        saturated = math.exp(a * kelvin**2 + b * kelvin + c + d / kelvin)
        enhancement = ENHANCEMENT[0] + ENHANCEMENT[1] * pascal + ENHANCEMENT[2] * self.temperature_c**2
        return self.humidity_pct / 100.0 * enhancement * saturated / pascal

    @property
    def speed_m_s(self) -> float:
        """Speed of sound at low frequency, m/s; uncertainty 300 parts in a million (Cramer 1993)."""
        return speed_of_sound_m_s(self.temperature_c, self.vapour_share, 100.0 * self.pressure_hpa)

    @property
    def density_kg_m3(self) -> float:
        """Density, kg/m³, within 0.1 %: the ideal gas of the CIPM-2007 equation."""
        kelvin = self.temperature_c + ZERO_CELSIUS_K
        return 3.483740e-3 * 100.0 * self.pressure_hpa / kelvin * (1.0 - 0.3780 * self.vapour_share)

    @property
    def viscosity_pa_s(self) -> float:
        """Dynamic viscosity, Pa s (IEC 61094-2:2009, annex F)."""
        kelvin, x = self.temperature_c + ZERO_CELSIUS_K, self.vapour_share
        a0, a1, a2, a3, a4, a5 = VISCOSITY
        return (a0 + a1 * kelvin + (a2 + a3 * kelvin) * x + a4 * kelvin**2 + a5 * x**2) * 1e-8


def speed_of_sound_m_s(
    temperature_c: float, vapour_share: float, pressure_pa: float, carbon_dioxide_share: float = CARBON_DIOXIDE
) -> float:
    """
    Speed of sound by Cramer's polynomial.

    Parameters
    ----------
    temperature_c : float
        °C.
    vapour_share, carbon_dioxide_share : float
        Mole fractions.
    pressure_pa : float
        Pa.

    Returns
    -------
    float
        m/s.

    References
    ----------
    .. [1] Cramer (1993), J. Acoust. Soc. Am. 93, 2510-2516, equation 15.
    """
    a, t, w, p, x = SPEED, temperature_c, vapour_share, pressure_pa, carbon_dioxide_share
    return (
        a[0]
        + a[1] * t
        + a[2] * t**2
        + (a[3] + a[4] * t + a[5] * t**2) * w
        + (a[6] + a[7] * t + a[8] * t**2) * p
        + (a[9] + a[10] * t + a[11] * t**2) * x
        + a[12] * w**2
        + a[13] * p**2
        + a[14] * x**2
        + a[15] * w * p * x
    )
