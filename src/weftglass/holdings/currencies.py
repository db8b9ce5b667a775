"""What a currency is called, a code of ISO 4217 or a word where there is none; and how an amount of it is written."""

from __future__ import annotations

import csv
import re
from functools import cache
from importlib.resources import files

CODE_LETTERS = 3
WORD = re.compile(r"[A-Za-z]{1,12}")
WITH_POINT = re.compile(r"(?:\d{1,3}(?:,\d{3})+|\d+)(?:\.(\d{1,3}))?")
WITH_COMMA = re.compile(r"(?:\d{1,3}(?:\.\d{3})+|\d+),\d{1,2}")
"""Amounts with a point before the cents and commas between thousands, and the other way round."""

IN_THOUSANDTHS = frozenset({"BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"})
"""Currencies whose smallest unit is a thousandth (ISO 4217)."""

A_CURRENCY = (
    "a currency: a code of ISO 4217 such as USD or EUR, or a word that has not just three letters, such as marks"
)
"""What is right of a currency, for sentences."""


@cache
def currency_codes() -> frozenset[str]:
    """
    Codes that ISO 4217 gives, or gave, to money one pays with: not to metals, funds, units of account or trials.

    Withdrawn codes are among them, as old receipts name old money.
    """
    text = (files("weftglass.holdings") / "data" / "currencies.csv").read_text(encoding="utf-8")
    return frozenset(row["code"] for row in csv.DictReader(text.splitlines()))


def currency_named(text: str) -> str | None:
    """
    The currency that was typed: a code in capitals, another word as it stands; None where it cannot be one.

    Three letters are taken for a code, so that a slip of the finger does not found a currency of its own.

    Examples
    --------
    >>> currency_named("usd"), currency_named("marks"), currency_named("UDS")
    ('USD', 'marks', None)
    """
    if not WORD.fullmatch(text):
        return None
    if len(text) != CODE_LETTERS:
        return text
    return text.upper() if text.upper() in currency_codes() else None


def amount_read(text: str, currency: str = "") -> float | None:
    """
    An amount as it was typed, with a point or a comma before the cents; None where it is none or could be another.

    Examples
    --------
    >>> amount_read("1,250.50"), amount_read("1.250,50"), amount_read("12,50"), amount_read("1,250")
    (1250.5, 1250.5, 12.5, 1250.0)

    A point before three figures is no point before cents, unless the currency has thousandths:

    >>> amount_read("1.250"), amount_read("1.250", "KWD")
    (None, 1.25)
    """
    if WITH_COMMA.fullmatch(text):
        return float(text.replace(".", "").replace(",", "."))
    found = WITH_POINT.fullmatch(text)
    if found is None or (len(found[1] or "") > 2 and currency not in IN_THOUSANDTHS):
        return None
    return float(text.replace(",", ""))
