"""Facts of the buying page: what is lacking, what is on offer, and the best set for a sum; and of the values page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from weftglass.desk import TERMS, BuyingPlan, OfferAtHand, objectives
from weftglass.desk.holdings_words import against_first, gain_name, gain_sentence, gain_text, share_text
from weftglass.holdings import CAUTION, KINDS, Choice, Total, Want
from weftglass.records.offer import money_text
from weftglass.web.door import FormFault
from weftglass.web.limits import MAX_FILE_BYTES
from weftglass.web.pages.addresses import piece_address
from weftglass.web.pages.forms import FilterFacts
from weftglass.web.pages.holdings import terms_asked
from weftglass.web.pages.wording import percent_text

DEFAULT_OBJECTIVE = "cells"
MOST_WANTS = 20


@dataclass(frozen=True)
class WantFacts:
    """One gap: what it is, what filling it gains, whether it can be told from the first, and whether one turns up."""

    what: str
    gain: str
    rank: str
    share: str
    turns_up: str
    why: str


@dataclass(frozen=True)
class OfferFacts:
    """One offer in a line."""

    name: str
    href: str
    price: str
    seller: str
    seen: str
    outcome: str
    waiting: str


@dataclass(frozen=True)
class StepFacts:
    """What the next sum would buy."""

    sum: str
    buys: str


@dataclass(frozen=True)
class PlanFacts:
    """The best set for a sum, why each is in, and what more money would buy."""

    headline: str
    chosen: tuple[tuple[str, str, str, str], ...]
    steps: tuple[StepFacts, ...]
    left_out: str


@dataclass(frozen=True)
class BuyingFacts:
    """The page as asked for."""

    filters: tuple[FilterFacts, ...]
    wants: tuple[WantFacts, ...]
    gain_name: str
    gain_means: str
    shares_too: bool
    more_wants: int
    ahead: int
    csv_href: str
    offers: tuple[OfferFacts, ...]
    offers_csv_href: str
    plan: PlanFacts | None
    with_wants: bool
    budget: str
    currency: str
    hidden: tuple[tuple[str, str], ...]
    file_limit: str
    fault: FormFault | None


@dataclass(frozen=True)
class TotalFacts:
    """One sum of the values page."""

    place: str
    kind: str
    amount: str
    pieces: str
    stale: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class ValuesFacts:
    """Totals by place and kind of value."""

    totals: tuple[TotalFacts, ...]
    kinds: tuple[tuple[str, str], ...]
    caution: str


def asked_of(asked: Mapping[str, str]) -> tuple[str, str, str]:
    """Row term, column term and objective of the address; nonsense reads as the usual ones."""
    row, column = terms_asked(asked)
    objective = asked.get("objective", "")
    return row, column, objective if objective in objectives(row, column) else DEFAULT_OBJECTIVE


def buying_facts(
    wants: Sequence[Want],
    ahead: int,
    offers: Sequence[OfferAtHand],
    plan: BuyingPlan | None,
    asked: Mapping[str, str],
    fault: FormFault | None,
) -> BuyingFacts:
    """The page from what the desk says."""
    row, column, objective = asked_of(asked)
    choices = tuple(TERMS.items())
    keep = {"rows": row, "columns": column, "objective": objective}
    return BuyingFacts(
        filters=(
            FilterFacts("rows", "By", choices, row),
            FilterFacts("columns", "and", choices, column),
            FilterFacts("objective", "What it should become", tuple(objectives(row, column).items()), objective),
        ),
        wants=tuple(_want(one, wants[0]) for one in wants[:MOST_WANTS]),
        gain_name=gain_name(objective),
        gain_means=gain_sentence(objective),
        shares_too=objective in ("mirror", "best"),
        more_wants=max(len(wants) - MOST_WANTS, 0),
        ahead=ahead,
        csv_href=f"/wants.csv?{urlencode(keep)}",
        offers=tuple(offer_facts(one) for one in offers),
        offers_csv_href="/offers.csv",
        plan=None if plan is None else _plan(plan, bool(asked.get("wants"))),
        with_wants=bool(asked.get("wants")),
        budget=asked.get("budget", ""),
        currency=asked.get("currency", "") or _usual_currency(offers),
        hidden=tuple(keep.items()),
        file_limit=f"{MAX_FILE_BYTES // 2**20} MB each",
        fault=fault,
    )


def _usual_currency(offers: Sequence[OfferAtHand]) -> str:
    used = [one.offer.currency for one in offers if one.offer.currency]
    return max(set(used), key=used.count) if used else "USD"


def _want(one: Want, first: Want) -> WantFacts:
    what = " on ".join(part for part in (one.row, one.column) if part)
    rank = against_first(one, first)
    return WantFacts(what, gain_text(one.gain), rank, share_text(one.share), percent_text(one.turns_up), one.why)


def offer_facts(one: OfferAtHand) -> OfferFacts:
    """One offer in a line."""
    offer = one.offer
    price = "no price named" if offer.amount is None else money_text(offer.amount, offer.currency)
    unanswered = sum(not inquiry.answer for inquiry in one.inquiries)
    waiting = "" if not unanswered else f"{unanswered} question{'' if unanswered == 1 else 's'} not answered yet"
    seller = ", ".join(text for text in (offer.seller, offer.venue) if text)
    return OfferFacts(
        one.piece.name, f"{piece_address(one.piece.id)}/price", price, seller, offer.seen_on, offer.outcome, waiting
    )


def _plan(found: BuyingPlan, with_wants: bool) -> PlanFacts:
    plan = found.plan
    proven = "no other set within the sum is worth more, which is proven" if plan.proven else "not proven best"
    cost = f"{plan.cost:,.2f} {found.currency}"
    bought = [one for one in plan.chosen if one.id not in found.wanted]
    kept = len(plan.chosen) - len(bought)
    what = f"Buy {len(bought)}" + (f" and keep money for {kept}" if kept else "")
    headline = (
        f"{what}, {cost} in all; {proven}."
        if plan.chosen
        else "Nothing on offer with a price in this currency fits the sum."
    )
    unpriced = with_wants and not found.wanted
    no_wants = "No money is kept for gaps: none lacks an offer, or too few prices are on record to say what one costs."
    left_out = f"Not planned with, for want of a price in {found.currency}: {', '.join(found.left_out)}."
    return PlanFacts(
        headline,
        tuple(_chosen(one, found) for one in plan.chosen),
        tuple(StepFacts(f"{step.more:,.2f} {found.currency}", found.beyond(step)) for step in found.steps),
        " ".join([left_out if found.left_out else "", no_wants if unpriced else ""]).strip(),
    )


def _chosen(one: Choice, found: BuyingPlan) -> tuple[str, str, str, str]:
    wanted = one.id in found.wanted
    return (
        f"keep for: {found.names[one.id]}" if wanted else found.names[one.id],
        "" if wanted else f"{piece_address(one.id)}/price",
        f"{one.price:,.2f} {found.currency}",
        found.reasons[one.id],
    )


def want_records(wants: Sequence[Want], row_term: str, column_term: str) -> list[dict[str, object]]:
    """Gaps as a list for other programs."""
    return [
        {
            row_term: one.row,
            column_term: one.column,
            "held": one.held,
            "worth": round(one.worth, 4),
            "in_100": round(100 * one.gain.value, 3),
            "in_100_low": round(100 * one.gain.low, 3),
            "in_100_high": round(100 * one.gain.high, 3),
            "share": round(one.share.value, 5),
            "share_low": round(one.share.low, 5),
            "share_high": round(one.share.high, 5),
            "turns_up": round(one.turns_up, 4),
            "why": one.why,
        }
        for one in wants
    ]


def values_facts(totals: Sequence[Total], names: Mapping[str, str]) -> ValuesFacts:
    """Totals in words."""
    return ValuesFacts(tuple(_total(one, names) for one in totals), tuple(KINDS.items()), CAUTION)


def _total(one: Total, names: Mapping[str, str]) -> TotalFacts:
    lacking = f"; {one.without} more without one, so the sum is too low" if one.without else ""
    pieces = f"{one.pieces} piece{'' if one.pieces == 1 else 's'}{lacking}"
    stale = tuple((names.get(piece, piece), f"{piece_address(piece)}/price") for piece in one.stale)
    return TotalFacts(one.place, one.kind, f"{one.amount:,.2f} {one.currency}", pieces, stale)
