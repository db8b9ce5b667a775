"""
What a person types, with its unit, as mm, g, ml or °C; a unit is never guessed.

Factors are exact by definition: inch 25.4 mm and avoirdupois pound 453.59237 g (international yard and pound, 1959); US
liquid gallon 231 cubic inches; imperial gallon 4.54609 l (Weights and Measures Act 1985, Schedule 1).

Examples
--------
>>> length_mm("12 1/2 in"), length_mm("30,5 cm"), round(mass_g("1 lb 4 oz"), 2), round(volume_ml("26 2/3 imp fl oz"), 2)
(317.5, 305.0, 566.99, 757.68)
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction

from weftglass.errors import InputError

LONGEST = 60  # characters

INCH_MM = Fraction("25.4")
POUND_G = Fraction("453.59237")
US_GALLON_ML = 231 * INCH_MM**3 / 1000
IMPERIAL_GALLON_ML = Fraction("4546.09")

PARTS_OF_GALLON = {"gallon": Fraction(1), "quart": Fraction(1, 4), "pint": Fraction(1, 8), "gill": Fraction(1, 32)}
FLUID_OUNCES = {"us": 128, "imp": 160}  # in a gallon
GALLONS = {"us": US_GALLON_ML, "imp": IMPERIAL_GALLON_ML}
SYSTEM_NAMES = {"us": "US", "imp": "imp"}

LENGTHS: dict[str, Fraction] = {
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), Fraction(1)),
    **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), Fraction(10)),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), Fraction(1000)),
    **dict.fromkeys(("in", "inch", "inches", '"', "″", "''"), INCH_MM),
    **dict.fromkeys(("ft", "foot", "feet", "'", "′"), 12 * INCH_MM),
}
MASSES: dict[str, Fraction] = {
    **dict.fromkeys(("g", "gram", "grams", "gramme", "grammes"), Fraction(1)),
    **dict.fromkeys(("kg", "kilogram", "kilograms", "kilo", "kilos"), Fraction(1000)),
    **dict.fromkeys(("lb", "lbs", "pound", "pounds"), POUND_G),
    **dict.fromkeys(("oz", "ounce", "ounces"), POUND_G / 16),
}
METRIC_VOLUMES: dict[str, Fraction] = {
    **dict.fromkeys(("ml", "millilitre", "millilitres", "milliliter", "milliliters"), Fraction(1)),
    **dict.fromkeys(("cm3", "cm³", "cc", "ccm"), Fraction(1)),
    **dict.fromkeys(("cl", "centilitre", "centilitres", "centiliter", "centiliters"), Fraction(10)),
    **dict.fromkeys(("dl", "decilitre", "decilitres", "deciliter", "deciliters"), Fraction(100)),
    **dict.fromkeys(("l", "ltr", "litre", "litres", "liter", "liters"), Fraction(1000)),
}
FLUID_NAMES: dict[str, str] = {
    **dict.fromkeys(("gallon", "gallons", "gal", "gals"), "gallon"),
    **dict.fromkeys(("quart", "quarts", "qt", "qts"), "quart"),
    **dict.fromkeys(("pint", "pints", "pt", "pts"), "pint"),
    **dict.fromkeys(("gill", "gills"), "gill"),
    **dict.fromkeys(("fl oz", "floz", "fluid ounce", "fluid ounces", "fl ounce", "fl ounces"), "fl oz"),
}
SYSTEMS = {"us": "us", "u s": "us", "american": "us", "imp": "imp", "imperial": "imp", "british": "imp", "uk": "imp"}
QUOTED_FRACTIONS = {
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅓": "1/3", "⅔": "2/3", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
    "⅙": "1/6", "⅚": "5/6", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5",
}  # fmt: skip

NUMBER = r"\d+ \d+/\d+|\d+/\d+|\d+(?:[.,]\d+)?"
TERM = re.compile(rf"\s*({NUMBER})\s*([^\d\s][^\d]*|(?=\Z))")
TEMPERATURE = re.compile(r"([+\-−]?)\s*(\d+(?:[.,]\d+)?)\s*(?:°\s*|deg(?:rees)?\s+)?([a-z]*)")


def length_mm(text: str, where: str = "length", field: str = "length") -> float:
    """
    A length in mm.

    Parameters
    ----------
    text : str
        A number with its unit: mm, cm, m, in, ft. Fractions and decimal commas are read; terms add up: ``"1 ft 2 in"``.
    where, field : str
        What an error should name.

    Raises
    ------
    InputError
        No unit, an unknown unit, a number that could be read two ways, or nothing to read.

    Examples
    --------
    >>> length_mm("3/4 in"), length_mm('12½"')
    (19.05, 317.5)
    """
    return _sum(text, LENGTHS, "a length with its unit, such as 312 mm, 30,5 cm or 12 1/2 in", where, field)


def mass_g(text: str, where: str = "weight", field: str = "weight") -> float:
    """
    A mass in g: g, kg, lb, oz (avoirdupois); parameters and errors as `length_mm`.

    Examples
    --------
    >>> mass_g("0,812 kg")
    812.0
    """
    return _sum(text, MASSES, "a weight with its unit, such as 812 g, 0.81 kg or 1 lb 4 oz", where, field)


def volume_ml(text: str, where: str = "capacity", field: str = "capacity") -> float:
    """
    A volume in ml: ml, cl, dl, l, cm3, and with US or imp: gallon, quart, pint, gill, fl oz.

    Parameters
    ----------
    text, where, field : str
        As `length_mm`. The system may stand before or after the unit.

    Raises
    ------
    InputError
        As `length_mm`; a bare pint, quart, gallon, gill or fl oz is asked back, with both sizes.

    Examples
    --------
    >>> volume_ml("1 US pint"), volume_ml("75 cl")
    (473.176473, 750.0)
    >>> volume_ml("1 pint")
    Traceback (most recent call last):
        ...
    weftglass.errors.InputError: capacity: capacity is '1 pint'; it should be said as 'US pint' (473.18 ml) or 'imp pint' (568.26 ml). Nothing was changed.
    """  # noqa: E501
    for _, unit in _terms(text, "", where, field, quiet=True):
        _ask_which(text, unit, where, field)
    expected = "a capacity with its unit, such as 750 ml, 70 cl, 26 imp fl oz or 1 US quart"
    return _sum(text, VOLUMES, expected, where, field)


def temperature_c(text: str, where: str = "temperature", field: str = "temperature") -> float:
    """
    A temperature in °C, from °C or °F, between -90 and 60 °C.

    Examples
    --------
    >>> temperature_c("68 F"), temperature_c("20,5 °C")
    (20.0, 20.5)
    """
    expected = "a temperature with its unit, such as 20 °C or 68 °F, from -90 to 60 °C"
    match = TEMPERATURE.fullmatch(text.strip().casefold()) if len(text) <= LONGEST and text.isprintable() else None
    if match is None or match[3] not in ("c", "f", "celsius", "fahrenheit"):
        raise InputError(where, field, text, expected)
    value = _number(match[2], text, where, field) * (-1 if match[1] in ("-", "−") else 1)
    celsius = value if match[3].startswith("c") else (value - 32) * Fraction(5, 9)
    if not -90 <= celsius <= 60:
        raise InputError(where, field, text, expected)
    return float(celsius)


def _fluid(system: str, name: str) -> Fraction:
    if name == "fl oz":
        return GALLONS[system] / FLUID_OUNCES[system]
    return GALLONS[system] * PARTS_OF_GALLON[name]


VOLUMES: dict[str, Fraction] = {
    **METRIC_VOLUMES,
    **{f"{said} {unit}": _fluid(SYSTEMS[said], FLUID_NAMES[unit]) for said in SYSTEMS for unit in FLUID_NAMES},
    **{f"{unit} {said}": _fluid(SYSTEMS[said], FLUID_NAMES[unit]) for said in SYSTEMS for unit in FLUID_NAMES},
}


def _ask_which(text: str, unit: str, where: str, field: str) -> None:
    """Refuse a unit that has a US and an imperial size, naming both."""
    name = "fl oz" if unit in ("oz", "ounce", "ounces") else FLUID_NAMES.get(unit)
    if name is None:
        return
    choices = [f"'{SYSTEM_NAMES[s]} {name}' ({float(_fluid(s, name)):.2f} ml)" for s in ("us", "imp")]
    raise InputError(where, field, text, "said as " + " or ".join(choices))


def _sum(text: str, units: Mapping[str, Fraction], expected: str, where: str, field: str) -> float:
    """Terms of number and unit, added up; later units must be smaller, so that '1 oz 4 lb' is not taken."""
    total, last = Fraction(0), None
    for number, unit in _terms(text, expected, where, field):
        factor = units.get(unit)
        if factor is None or (last is not None and factor >= last):
            raise InputError(where, field, text, expected)
        total += number * factor
        last = factor
    return float(total)


def _terms(text: str, expected: str, where: str, field: str, *, quiet: bool = False) -> list[tuple[Fraction, str]]:
    """Pairs of number and unit; the whole text must be used up. Quiet: an empty list instead of an error."""
    try:
        return _split(text, expected, where, field)
    except InputError:
        if quiet:
            return []
        raise


def _split(text: str, expected: str, where: str, field: str) -> list[tuple[Fraction, str]]:
    if not isinstance(text, str) or not text.strip() or len(text) > LONGEST or not text.isprintable():
        raise InputError(where, field, text, expected)
    plain = text.casefold().replace("⁄", "/")
    for sign, fraction in QUOTED_FRACTIONS.items():
        plain = plain.replace(sign, f" {fraction}")
    plain = re.sub(r"\s*/\s*", "/", re.sub(r"\s+", " ", plain)).strip()
    plain = re.sub(r"\bcm\s?(?:3|³|\^3)", "cubic", plain)  # its digit must not be read as a number
    pairs, place = [], 0
    while place < len(plain):
        match = TERM.match(plain, place)
        if match is None:
            raise InputError(where, field, text, expected)
        unit = re.sub(r"\s+", " ", match[2].replace(".", " ")).strip(" ,") if match[2] else ""
        pairs.append((_number(match[1], text, where, field), "cc" if unit == "cubic" else unit))
        place = match.end()
    return pairs


def _number(digits: str, text: str, where: str, field: str) -> Fraction:
    """A whole number, decimal, fraction or mixed number, exactly."""
    if re.fullmatch(r"\d+,\d{3}", digits) and not digits.startswith("0"):
        clear = digits.replace(",", "")
        raise InputError(
            where, field, text, f"clearer: {clear} for thousands, or {digits.replace(',', '.')} for decimals"
        )
    whole, _, part = digits.rpartition(" ")
    if "/" not in part:
        return Fraction(part.replace(",", "."))
    above, below = (int(figure) for figure in part.split("/"))
    if below == 0 or (whole and above >= below):
        raise InputError(where, field, text, "a number with a plain fraction, such as 12 1/2")
    return Fraction(int(whole or 0)) + Fraction(above, below)
