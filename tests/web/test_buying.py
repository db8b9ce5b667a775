"""Buying: offers in and handled, gaps, the plan for a sum, values."""

from __future__ import annotations

import csv
import io

import pytest
from starlette.testclient import TestClient

from tests.web.conftest import OURS, posted
from tests.web.shelves import stocked
from weftglass.desk import Collection, edit_piece, evidence_of, offer_of, record_sighting


@pytest.fixture
def offered(client: TestClient, collection: Collection) -> str:
    status, where = posted(
        client, "/offers", form="offer", name="Wicker bottle", price="80 USD", seller="T. Orrin", said="<b>old</b>"
    )
    assert status == 303
    piece = where.split("/")[2]
    record_sighting(collection, piece, "colour", "amber", who="Ada", sure=0.7)
    return piece


def test_an_offer_is_entered_asked_about_answered_and_ended(
    client: TestClient, collection: Collection, offered: str
) -> None:
    text = client.get(f"/piece/{offered}/price").text
    assert "&lt;b&gt;old&lt;/b&gt;" in text
    assert "Hello T. Orrin," in text
    assert "1. How tall is it in millimetres" in text
    status, where = posted(
        client,
        f"/piece/{offered}/price/questions",
        **{"form": "questions", "kind-1": "height", "question-1": "How tall is it?", "z-1": ""},
    )
    assert (status, where) == (303, f"/piece/{offered}/price#ask")
    held = offer_of(collection, offered)
    assert held is not None
    answered = posted(
        client,
        f"/piece/{offered}/price/answers",
        form="answer-1",
        inquiry=held.inquiries[0].id,
        answer="11 inches",
        reading="280 mm",
    )
    assert answered[0] == 303
    assert [one.value for one in evidence_of(collection, offered).measurements] == [280]
    assert posted(client, f"/piece/{offered}/price/end", form="end", outcome="bought", paid="75 USD")[0] == 303
    assert "This offer is over: bought" in client.get(f"/piece/{offered}/price").text


@pytest.mark.parametrize(
    ("address", "fields", "sentence"),
    [
        ("/offers", {"form": "offer", "name": "", "price": ""}, "name"),
        ("/offers", {"form": "offer", "name": "A", "price": "much"}, "an amount and its currency"),
    ],
)
def test_a_wrong_offer_is_refused_with_its_sentence(
    client: TestClient, address: str, fields: dict[str, str], sentence: str
) -> None:
    status, text = posted(client, address, **fields)
    assert status == 422
    assert sentence in text
    assert "No offer is written down yet" in text


def test_wrong_values_and_prices_stand_beside_their_field(client: TestClient, offered: str) -> None:
    status, text = posted(client, f"/piece/{offered}/price/offer", form="offer", price="much", seen_on="2026-11-25")
    assert status == 422
    assert "offer-price-fault" in text
    value = {"form": "value", "basis": "cost", "amount": "80 USD", "on": "2026-13-01", "source": "bill"}
    status, text = posted(client, f"/piece/{offered}/price/values", **value)
    assert status == 422
    assert "value-on-fault" in text


def test_who_made_an_offer_is_said_by_what_it_shows_and_refused_where_nothing_tells(
    client: TestClient, collection: Collection, offered: str
) -> None:
    """The page asks for it afterwards; its own entry does not count."""
    assert f'data-maker="/piece/{offered}/price/maker.json"' in client.get(f"/piece/{offered}/price").text
    said = client.get(f"/piece/{offered}/price/maker.json").json()["sentence"]
    assert said.startswith("Who made it can’t be told")
    stocked(collection, 24)
    edit_piece(collection, offered, {"technique": "coiling"}, who="Ada")
    said = client.get(f"/piece/{offered}/price/maker.json").json()["sentence"]
    assert any(said.startswith(f"Made by {name}: ") for name in ("Delmuine", "Karrosk", "Wendrille", "Orvathal"))
    assert "another community" in said
    assert client.get("/piece/none/price/maker.json").status_code == 404


