"""Offers: entering one, what to ask its seller, the message, the answers, and how it ended."""

from __future__ import annotations

import logging
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from weftglass.cabinet import Draft
from weftglass.cabinet.listing import last_change
from weftglass.desk.collection import Collection
from weftglass.desk.forms import library_of
from weftglass.desk.identification import answer_to, best_of, evidence_of, gather_evidence, unsure_outlines
from weftglass.desk.measurements import put_measurement, read_measurement
from weftglass.desk.outlines import propose_outline, set_scale
from weftglass.desk.photographs import read_photos
from weftglass.desk.pieces import file_piece, get_piece_dossier
from weftglass.desk.sightings import put_sighting, read_sighting
from weftglass.desk.wording import signature
from weftglass.errors import InputError, Unfit
from weftglass.evidence import FEATURES, KINDS
from weftglass.holdings.currencies import A_CURRENCY, amount_read, currency_named
from weftglass.inside import Answer, NextLook
from weftglass.records import Inquiry, KnownHeight, Offer, Piece, View, checked_fields, words
from weftglass.records.offer import check_money, day_of, money_text

log = logging.getLogger("weftglass.desk")

MOST_QUESTIONS = 3
EVERY_LOOK = 30
SELLER_SURE = 0.7
LOOSE_SCALE = 0.2
"""A scale off by more than this share (one standard deviation) tells no size."""
NO_SCALE = KnownHeight(250.0, 120.0)
"""A height so uncertain that only the shape speaks."""
SURE_ENOUGH = 0.95
"""No question is proposed once the answer is so sure."""


@dataclass(frozen=True)
class OfferAtHand:
    """
    An offer with the questions put to its seller.

    Parameters
    ----------
    offer : Offer
    piece : Piece
    inquiries : tuple of Inquiry
        Oldest first.
    """

    offer: Offer
    piece: Piece
    inquiries: tuple[Inquiry, ...]


def take_in_offer(
    collection: Collection,
    name: str,
    *,
    who: str,
    today: date,
    photos: Sequence[tuple[str, bytes]] = (),
    said: str = "",
    seller: str = "",
    venue: str = "",
    price: str = "",
    **fields: str,
) -> OfferAtHand:
    """
    Write an offer down: a piece on offer with its photographs, and what its seller says.

    The first photograph is traced at once, its scale left open, so that its shape speaks; scale and outline can be set
    right on the workbench.

    Parameters
    ----------
    name : str
        What to call it, 1 to 200 characters.
    today : datetime.date
        The day it was seen.
    photos : sequence of (file name, content)
    said, seller, venue : str
        The seller's text, who it is, where it was seen.
    price : str
        An amount and its currency, as ``120 USD``; empty where none is named.
    **fields : str
        Further fields of the piece.

    Raises
    ------
    InputError
        A field or a picture that is none; nothing is stored then.
    """
    amount, currency = price_of(price, "offer", "price")
    drafted = Offer(
        id="new",
        version=1,
        piece="new",
        seller=words(seller, "offer", "seller"),
        venue=words(venue, "offer", "venue"),
        said=words(said, "offer", "said", longest=10_000),
        amount=amount,
        currency=currency,
        seen_on=today.isoformat(),
    )
    drafted.check("offer")
    source = ", ".join(text for text in (seller, venue) if text)
    values = checked_fields({"name": name, "status": "offered", "source": source, "price": price, **fields}, "piece")
    read = read_photos(photos)
    with collection.cabinet.writing(signature(who)) as draft:
        piece = file_piece(collection, draft, values, read)
        number = draft.numbered_id(Offer, f"{piece.id}.offer")
        offer = draft.put(replace(drafted, id=number, version=0, piece=piece.id))
    _trace_by_shape(collection, piece.id, who)
    return OfferAtHand(offer, piece, ())


