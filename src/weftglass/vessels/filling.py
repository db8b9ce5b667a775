"""How much a vessel holds, from the water it takes, and how far a bottle made to measure may be off."""

from __future__ import annotations

import math

from weftglass.errors import InputError

WATER_A = (-3.983035, 301.797, 522528.9, 69.34881, 999.974950)  # °C, °C, °C², °C, kg/m³
AIR_G_PER_ML = 0.0012  # at 1013 hPa and 20 °C
WEIGHTS_G_PER_ML = 8.0  # conventional density of balance weights
STANDARD_HPA = 1013.25


def water_density_g_per_ml(temperature_c: float) -> float:
    """
    Density of air-free water at normal pressure.

    Parameters
    ----------
    temperature_c : float
        0 to 40 °C.

    Returns
    -------
    float
        g/ml, standard uncertainty below 1e-6.

    References
    ----------
    .. [1] Tanaka, Girard, Davis, Peuto & Bignell (2001), Metrologia 38, 301-309, doi 10.1088/0026-1394/38/4/3.

    Examples
    --------
    >>> round(water_density_g_per_ml(20), 6)
    0.998207
    """
    if not 0 <= temperature_c <= 40:
        raise InputError("filling", "temperature_c", temperature_c, "a temperature from 0 to 40 °C")
    a1, a2, a3, a4, a5 = WATER_A
    t = temperature_c
    return a5 * (1 - (t + a1) ** 2 * (t + a2) / (a3 * (t + a4))) / 1000.0


def capacity_from_water_ml(water_g: float, temperature_c: float, pressure_hpa: float = STANDARD_HPA) -> float:
    """
    Capacity from the mass of water that fills a vessel, weighed in air.

    Parameters
    ----------
    water_g : float
        Balance reading full less empty, g, at least 0.
    temperature_c : float
        Of the water, 0 to 40 °C.
    pressure_hpa : float
        Air pressure, 500 to 1100 hPa. Default 1013.25.

    Returns
    -------
    float
        ml at the water's temperature; buoyancy in air is corrected (0.105 % at 20 °C), the glass's expansion is not
        (0.0027 % a kelvin).

    Notes
    -----
    The method of ISO 8106:2004. Never fill a covered piece: water spoils most coverings and may start a leak;
    dry grain or beads (then with their own larger error) are the safer way (common practice, no source).

    Examples
    --------
    >>> round(capacity_from_water_ml(748.0, 20), 2)
    750.13
    """
    if not (math.isfinite(water_g) and water_g >= 0):
        raise InputError("filling", "water_g", water_g, "a mass of at least 0, in g")
    if not 500 <= pressure_hpa <= 1100:
        raise InputError("filling", "pressure_hpa", pressure_hpa, "a pressure from 500 to 1100 hPa")
    air = AIR_G_PER_ML * pressure_hpa / STANDARD_HPA
    return water_g * (1 - air / WEIGHTS_G_PER_ML) / (water_density_g_per_ml(temperature_c) - air)


def permitted_error_ml(nominal_ml: float) -> float:
    """
    Greatest permitted error of a measuring container bottle, plus or minus.

    Parameters
    ----------
    nominal_ml : float
        Nominal capacity, above 0 and up to 5000 ml.

    Returns
    -------
    float
        ml. Modern machine-made bottles only: a claim about capacity finer than this says nothing about the form.

    References
    ----------
    .. [1] OIML R 138 (2007), 5.1.2; the same scheme in Directive 75/107/EEC and ISO 9058:2008.

    Examples
    --------
    >>> permitted_error_ml(750), permitted_error_ml(400)
    (10.0, 8.0)
    """
    if not 0 < nominal_ml <= 5000:
        raise InputError("filling", "nominal_ml", nominal_ml, "a capacity above 0 and up to 5000 ml")
    for most, share, fixed in STEPS:
        if nominal_ml <= most:
            return share * nominal_ml + fixed
    return 0.01 * nominal_ml


STEPS = (  # up to nominal ml: share of it, fixed ml
    (50.0, 0.06, 0.0),
    (100.0, 0.0, 3.0),
    (200.0, 0.03, 0.0),
    (300.0, 0.0, 6.0),
    (500.0, 0.02, 0.0),
    (1000.0, 0.0, 10.0),
)
