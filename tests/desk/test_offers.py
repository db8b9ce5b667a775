"""Offers from entry to end, what to ask, prices and plans."""

from __future__ import annotations

import signal
from dataclasses import replace
from datetime import date
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import pytest

from tests.desk.beside import at_work
from tests.web.shelves import stocked
from weftglass.cabinet import Draft
from weftglass.desk import (
    Collection,
    adds,
    answer_about,
    begin_examination,
    edit_offer,
    end_offer,
    evidence_of,
    get_piece,
    history_of,
    list_pieces,
    message_to_seller,
    offer_of,
    offers_of,
    open_collection,
    plan_offers,
    price_for,
    put_questions,
    questions_for,
    record_measurement,
    record_sighting,
    record_value,
    take_answer,
    take_in_offer,
    totals_of,
    values_of,
    wants_of,
)
from weftglass.desk.explaining import inside_sentence
from weftglass.desk.offers import footing_of, price_of
from weftglass.errors import CabinetError, InputError
from weftglass.holdings import PriceRange, TooFew
from weftglass.records import Inquiry, Offer, View
from weftglass.records.shared import Record

TODAY = date(2026, 11, 25)


@pytest.fixture
def offered(collection: Collection) -> str:
    """A piece on offer of which the seller says a little."""
    taken = take_in_offer(
        collection, "Covered flask", who="Ada", today=TODAY, said="old flask", seller="T. Orrin", price="120 USD"
    )
    record_sighting(collection, taken.piece.id, "colour", "amber", who="Ada", sure=0.7)
    return taken.piece.id


def test_an_offer_is_a_piece_on_offer_with_price_and_seller(collection: Collection, offered: str) -> None:
    (only,) = offers_of(collection)
    assert (only.offer.amount, only.offer.currency, only.offer.seen_on) == (120, "USD", "2026-11-25")
    assert get_piece(collection, offered).status == "offered"
    assert list_pieces(collection, status="owned") == []


@pytest.mark.parametrize(
    ("typed", "amount"),
    [
        ("120 USD", (120.0, "USD")),
        ("USD 1,250.50", (1250.5, "USD")),
        ("60 eur", (60.0, "EUR")),
        ("12,50 EUR", (12.5, "EUR")),
        ("1.250,50 EUR", (1250.5, "EUR")),
        ("300 DEM", (300.0, "DEM")),
        ("60 marks", (60.0, "marks")),
        ("", (None, "")),
    ],
)
def test_prices_are_read_as_typed(typed: str, amount: tuple[float | None, str]) -> None:
    assert price_of(typed, "offer", "price") == amount


@pytest.mark.parametrize(
    "typed", ["120", "cheap", "-5 USD", "1 2 3", "12 U$", "nan USD", "5 XXX", "120 UDS", "1.250 EUR", "1,2,3 EUR"]
)
def test_an_unreadable_price_stores_nothing(collection: Collection, typed: str) -> None:
    with pytest.raises(InputError):
        take_in_offer(collection, "Flask", who="Ada", today=TODAY, price=typed)
    assert list_pieces(collection) == []


def test_three_letters_that_are_no_currency_are_told_with_what_would_be_right(collection: Collection) -> None:
    with pytest.raises(InputError, match="a code of ISO 4217 such as USD or EUR") as fault:
        take_in_offer(collection, "Flask", who="Ada", today=TODAY, price="5 XXX")
    assert (fault.value.field, fault.value.value) == ("price", "5 XXX")


def test_what_was_paid_is_in_the_currency_that_was_asked(collection: Collection, offered: str) -> None:
    """The offer has one currency: paid in another would turn what was asked into it as well."""
    with pytest.raises(InputError, match="an amount in USD, in which it was asked"):
        end_offer(collection, offered, "bought", who="Ada", paid="90 EUR")
    assert get_piece(collection, offered).status == "offered"
    (only,) = offers_of(collection)
    assert (only.offer.amount, only.offer.currency, only.offer.paid) == (120, "USD", None)


def test_a_sum_in_no_currency_is_not_planned_with(collection: Collection, offered: str) -> None:
    with pytest.raises(InputError, match="a code of ISO 4217") as fault:
        plan_offers(collection, 120, "UDS", "community", "family", "cells")
    assert fault.value.field == "currency"
    assert plan_offers(collection, 120, "usd", "community", "family", "cells").left_out == ()


