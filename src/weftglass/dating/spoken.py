"""Dates as people write them ("about 1895", "late 19th century", "before 1910") as four years; None where unclear."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable

from weftglass.dating.extended import read_extended
from weftglass.dating.span import DateSpan
from weftglass.dating.years import FIRST_YEAR, LAST_YEAR
from weftglass.errors import InputError

ABOUT_YEARS = 5  # half-width of the likely range of "about"; common practice, no source
ABOUT_OUTER = 12  # and of the outer range
PARTS = {  # share of a century that each word means; common practice, no source
    "early": (0, 33), "first half": (0, 50), "mid": (33, 67), "middle": (33, 67), "second half": (50, 100),
    "late": (67, 100), "end": (85, 100), "first quarter": (0, 25), "second quarter": (25, 50),
    "third quarter": (50, 75), "last quarter": (75, 100), "fourth quarter": (75, 100),
}  # fmt: skip
YEAR = r"(1[0-9]{3}|20[0-9]{2})"
RANGE = re.compile(rf"\b{YEAR}\s*(?:-|–|—|/|to|and|or|until)\s*(?:about |c\.? ?|ca\.? ?)?{YEAR}\b")
DECADE = re.compile(r"\b(1[0-9]{2}0|20[0-9]0)\s*['’]?s\b")
CENTURY = re.compile(r"\b(1[0-9]|2[01])(?:st|nd|rd|th)\s*(?:century|cent\b|c\b)")
BEFORE = re.compile(rf"\b(before|by|until|not after|not later than|no later than|ante)\s+{YEAR}\b")
AFTER = re.compile(rf"\b(after|since|from|not before|post)\s+{YEAR}\b")
ABOUT = re.compile(r"\b(about|circa|ca|c|around|approximately|roughly|nearly)\b|~|\?")
HALVES = re.compile(r"\b(first|second|third|fourth|last) (half|quarter)\b|\b(early|mid|middle|late|end)\b")


def spoken_date(text: str) -> DateSpan | None:
    """
    Read a date out of words.

    Parameters
    ----------
    text : str
        English words or an ISO 8601-2 extended date; a year in the middle of a sentence is found too.

    Returns
    -------
    DateSpan or None
        None where no year can be made out; an open side reaches to the ends of the year axis.

    Examples
    --------
    >>> spoken_date("about 1895")
    DateSpan(earliest=1883, likely_from=1890, likely_to=1900, latest=1907)
    >>> spoken_date("late 19th century").likely_from, spoken_date("1910s").likely_to, spoken_date("[1875..1890]").latest
    (1868, 1919, 1890)
    >>> spoken_date("the old one") is None
    True
    """
    plain = unicodedata.normalize("NFKC", text).strip()
    return _extended(plain) or _in_words(plain.lower())


def _extended(text: str) -> DateSpan | None:
    try:
        read = read_extended(text)
    except InputError:
        return None
    first, last = read.years
    if first is None and last is None:
        return None
    low, high = first if first is not None else FIRST_YEAR, last if last is not None else LAST_YEAR
    if not FIRST_YEAR <= low <= high <= LAST_YEAR:
        return None
    return _spread(low, high, about="~" in text or "%" in text or "?" in text)


def _in_words(text: str) -> DateSpan | None:
    about = ABOUT.search(text) is not None
    for pattern, years_of in READERS:
        found = pattern.search(text)
        if found:
            first, last = years_of(found, text)
            return _spread(first, last, about=about) if FIRST_YEAR <= first <= last <= LAST_YEAR else None
    return None


def _part_of(text: str, first: int, length: int) -> tuple[int, int]:
    found = HALVES.search(text)
    if not found:
        return first, first + length - 1
    low, high = PARTS.get(found[0], (0, 100))
    return first + low * length // 100, first + max(1, high * length // 100) - 1


def _spread(first: int, last: int, *, about: bool) -> DateSpan:
    if not about:
        return DateSpan(first, first, last, last)
    inner = (max(FIRST_YEAR, first - ABOUT_YEARS), min(LAST_YEAR, last + ABOUT_YEARS))
    return DateSpan(max(FIRST_YEAR, first - ABOUT_OUTER), *inner, min(LAST_YEAR, last + ABOUT_OUTER))


READERS: tuple[tuple[re.Pattern[str], Callable[[re.Match[str], str], tuple[int, int]]], ...] = (
    (RANGE, lambda found, _: (int(found[1]), int(found[2]))),
    (BEFORE, lambda found, _: (FIRST_YEAR, int(found[2]))),
    (AFTER, lambda found, _: (int(found[2]), LAST_YEAR)),
    (DECADE, lambda found, text: _part_of(text, int(found[1]), 10)),
    (CENTURY, lambda found, text: _part_of(text, 100 * (int(found[1]) - 1) + 1, 100)),
    (re.compile(rf"\b{YEAR}\b"), lambda found, _: (int(found[1]), int(found[1]))),
)
"""Ways of writing years, the more particular first."""
