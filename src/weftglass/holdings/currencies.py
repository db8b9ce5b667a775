"""What a currency is called: a code of ISO 4217, or a word where there is none."""

from __future__ import annotations

import csv
import re
from functools import cache
from importlib.resources import files

CODE_LETTERS = 3
WORD = re.compile(r"[A-Za-z]{1,12}")
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