def test_a_price_left_as_it_stood_is_not_read_anew(collection: Collection, offered: str) -> None:
    """Written before codes were looked up: its seller can be changed, its currency not be typed again."""
    with collection.cabinet.writing("Ada") as draft:
        (only,) = draft.all_of(Offer, piece=offered)
        draft.put(replace(only, amount=50.0, currency="yen"))
    kept = edit_offer(collection, offered, who="Ada", today=TODAY, price="50 yen", seller="T. O.")
    assert (kept.amount, kept.currency, kept.seller) == (50.0, "yen", "T. O.")
    with pytest.raises(InputError, match="ISO 4217"):
        edit_offer(collection, offered, who="Ada", today=TODAY, price="60 yen", seller="T. O.")


def test_a_broken_photograph_stores_nothing(collection: Collection) -> None:
    with pytest.raises(InputError):
        take_in_offer(collection, "Flask", who="Ada", today=TODAY, photos=[("x.jpg", b"no picture")])
    assert list_pieces(collection) == []
    assert offers_of(collection) == ()


def take_in_and_wait(line: Connection, place: Path) -> None:
    """Take an offer in, and wait with its piece put and itself not yet."""
    put = Draft.put

    def told(draft: Draft, record: Any, deed: str = "") -> Any:
        if isinstance(record, Offer):
            line.send("the piece is put, its offer is not")
            line.recv()
        return put(draft, record, deed)

    with pytest.MonkeyPatch.context() as patch, open_collection(place) as collection:
        patch.setattr(Draft, "put", told)
        take_in_offer(collection, "Flask", who="Ada", today=date(2026, 11, 25), price="120 USD")


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="the system has no kill -9")
def test_an_offer_killed_half_way_leaves_no_piece_without_its_price(tmp_path: Path) -> None:
    with at_work(take_in_and_wait, tmp_path / "coast") as taker:
        assert taker.heard().startswith("the piece is put")
        assert taker.kill() == []
    with open_collection(tmp_path / "coast", create=False) as opened:
        assert list_pieces(opened) == []
        assert offers_of(opened) == ()


def test_questions_are_few_safe_and_not_asked_twice(collection: Collection, offered: str) -> None:
    """Nothing that opens, fills or probes the piece is asked of a stranger; without any scale a length comes first."""
    answer = answer_about(collection, offered)
    assert answer is not None
    first = questions_for(answer)
    assert 1 <= len(first) <= 3
    assert all(look.seller for look in first)
    assert {look.kind for look in first}.isdisjoint({"capacity", "tone", "cover_thickness"})
    put = put_questions(
        collection, offered, [(look.kind, look.seller, look.z_mm) for look in first], who="Ada", today=TODAY
    )
    again = questions_for(answer, put)
    assert {look.kind for look in again}.isdisjoint({look.kind for look in first})


def test_the_answer_goes_into_the_evidence_and_moves_what_is_inside(collection: Collection, offered: str) -> None:
    before = answer_about(collection, offered)
    (asked,) = put_questions(collection, offered, [("height", "How tall is it?", None)], who="Ada", today=TODAY)
    take_answer(collection, asked.id, "about 11 inches", who="Ada", reading="280 mm")
    held = offer_of(collection, offered)
    assert held is not None
    assert held.inquiries[0].answer == "about 11 inches"
    (height,) = evidence_of(collection, offered).measurements
    assert (height.what, height.value) == ("height", 280)
    after = answer_about(collection, offered)
    assert before is not None
    assert after is not None
    assert after.candidates[0].probability > before.candidates[0].probability


def test_an_unreadable_reading_keeps_neither_answer_nor_evidence(collection: Collection, offered: str) -> None:
    (asked,) = put_questions(collection, offered, [("height", "How tall is it?", None)], who="Ada", today=TODAY)
    with pytest.raises(InputError):
        take_answer(collection, asked.id, "tall", who="Ada", reading="very tall")
    held = offer_of(collection, offered)
    assert held is not None
    assert held.inquiries[0].answer == ""
    assert evidence_of(collection, offered).measurements == ()


