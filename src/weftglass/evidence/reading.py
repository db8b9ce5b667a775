"""Reading one field of a JSON record, with an error that names the field, the value and what would be right."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from weftglass.errors import InputError
from weftglass.vessels.fields import number_of

Record = Mapping[str, Any]


def need_list(value: object, where: str, field: str) -> Sequence[Any]:
    """The value as a JSON list; ``None`` counts as an empty one."""
    if value is None:
        return ()
    if isinstance(value, str) or not isinstance(value, Sequence):
        raise InputError(where, field, value, "a list in brackets [ ]")
    return value


def need_text(value: object, where: str, field: str, expected: str, *, longest: int = 200) -> str:
    """The value as text of 1 to ``longest`` characters, blanks at the ends removed."""
    if not isinstance(value, str) or not value.strip() or len(value) > longest:
        raise InputError(where, field, value, expected)
    return value.strip()


def refuse_unknown(record: Record, known: frozenset[str], where: str, field: str) -> None:
    """Refuse keys that nobody reads, so that a misspelt field is not silently lost."""
    for key in record:
        if key not in known:
            name = f"{field}.{key}" if field else str(key)
            raise InputError(where, name, record[key], f"left out, or one of: {', '.join(sorted(known))}")


def need_range(value: object, where: str, field: str) -> tuple[float, float]:
    """The value as a height range ``[low, high]`` in mm with ``low < high``."""
    expected = "two heights in mm, the lower first, such as [262.0, 300.0]"
    pair = value if isinstance(value, Sequence) and not isinstance(value, str) else ()
    if len(pair) != 2:
        raise InputError(where, field, value, expected)
    low = number_of(pair[0], where, f"{field}[0]", expected, low=-1e4, high=1e4)
    high = number_of(pair[1], where, f"{field}[1]", expected, low=-1e4, high=1e4)
    if low >= high:
        raise InputError(where, field, value, expected)
    return low, high
