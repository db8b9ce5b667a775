"""Reading what a form field says, where the desk wants more than text."""

from __future__ import annotations

import math

from weftglass.errors import InputError


def number_typed(text: str, where: str, field: str, expected: str) -> float:
    """
    A plain number, with a decimal point or comma.

    Examples
    --------
    >>> number_typed("0,9", "sighting", "sure", "a probability")
    0.9
    """
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        raise InputError(where, field, text, expected) from None
    if not math.isfinite(value):
        raise InputError(where, field, text, expected)
    return value


def yes_or_no(text: str) -> bool | None:
    """True for yes, False for no, None where nothing was chosen."""
    return {"yes": True, "no": False}.get(text)
