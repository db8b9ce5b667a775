"""How likely a sighting is for each form: what the form lists against what any vessel might show."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from weftglass.evidence import Sighting
from weftglass.inside.likelihood.colour import lab_in, lab_likelihoods
from weftglass.inside.likelihood.letters import letters_likelihood
from weftglass.vessels import Form

FloatArray = NDArray[np.float64]

LEAK = 0.06  # chance that a vessel of a form shows something its list lacks; working figure, no source
SELLER_LEAK = 0.45  # sellers' words are weak evidence; working figure, no source

SAME = {  # spellings and near-synonyms of the trade, folded to one word
    "colorless": "colourless",
    "clear": "colourless",
    "black": "dark olive",
    "light green": "aqua",
    "bluegreen": "aqua",
    "blue": "cobalt",
    "brown": "amber",
    "crown cap": "crown",
    "screw": "thread",
    "continuous thread": "thread",
    "collared": "ring",
}


@lru_cache(maxsize=4096)
def fold(words: str) -> str:
    """Lower case, no accents, single blanks, one spelling; brackets and hyphens become blanks."""
    plain = unicodedata.normalize("NFKD", words.lower())
    plain = "".join(ch for ch in plain if not unicodedata.combining(ch))
    plain = re.sub(r"[^a-z0-9]+", " ", plain).strip()
    return SAME.get(plain, plain)


@lru_cache(maxsize=4096)
def _words(words: str) -> frozenset[str]:
    return frozenset(fold(words).split())


def agrees(seen: str, listed: str) -> bool:
    """
    Whether a word seen and a word listed mean the same thing: every word of the shorter stands in the longer.

    Examples
    --------
    >>> agrees("olive", "dark olive"), agrees("blob", "double ring"), agrees("Blob", "blob")
    (True, False, True)
    """
    one, other = _words(seen), _words(listed)
    if not one or not other:
        return False
    return one <= other or other <= one


def listed_values(form: Form, feature: str) -> tuple[str, ...]:
    """What the form lists under a feature of a sighting; empty where it says nothing."""
    if feature == "section":
        return (form.section.kind,)
    if feature == "seller":
        return (form.name, form.family_name)
    if feature == "contents":
        return tuple(re.split(r"[/;,]", form.contents)) if form.contents else ()
    named: dict[str, tuple[str, ...]] = {
        "finish": form.finish,
        "closure": form.closure,
        "colour": form.colours,
        "base": form.base,
    }
    return named.get(feature, ())


def sighting_likelihood(sighting: Sighting, forms: Sequence[Form]) -> tuple[FloatArray, float]:
    """
    Probability of the sighting for each form, and for a vessel in general.

    Parameters
    ----------
    sighting : Sighting
        What was seen and how sure the eye was.
    forms : sequence of Form
        F forms.

    Returns
    -------
    array (F,)
        Likelihoods above 0, up to a factor common to all.
    float
        The same for an unlisted vessel: the average over the forms that say something.

    Notes
    -----
    A form that lists n values shows one of them with probability (1 - leak) / n. A form that says nothing under this
    feature gets the average: silence is no evidence. With probability 1 - sure the eye was wrong: all forms alike.
    A colour may be a CIELAB reading (``lab 42 -8 31``); it is then weighed against the named colours.
    """
    if sighting.feature == "letters":
        return letters_likelihood(sighting, forms)
    leak = SELLER_LEAK if sighting.feature == "seller" else LEAK
    lab = lab_in(sighting.value) if sighting.feature == "colour" else None
    likelihood = np.full(len(forms), np.nan)
    if lab is not None:
        likelihood = lab_likelihoods(lab, [tuple(map(fold, form.colours)) for form in forms], leak)
    for i, form in enumerate(forms if lab is None else ()):
        listed = listed_values(form, sighting.feature)
        if listed:
            hits = sum(agrees(sighting.value, value) for value in listed)
            likelihood[i] = (1.0 - leak) * hits / len(listed) if hits else leak / 8.0
    speaks = np.isfinite(likelihood)
    average = float(likelihood[speaks].mean()) if speaks.any() else 1.0
    likelihood[~speaks] = average
    mixed = sighting.sure * likelihood + (1.0 - sighting.sure) * average
    return mixed, average
