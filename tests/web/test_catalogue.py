"""The catalogue's page and file, rarity, and the filters that all pages of the holdings share."""

from __future__ import annotations

import base64
import csv
import io
import re

import pytest
from PIL import Image
from starlette.testclient import TestClient

from tests.web.conftest import posted
from tests.web.photograph import Staged
from tests.web.shelves import stocked
from weftglass.desk import (
    Collection,
    add_community,
    add_published_holding,
    edit_piece,
    record_measurement,
    record_sighting,
    withdraw_piece,
)
from weftglass.desk.catalogue import catalogue_pages

TABLE = {
    "form": "exhibit",
    "kind": "table",
    "asked-rows": "community",
    "asked-columns": "family",
    "asked-whose": "owned",
}


@pytest.fixture
def shelf(client: TestClient, collection: Collection) -> TestClient:
    stocked(collection, 40)
    return client


def titles(collection: Collection) -> list[str]:
    return [one.title for one in catalogue_pages(collection)]


def test_an_empty_catalogue_says_how_to_begin(client: TestClient) -> None:
    assert "No page yet" in client.get("/catalogue").text
    assert client.get("/catalogue.html", headers={"accept": "text/html"}).status_code == 422


@pytest.mark.parametrize("address", ["/holdings", "/whereabouts", "/rarity", "/piece/owned-0001"])
def test_every_chart_and_every_piece_can_be_put_into_the_catalogue(shelf: TestClient, address: str) -> None:
    """The form stands on the page, and what it sends is taken."""
    record_sighting(shelf.app.state.collection, "owned-0001", "inscription", "signed", who="Ada")  # type: ignore[attr-defined]
    for number in range(2, 9):
        record_sighting(shelf.app.state.collection, f"owned-000{number}", "inscription", "none", who="Ada")  # type: ignore[attr-defined]
    forms = re.findall(
        r'<form method="post" action="/catalogue/exhibits".*?</form>', shelf.get(address).text, re.DOTALL
    )
    assert forms
    for form in forms:
        fields = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', form))
        status, where = posted(shelf, "/catalogue/exhibits", **fields, title="A page")
        assert status == 303, where
        assert where.startswith("/catalogue#a-page")
    assert shelf.get("/catalogue.html").status_code == 200


def test_pages_are_worded_ordered_emptied_taken_away_and_brought_back(
    shelf: TestClient, collection: Collection
) -> None:
    for title in ("First", "Second"):
        posted(shelf, "/catalogue/exhibits", **TABLE, title=title)
    piece = {"form": "exhibit", "kind": "piece", "asked-piece": "owned-0001", "page": "first"}
    assert posted(shelf, "/catalogue/exhibits", **piece)[0] == 303
    assert posted(shelf, "/catalogue/second/move", form="page", to="up")[0] == 303
    assert titles(collection) == ["Second", "First"]
    words = {"form": "page-first", "title": "Begin here", "remark": "<i>ours</i>\n\nand theirs", "version": "2"}
    assert (
        posted(shelf, "/catalogue/first", **words)[0] == 303
        or posted(shelf, "/catalogue/first", **{**words, "version": "3"})[0] == 303
    )
    assert posted(shelf, "/catalogue/first/exhibits/1/drop", form="page")[0] == 303
    page = catalogue_pages(collection)[1]
    assert (page.title, [one.kind for one in page.exhibits]) == ("Begin here", ["piece"])
    text = shelf.get("/catalogue.html").text
    assert "&lt;i&gt;ours&lt;/i&gt;" in text
    assert "<i>ours" not in text
    assert posted(shelf, "/catalogue/second/withdraw", form="page")[0] == 303
    assert titles(collection) == ["Begin here"]
    assert "bring back" in shelf.get("/catalogue").text
    assert posted(shelf, "/catalogue/second/restore", form="page")[0] == 303
    assert titles(collection) == ["Second", "Begin here"]