def _trace_by_shape(collection: Collection, piece: str, who: str) -> None:
    """Trace the front photograph with its scale left open; one that cannot be traced waits for the workbench."""
    front = next((one.view for one in get_piece_dossier(collection, piece).views if one.view.role == "front"), None)
    if front is None:
        return
    try:
        traced = propose_outline(collection, front.id, who=who)
        if traced.polygon:
            set_scale(collection, front.id, NO_SCALE, who=who)
    except InputError as fault:
        log.info("the front photograph of offer %s was not traced: %s", piece, fault)


def price_of(text: str, where: str, field: str) -> tuple[float | None, str]:
    """
    Amount and currency of a typed price; None and nothing for an empty text.

    Raises
    ------
    InputError
        If it is not an amount and a currency, or the currency has three letters that ISO 4217 does not know.

    Examples
    --------
    >>> price_of("1,250.50 usd", "offer", "price"), price_of("", "offer", "price")
    ((1250.5, 'USD'), (None, ''))
    """
    if not text.strip():
        return None, ""
    expected = "an amount and its currency, as 120 USD or 1,250.50 USD"
    parts = text.split()
    if len(parts) != 2:
        raise InputError(where, field, text, expected)
    number, typed = parts if parts[0][0].isdigit() else parts[::-1]
    currency = currency_named(typed)
    amount = amount_read(number, currency or "")
    if amount is None:
        raise InputError(where, field, text, expected)
    if currency is None:
        raise InputError(where, field, text, f"an amount and {A_CURRENCY}")
    check_money(amount, currency, where, field)
    return amount, currency


def offers_of(collection: Collection, *, open_only: bool = False) -> tuple[OfferAtHand, ...]:
    """Every offer whose piece stands, the newest first."""
    with collection.cabinet.reading() as reader:
        key = ("offers", last_change(reader.session))
    every: tuple[OfferAtHand, ...] = collection.counted.get(key, lambda: _every_offer(collection))
    return tuple(one for one in every if not open_only or one.offer.outcome == "open")


def _every_offer(collection: Collection) -> tuple[OfferAtHand, ...]:
    with collection.cabinet.reading() as reader:
        pieces = {piece.id: piece for piece in reader.all_of(Piece)}
        asked: dict[str, list[Inquiry]] = {}
        for inquiry in reader.all_of(Inquiry):
            asked.setdefault(inquiry.piece, []).append(inquiry)
        offers = [offer for offer in reader.all_of(Offer) if offer.piece in pieces]
    found = [OfferAtHand(offer, pieces[offer.piece], tuple(asked.get(offer.piece, ()))) for offer in offers]
    return tuple(sorted(found, key=lambda one: (one.offer.seen_on, one.offer.id), reverse=True))


def offer_of(collection: Collection, piece: str) -> OfferAtHand | None:
    """The newest offer of a piece; None where it was never on offer."""
    with collection.cabinet.reading() as reader:
        record = reader.get(Piece, piece)
        offers = reader.all_of(Offer, piece=piece)
        inquiries = reader.all_of(Inquiry, piece=piece)
    if not offers:
        return None
    newest = max(offers, key=lambda one: (one.seen_on, one.id))
    return OfferAtHand(newest, record, tuple(inquiries))


def edit_offer(
    collection: Collection,
    piece: str,
    *,
    who: str,
    today: date,
    price: str = "",
    seller: str = "",
    venue: str = "",
    said: str = "",
    seen_on: str = "",
    version: int | None = None,
) -> Offer:
    """
    Change the offer of a piece, or begin one where there is none yet.

    Raises
    ------
    InputError
        A field that is wrong; nothing is changed then.
    ChangedMeanwhile
        If it was changed since that version.
    """
    held = offer_of(collection, piece)
    amount, currency = _price_changed(held, price)
    seen = seen_on or today.isoformat()
    day_of(seen, "offer", "seen_on")
    with collection.cabinet.writing(signature(who)) as draft:
        old = (
            Offer(id=draft.numbered_id(Offer, f"{piece}.offer"), piece=piece, seen_on=seen)
            if held is None
            else draft.get(Offer, held.offer.id)
        )
        offer = replace(
            old,
            version=old.version if version is None or held is None else version,
            seller=words(seller, "offer", "seller"),
            venue=words(venue, "offer", "venue"),
            said=words(said, "offer", "said", longest=10_000),
            seen_on=seen,
            amount=amount,
            currency=currency or old.currency,
        )
        replace(offer, version=1).check("offer")
        return draft.put(offer)