@pytest.mark.parametrize(
    ("kind", "reading"), [("height", "280 mm"), ("colour", "amber")], ids=["measurement", "sighting"]
)
def test_a_failure_between_reading_and_answer_leaves_neither(
    collection: Collection, offered: str, monkeypatch: pytest.MonkeyPatch, kind: str, reading: str
) -> None:
    """The disk fails once the reading is stored and before the answer is: evidence, answer and history stay."""
    (asked,) = put_questions(collection, offered, [(kind, "What is it?", None)], who="Ada", today=TODAY)
    before, changes = evidence_of(collection, offered).to_record(), len(history_of(collection, offered))
    stored: list[str] = []
    put = Draft.put

    def failing(draft: Draft, record: Record, deed: str = "") -> Record:
        if isinstance(record, Inquiry):
            raise CabinetError("The disk is full.")
        stored.append(record.KIND)
        return put(draft, record, deed)

    with monkeypatch.context() as patch:
        patch.setattr(Draft, "put", failing)
        with pytest.raises(CabinetError):
            take_answer(collection, asked.id, "so", who="Ada", reading=reading)
    assert stored == ["measurement" if kind == "height" else "sighting"]
    held = offer_of(collection, offered)
    assert held is not None
    assert held.inquiries[0].answer == ""
    assert evidence_of(collection, offered).to_record() == before
    assert len(history_of(collection, offered)) == changes
    take_answer(collection, asked.id, "so", who="Ada", reading=reading)
    assert evidence_of(collection, offered).to_record() != before


def test_no_question_is_left_when_the_answer_is_sure(collection: Collection, offered: str) -> None:
    for what, typed in (("height", "300 mm"), ("lip_diameter", "30 mm")):
        record_measurement(collection, offered, what, typed, who="Ada")
    answer = answer_about(collection, offered)
    assert answer is not None
    best = max([answer.unlisted, *(one.probability for one in answer.candidates)])
    assert bool(questions_for(answer)) == (best < 0.95)


def test_a_shape_without_any_size_is_never_sure_enough_to_ask_nothing(collection: Collection, offered: str) -> None:
    """However sure the answer: while nothing tells how large the piece is, a question is left."""
    assert not footing_of(collection, offered).sized
    answer = answer_about(collection, offered)
    assert answer is not None
    sure = replace(answer, unlisted=0.99)
    assert questions_for(sure) == ()
    assert questions_for(sure, firm=footing_of(collection, offered).firm)
    record_measurement(collection, offered, "height", "300 mm", who="Ada")
    assert footing_of(collection, offered).sized


def test_an_outline_in_doubt_is_never_sure_enough_to_ask_nothing(collection: Collection, measured: View) -> None:
    """The sentence about what one would buy says so, and a question is left however sure the answer."""
    footing = footing_of(collection, measured.piece)
    assert (footing.sized, footing.unsure, footing.firm) == (True, (), True)
    with collection.cabinet.writing("program") as draft:
        draft.put(replace(draft.get(View, measured.id), trace_warnings=("The outline is doubtful.",)))
    footing = footing_of(collection, measured.piece)
    assert not footing.firm
    answer = answer_about(collection, measured.piece)
    assert answer is not None
    assert "doubts it" in inside_sentence(answer, footing)
    assert questions_for(replace(answer, unlisted=0.99), firm=footing.firm)


def test_the_message_numbers_the_questions_and_protects_the_piece() -> None:
    text = message_to_seller(["How tall is it?", "What does it weigh?"], seller="T. Orrin", who="Ada")
    assert text.startswith("Hello T. Orrin,")
    assert "1. How tall is it?\n2. What does it weigh?" in text
    assert "nothing needs to be opened" in text
    assert text.endswith("Ada")
    with pytest.raises(InputError):
        message_to_seller([])


def test_a_bought_piece_is_owned_and_its_price_counts(collection: Collection, offered: str) -> None:
    end_offer(collection, offered, "bought", who="Ada", paid="110 USD")
    assert get_piece(collection, offered).status == "owned"
    held = offer_of(collection, offered)
    assert held is not None
    assert (held.offer.outcome, held.offer.paid) == ("bought", 110)
    with pytest.raises(InputError, match="outcome"):
        end_offer(collection, offered, "stolen", who="Ada")


def test_an_offer_may_begin_on_a_piece_that_is_there_already(collection: Collection, offered: str) -> None:
    changed = edit_offer(collection, offered, who="Ada", today=TODAY, price="90 USD", seller="T. Orrin")
    assert changed.amount == 90
    assert len(offers_of(collection)) == 1


def test_price_range_comes_from_own_records_and_refuses_few(collection: Collection) -> None:
    stocked(collection, 20)
    for number in range(11):
        record_value(
            collection, f"owned-{number:04d}", "cost", f"{100 + number} USD", who="Ada", on="2020-05-01", source="bill"
        )
    assert isinstance(price_for(collection, "owned-0019", "USD", today=TODAY), TooFew)
    record_value(collection, "owned-0011", "cost", "115 USD", who="Ada", on="2020-05-01", source="bill")
    found = price_for(collection, "owned-0019", "USD", today=TODAY)
    assert isinstance(found, PriceRange)
    assert found.amount.low <= found.amount.value <= found.amount.high
    assert 100 < found.amount.value < 160  # 2020 dollars in the money of 2024
    assert isinstance(price_for(collection, "owned-0019", "EUR", today=TODAY), TooFew)


