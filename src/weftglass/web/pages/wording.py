"""Numbers as people read them: rounded to what their uncertainty carries, with the unit, never surer than computed."""

from __future__ import annotations

import math
from datetime import date, datetime

from weftglass.desk.wording import (
    FEATURE_WORDS,
    KIND_WORDS,
    MINUS,
    capital,
    chance_words,
    percent_text,
    range_text,
    with_sd_text,
)

__all__ = [
    "FEATURE_WORDS",
    "KIND_WORDS",
    "bits_words",
    "capital",
    "chance_words",
    "day_text",
    "decibans_text",
    "decibans_words",
    "moment_text",
    "percent_text",
    "range_text",
    "with_sd_text",
]


def decibans_text(decibans: float) -> str:
    """
    Weight of evidence with its sign.

    Examples
    --------
    >>> decibans_text(14.23), decibans_text(-3.4), decibans_text(0.04)
    ('+14\\xa0db', '−3.4\\xa0db', '0\\xa0db')
    """
    if abs(decibans) < 0.1:
        return "0\u00a0db"
    size = f"{abs(decibans):.0f}" if abs(decibans) >= 9.95 else f"{abs(decibans):.1f}"
    return f"{'+' if decibans > 0 else MINUS}{size}\u00a0db"


def decibans_words(decibans: float) -> str:
    """
    What a weight of evidence does to a form's odds against the average form, in plain words.

    Examples
    --------
    >>> decibans_words(10.0)
    'makes it 10 times likelier'
    >>> decibans_words(-3.0)
    'makes it 2 times less likely'
    """
    if abs(decibans) < 1:
        return "says next to nothing"
    times = 10 ** (min(abs(decibans), 60.0) / 10)
    shown = f"over {1000:,}" if times > 1000 else f"{times:.2g}" if times < 10 else f"{_rounded(times):,.0f}"
    return f"makes it {shown} times {'likelier' if decibans > 0 else 'less likely'}"


def bits_words(bits: float) -> str:
    """
    How much a look is expected to tell.

    Examples
    --------
    >>> bits_words(0.9), bits_words(0.02)
    ('would tell much', 'would tell little')
    """
    if bits >= 0.6:
        return "would tell much"
    return "would tell something" if bits >= 0.15 else "would tell little"


def day_text(moment: date) -> str:
    """
    A date as a catalogue writes it.

    Examples
    --------
    >>> day_text(datetime(2026, 11, 5))
    '5 November 2026'
    """
    return f"{moment.day} {moment:%B %Y}"


def moment_text(moment: datetime) -> str:
    """Date and time of day to the minute."""
    return f"{day_text(moment)}, {moment:%H:%M}"


def _rounded(value: float) -> float:
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    return round(value / step) * step
