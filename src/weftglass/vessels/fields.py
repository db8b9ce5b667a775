"""Reading one field of a form record, with an error that names the field, the value and what would be right."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from weftglass.errors import InputError


def record_of(value: object, where: str, field: str) -> Mapping[str, Any]:
    """The value as a JSON object."""
    if not isinstance(value, Mapping):
        raise InputError(where, field, value, "an object in braces { }")
    return value


def items_of(value: object, where: str, field: str, *, most: int) -> Sequence[Any]:
    """The value as a JSON list of at most ``most`` items; ``None`` counts as an empty one."""
    if value is None:
        return ()
    if isinstance(value, str | bytes) or not isinstance(value, Sequence) or len(value) > most:
        raise InputError(where, field, value, f"a list in brackets [ ] of at most {most} items")
    return value


def number_of(
    value: object, where: str, field: str, expected: str, *, low: float = -math.inf, high: float = math.inf
) -> float:
    """The value as a finite number with ``low <= value <= high``; true and false are not numbers."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InputError(where, field, value, expected)
    if not low <= value <= high or not -1e300 < value < 1e300:  # an integer too large for a float stops here
        raise InputError(where, field, value, expected)
    return float(value)


def text_of(value: object, where: str, field: str, *, longest: int = 200) -> str:
    """The value as one line of text of 1 to ``longest`` characters, blanks at the ends removed."""
    expected = f"text of 1 to {longest} characters without control characters"
    if not isinstance(value, str) or not value.strip() or len(value) > longest or not value.isprintable():
        raise InputError(where, field, value, expected)
    return value.strip()


def optional_text(value: object, where: str, field: str, *, longest: int = 200) -> str | None:
    """As `text_of`; ``None`` and an empty string mean unknown."""
    return None if value is None or value == "" else text_of(value, where, field, longest=longest)


def words_of(value: object, where: str, field: str) -> tuple[str, ...]:
    """The value as a tuple of short texts; a single text counts as one."""
    if isinstance(value, str):
        return (text_of(value, where, field),)
    items = items_of(value, where, field, most=100)
    return tuple(text_of(item, where, f"{field}[{i}]") for i, item in enumerate(items))


def range_of(
    value: object, where: str, field: str, expected: str, *, low: float, high: float
) -> tuple[float, float] | None:
    """The value as (low, high), the lower first, equal allowed; ``None`` stays ``None``; one number is both ends."""
    if value is None:
        return None
    if isinstance(value, int | float):
        single = number_of(value, where, field, expected, low=low, high=high)
        return single, single
    pair = value if isinstance(value, Sequence) and not isinstance(value, str) else ()
    if len(pair) != 2:
        raise InputError(where, field, value, expected)
    first = number_of(pair[0], where, f"{field}[0]", expected, low=low, high=high)
    last = number_of(pair[1], where, f"{field}[1]", expected, low=low, high=high)
    if first > last:
        raise InputError(where, field, value, expected)
    return first, last
