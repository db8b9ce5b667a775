"""What pieces cost and are worth: values taken down, totals by place, and a price range from one's own records."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from weftglass.cabinet import Reader
from weftglass.cabinet.listing import last_change, piece_columns
from weftglass.desk.collection import Collection
from weftglass.desk.holdings import holdings_of
from weftglass.desk.offers import price_of
from weftglass.desk.wording import signature
from weftglass.errors import InputError
from weftglass.holdings import PriceRange, Sale, TooFew, Total, Value, price_range, totals
from weftglass.holdings.money import consumer_prices
from weftglass.records import Offer, Piece, Valuation, words

PRICED_BY = ("community", "family", "technique", "signed", "dated")
INDEXED = "USD"
NO_PLACE = "place not written down"


def record_value(
    collection: Collection, piece: str, basis: str, typed: str, *, who: str, on: str, source: str, remark: str = ""
) -> Valuation:
    """
    Take a value down.

    Parameters
    ----------
    basis : str
        cost, fair market or replacement.
    typed : str
        An amount and its currency, as ``120 USD``.
    on : str
        Day it was true, as 2026-11-25.
    source : str
        Who says so.

    Raises
    ------
    InputError
        A field that is wrong; nothing is stored then.
    """
    amount, currency = price_of(typed, "value", "amount")
    if amount is None:
        raise InputError("value", "amount", typed, "an amount and its currency, as 120 USD")
    with collection.cabinet.writing(signature(who)) as draft:
        draft.get(Piece, piece)
        value = Valuation(
            id=draft.numbered_id(Valuation, f"{piece}.value"),
            piece=piece,
            basis=basis,
            amount=amount,
            currency=currency,
            on=on,
            source=words(source, "value", "source", needed=True),
            remark=words(remark, "value", "remark", longest=10_000),
        )
        Valuation(**{**vars(value), "version": 1}).check("value")
        return draft.put(value)


def values_of(collection: Collection, piece: str | None = None) -> tuple[Valuation, ...]:
    """Values taken down, of one piece or of all that stand, oldest day first."""
    with collection.cabinet.reading() as reader:
        standing = {one["id"] for one in piece_columns(reader.session, ("id",))}
        found = reader.all_of(Valuation, piece=piece)
    return tuple(sorted((one for one in found if one.piece in standing), key=lambda one: (one.on, one.id)))


def totals_of(collection: Collection, today: date) -> tuple[Total, ...]:
    """Sums of the latest values of owned pieces by place, kind and currency."""
    with collection.cabinet.reading() as reader:
        every = piece_columns(reader.session, ("id", "status", "kept"))
    places = {one["id"]: one["kept"] or NO_PLACE for one in every if one["status"] == "owned"}
    values = [
        Value(one.piece, one.basis, one.amount, one.currency, date.fromisoformat(one.on), one.source)
        for one in values_of(collection)
        if one.piece in places
    ]
    return totals(values, places, today)


def price_for(collection: Collection, piece: str, currency: str, *, today: date) -> PriceRange | TooFew:
    """
    What a piece like this would cost, from the user's own price records in one currency.

    Parameters
    ----------
    piece : str
        Its terms (community, family of forms, technique, signed, dated) are compared.
    currency : str
        Only records in it count. Dollars (USD) are brought to the money of the last year of the price index; any other
        currency is taken as paid.

    Returns
    -------
    PriceRange or TooFew
    """
    terms = {one.piece: one.terms for one in holdings_of(collection, status=None)}
    return price_like(collection, terms.get(piece, {}), currency, today=today, but=piece)


def price_like(
    collection: Collection, terms: Mapping[str, str], currency: str, *, today: date, but: str = ""
) -> PriceRange | TooFew:
    """
    What a piece with such terms would cost, as `price_for`.

    Parameters
    ----------
    terms : mapping
        Term to value; those that prices are compared by count.
    but : str
        A piece whose own price is not looked at.
    """
    holdings = {one.piece: one.terms for one in holdings_of(collection, status=None)}
    with collection.cabinet.reading() as reader:
        key = ("paid", currency, last_change(reader.session))
        paid: list[Sale] = collection.counted.get(key, lambda: _paid(reader, currency))
    year = max(consumer_prices()) if currency == INDEXED else today.year
    first = min(consumer_prices())
    sales = [
        replace(
            one,
            year=max(one.year, first) if currency == INDEXED else year,
            traits=_traits(holdings.get(one.piece, {})),
        )
        for one in paid
        if one.amount > 0 and one.piece != but
    ]
    return price_range(sales, _traits(terms), of_year=year)


def _traits(terms: Mapping[str, str]) -> dict[str, str]:
    return {term: terms[term] for term in PRICED_BY if terms.get(term)}


def _paid(reader: Reader, currency: str) -> list[Sale]:
    """Every price that was paid, by the owner or by somebody else, once a piece."""
    found: dict[str, Sale] = {}
    for offer in reader.all_of(Offer):
        if offer.outcome in ("bought", "sold to somebody else") and offer.paid and offer.currency == currency:
            found[offer.piece] = Sale(offer.piece, offer.paid, int(offer.seen_on[:4]), {})
    for value in reader.all_of(Valuation):
        if value.basis == "cost" and value.currency == currency:
            found[value.piece] = Sale(value.piece, value.amount, int(value.on[:4]), {})
    return list(found.values())
