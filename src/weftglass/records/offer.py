"""A piece somebody else is selling: what is asked for it, what its seller said and was asked."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from weftglass.errors import InputError
from weftglass.records.shared import Record
from weftglass.records.wording import LONG, SHORT, words

OUTCOMES = ("open", "bought", "sold to somebody else", "let go")
CURRENCY = re.compile(r"[A-Za-z]{1,12}")
MOST_MONEY = 1e9
TALLEST_MM = 3000.0


@dataclass(frozen=True, kw_only=True)
class Offer(Record):
    """
    One offer of one piece.

    Parameters
    ----------
    piece : str
        Id of the piece, whose status is ``offered``.
    seller, venue : str
        Who sells it, and where it was seen.
    seen_on : str
        Day, as 2026-11-25.
    amount : float or None
        What is asked, 0 or more; None where no price was named.
    currency : str
        A word of letters; three capitals after ISO 4217 where there is one.
    said : str
        The seller's own text.
    outcome : str
        One of `OUTCOMES`.
    paid : float or None
        For how much it went, where it went and that is known.
    """

    KIND: ClassVar[str] = "offer"
    PLURAL: ClassVar[str] = "offers"
    LINKS: ClassVar[Mapping[str, str]] = {"piece": "piece"}

    piece: str
    seller: str = ""
    venue: str = ""
    seen_on: str
    amount: float | None = None
    currency: str = ""
    said: str = ""
    outcome: str = "open"
    paid: float | None = None

    @property
    def about(self) -> str:
        """Who sells it, and its price."""
        price = "" if self.amount is None else money_text(self.amount, self.currency)
        return ", ".join(text for text in (self.seller or self.venue, price) if text)

    def check_fields(self, where: str) -> None:
        """Look at the offer by itself."""
        words(self.seller, where, "seller")
        words(self.venue, where, "venue")
        words(self.said, where, "said", longest=LONG)
        day_of(self.seen_on, where, "seen_on")
        if self.outcome not in OUTCOMES:
            raise InputError(where, "outcome", self.outcome, "one of: " + ", ".join(OUTCOMES))
        for field, amount in (("amount", self.amount), ("paid", self.paid)):
            if amount is not None:
                check_money(amount, self.currency, where, field)


@dataclass(frozen=True, kw_only=True)
class Inquiry(Record):
    """
    A question put to a seller.

    Parameters
    ----------
    piece : str
        Id of the piece.
    question : str
        As it was asked.
    looks_for : str
        The measurement or sighting that answers it, such as ``height``; empty for another question.
    z_mm : float or None
        At which height above the table.
    asked_on : str
        Day, as 2026-11-25.
    answer : str
        What the seller answered; empty until then.
    """

    KIND: ClassVar[str] = "inquiry"
    PLURAL: ClassVar[str] = "inquiries"
    LINKS: ClassVar[Mapping[str, str]] = {"piece": "piece"}

    piece: str
    question: str
    looks_for: str = ""
    z_mm: float | None = None
    asked_on: str
    answer: str = ""

    @property
    def about(self) -> str:
        """The question, cut short."""
        return self.question if len(self.question) <= 60 else self.question[:59] + "…"

    def check_fields(self, where: str) -> None:
        """Look at the question by itself."""
        words(self.question, where, "question", longest=LONG, needed=True)
        words(self.answer, where, "answer", longest=LONG)
        words(self.looks_for, where, "looks_for", longest=40)
        day_of(self.asked_on, where, "asked_on")
        if self.z_mm is not None and not 0 <= self.z_mm <= TALLEST_MM:
            raise InputError(where, "z_mm", self.z_mm, f"a height between 0 and {TALLEST_MM:g} mm")


def day_of(text: str, where: str, field: str) -> date:
    """A day written as ISO 8601."""
    try:
        if not re.fullmatch(r"\d{4}-\d\d-\d\d", text):
            raise ValueError
        return date.fromisoformat(text)
    except (TypeError, ValueError):
        raise InputError(where, field, text, "a day as 2026-11-25") from None


def money_text(amount: float, currency: str) -> str:
    """
    An amount with its currency, every digit of it.

    Examples
    --------
    >>> money_text(12345.67, "USD"), money_text(1250000.0, "JPY"), money_text(120.0, "marks")
    ('12,345.67 USD', '1,250,000 JPY', '120 marks')
    """
    return f"{amount:,.15g} {currency}"


def check_money(amount: float, currency: str, where: str, field: str) -> None:
    """An amount with its currency."""
    if not (isinstance(amount, int | float) and 0 <= amount <= MOST_MONEY):
        raise InputError(where, field, amount, "an amount between 0 and a thousand million")
    if not CURRENCY.fullmatch(words(currency, where, "currency", longest=SHORT)):
        raise InputError(where, "currency", currency, "a word of 1 to 12 letters, as USD")
