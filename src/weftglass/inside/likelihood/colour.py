"""The colour of glass sampled where light passes: how likely a CIELAB reading is for each named colour."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Lab = tuple[float, float, float]

READING = re.compile(
    r"\s*(?:cie)?lab[\s:(]*(-?\d+(?:\.\d+)?)[\s,;]+(-?\d+(?:\.\d+)?)[\s,;]+(-?\d+(?:\.\d+)?)\s*\)?\s*", re.I
)

# L*, a*, b* of a few millimetres of such glass with daylight through it; working figures, no source.
NAMED: dict[str, Lab] = {
    "colourless": (78.0, -1.0, 3.0),
    "aqua": (68.0, -14.0, -5.0),
    "pale green": (68.0, -15.0, 11.0),
    "green": (48.0, -24.0, 20.0),
    "dark green": (28.0, -17.0, 13.0),
    "olive green": (38.0, -10.0, 32.0),
    "olive": (36.0, -5.0, 32.0),
    "dark olive": (18.0, -1.0, 14.0),
    "black": (9.0, 1.0, 4.0),
    "olive amber": (34.0, 7.0, 40.0),
    "dead leaf": (42.0, 10.0, 40.0),
    "amber": (42.0, 22.0, 48.0),
    "brown": (30.0, 16.0, 26.0),
    "red brown": (32.0, 28.0, 30.0),
    "cobalt": (30.0, 18.0, -52.0),
    "blue": (46.0, -2.0, -32.0),
    "emerald": (45.0, -45.0, 22.0),
    "amethyst": (48.0, 22.0, -20.0),
    "milk": (90.0, 0.0, 4.0),
}
LIGHTNESS_SD = 20.0  # thickness of the wall and of the day's light change L* most
HUE_SD = 9.0  # across the hue
DEPTH_SD, DEPTH_SHARE = 9.0, 0.30  # along it: thick glass is deeper in colour
STRAY = 1e-7  # density of a reading that belongs to no colour: reflections, dirt, the covering's own colour


def lab_in(value: str) -> Lab | None:
    """
    The CIELAB reading a sighting's value holds; None where it is a word.

    Examples
    --------
    >>> lab_in("lab 42 -8 31"), lab_in("olive green")
    ((42.0, -8.0, 31.0), None)
    """
    found = READING.fullmatch(value)
    return None if found is None else (float(found[1]), float(found[2]), float(found[3]))


def colour_density(lab: Lab, name: str) -> float | None:
    """
    Density of a reading on glass of a named colour; None where the name is not known.

    Parameters
    ----------
    lab : (L*, a*, b*)
    name : str
        Folded: lower case, no hyphens. ``dark olive green`` is read as its longest known part.

    Notes
    -----
    A normal law, wide in lightness, in hue as wide as names are loose, and along the hue as wide as walls vary.
    """
    known = _known(name)
    if known is None:
        return None
    lightness, a, b = NAMED[known]
    chroma = float(np.hypot(a, b))
    along = np.array([a, b]) / chroma if chroma > 1e-9 else np.array([1.0, 0.0])
    miss = np.array([lab[1] - a, lab[2] - b])
    deep, hue = float(miss @ along), float(miss @ np.array([-along[1], along[0]]))
    sds = np.array([LIGHTNESS_SD, np.hypot(DEPTH_SD, DEPTH_SHARE * chroma), HUE_SD])
    z = np.array([lab[0] - lightness, deep, hue]) / sds
    return float(np.exp(-0.5 * z @ z) / ((2 * np.pi) ** 1.5 * sds.prod())) + STRAY


def nearest_colours(lab: Lab) -> list[tuple[str, float]]:
    """Named colours and how probable each is for a reading, all names alike common; most probable first."""
    weight = {name: colour_density(lab, name) or 0.0 for name in NAMED}
    total = sum(weight.values())
    return sorted(((name, value / total) for name, value in weight.items()), key=lambda pair: -pair[1])


def lab_likelihoods(lab: Lab, listed: Sequence[tuple[str, ...]], leak: float) -> FloatArray:
    """
    Density of a reading under each form's list of colours, (F,); not a number where a form lists none that is known.

    Parameters
    ----------
    lab : (L*, a*, b*)
    listed : sequence of tuple of str
        Folded names, the form's own.
    leak : float
        Chance that a vessel has a colour its form does not list: then any named colour.
    """
    any_colour = float(np.mean([colour_density(lab, name) or 0.0 for name in NAMED]))
    result = np.full(len(listed), np.nan)
    for i, names in enumerate(listed):
        known = [density for name in names if (density := colour_density(lab, name)) is not None]
        if known:
            result[i] = (1.0 - leak) * float(np.mean(known)) + leak * any_colour
    return result


def _known(name: str) -> str | None:
    words = set(name.split())
    fits = [known for known in NAMED if set(known.split()) <= words]
    return max(fits, key=len) if fits else None