def test_values_stand_beside_each_other_and_add_up_by_place(collection: Collection) -> None:
    stocked(collection, 4)
    for amount, day in (("100 USD", "2019-01-01"), ("130 USD", "2026-01-01")):
        record_value(collection, "owned-0000", "replacement", amount, who="Ada", on=day, source="dealer")
    assert [one.amount for one in values_of(collection, "owned-0000")] == [100, 130]
    found = [one for one in totals_of(collection, TODAY) if one.kind == "replacement"]
    assert sum(one.amount for one in found) == 130
    with pytest.raises(InputError, match="basis"):
        record_value(collection, "owned-0000", "wish", "1 USD", who="Ada", on="2026-01-01", source="me")


def test_wants_and_plan_prefer_what_is_lacking(collection: Collection) -> None:
    stocked(collection, 40)
    stocked(collection, 10, seed=7, status="offered")
    wanted = wants_of(collection, "community", "family", "cells")
    assert all(one.held == 0 for one in wanted)
    for number in range(10):
        edit_offer(collection, f"offered-{number:04d}", who="Ada", today=TODAY, price=f"{50 + number} USD")
    found = plan_offers(collection, 120, "USD", "community", "family", "cells")
    assert found.plan.proven
    assert len(found.plan.chosen) == 2
    assert found.plan.cost <= 120
    assert all("first" in found.reasons[one.id] for one in found.plan.chosen)
    (step, *_) = found.steps
    assert found.beyond(step).startswith("also Piece offered-")
    assert plan_offers(collection, 120, "EUR", "community", "family", "cells").plan.chosen == ()


def test_money_is_kept_for_gaps_only_where_own_prices_tell_what_they_cost(collection: Collection) -> None:
    stocked(collection, 40)
    stocked(collection, 2, seed=7, status="offered")
    edit_offer(collection, "offered-0000", who="Ada", today=TODAY, price="90 USD")
    asked = (collection, 400, "USD", "community", "family", "cells")
    assert plan_offers(*asked, keep_for_wants=TODAY).wanted == frozenset()
    for number in range(14):
        record_value(
            collection, f"owned-{number:04d}", "cost", f"{60 + number} USD", who="Ada", on="2020-05-01", source="bill"
        )
    found = plan_offers(*asked, keep_for_wants=TODAY)
    kept = [one for one in found.plan.chosen if one.id in found.wanted]
    assert kept
    assert found.plan.proven
    assert found.plan.cost <= 400
    assert all("among the next 20" in found.reasons[one.id] for one in kept)
    assert all(60 < one.price < 130 for one in kept)
    assert plan_offers(*asked).wanted == frozenset()


def test_the_best_examples_plan_buys_what_is_better_than_the_best_held_and_one_of_a_pair(
    collection: Collection,
) -> None:
    stocked(collection, 40)
    stocked(collection, 12, seed=7, status="offered")
    for number in range(12):
        edit_offer(collection, f"offered-{number:04d}", who="Ada", today=TODAY, price="50 USD")
    plain = plan_offers(collection, 50, "USD", "community", "family", "best").plan.chosen[0].id
    other = next(f"offered-{number:04d}" for number in range(12) if f"offered-{number:04d}" != plain)
    record_sighting(collection, other, "inscription", "signed M. T., 1899", who="Ada")
    begin_examination(collection, other, who="Ada", on="2026-11-01", state="sound")
    found = plan_offers(collection, 50, "USD", "community", "family", "best")
    assert [one.id for one in found.plan.chosen] == [other]
    assert "sound, signed, dated" in found.reasons[other]
    every = plan_offers(collection, 5000, "USD", "community", "family", "best")
    marks = [one.instead_of for one in every.plan.chosen]
    assert every.plan.proven
    assert len(marks) == len(set(marks))


def test_what_a_piece_adds_is_said_only_when_its_terms_are_known(collection: Collection, offered: str) -> None:
    assert "can’t be said" in adds(collection, offered)
    stocked(collection, 6)
    assert "already" in adds(collection, "owned-0000") or "first" in adds(collection, "owned-0000")