def test_a_mistake_on_a_page_is_said_beside_it_and_loses_nothing(shelf: TestClient) -> None:
    posted(shelf, "/catalogue/exhibits", **TABLE, title="First")
    words = {"form": "page-first", "title": "x" * 201, "remark": "a long thought", "version": "1"}
    status, text = posted(shelf, "/catalogue/first", **words)
    assert status == 422
    assert "page-first-title-fault" in text
    assert "a long thought" in text
    status, text = posted(shelf, "/catalogue/exhibits", **TABLE, title="y" * 201)
    assert status == 422
    assert "exhibit-title-fault" in text
    assert 'name="asked-rows" value="community"' in text
    status, text = posted(shelf, "/catalogue/exhibits", **TABLE, page="first")
    assert status == 422
    assert "this one shows it already" in text
    assert posted(shelf, "/catalogue/exhibits", **{**TABLE, "kind": "song"})[0] == 422
    assert posted(shelf, "/catalogue/exhibits", **TABLE, **{"asked-only-weather": "fine"})[0] == 422
    assert posted(shelf, "/catalogue/first/exhibits/9/drop", form="page")[0] == 422


def test_the_file_is_whole_in_itself_and_its_pictures_carry_nothing_of_the_camera(
    client: TestClient, collection: Collection, piece: str, photograph: Staged
) -> None:
    """No script, no address elsewhere; the photograph is a smaller JPEG without EXIF; what is private is not there."""
    private = {"price": "999 marks", "kept": "attic chest", "source": "T. Orrin", "notes": "secret note"}
    edit_piece(collection, piece, {**private, "condition": "torn at the foot", "maker": "Oda & sons"}, who="Ada")
    record_measurement(collection, piece, "height", "230 mm", who="Ada")
    posted(client, "/catalogue/exhibits", form="exhibit", kind="piece", **{"asked-piece": piece})
    saved = client.get("/catalogue.html")
    assert saved.headers["content-disposition"].startswith("attachment")
    for asks in ("<script", "<link", "url(", 'src="http', 'src="/', 'href="http', 'href="/'):
        assert asks not in saved.text
    assert "Oda &amp; sons" in saved.text
    assert "230" in saved.text
    for text in [*private.values(), "torn at the foot"]:
        assert text not in saved.text
    (picture,) = re.findall(r"data:image/jpeg;base64,([A-Za-z0-9+/=]+)", saved.text)
    opened = Image.open(io.BytesIO(base64.b64decode(picture)))
    assert max(opened.size) <= 1600
    assert len(opened.getexif()) == 0
    shown = client.get("/catalogue/shown")
    assert "sha256-" in shown.headers["content-security-policy"]
    assert "content-disposition" not in shown.headers


def test_restricted_designs_stay_out_of_every_kind_of_exhibit(shelf: TestClient, collection: Collection) -> None:
    """A piece whose design became restricted after it was put in: neither entry, name, title nor count is there."""
    kept = next(one for one in range(40) if "Delmuine" in shelf.get(f"/piece/owned-{one:04d}").text)
    piece = f"owned-{kept:04d}"
    for kind in ("table", "complete", "map", "years", "rarity"):
        asked = {"asked-rows": "community", "asked-columns": "family"} if kind in ("table", "complete") else {}
        assert posted(shelf, "/catalogue/exhibits", form="exhibit", kind=kind, title=kind, **asked)[0] == 303
    posted(shelf, "/catalogue/exhibits", form="exhibit", kind="piece", **{"asked-piece": piece})
    assert f"Piece {piece}" in shelf.get("/catalogue.html").text
    before = shelf.get("/catalogue.html").text
    assert "40 pieces counted" in before
    add_community(collection, {"name": "Delmuine", "restricted_designs": "heron"}, who="Ada")
    assert "Put into the catalogue" in shelf.get(f"/piece/{piece}").text
    record_sighting(collection, piece, "design", "Two HERONS", who="Ada")
    entry = shelf.get(f"/piece/{piece}").text
    assert "Put into the catalogue" not in entry
    assert "Kept back:" in entry
    assert '<a href="/communities/delmuine">the page of Delmuine</a>' in entry
    text = shelf.get("/catalogue.html").text
    assert f"Piece {piece}" not in text
    assert "heron" not in text.casefold()
    assert "39 pieces counted" in text
    assert "restricted knowledge of Delmuine" in shelf.get("/catalogue").text
    status, said = posted(shelf, "/catalogue/exhibits", form="exhibit", kind="piece", **{"asked-piece": piece})
    assert status == 422
    assert "a piece that may be published" in said


