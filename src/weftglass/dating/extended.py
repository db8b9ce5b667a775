"""
Extended dates of ISO 8601-2 (the Extended Date/Time Format): reading them, with level and outer bounds.

Levels 0 to 2 of the Library of Congress specification of 4 February 2019: dates, date-times, intervals, ``? ~ %``
before or after a part, unspecified digits ``X``, ``..`` and unknown ends, sets ``[ ]`` and ``{ }``, years with ``Y``,
``E`` and ``S``, seasons and other parts of a year. Seasons 21 to 24 have no months in the specification: no bounds.
"""

from __future__ import annotations

import re
from calendar import monthrange
from dataclasses import dataclass

from weftglass.errors import InputError

OPEN, UNKNOWN = "open", "unknown"
EXPECTED = "an extended date of ISO 8601-2, such as 1891, 189X, 1890~, 1875/1890, 1890/.. or [1875..1890]"
LONGEST = 200
MOST_DIGITS = 18
DAY = re.compile(
    r"(?P<q1>[?~%]?)(?P<year>-?[0-9X]{4})(?P<q2>[?~%]?)"
    r"(?:-(?P<q3>[?~%]?)(?P<month>[0-9X]{2})(?P<q4>[?~%]?)(?:-(?P<q5>[?~%]?)(?P<day>[0-9X]{2})(?P<q6>[?~%]?))?)?"
)
LONG_YEAR = re.compile(r"Y(?P<sign>-?)(?P<digits>[1-9][0-9]*)(?:E(?P<power>[1-9][0-9]?))?(?:S(?P<kept>[1-9][0-9]?))?")
ROUNDED = re.compile(r"(?P<sign>-?)(?P<digits>[0-9]{4})S(?P<kept>[1-4])")
MOMENT = re.compile(
    r"(?P<day>[0-9]{4}-[0-9]{2}-[0-9]{2})T([01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9]"
    r"(Z|[+-]([01][0-9]|2[0-3])(:[0-5][0-9])?)?"
)
PARTS_OF_YEAR = {
    25: None, 26: None, 27: None, 28: None, 29: None, 30: None, 31: None, 32: None,
    33: (1, 3), 34: (4, 6), 35: (7, 9), 36: (10, 12), 37: (1, 4), 38: (5, 8), 39: (9, 12), 40: (1, 6), 41: (7, 12),
}  # fmt: skip


@dataclass(frozen=True)
class ExtendedDate:
    """
    An extended date, read.

    Parameters
    ----------
    text : str
        As given.
    level : int
        0, 1 or 2: the lowest level of the specification that allows it.
    earliest, latest : str or None
        Outer bounds as days ``YYYY-MM-DD``; ``"open"`` for ``..``, ``"unknown"`` for an empty end; None where the
        specification gives no months (seasons).
    """

    text: str
    level: int
    earliest: str | None
    latest: str | None

    @property
    def years(self) -> tuple[int | None, int | None]:
        """First and last year; None where open, unknown or without months."""
        return _year_in(self.earliest), _year_in(self.latest)


@dataclass(frozen=True)
class _Bounds:
    level: int
    low: tuple[int, int, int] | None
    high: tuple[int, int, int] | None


def read_extended(text: str, where: str = "date", field: str = "date") -> ExtendedDate:
    """
    Read an extended date.

    Parameters
    ----------
    text : str
        Without blanks.

    Raises
    ------
    InputError
        Not an extended date, a day that is in no calendar, or an interval that ends before it begins.

    Examples
    --------
    >>> read_extended("[1875..1890]").years, read_extended("1890/..").latest, read_extended("189X").level
    ((1875, 1890), 'open', 1)
    """
    try:
        if not text or len(text) > LONGEST:
            raise ValueError
        if text[0] in "[{":
            return _set(text)
        if "/" in text:
            return _interval(text)
        one = _date(text)
        return ExtendedDate(text, one.level, _day_text(one.low), _day_text(one.high))
    except ValueError:
        raise InputError(where, field, text, EXPECTED) from None


def _interval(text: str) -> ExtendedDate:
    ends = text.split("/")
    if len(ends) != 2 or (ends[0] in ("", "..") and ends[1] in ("", "..")):
        raise ValueError
    level, shown, days = 0, [], []
    for place, end in enumerate(ends):
        if end in ("", ".."):
            level = max(level, 1)
            shown.append(OPEN if end else UNKNOWN)
            continue
        if "T" in end:
            raise ValueError
        one = _date(end)
        qualified_whole = re.fullmatch(r"-?[0-9]{4}(-[0-9]{2}){0,2}[?~%]?", end) is not None
        level = max(level, one.level if qualified_whole else 2)
        bound = one.low if place == 0 else one.high
        shown.append(_day_text(bound) or UNKNOWN)
        days.append(one)
    if len(days) == 2 and days[0].low is not None and days[1].high is not None and days[0].low > days[1].high:
        raise ValueError
    return ExtendedDate(text, level, shown[0], shown[1])


def _set(text: str) -> ExtendedDate:
    if text[-1:] != {"[": "]", "{": "}"}[text[0]] or len(text) < 3:
        raise ValueError
    lows: list[tuple[int, int, int]] = []
    highs: list[tuple[int, int, int]] = []
    open_low = open_high = False
    members = text[1:-1].split(",")
    for place, member in enumerate(members):
        if member.startswith("..") and place == 0 and len(member) > 2:
            open_low, ends = True, [member[2:]]
        elif member.endswith("..") and place == len(members) - 1 and len(member) > 2:
            open_high, ends = True, [member[:-2]]
        else:
            ends = member.split("..")
            if len(ends) > 2:
                raise ValueError
        bounds = [_date(end) for end in ends]
        if any("T" in end or one.low is None or one.high is None for end, one in zip(ends, bounds, strict=True)):
            raise ValueError
        if len(bounds) == 2 and bounds[0].low > bounds[1].high:  # type: ignore[operator]
            raise ValueError
        lows += [one.low for one in bounds if one.low]
        highs += [one.high for one in bounds if one.high]
    earliest = OPEN if open_low else _day_text(min(lows))
    latest = OPEN if open_high else _day_text(max(highs))
    return ExtendedDate(text, 2, earliest, latest)


