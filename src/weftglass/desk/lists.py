"""What was found, as lists for other programs: the same in a CSV file of a page and the JSON of a command."""

from __future__ import annotations

from collections.abc import Sequence

from weftglass.desk.offers import OfferAtHand
from weftglass.desk.rarity import HowRare
from weftglass.desk.wording import range_text
from weftglass.holdings import Lifespan, Spot


def offer_records(offers: Sequence[OfferAtHand]) -> list[dict[str, object]]:
    """Offers as a list for other programs."""
    return [
        {
            "piece": one.piece.id,
            "name": one.piece.name,
            "seen_on": one.offer.seen_on,
            "seller": one.offer.seller,
            "venue": one.offer.venue,
            "asked": one.offer.amount,
            "currency": one.offer.currency,
            "outcome": one.offer.outcome,
            "paid": one.offer.paid,
            "questions": len(one.inquiries),
            "answered": sum(bool(inquiry.answer) for inquiry in one.inquiries),
        }
        for one in offers
    ]


def rarity_records(every: Sequence[HowRare]) -> list[dict[str, object]]:
    """How unusual, as a list for other programs."""
    return [
        {
            "combination": one.words,
            "among": among,
            "alike": rare.alike,
            "pieces": rare.pieces,
            "share": None if rare.share is None else round(rare.share.value, 5),
            "low": None if rare.share is None else round(rare.share.low, 5),
            "high": None if rare.share is None else round(rare.share.high, 5),
        }
        for one in every
        for among, rare in one.groups.items()
    ]


def spot_records(spots: Sequence[Spot]) -> list[dict[str, object]]:
    """The map as a list for other programs."""
    return [
        {
            "name": one.name,
            "latitude": one.point[0],
            "longitude": one.point[1],
            "within_km": one.within_km,
            "standing": one.standing,
            "pieces": " ".join(piece for piece, _ in one.pieces),
        }
        for one in spots
    ]


def span_records(spans: Sequence[Lifespan]) -> list[dict[str, object]]:
    """The time line as a list for other programs."""
    return [
        {
            "piece": one.piece,
            "name": one.name,
            "community": one.community,
            "glass_from": one.glass[0] if one.glass else None,
            "glass_to": one.glass[1] if one.glass else None,
            "covering_from": one.covering[0] if one.covering else None,
            "covering_to": one.covering[1] if one.covering else None,
            "signed": one.signed,
            "glass": range_text(*one.glass) if one.glass else "",
        }
        for one in spans
    ]
