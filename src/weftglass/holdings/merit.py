"""How good an example a piece is: its condition, whether it is signed, dated, pictorial, and how rare its kind is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import log10

from weftglass.errors import InputError

WEIGHTS: dict[str, float] = {"condition": 0.4, "signed": 0.15, "dated": 0.15, "pictorial": 0.1, "rarity": 0.2}
"""How much each part counts, together 1 (working figures, no source)."""
CONDITION: dict[str, float] = {"sound": 1.0, "watch": 0.7, "care": 0.35, "danger": 0.1}
"""Of the states of an examination (working figures, no source)."""
NOT_EXAMINED = 0.5
RAREST = 3.0
"""A kind met once in ten to this power pieces counts as fully rare."""
WORDS = {"sound": "sound", "watch": "to be watched", "care": "needs care", "danger": "in danger"}


@dataclass(frozen=True)
class Merit:
    """
    How good an example is.

    Parameters
    ----------
    value : float
        0 to 1.
    why : str
        What it rests on, in words.
    """

    value: float
    why: str


def merit(terms: Mapping[str, str], state: str, share: float) -> Merit:
    """
    How good an example a piece is of its kind.

    Parameters
    ----------
    terms : mapping
        Its terms; ``signed``, ``dated`` and ``pictorial`` are ``yes`` or ``no`` where somebody looked.
    state : str
        Of its last examination, one of `CONDITION`; empty if it was never examined, which counts as in the middle.
    share : float
        Of such pieces among all that are met, above 0 and at most 1.

    Examples
    --------
    >>> found = merit({"signed": "yes", "dated": "no"}, "sound", 0.01)
    >>> round(found.value, 2), found.why
    (0.68, 'sound, signed, 1 in 100 of those met')
    """
    if state and state not in CONDITION:
        raise InputError("merit", "state", state, "one of: " + ", ".join(CONDITION))
    if not 0 < share <= 1:
        raise InputError("merit", "share", share, "above 0 and at most 1")
    parts = {"condition": CONDITION.get(state, NOT_EXAMINED), "rarity": min(1.0, -log10(share) / RAREST)}
    worked_in = [term for term in ("signed", "dated", "pictorial") if terms.get(term) == "yes"]
    parts |= dict.fromkeys(worked_in, 1.0)
    why = [WORDS.get(state, "never examined"), *worked_in, f"1 in {1 / share:,.0f} of those met"]
    return Merit(sum(WEIGHTS[part] * value for part, value in parts.items()), ", ".join(why))
