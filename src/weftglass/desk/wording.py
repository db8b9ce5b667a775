"""Reading what a person typed into a field of a record."""

from __future__ import annotations

import re
import unicodedata

from weftglass.errors import InputError

SHORT = 200
LONG = 10_000
CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f\ud800-\udfff]")


def words(value: object, where: str, field: str, *, longest: int = SHORT, needed: bool = False) -> str:
    """Text without blanks at its ends, line ends as ``\\n``; empty only where it is not needed."""
    expected = f"text of {'1' if needed else '0'} to {longest} characters"
    if not isinstance(value, str):
        raise InputError(where, field, value, expected)
    text = unicodedata.normalize("NFC", value.replace("\r\n", "\n").replace("\r", "\n")).strip()
    if CONTROL.search(text):
        raise InputError(where, field, text, "text without control characters")
    if len(text) > longest or (needed and not text):
        raise InputError(where, field, text, expected)
    return text


def signature(who: object) -> str:
    """The name a change is signed with."""
    return words(who, "signature", "who", longest=100, needed=True)


def slug(name: str) -> str:
    """
    A short name for addresses and files.

    Examples
    --------
    >>> slug("Côte bottle, No. 7"), slug("瓶")
    ('cote-bottle-no-7', 'piece')
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60].strip("-") or "piece"