def test_a_wrong_reading_and_no_question_are_said_where_they_belong(
    client: TestClient, collection: Collection, offered: str
) -> None:
    """Neither passes without a word, and what the seller said is still there to be corrected."""
    status, text = posted(client, f"/piece/{offered}/price/questions", form="questions")
    assert status == 422
    assert "no question is ticked" in text
    asked = {"kind-1": "height", "question-1": "How tall is it?", "z-1": ""}
    posted(client, f"/piece/{offered}/price/questions", form="questions", **asked)
    held = offer_of(collection, offered)
    assert held is not None
    said = {"form": "answer-1", "inquiry": held.inquiries[0].id, "answer": "as tall as my arm", "reading": "very tall"}
    status, text = posted(client, f"/piece/{offered}/price/answers", **said)
    assert status == 422
    assert "answer-1-reading-fault" in text
    assert "as tall as my arm" in text
    status, text = posted(client, f"/piece/{offered}/price/answers", **{**said, "answer": "", "reading": ""})
    assert status == 422
    assert "answer-1-answer-fault" in text


def test_values_add_up_and_say_what_is_lacking(client: TestClient, collection: Collection) -> None:
    stocked(collection, 3)
    value = {"form": "value", "basis": "replacement", "amount": "80 USD", "on": "2019-01-01", "source": "dealer"}
    assert posted(client, "/piece/owned-0000/price/values", **value)[0] == 303
    text = client.get("/values").text
    assert "80.00 USD" in text
    assert "stale" in text
    assert "licensed appraiser" in text
    assert client.get("/values.csv").text.splitlines()[1].startswith("owned-0000,replacement,80.0,USD")


def test_gaps_and_plan_are_shown_and_can_be_saved(client: TestClient, collection: Collection) -> None:
    stocked(collection, 30)
    stocked(collection, 4, seed=7, status="offered")
    for number in range(4):
        posted(client, f"/piece/offered-{number:04d}/price/offer", form="offer", price="50 USD", seen_on="2026-11-01")
    text = client.get("/buying?budget=100&currency=USD").text
    assert "no other set within the sum is worth more, which is proven" in text
    text = client.get("/buying?budget=100&currency=USD&wants=yes").text
    assert "too few prices are on record" in text
    assert "Such pieces in 100 met" in text
    assert "In brackets where it lies with 95 %" in text
    assert "may be worth as much" in text
    assert "Short of, in 100 pieces" in client.get("/buying?objective=mirror").text
    wanted = list(csv.DictReader(io.StringIO(client.get("/wants.csv").text)))
    assert float(wanted[0]["in_100_low"]) < float(wanted[0]["in_100"]) < float(wanted[0]["in_100_high"])
    assert wanted[0]["worth"] == "1.0"
    assert len(list(csv.DictReader(io.StringIO(client.get("/offers.csv").text)))) == 4
    assert client.get("/buying?budget=lots", headers={"accept": "text/html"}).status_code == 422
    assert client.get("/buying?budget=-5&currency=USD").status_code == 422


def test_an_offer_from_another_site_is_refused(client: TestClient) -> None:
    reply = client.post("/offers", data={"name": "A"}, headers={"origin": "http://elsewhere.example"})
    assert reply.status_code == 403
    assert client.post("/offers", data={"name": "A"}, headers={"origin": OURS}).status_code == 303


def test_the_pocket_sheet_is_whole_in_itself(client: TestClient, collection: Collection) -> None:
    """The saved file asks for nothing: no script, style sheet, picture or font from elsewhere."""
    stocked(collection, 30)
    saved = client.get("/pocket.html")
    assert saved.headers["content-disposition"].startswith("attachment")
    assert "<style>" in saved.text
    for asks in ("<link", "<script", "src=", "url(", "href="):
        assert asks not in saved.text
    shown = client.get("/pocket").text
    assert shown.count("<svg") == saved.text.count("<svg") == 18
    assert "/static/pocket.css" in shown
    assert "among the next 20 offers" in shown