def _price_changed(held: OfferAtHand | None, typed: str) -> tuple[float | None, str]:
    """The price that was typed; one left as it stood is not read anew, whatever its currency is called."""
    if held is not None and held.offer.amount is not None:
        old = held.offer.amount, held.offer.currency
        if typed.strip() == money_text(*old):
            return old
    return price_of(typed, "offer", "price")


def end_offer(collection: Collection, piece: str, outcome: str, *, who: str, paid: str = "") -> Offer:
    """
    Say how an offer ended; a piece that was bought becomes an owned one.

    Parameters
    ----------
    outcome : str
        One of `weftglass.records.OUTCOMES`.
    paid : str
        For how much it went, in the currency that was asked; empty where that is not known.

    Raises
    ------
    InputError
        If the piece is not on offer, or a field is wrong; nothing is changed then.
    """
    amount, currency = price_of(paid, "offer", "paid")
    held = offer_of(collection, piece)
    if held is None:
        raise InputError("offer", "piece", piece, "a piece that is on offer")
    asked_in = held.offer.currency
    if amount is not None and held.offer.amount is not None and currency != asked_in:
        expected = f"an amount in {asked_in}, in which it was asked; if it was asked in {currency}, change that first"
        raise InputError("offer", "paid", paid, expected)
    with collection.cabinet.writing(signature(who)) as draft:
        old = draft.get(Offer, held.offer.id)
        offer = replace(old, outcome=outcome, paid=amount, currency=currency or old.currency)
        replace(offer, version=1).check("offer")
        kept = draft.put(offer)
        record = draft.get(Piece, piece)
        status = "owned" if outcome == "bought" else "offered"
        if record.status != status:
            draft.put(replace(record, status=status, price=paid or record.price))
    return kept


@dataclass(frozen=True)
class Footing:
    """
    What an answer about an offer rests on.

    Attributes
    ----------
    sized : bool
        Whether anything tells how large the piece is: a measurement, or an outline with a scale.
    unsure : tuple of str
        A sentence for each outline that is in doubt.
    """

    sized: bool = True
    unsure: tuple[str, ...] = ()

    @property
    def firm(self) -> bool:
        """Whether a sure answer is sure enough to ask a seller nothing more."""
        return self.sized and not self.unsure


def footing_of(collection: Collection, piece: str) -> Footing:
    """What an answer about a piece rests on."""
    with collection.cabinet.reading() as reader:
        evidence, views = gather_evidence(reader, piece), reader.all_of(View, piece=piece)
    sized = bool(evidence.measurements) or any(one.scale_sd < LOOSE_SCALE for one in evidence.outlines)
    return Footing(sized, unsure_outlines(views))


def questions_for(
    answer: Answer, asked: Sequence[Inquiry] = (), *, most: int = MOST_QUESTIONS, firm: bool = True
) -> tuple[NextLook, ...]:
    """
    One to three questions a stranger may be asked, those that tell most for the least trouble first.

    Parameters
    ----------
    answer : Answer
    asked : sequence of Inquiry
        Questions already put; they are not proposed again.
    firm : bool
        False where nothing tells how large the piece is, or its outline is in doubt: never sure enough to ask nothing.

    Returns
    -------
    tuple of NextLook
        Empty once the answer is 95 % sure. Looks that endanger the piece have no question and are never proposed.
    """
    if best_of(answer)[1] >= SURE_ENOUGH and firm:
        return ()
    put = {inquiry.looks_for for inquiry in asked if inquiry.looks_for}
    return tuple(look for look in answer.next_looks if look.seller and look.kind not in put)[:most]


