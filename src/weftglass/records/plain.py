"""Records as plain JSON values and back, by the types their fields declare."""

from __future__ import annotations

import dataclasses
import json
import math
import types
from collections.abc import Mapping
from datetime import UTC, datetime
from functools import cache
from itertools import chain
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

from weftglass.errors import InputError

R = TypeVar("R")
AS_THEY_ARE = frozenset({str, int, bool, float})
WORDS = {str: "text", int: "a whole number", float: "a finite number", bool: "true or false"}


def to_plain(value: object) -> Any:
    """
    A record (or any value in one) as JSON values: records to objects, tuples to lists, times to ISO 8601 text in UTC.

    Examples
    --------
    >>> from weftglass.records.view import KnownHeight
    >>> to_plain(KnownHeight(231.0))
    {'mm': 231.0, 'sd_mm': 1.0}
    """
    if type(value) in AS_THEY_ARE:
        return value
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: to_plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, tuple):
        if set(map(type, value)) == {tuple} and AS_THEY_ARE.issuperset(map(type, chain.from_iterable(value))):
            return list(map(list, value))  # a thousand points of an outline are looked through at once
        return [to_plain(item) for item in value]
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")
    return value


def from_plain(kind: type[R], plain: object, where: str) -> R:
    """
    Read a record back; `to_plain` of the result equals what was read. A time may also be a datetime with a zone.

    Raises
    ------
    InputError
        Names the field that is missing, unknown or of a wrong type.
    """
    read: R = _record(kind, plain, where, "")
    return read


def json_value(text: str, where: str, field: str) -> Any:
    """A JSON text that a field holds, read; an `InputError` that names the field where it is none."""
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        raise InputError(where, field, text, "JSON text") from None


@cache
def _made_of(kind: Any) -> tuple[Any, tuple[Any, ...]]:
    """A declared type's origin and its parts: asked once, since an outline has a thousand points."""
    return get_origin(kind), get_args(kind)


@cache
def _types(kind: type) -> dict[str, Any]:
    hints = get_type_hints(kind)
    return {field.name: hints[field.name] for field in dataclasses.fields(kind)}


def _record(kind: type, plain: object, where: str, field: str) -> Any:
    if not isinstance(plain, Mapping):
        raise InputError(where, field or "record", plain, "an object in braces { }")
    wanted = _types(kind)
    for name in plain:
        if name not in wanted:
            raise InputError(where, _inside(field, str(name)), plain[name], "left out: nobody reads it")
    given = {name: _value(wanted[name], plain[name], where, _inside(field, name)) for name in wanted if name in plain}
    try:
        return kind(**given)
    except TypeError:
        missing = next(f.name for f in dataclasses.fields(kind) if f.name not in given and _is_needed(f))
        raise InputError(where, _inside(field, missing), None, "given") from None


def _is_needed(field: dataclasses.Field[Any]) -> bool:
    return field.default is dataclasses.MISSING and field.default_factory is dataclasses.MISSING


def _value(kind: Any, plain: object, where: str, field: str) -> Any:
    if type(plain) is kind and kind in AS_THEY_ARE and (type(plain) is not float or math.isfinite(plain)):
        return plain
    origin, parts = _made_of(kind)
    if origin in (Union, types.UnionType):
        if plain is None:
            return None
        return _value(next(part for part in parts if part is not type(None)), plain, where, field)
    if origin is tuple:
        return _tuple(parts, plain, where, field)
    if dataclasses.is_dataclass(kind):
        return _record(kind, plain, where, field)  # type: ignore[arg-type]
    if kind is datetime:
        return _moment(plain, where, field)
    fits = isinstance(plain, kind) and (kind is bool or not isinstance(plain, bool))
    if kind is float and isinstance(plain, int | float) and not isinstance(plain, bool) and math.isfinite(plain):
        return float(plain)
    if not fits or kind is float:
        raise InputError(where, field, plain, WORDS[kind])
    return plain


def _tuple(parts: tuple[Any, ...], plain: object, where: str, field: str) -> tuple[Any, ...]:
    if not isinstance(plain, list):
        raise InputError(where, field, plain, "a list in brackets [ ]")
    kinds = [parts[0]] * len(plain) if len(parts) == 2 and parts[1] is Ellipsis else list(parts)
    if len(kinds) != len(plain):
        raise InputError(where, field, plain, f"a list of {len(kinds)}")
    if set(kinds) == {float} and _are_floats(plain):
        return tuple(plain)
    if len(set(kinds)) == 1 and _are_rows(kinds[0], plain) and _are_floats(list(chain.from_iterable(plain))):
        return tuple(map(tuple, plain))
    return tuple(
        _value(kind, item, where, f"{field}[{i}]") for i, (kind, item) in enumerate(zip(kinds, plain, strict=True))
    )


def _are_rows(kind: Any, plain: list[Any]) -> bool:
    """Whether rows of so many floats each are wanted, as points are, and as many values stand in each."""
    origin, columns = _made_of(kind)
    if origin is not tuple or set(columns) != {float}:
        return False
    return set(map(type, plain)) == {list} and set(map(len, plain)) == {len(columns)}


def _are_floats(plain: list[Any]) -> bool:
    return set(map(type, plain)) == {float} and all(map(math.isfinite, plain))


def _moment(plain: object, where: str, field: str) -> datetime:
    if isinstance(plain, datetime) and plain.tzinfo is UTC:
        return plain
    try:
        moment = datetime.fromisoformat(plain) if isinstance(plain, str) else None
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None:
        raise InputError(where, field, plain, "a time such as 2026-11-25T10:15:00.000000Z")
    return moment.astimezone(UTC)


def _inside(field: str, name: str) -> str:
    return f"{field}.{name}" if field else name
