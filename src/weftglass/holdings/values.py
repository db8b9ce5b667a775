"""What pieces cost and are worth, with dates and sources; what has gone stale; totals by place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from weftglass.errors import InputError

KINDS: dict[str, str] = {
    "cost": "what was paid, with what it cost to get it home",
    "fair market": "what a willing and informed buyer and seller would agree on, neither being forced",
    "replacement": "what a comparable piece would cost from a dealer; the usual basis of insurance",
}
"""Kinds of value, in our own words after 26 CFR 1.170A-1(c)(2) and appraisers' practice."""

STALE_YEARS = 3.0
"""A value older than this is called stale, cost excepted (common practice, no source)."""

CAUTION = (
    "A collector's own figures. For insurance, tax, a gift or an estate ask a licensed appraiser, who will want to see "
    "the pieces and will name a date and a purpose."
)


@dataclass(frozen=True)
class Value:
    """
    One value of one piece.

    Parameters
    ----------
    piece : str
    kind : str
        One of `KINDS`.
    amount : float
        0 or more.
    currency : str
        A word of letters; three capitals after ISO 4217 where there is one.
    on : datetime.date
        When it was true.
    source : str
        Who says so.
    place : str
        Where the piece is kept; empty if not known.
    """

    piece: str
    kind: str
    amount: float
    currency: str
    on: date
    source: str
    place: str = ""

    def __post_init__(self) -> None:
        where = f"value of {self.piece}"
        if self.kind not in KINDS:
            raise InputError(where, "kind", self.kind, "one of: " + ", ".join(KINDS))
        if not (self.amount >= 0 and self.amount < float("inf")):
            raise InputError(where, "amount", self.amount, "0 or more")
        if not (self.currency.isalpha() and len(self.currency) <= 12):
            raise InputError(where, "currency", self.currency, "a word of letters, as USD or EUR")


@dataclass(frozen=True)
class Total:
    """
    A sum over pieces.

    Parameters
    ----------
    place, kind, currency : str
    amount : float
    pieces : int
        Pieces with such a value.
    without : int
        Pieces of the place that have none, so that the sum is too low.
    stale : tuple of str
        Pieces whose value is older than three years.
    """

    place: str
    kind: str
    currency: str
    amount: float
    pieces: int
    without: int
    stale: tuple[str, ...]


def newest(values: Sequence[Value]) -> dict[tuple[str, str], Value]:
    """The latest value of each piece and kind."""
    found: dict[tuple[str, str], Value] = {}
    for value in values:
        held = found.get((value.piece, value.kind))
        if held is None or value.on >= held.on:
            found[value.piece, value.kind] = value
    return found


def is_stale(value: Value, today: date) -> bool:
    """Older than three years; what was paid never goes stale."""
    return value.kind != "cost" and (today - value.on).days > STALE_YEARS * 365.25


def totals(values: Sequence[Value], places: dict[str, str], today: date) -> tuple[Total, ...]:
    """
    Sums of the latest values by place, kind and currency; currencies are never added together.

    Parameters
    ----------
    values : sequence of Value
    places : dict
        Every piece to the place where it is kept; pieces without a value are counted as lacking one.
    today : datetime.date
    """
    latest = newest(values)
    found = []
    for place in sorted(set(places.values())):
        here = [piece for piece, kept in places.items() if kept == place]
        for kind in KINDS:
            held = [latest[piece, kind] for piece in here if (piece, kind) in latest]
            for currency in sorted({value.currency for value in held}):
                some = [value for value in held if value.currency == currency]
                stale = tuple(value.piece for value in some if is_stale(value, today))
                amount = sum(value.amount for value in some)
                found.append(Total(place, kind, currency, amount, len(some), len(here) - len(held), stale))
    return tuple(found)