def _date(text: str) -> _Bounds:
    moment = MOMENT.fullmatch(text)
    if moment:
        return _plain_day(moment["day"])
    long = LONG_YEAR.fullmatch(text)
    if long:
        return _long_year(long)
    rounded = ROUNDED.fullmatch(text)
    if rounded:
        return _years(*_kept(int(rounded["digits"]), int(rounded["kept"]), rounded["sign"] == "-"), level=2)
    found = DAY.fullmatch(text)
    if not found:
        raise ValueError
    return _day(found)


def _plain_day(text: str) -> _Bounds:
    found = DAY.fullmatch(text)
    if not found:
        raise ValueError
    return _day(found)


def _long_year(found: re.Match[str]) -> _Bounds:
    digits, power, kept = found["digits"], int(found["power"] or 0), found["kept"]
    if len(digits) + power > MOST_DIGITS or (not found["power"] and len(digits) < 5):
        raise ValueError
    value = int(digits) * 10**power
    level = 2 if power or kept else 1
    if kept:
        return _years(*_kept(value, int(kept), found["sign"] == "-"), level=level)
    year = -value if found["sign"] else value
    return _years(year, year, level=level)


def _kept(value: int, digits: int, negative: bool) -> tuple[int, int]:
    """First and last year of a value of which only some leading digits are significant."""
    length = len(str(value))
    if digits > length:
        raise ValueError
    step = 10 ** (length - digits)
    low = value // step * step
    high = low + step - 1
    return (-high, -low) if negative else (low, high)


def _years(first: int, last: int, *, level: int) -> _Bounds:
    return _Bounds(level, (first, 1, 1), (last, 12, 31))


def _day(found: re.Match[str]) -> _Bounds:
    year, month, day = found["year"], found["month"], found["day"]
    if year == "-0000":
        raise ValueError
    level = max(_level_of_qualifiers(found), _level_of_blanks(year.lstrip("-"), month, day))
    negative = year.startswith("-")
    digits = year.lstrip("-")
    low, high = int(digits.replace("X", "0")), int(digits.replace("X", "9"))
    first, last = (-high, -low) if negative else (low, high)
    level = max(level, 1 if negative else 0)
    if month is None:
        return _Bounds(level, (first, 1, 1), (last, 12, 31))
    if "X" not in month and int(month) > 12:
        return _part_of_year(int(month), day, first, last, level)
    months = _matching(month, 1, 12)
    if day is None:
        return _Bounds(level, (first, months[0], 1), (last, months[-1], _length(last, months[-1])))
    days = _matching(day, 1, 31)
    if all(days[0] > max(_length(y, m) for y in {first, last, _leap_between(first, last)}) for m in months):
        raise ValueError
    top = [d for d in days if d <= _length(last, months[-1])]
    return _Bounds(level, (first, months[0], days[0]), (last, months[-1], top[-1] if top else days[-1]))


def _leap_between(first: int, last: int) -> int:
    leap = (y for y in range(first, min(last, first + 8) + 1) if _length(y, 2) == 29)
    return next(leap, first)


def _part_of_year(part: int, day: str | None, first: int, last: int, level: int) -> _Bounds:
    if day is not None or not 21 <= part <= 41:
        raise ValueError
    if part <= 24:
        return _Bounds(max(level, 1), None, None)
    span = PARTS_OF_YEAR[part]
    if span is None:
        return _Bounds(2, None, None)
    return _Bounds(2, (first, span[0], 1), (last, span[1], _length(last, span[1])))


def _level_of_qualifiers(found: re.Match[str]) -> int:
    marks = [name for name in ("q1", "q2", "q3", "q4", "q5", "q6") if found[name]]
    if not marks:
        return 0
    last = "q6" if found["day"] else "q4" if found["month"] else "q2"
    return 1 if marks == [last] else 2


def _level_of_blanks(year: str, month: str | None, day: str | None) -> int:
    if "X" not in f"{year}{month or ''}{day or ''}":
        return 0
    if month is None:
        return 1 if re.fullmatch(r"[0-9]{2}([0-9]X|XX)", year) else 2
    simple = {("XX", None), ("XX", "XX"), (month, "XX")} if "X" not in month else {("XX", None), ("XX", "XX")}
    return 1 if "X" not in year and (month, day) in simple else 2


def _matching(pattern: str, low: int, high: int) -> list[int]:
    wanted = re.compile(pattern.replace("X", "[0-9]"))
    found = [value for value in range(low, high + 1) if wanted.fullmatch(f"{value:02d}")]
    if not found:
        raise ValueError
    return found


def _length(year: int, month: int) -> int:
    cycle = 2000 + year % 400  # the proleptic Gregorian calendar repeats after 400 years
    return monthrange(cycle, month)[1]


def _day_text(day: tuple[int, int, int] | None) -> str | None:
    if day is None:
        return None
    year, month, date = day
    sign = "-" if year < 0 else ""
    return f"{sign}{abs(year):04d}-{month:02d}-{date:02d}"


def _year_in(day: str | None) -> int | None:
    return None if day in (None, OPEN, UNKNOWN) else int(str(day)[:-6])
