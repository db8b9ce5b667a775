"""The pages of dates, makers and communities: what they say, what they keep, and what they refuse."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ElementTree

import pytest
from starlette.testclient import TestClient

from tests.web.conftest import posted
from weftglass.dating import date_piece
from weftglass.desk import Collection, accept_finding, create_piece, get_piece_dossier, record_sighting
from weftglass.desk.communities import add_community, kept_back, list_communities, published_holdings
from weftglass.errors import InputError
from weftglass.evidence import Evidence, Sighting
from weftglass.inside import identify
from weftglass.vessels import FormLibrary
from weftglass.web.figures.years import year_curves_svg
from weftglass.web.pages.dates import verdict

ME = "Ada"
HABITS = {
    "Delmuine": {"lean": "up to the right", "rim": "braided"},
    "Orvathal": {"lean": "up to the left", "rim": "folded"},
}


@pytest.fixture
def bare(collection: Collection) -> str:
    """Id of a piece of which nothing is known."""
    return create_piece(collection, "A <b>bold</b> name", who=ME, piece_id="bare").id


@pytest.fixture
def taught(collection: Collection) -> str:
    """Id of a piece whose maker is not known, beside ten documented ones."""
    for i in range(5):
        for name, habit in HABITS.items():
            piece = create_piece(collection, f"{name} {i}", who=ME, community=name, technique="plain twining")
            for feature, value in habit.items():
                record_sighting(collection, piece.id, feature, value, who=ME)
    asked = create_piece(collection, "asked", who=ME, piece_id="asked", technique="plain twining")
    for feature, value in HABITS["Delmuine"].items():
        record_sighting(collection, asked.id, feature, value, who=ME)
    return asked.id


def dated(*seen: tuple[str, str]) -> Evidence:
    return Evidence("p", sightings=tuple(Sighting(feature, value, 0.95) for feature, value in seen))


def test_dates_of_a_piece_nobody_knows_anything_of(client: TestClient, bare: str) -> None:
    page = client.get(f"/piece/{bare}/dates").text
    assert "Nothing known so far dates this piece" in page
    assert "<b>bold</b>" not in page
    assert "Sign these dates" not in page
    assert client.get(f"/piece/{bare}/dates.json").json()["glass"]["edtf"] is None
    assert client.get(f"/piece/{bare}/dates.svg").status_code == 422


def test_dating_sighting_moves_the_years(client: TestClient, bare: str) -> None:
    status, led = posted(
        client, f"/piece/{bare}/dates/seen", form="seen", feature="base", value="sand pontil", sure="0.9"
    )
    assert (status, led) == (303, f"/piece/{bare}/dates")
    page = client.get(f"/piece/{bare}/dates").text
    assert "sand (disk) pontil" in page
    assert "SHA/BLM" in page
    record = client.get(f"/piece/{bare}/dates.json").json()
    assert f"extended date {record['glass']['edtf']}" in page
    assert "sand pontil" in client.get(f"/piece/{bare}/dates.csv").text


def test_contradiction_is_shown_with_both_items(client: TestClient, bare: str) -> None:
    for feature, value in (("closure", "crown cap"), ("inscription", "1870, worked in")):
        posted(client, f"/piece/{bare}/dates/seen", form="seen", feature=feature, value=value, sure="0.99")
    page = client.get(f"/piece/{bare}/dates").text
    found = re.search(r"before its glass could exist: (.*?)\.</p>", page)
    assert found is not None
    assert "1870, worked in" in found[1]
    assert "crown cap" in found[1]


def test_region_and_forms_can_be_chosen(client: TestClient, collection: Collection, bare: str) -> None:
    record_sighting(collection, bare, "closure", "crown", who=ME)
    anywhere = client.get(f"/piece/{bare}/dates.json?forms=off").json()["glass"]
    britain = client.get(f"/piece/{bare}/dates.json?forms=off&region=Britain").json()["glass"]
    assert britain["likely_from"] > anywhere["likely_from"]
    with_forms = client.get(f"/piece/{bare}/dates.json").json()["glass"]["items"]
    assert "years of the form" in [item["item"] for item in with_forms]


def test_a_region_without_known_years_is_told_in_one_sentence(client: TestClient, bare: str) -> None:
    page = client.get(f"/piece/{bare}/dates?region=Mars")
    assert page.status_code == 422
    assert "North America, Britain or Europe" in page.text
    assert client.get(f"/piece/{bare}/dates.json?region=Mars").json()["error"]["field"] == "region"
    assert '<option value="Britain" selected>' in client.get(f"/piece/{bare}/dates?region=england").text


def test_dates_are_signed_once_something_is_known(client: TestClient, collection: Collection, bare: str) -> None:
    status, said = posted(client, f"/piece/{bare}/dates/sign", form="date", who=ME)
    assert status == 422
    assert "a sighting or a document" in said
    record_sighting(collection, bare, "inscription", "1908", who=ME, sure=0.99)
    assert posted(client, f"/piece/{bare}/dates/sign", form="date", who="Ada Quill")[0] == 303
    finding = get_piece_dossier(collection, bare).findings[-1]
    assert (finding.subject, finding.who) == ("date", "Ada Quill")
    assert json.loads(finding.answer)["covering"]["likely_edtf"] == "1908"
    assert client.get(f"/piece/{bare}").status_code == 200


def test_sighting_that_cannot_be_stands_beside_its_field(client: TestClient, bare: str) -> None:
    status, said = posted(client, f"/piece/{bare}/dates/seen", form="seen", feature="base", value="", sure="0.9")
    assert status == 422
    assert 'id="seen-value-fault"' in said


def test_year_curves_are_whole_svg_with_words() -> None:
    dating = date_piece(dated(("base", "sand pontil"), ("dye", "magenta"), ("inscription", "1862")))
    picture = str(year_curves_svg(dating, "a <piece>"))
    root = ElementTree.fromstring(picture)
    assert root.tag.endswith("svg")
    assert "a &lt;piece&gt;" in picture
    assert "dye magenta" in picture
    assert "nan" not in picture
    assert year_curves_svg(date_piece(Evidence("p")), "none") is None


def test_verdict_names_both_parts() -> None:
    said = verdict(date_piece(dated(("base", "sand pontil"), ("inscription", "1862"))))
    assert said.startswith("The glass was made between")
    assert "the covering in 1862" in said


def test_maker_page_says_why_not(client: TestClient, bare: str) -> None:
    page = client.get(f"/piece/{bare}/maker").text
    assert "No piece with a documented maker" in page
    assert "Sign the maker" not in page


def test_maker_page_ranks_with_reasons_and_scores(client: TestClient, taught: str) -> None:
    page = client.get(f"/piece/{taught}/maker").text
    assert "Delmuine" in page
    assert "resting on 10 documented pieces" in page
    assert "another community" in page
    assert "rim at the neck: braided" in page
    assert "Naive Bayes" in page
    assert "of 10</td>" in page
    record = client.get(f"/piece/{taught}/maker.json?vessel=off").json()
    assert record["with_vessel"] is False
    assert record["communities"][0]["community"] == "Delmuine"


def test_habits_of_the_makers_count_only_when_asked(client: TestClient, collection: Collection, taught: str) -> None:
    record_sighting(collection, taught, "colour", "olive", who=ME)
    plain = client.get(f"/piece/{taught}/inside").text
    assert "is left out." in plain
    assert f'href="/piece/{taught}/inside?habits=on"' in plain
    assert (
        "Too few documented pieces to know what the makers covered"
        in client.get(f"/piece/{taught}/inside?habits=on").text
    )
    for row in list_communities(collection):
        for piece in row.documented:
            form = "milk-quart-round" if row.community.name == "Delmuine" else "wine-onion-650ml"
            record_sighting(collection, piece.id, "colour", "olive", who=ME)
            accept_finding(collection, piece.id, who=ME, form=form)
    asked = client.get(f"/piece/{taught}/inside?habits=on").text
    assert "themselves weighed without this vessel" in asked
    assert f'href="/piece/{taught}/inside"' in asked


def test_factor_on_the_prior_must_be_above_0() -> None:
    with pytest.raises(InputError, match="tilt"):
        identify(dated(("colour", "olive")), FormLibrary.starter(), tilt={"milk-quart-round": 0.0})


def test_maker_is_signed_and_another_is_possible(client: TestClient, collection: Collection, taught: str) -> None:
    assert posted(client, f"/piece/{taught}/maker/sign", form="maker", who=ME, community="Delmuine")[0] == 303
    assert posted(client, f"/piece/{taught}/maker/sign", form="maker", who=ME, community="")[0] == 303
    said = [one.conclusion for one in get_piece_dossier(collection, taught).findings if one.subject == "maker"]
    assert said == ["made by Delmuine", "made by another community"]
    assert posted(client, f"/piece/{taught}/maker/sign", form="maker", who=ME, community="Karrosk")[0] == 422


def test_trait_recorded_on_the_page_counts(client: TestClient, collection: Collection, taught: str) -> None:
    posted(client, f"/piece/{taught}/maker/seen", form="seen", feature="start", value="crossed warps", sure="0.9")
    assert "crossed warps" in [one.value for one in get_piece_dossier(collection, taught).sightings]


def test_community_is_entered_and_changed_in_the_browser(client: TestClient, collection: Collection) -> None:
    status, led = posted(
        client, "/communities", form="community", name="Karrosk <i>", own_name="Karrosk", years="1880 to 1930",
        restricted_designs="heron",
    )  # fmt: skip
    assert (status, led) == (303, "/communities/karrosk-i")
    page = client.get(led).text
    assert "Karrosk &lt;i&gt;" in page
    assert "stay out of anything published: heron" in page
    assert posted(client, led, form="community", version="1", language="Karr")[0] == 303
    assert list_communities(collection)[0].community.language == "Karr"
    assert posted(client, led, form="community", version="1", language="other")[0] == 409
    assert posted(client, f"{led}/withdraw")[0] == 303
    assert "taken off the list" in client.get(led).text
    assert posted(client, f"{led}/withdraw", back="yes")[0] == 303
    assert "Karrosk" in client.get("/communities.csv").text
    assert client.get("/communities.json").json()[0]["years"] == "1880 to 1930"


def test_documented_pieces_are_dated_together(client: TestClient, collection: Collection) -> None:
    community = add_community(collection, {"name": "Delmuine"}, who=ME)
    assert "Date these pieces together" not in client.get(f"/communities/{community.id}").text
    for year in ("1880", "1910"):
        piece = create_piece(collection, year, who=ME, community="Delmuine")
        record_sighting(collection, piece.id, "inscription", year, who=ME, sure=0.99)
    assert "Date these pieces together" in client.get(f"/communities/{community.id}").text
    page = client.get(f"/communities/{community.id}?dates=on").text
    assert "Covering of 2 pieces: mean date 18" in page
    assert "not whole before" in page


def test_fault_in_a_community_stands_beside_its_field(client: TestClient) -> None:
    status, said = posted(client, "/communities", form="community", name="K", years="long ago")
    assert status == 422
    assert 'id="community-years-fault"' in said
    assert "long ago" in said


def test_name_that_only_pieces_use_leads_to_entering_it(client: TestClient, collection: Collection) -> None:
    create_piece(collection, "one", who=ME, community="Wendrille")
    assert "/communities?name=Wendrille#add" in client.get("/communities").text
    assert 'value="Wendrille"' in client.get("/communities?name=Wendrille").text


def test_published_holding_is_entered_and_taken_out(client: TestClient, collection: Collection) -> None:
    fields = {"form": "holding", "name": "a museum", "source": "catalogue", "pieces": "40", "count_0": "2"}
    assert posted(client, "/communities/holdings", **fields)[0] == 303
    assert published_holdings(collection)[0].counts == (("signed", 2),)
    assert "2 of 40 pieces on record" in client.get("/communities").text
    assert posted(client, "/communities/holdings", **{**fields, "pieces": "many"})[0] == 422
    assert posted(client, f"/communities/holdings/{published_holdings(collection)[0].id}/withdraw")[0] == 303
    assert not published_holdings(collection)


def test_inscriptions_of_all_pieces_stand_together(client: TestClient, collection: Collection) -> None:
    for name, text in (("one", "signed TK"), ("two", "TK, 1905"), ("three", "none")):
        piece = create_piece(collection, name, who=ME, maker="Teva Kallimoor")
        record_sighting(collection, piece.id, "inscription", text, who=ME, sure=0.8)
    page = client.get("/communities").text
    assert "signed TK</td>" in page
    assert "1905</td>" in page
    assert page.count("Teva Kallimoor") == 2
    assert client.get("/inscriptions.csv").text.count("TK") == 2


def test_restricted_design_keeps_its_piece_back(collection: Collection) -> None:
    add_community(collection, {"name": "Delmuine", "restricted": "Ask first.", "restricted_designs": "heron"}, who=ME)
    kept = create_piece(collection, "Herons", who=ME, community="Delmuine?", design="two herons")
    create_piece(collection, "Herons elsewhere", who=ME, community="Karrosk", design="two herons")
    assert kept_back(collection) == {kept.id: "restricted knowledge of Delmuine: Ask first."}