def message_to_seller(questions: Sequence[str], *, seller: str = "", thing: str = "", who: str = "") -> str:
    """
    A message that can be sent as it is.

    Parameters
    ----------
    questions : sequence of str
        At least one.
    seller, thing, who : str
        The seller's name, what the offer calls the piece, and the name to sign with; each may be empty.
    """
    if not questions:
        raise Unfit("message", "questions", "no question is ticked", "at least one question")
    about = f"“{thing}”" if thing else "the covered bottle"
    lines = [f"Hello {seller}," if seller else "Hello,", ""]
    lines += [f"I am interested in {about}. Could you tell me, when you have a moment:", ""]
    lines += [f"{number}. {question}" for number, question in enumerate(questions, start=1)]
    lines += [
        "",
        "Please leave the covering and any stopper as they are: nothing needs to be opened, washed or bent, and if the "
        "bottle holds something please do not smell or pour it.",
        "",
        "Thank you very much.",
    ]
    return "\n".join([*lines, who] if who else lines)


def put_questions(
    collection: Collection, piece: str, questions: Sequence[tuple[str, str, float | None]], *, who: str, today: date
) -> tuple[Inquiry, ...]:
    """
    Write down what a seller was asked, all of it or nothing.

    Parameters
    ----------
    questions : sequence of (looks_for, question, z_mm)
        What answers it (a measurement, a sighting, or empty), its words, and the height in mm where there is one; at
        least one.
    """
    if not questions:
        raise Unfit("question", "questions", "no question is ticked", "at least one question")
    with collection.cabinet.writing(signature(who)) as draft:
        draft.get(Piece, piece)
        made = []
        for looks_for, question, z_mm in questions:
            inquiry = Inquiry(
                id=draft.numbered_id(Inquiry, f"{piece}.inquiry"),
                piece=piece,
                question=words(question, "question", "question", longest=10_000, needed=True),
                looks_for=looks_for,
                z_mm=z_mm,
                asked_on=today.isoformat(),
            )
            replace(inquiry, version=1).check("question")
            made.append(draft.put(inquiry))
    return tuple(made)


def take_answer(collection: Collection, inquiry: str, answer: str, *, who: str, reading: str = "") -> Inquiry:
    """
    Write down what the seller answered, and take the reading in it into the evidence.

    Parameters
    ----------
    answer : str
        In the seller's words; the reading where it is empty.
    reading : str
        The number with its unit, or what was seen, as the evidence should have it; empty where the answer tells none.

    Raises
    ------
    InputError
        If the reading cannot be one; neither answer nor reading is kept then: both stand in one change.
    """
    said = words(answer or reading, "answer", "answer", longest=10_000, needed=True)
    with collection.cabinet.writing(signature(who)) as draft:
        held = draft.get(Inquiry, inquiry)
        if reading:
            _put_reading(collection, draft, held, reading, signature(who))
        return draft.put(replace(held, answer=said))


def _put_reading(collection: Collection, draft: Draft, asked: Inquiry, reading: str, by: str) -> None:
    """The reading of an answer, as a measurement or a sighting, by what was asked for."""
    try:
        if asked.looks_for in KINDS:
            measured = read_measurement(asked.looks_for, reading, how="seller", z=asked.z_mm)
            put_measurement(draft, asked.piece, measured, reading, by=by, how="seller")
            return
        if asked.looks_for in FEATURES:
            seen = read_sighting(asked.looks_for, reading, sure=SELLER_SURE)
            put_sighting(collection, draft, asked.piece, seen, by=by)
            return
    except InputError as fault:
        raise InputError("answer", "reading", fault.value, fault.expected) from None
    raise InputError("answer", "reading", reading, "left empty: this question asks for a photograph or for words")


def answer_about(collection: Collection, piece: str) -> Answer | None:
    """What is probably inside, with every question worth asking; None where nothing is known yet."""
    evidence = evidence_of(collection, piece)
    return None if evidence.is_empty else answer_to(collection, evidence, library_of(collection), looks=EVERY_LOOK)
