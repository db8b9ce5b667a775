"""Facts of a piece's page on price and offer: what is asked, what to ask its seller, and what it is worth."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from weftglass.desk import MOST_QUESTIONS, SURE_ENOUGH, OfferAtHand, best_of, message_to_seller
from weftglass.desk.explaining import inside_sentence
from weftglass.desk.offers import Footing
from weftglass.evidence import FEATURES
from weftglass.evidence import KINDS as KINDS_READ
from weftglass.holdings import CAUTION, KINDS, PriceRange, TooFew, Value, is_stale
from weftglass.inside import Answer, NextLook
from weftglass.records import Inquiry, Piece, Valuation
from weftglass.records.offer import money_text
from weftglass.web.door import FormFault
from weftglass.web.pages.addresses import piece_address
from weftglass.web.pages.wording import bits_words

BASES = tuple((basis, f"{basis}: {words}") for basis, words in KINDS.items())
OUTCOMES = (("bought", "I bought it"), ("sold to somebody else", "somebody else bought it"), ("let go", "I let it go"))


@dataclass(frozen=True)
class QuestionFacts:
    """A question worth asking: what it would tell, and what it is expected to show."""

    kind: str
    z: str
    text: str
    tells: str


@dataclass(frozen=True)
class InquiryFacts:
    """A question already put, with its answer and where the answer belongs."""

    id: str
    text: str
    asked: str
    answer: str
    takes_reading: str


@dataclass(frozen=True)
class ValueFacts:
    """One value as it stands in the record."""

    basis: str
    amount: str
    on: str
    source: str
    stale: bool


@dataclass(frozen=True)
class PriceFacts:
    """The page: the offer where there is one, questions and message, the price range, and the values taken down."""

    name: str
    piece_href: str
    on_offer: bool
    asked: str
    seller: str
    venue: str
    said: str
    seen_on: str
    outcome: str
    version: int
    inside: str
    trace_href: str
    adds: str
    questions: tuple[QuestionFacts, ...]
    no_question: str
    message: str
    inquiries: tuple[InquiryFacts, ...]
    range_words: str
    nearest: tuple[tuple[str, str], ...]
    values: tuple[ValueFacts, ...]
    bases: tuple[tuple[str, str], ...]
    outcomes: tuple[tuple[str, str], ...]
    today: str
    caution: str
    fault: FormFault | None


def price_facts(
    piece: Piece,
    offer: OfferAtHand | None,
    answer: Answer | None,
    footing: Footing,
    trace_href: str,
    questions: tuple[NextLook, ...],
    adds: str,
    likely: PriceRange | TooFew,
    currency: str,
    names: dict[str, str],
    values: tuple[Valuation, ...],
    today: date,
    who: str,
    fault: FormFault | None,
) -> PriceFacts:
    """The page from what the desk says."""
    held = None if offer is None else offer.offer
    inquiries = () if offer is None else offer.inquiries
    open_offer = held is not None and held.outcome == "open"
    asked = "" if held is None or held.amount is None else money_text(held.amount, held.currency)
    texts = [look.seller for look in questions]
    return PriceFacts(
        name=piece.name,
        piece_href=piece_address(piece.id),
        on_offer=piece.status == "offered",
        asked=asked,
        seller=held.seller if held else "",
        venue=held.venue if held else "",
        said=held.said if held else "",
        seen_on=held.seen_on if held else today.isoformat(),
        outcome=held.outcome if held else "",
        version=held.version if held else 0,
        inside=inside_sentence(answer, footing),
        trace_href=trace_href,
        adds=adds,
        questions=tuple(_question(look) for look in questions) if open_offer or held is None else (),
        no_question=_no_question(answer, questions, footing),
        message=message_to_seller(texts, seller=held.seller if held else "", who=who) if texts else "",
        inquiries=tuple(_inquiry(one) for one in inquiries),
        range_words=_range(likely, currency),
        nearest=()
        if isinstance(likely, TooFew)
        else tuple((names.get(i, i), piece_address(i)) for i in likely.nearest),
        values=tuple(_value(one, today) for one in reversed(values)),
        bases=BASES,
        outcomes=OUTCOMES,
        today=today.isoformat(),
        caution=CAUTION,
        fault=fault,
    )


def _question(look: NextLook) -> QuestionFacts:
    height = "" if look.z_mm is None else f"{look.z_mm:g}"
    return QuestionFacts(look.kind, height, look.seller, f"{bits_words(look.gain_bits)}; expected: {look.expected}")


def _no_question(answer: Answer | None, questions: tuple[NextLook, ...], footing: Footing) -> str:
    if questions:
        return ""
    if answer is None:
        return f"Up to {MOST_QUESTIONS} questions are proposed once something is known."
    if best_of(answer)[1] >= SURE_ENOUGH and footing.firm:
        return "Nothing more needs to be asked about the vessel: the answer is sure enough."
    return "No question that a seller could answer safely would tell the forms apart any further."


def _inquiry(one: Inquiry) -> InquiryFacts:
    hint = ""
    if one.looks_for in KINDS_READ:
        hint = f"a number with its unit, as 281 {KINDS_READ[one.looks_for].unit}; empty if none was given"
    elif one.looks_for in FEATURES:
        hint = "in trade words; empty if it could not be told"
    return InquiryFacts(one.id, one.question, one.asked_on, one.answer, hint)


def _value(one: Valuation, today: date) -> ValueFacts:
    held = Value(one.piece, one.basis, one.amount, one.currency, date.fromisoformat(one.on), one.source)
    return ValueFacts(one.basis, money_text(one.amount, one.currency), one.on, one.source, is_stale(held, today))


def _range(found: PriceRange | TooFew, currency: str) -> str:
    if isinstance(found, TooFew):
        return f"No price range: {found.reason}"
    amount = found.amount
    used = ", ".join(f"{term} {value} ({factor:.2f} times)" for term, value, factor in found.used)
    money = f"money of {found.of_year}" if currency == "USD" else "as paid, no price index"
    return (
        f"Like pieces went for {amount.low:,.0f} to {amount.high:,.0f} {currency}, the middle {amount.value:,.0f} "
        f"({amount.level:.0%} of them, {money}), from {found.records} price records"
        f"{'; compared by ' + used if used else ''}."
    )


def _nearest(found: PriceRange | TooFew) -> tuple[str, ...]:
    return () if isinstance(found, TooFew) else found.nearest
