"""`weftglass offer`, `offers`, `values` and `pocket`: what is on sale, what to ask, and what things cost."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import click

from weftglass.cli.options import (
    A_PICTURE,
    FILE,
    NEW_FILE,
    OneOf,
    collection_argument,
    existing_collection,
    json_option,
)
from weftglass.cli.printing import print_json, print_table
from weftglass.cli.selecting import save
from weftglass.desk import (
    Collection,
    adds,
    answer_about,
    best_of,
    edit_offer,
    end_offer,
    forms_to_know,
    library_of,
    message_to_seller,
    offer_of,
    offers_of,
    piece_names,
    price_for,
    put_questions,
    questions_for,
    record_value,
    take_answer,
    take_in_offer,
    title_of,
    totals_of,
    values_of,
    wants_of,
)
from weftglass.desk.explaining import inside_sentence
from weftglass.desk.likely_makers import likely_makers
from weftglass.desk.lists import offer_records
from weftglass.desk.offers import footing_of
from weftglass.errors import InputError
from weftglass.files import read_file
from weftglass.holdings import CAUTION, TooFew
from weftglass.records import BASES, OUTCOMES
from weftglass.records.offer import money_text
from weftglass.web.pages.pocket import pocket_html

POCKET_WANTS = 16
who_option = click.option("--who", default="command line", show_default=True, help="Who signs the change.")


@click.command()
@collection_argument
@click.argument("piece", required=False)
@click.option("--take-in", "name", metavar="NAME", help="Take a new offer in and call its piece so.")
@click.option("--photo", "photos", multiple=True, type=FILE, help="Repeatable.")
@click.option("--price", default="", help="What is asked, as '120 USD'.")
@click.option("--seller", default="", help="Who sells it.")
@click.option("--venue", default="", help="Where it was seen.")
@click.option("--said", default="", help="The seller's own words.")
@click.option("--sent", is_flag=True, help="Keep the proposed questions as sent.")
@click.option("--answer", nargs=2, metavar="INQUIRY TEXT", help="Keep what the seller answered to an inquiry.")
@click.option("--reading", default="", help="With --answer: the number with its unit, or what was seen.")
@click.option("--end", type=OneOf([one for one in OUTCOMES if one != "open"]), help="Say how it ended.")
@click.option("--paid", default="", help="With --end: for how much, as '110 USD'.")
@who_option
@json_option
def offer(
    collection: Path,
    piece: str | None,
    name: str | None,
    photos: tuple[Path, ...],
    price: str,
    seller: str,
    venue: str,
    said: str,
    sent: bool,
    answer: tuple[str, str] | None,
    reading: str,
    end: str | None,
    paid: str,
    who: str,
    as_json: bool,
) -> None:
    """
    Take an offer in, or show PIECE on offer: what is inside, what it adds, what to ask, and the message to its seller.

    \b
    Examples:
      weftglass offer my-pieces --take-in "Quay bottle" --photo front.jpg --price "60 USD" --seller "T. Orrin"
      weftglass offer my-pieces quay-bottle --sent
      weftglass offer my-pieces quay-bottle --answer quay-bottle.inquiry-1 "30 cm or so" --reading "300 mm"
      weftglass offer my-pieces quay-bottle --end bought --paid "55 USD"
    """
    today = date.today()
    with existing_collection(collection) as opened:
        given: dict[str, Any] = {"price": price, "seller": seller, "venue": venue, "said": said}
        if name is not None:
            read = [(one.name, read_file(one, A_PICTURE)) for one in photos]
            piece = take_in_offer(opened, name, who=who, today=today, photos=read, **given).piece.id
        elif piece is None:
            raise InputError("offer", "PIECE", None, "the id of a piece on offer, or --take-in NAME instead")
        elif any(given.values()):
            _change(opened, piece, given, who, today)
        if answer:
            take_answer(opened, answer[0], answer[1], who=who, reading=reading)
        if end:
            end_offer(opened, piece, end, who=who, paid=paid)
        shown = _shown(opened, piece, who, today, sent)
    if as_json:
        print_json(shown)
    else:
        _print_offer(shown)


def _change(opened: Collection, piece: str, given: dict[str, Any], who: str, today: date) -> None:
    held = offer_of(opened, piece)
    if held is None:
        edit_offer(opened, piece, who=who, today=today, **given)
        return
    old = held.offer
    asked = "" if old.amount is None else money_text(old.amount, old.currency)
    before: dict[str, Any] = {"price": asked, "seller": old.seller, "venue": old.venue, "said": old.said}
    changed: dict[str, Any] = {field: value or before[field] for field, value in given.items()}
    edit_offer(opened, piece, who=who, today=today, seen_on=old.seen_on, **changed)


def _shown(opened: Collection, piece: str, who: str, today: date, sent: bool) -> dict[str, Any]:
    held = offer_of(opened, piece)
    if held is None:
        raise InputError("offer", "piece", piece, "a piece that is on offer")
    answer = answer_about(opened, piece)
    footing = footing_of(opened, piece)
    looks = () if answer is None else questions_for(answer, held.inquiries, firm=footing.firm)
    message = message_to_seller([look.seller for look in looks], seller=held.offer.seller) if looks else ""
    if sent and looks:
        asked = [(look.kind, look.seller, look.z_mm) for look in looks]
        put_questions(opened, piece, asked, who=who, today=today)
        held = offer_of(opened, piece) or held
    currency = held.offer.currency or "USD"
    likely = price_for(opened, piece, currency, today=today)
    form, probability = (None, 0.0) if answer is None else best_of(answer)
    return {
        "piece": piece,
        "name": held.piece.name,
        "outcome": held.offer.outcome,
        "asked": held.offer.amount,
        "currency": held.offer.currency,
        "seller": held.offer.seller,
        "inside": None
        if answer is None
        else {"form": form, "name": title_of(form, library_of(opened)), "probability": probability},
        "inside_in_words": inside_sentence(answer, footing).replace("\u00a0", " "),
        "made_by": likely_makers(opened, piece).replace("\u00a0", " "),
        "adds": adds(opened, piece),
        "price_range": None
        if isinstance(likely, TooFew)
        else {
            "low": likely.amount.low,
            "middle": likely.amount.value,
            "high": likely.amount.high,
            "of": likely.records,
        },
        "no_price_range": likely.reason if isinstance(likely, TooFew) else None,
        "questions": [{"kind": look.kind, "question": look.seller, "gain_bits": look.gain_bits} for look in looks],
        "message": message,
        "inquiries": [
            {"inquiry": one.id, "question": one.question, "asked_on": one.asked_on, "answer": one.answer}
            for one in held.inquiries
        ],
    }


def _print_offer(shown: dict[str, Any]) -> None:
    asked = "no price named" if shown["asked"] is None else money_text(shown["asked"], shown["currency"])
    click.echo(f"{shown['name']} ({shown['piece']}), {asked}, {shown['outcome']}")
    click.echo(shown["inside_in_words"])
    click.echo(shown["made_by"])
    click.echo(shown["adds"])
    found = shown["price_range"]
    if found is None:
        click.echo(f"No price range: {shown['no_price_range']}")
    else:
        click.echo(
            f"Like pieces went for {found['low']:.0f} to {found['high']:.0f} {shown['currency'] or 'USD'}, the middle "
            f"{found['middle']:.0f} (80 % of them), from {found['of']} price records."
        )
    for one in shown["inquiries"]:
        click.echo(f"{one['inquiry']}: {one['question']}  ->  {one['answer'] or 'not answered yet'}")
    if shown["message"]:
        click.echo("")
        click.echo(shown["message"])


@click.command()
@collection_argument
@click.option("--open", "open_only", is_flag=True, help="Only those that are still open.")
@json_option
def offers(collection: Path, open_only: bool, as_json: bool) -> None:
    """List the offers written down in COLLECTION, the newest first."""
    with existing_collection(collection) as opened:
        found = offers_of(opened, open_only=open_only)
    if as_json:
        print_json(offer_records(found))
        return
    lines = [
        [
            one.piece.id,
            one.piece.name,
            "" if one.offer.amount is None else money_text(one.offer.amount, one.offer.currency),
            one.offer.seller,
            one.offer.seen_on,
            one.offer.outcome,
        ]
        for one in found
    ]
    print_table(["piece", "name", "asked", "seller", "seen", "state"], lines, right=frozenset({2}))


@click.command()
@collection_argument
@click.option("--piece", help="Write a value of this piece down, or show only its own.")
@click.option("--kind", type=OneOf(list(BASES)), help="With --amount: what kind of value.")
@click.option("--amount", help="As '120 USD'.")
@click.option("--on", "on", help="Day it was true, as 2026-11-25.")
@click.option("--source", help="Who says so.")
@who_option
@json_option
def values(
    collection: Path,
    piece: str | None,
    kind: str | None,
    amount: str | None,
    on: str | None,
    source: str | None,
    who: str,
    as_json: bool,
) -> None:
    """
    Sum the values of COLLECTION by where pieces are kept, or write one down.

    \b
    Example:
      weftglass values my-pieces --piece p-017 --kind cost --amount "120 USD" --on 2019-05-01 --source receipt
    """
    with existing_collection(collection) as opened:
        if amount is not None:
            if piece is None or kind is None:
                lacking = "--piece" if piece is None else "--kind"
                raise InputError("values", lacking, None, "given beside --amount")
            day = on or date.today().isoformat()
            record_value(opened, piece, kind, amount, who=who, on=day, source=source or "")
        found, names = totals_of(opened, date.today()), piece_names(opened)
        single = values_of(opened, piece) if piece else ()
    if as_json:
        print_json(
            {
                "totals": [{**vars(one), "stale": list(one.stale)} for one in found],
                "values": [
                    {
                        "basis": one.basis,
                        "amount": one.amount,
                        "currency": one.currency,
                        "on": one.on,
                        "source": one.source,
                    }
                    for one in single
                ],
            }
        )
        return
    for one in single:
        click.echo(f"{one.basis}: {money_text(one.amount, one.currency)} on {one.on}, {one.source}")
    print_table(
        ["kept", "value", "sum", "pieces", "lacking", "stale"],
        [
            [one.place, one.kind, f"{one.amount:,.2f} {one.currency}", str(one.pieces), str(one.without),
             ", ".join(names.get(i, i) for i in one.stale)]
            for one in found
        ],
        right=frozenset({2, 3, 4}),
    )  # fmt: skip
    click.echo(CAUTION, err=True)


@click.command()
@collection_argument
@click.argument("file", type=NEW_FILE)
def pocket(collection: Path, file: Path) -> None:
    """Write the pocket sheet for fairs of COLLECTION as one HTML FILE: wants, forms to know, questions to ask."""
    with existing_collection(collection) as opened:
        gaps = wants_of(opened, "community", "family", "cells")[:POCKET_WANTS]
        sheet = pocket_html(gaps, forms_to_know(opened), date.today())
    save(file, sheet)
