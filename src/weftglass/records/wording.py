"""Reading text that a person typed into a field of a record."""

from __future__ import annotations

import re
import unicodedata

from weftglass.errors import InputError

SHORT = 200
LONG = 10_000
CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f\ud800-\udfff]")


def words(value: object, where: str, field: str, *, longest: int = SHORT, needed: bool = False) -> str:
    """
    Text without blanks at its ends, line ends as ``\\n``; empty only where it is not needed.

    Raises
    ------
    InputError
        If it is no text, too long, empty though needed, or holds control characters.

    Examples
    --------
    >>> words("  Tide jar \\r\\n", "piece", "name")
    'Tide jar'
    """
    expected = f"text of {'1' if needed else '0'} to {longest} characters"
    if not isinstance(value, str):
        raise InputError(where, field, value, expected)
    text = unicodedata.normalize("NFC", value.replace("\r\n", "\n").replace("\r", "\n")).strip()
    if CONTROL.search(text):
        raise InputError(where, field, text, "text without control characters")
    if len(text) > longest or (needed and not text):
        raise InputError(where, field, text, expected)
    return text