def test_photographs_of_offers_and_pieces_taken_off_the_shelf_are_left_out(
    client: TestClient, collection: Collection, piece: str
) -> None:
    posted(client, "/catalogue/exhibits", form="exhibit", kind="piece", **{"asked-piece": piece})
    edit_piece(collection, piece, {"status": "offered"}, who="Ada")
    text = client.get("/catalogue.html").text
    assert "data:image" not in text
    assert "belong to the seller" in text
    withdraw_piece(collection, piece, who="Ada")
    assert "was taken off the shelf" in client.get("/catalogue").text


def test_a_table_that_tells_where_pieces_are_kept_is_warned_of(shelf: TestClient) -> None:
    posted(shelf, "/catalogue/exhibits", **{**TABLE, "asked-columns": "kept"}, title="Where")
    assert "which strangers will read" in shelf.get("/catalogue").text


def test_filters_narrow_table_completeness_lists_and_time_line_alike(shelf: TestClient) -> None:
    """Two terms at once; each number is that of a count by hand."""
    rows = list(csv.DictReader(io.StringIO(shelf.get("/holdings.csv?rows=technique&columns=community").text)))
    wanted = sum(int(row["pieces"]) for row in rows if (row["technique"], row["community"]) == ("coiling", "Delmuine"))
    asked = "only-technique=coiling&only-community=Delmuine"
    text = shelf.get(f"/holdings?rows=period&columns=family&{asked}").text
    assert f"{wanted} pieces counted" in text
    assert f"{wanted} pieces of" in text
    assert "technique: coiling" in text
    narrowed = list(csv.DictReader(io.StringIO(shelf.get(f"/holdings.csv?rows=period&columns=family&{asked}").text)))
    assert sum(int(row["pieces"]) for row in narrowed) == wanted
    years = list(csv.DictReader(io.StringIO(shelf.get(f"/whereabouts-years.csv?{asked}").text)))
    assert len(years) == wanted
    assert shelf.get(f"/holdings-growth.csv?{asked}").text.startswith("pieces,kinds,low,high")
    unknown = shelf.get("/holdings?rows=technique&columns=community&only-maker=%3F").text
    assert "40 pieces counted" in unknown
    assert "maker: not known" in unknown
    assert "0 pieces counted" in shelf.get("/holdings?only-community=%3Cb%3E").text


def test_what_goes_together_can_be_saved_as_a_list(client: TestClient, collection: Collection) -> None:
    stocked(collection, 80)
    (row, *_) = csv.DictReader(io.StringIO(client.get("/preferences.csv").text))
    assert (row["community"], row["pieces"]) == ("Delmuine", "15")
    assert row["sentence"].startswith("Of 22 pieces from Delmuine")


def test_rarity_counts_own_published_and_both(shelf: TestClient, collection: Collection) -> None:
    for number in range(10):
        text = "signed M. T." if number < 2 else "none"
        record_sighting(collection, f"owned-{number:04d}", "inscription", text, who="Ada")
    add_published_holding(collection, "A museum", "its list", 90, {"signed": 3}, who="Ada")
    rows = {
        (row["combination"], row["among"]): (row["alike"], row["pieces"])
        for row in csv.DictReader(io.StringIO(shelf.get("/rarity.csv").text))
    }
    assert rows["signed or inscribed", "own pieces"] == ("2", "10")
    assert rows["signed or inscribed", "published"] == ("3", "90")
    assert rows["signed or inscribed", "together"] == ("5", "100")
    text = shelf.get("/rarity?with-signed=yes&with-technique=coiling").text
    assert "Signed or inscribed, technique coiling" in text
    assert "of 10 pieces on record" in text
    assert "<svg" in shelf.get("/rarity.svg?with-signed=yes").text
    assert "A museum (its list)" in shelf.get("/rarity?with-signed=yes").text
    assert "No piece on record says whether" in shelf.get("/rarity?with-weather=fine").text


def test_a_wrong_sum_is_said_beside_its_field(client: TestClient) -> None:
    for typed, words in (("lots", "a sum of 0 or more"), ("-5", "0 or more")):
        reply = client.get(f"/buying?budget={typed}&currency=USD")
        assert reply.status_code == 422
        assert "sum-budget-fault" in reply.text
        assert words in reply.text
        assert f'value="{typed}"' in reply.text
