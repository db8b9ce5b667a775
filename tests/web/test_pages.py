"""The pages as a person meets them: what they say, what they do, and what they refuse."""

from __future__ import annotations

import html
import io
import re
import zipfile
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from tests.web.conftest import OURS, posted
from tests.web.photograph import Staged
from weftglass.desk import (
    VERDICTS,
    Collection,
    ShelfRow,
    accept_finding,
    add_forms_from_file,
    create_piece,
    evidence_of,
    get_piece,
    get_piece_dossier,
    history_of,
    list_pieces,
    record_measurement,
    rework_view,
)
from weftglass.desk.pieces import BriefAnswer
from weftglass.evidence import Evidence
from weftglass.records import Piece
from weftglass.vessels import FormLibrary
from weftglass.web import create_app
from weftglass.web.limits import MAX_FILE_BYTES
from weftglass.web.pages import shelf
from weftglass.web.pages.forms import matches

OWN_FORM = (
    '{"id": "tide-jar", "name": "tide jar", "section": {"kind": "round"}, '
    '"profile": [[0, 40], [120, 42], [160, 14], [180, 15]]}\n'
)
NASTY = "<script>alert('x')</script>&\"'"


def test_empty_shelf_says_what_to_do(client: TestClient) -> None:
    """Nothing is there yet, and the page names the first step and the cautions."""
    text = client.get("/").text
    assert "Begin with one covered piece" in text
    assert 'name="photographs"' in text
    assert "/cautions" in text


@pytest.mark.parametrize(
    "address",
    ["/", "/?as=list", "/forms", "/carry", "/soundness", "/soundness?look=over", "/signature", "/cautions", "/about"],
)
def test_every_page_stands_on_an_empty_collection(client: TestClient, address: str) -> None:
    """No page needs something to be there; each has one heading, a title and landmarks."""
    reply = client.get(address)
    assert reply.status_code == 200
    assert len(re.findall("<h1", reply.text)) == 1
    for mark in ('<html lang="en"', '<main id="main"', "<nav", 'class="skip"', "<title>"):
        assert mark in reply.text


def test_no_page_holds_inline_script_or_style(client: TestClient, piece: str) -> None:
    """The policy would block it, so a page that needs it would be broken."""
    view = f"/piece/{piece}/bench/{piece}.view-1"
    for address in ("/", "/forms", f"/piece/{piece}", f"/piece/{piece}/inside", view, "/cautions"):
        text = client.get(address).text
        assert not re.search(r"<script(?![^>]*\bsrc=)|<style|\sstyle=|\son[a-z]+=", text), address


def test_dropping_a_photograph_opens_the_workbench(client: TestClient, photograph: Staged) -> None:
    """The answer to an upload is where to go on."""
    sent = {"photographs": ("bottle.jpg", photograph.jpeg)}
    reply = client.post("/pieces", data={"form": "take-in"}, files=sent, headers={"accept": "application/json"})
    assert reply.status_code == 201
    address = reply.json()["address"]
    assert re.fullmatch(r"/piece/[^/]+/bench/[^/]+", address)
    assert client.get(address).status_code == 200


def test_a_file_that_is_no_picture_is_refused_beside_its_form(client: TestClient, collection: Collection) -> None:
    """The page comes back with the sentence; nothing was taken in."""
    sent = {"photographs": ("notes.jpg", b"no picture at all")}
    reply = client.post("/pieces", data={"form": "take-in"}, files=sent, headers={"accept": "text/html"})
    assert reply.status_code == 422
    assert "notes.jpg" in reply.text
    assert list_pieces(collection) == []


def test_a_file_over_the_limit_is_refused_with_its_size(client: TestClient, collection: Collection) -> None:
    """One clear sentence with the limit in it."""
    sent = {"photographs": ("huge.tif", b"\0" * (MAX_FILE_BYTES + 1))}
    reply = client.post("/pieces", data={"form": "take-in"}, files=sent, headers={"accept": "application/json"})
    assert reply.status_code == 422
    assert reply.json()["error"]["expected"] == "at most 64 MB a file"
    assert list_pieces(collection) == []


def test_whatever_a_person_types_is_shown_as_text(client: TestClient, collection: Collection) -> None:
    """Names, notes, readings and signatures never become markup, on any page that shows them."""
    piece = create_piece(collection, NASTY, who=NASTY, notes=NASTY, technique=NASTY).id
    posted(client, f"/piece/{piece}/sightings", form="sighting", feature="letters", value=NASTY, sure="0.9")
    accept_finding(collection, piece, who=NASTY, remark=NASTY)
    addresses = ("/", f"/?as=list&q={NASTY}", f"/piece/{piece}", f"/piece/{piece}/inside", f"/forms?q={NASTY}")
    for address in addresses:
        text = client.get(address).text
        assert "<script>alert" not in text, address
        assert "&lt;script&gt;" in text, address


@pytest.mark.parametrize(
    ("fields", "field", "said"),
    [
        ({"what": "height", "value": "tall"}, "value", "above: “tall” will not do; it should be "),
        (
            {"what": "height", "value": "230", "sd": "-1"},
            "sd",
            "± (standard deviation): “-1” will not do; it should be ",
        ),
        ({"what": "girth", "value": "300"}, "z", "mm: nothing was given; it should be "),
        ({"what": "capacity", "value": "1 pint"}, "value", "above: “1 pint” will not do; it should be "),
    ],
)
def test_a_wrong_measurement_is_told_beside_its_field_and_kept_as_typed(
    client: TestClient, collection: Collection, piece: str, fields: dict[str, str], field: str, said: str
) -> None:
    """Status 422, the field is marked and named as on the page, the words are still there, nothing was recorded."""
    status, text = posted(client, f"/piece/{piece}/measurements", form="measurement", **fields)
    assert status == 422
    marked = re.search(rf'<input id="measurement-{field}"[^>]*>', text)
    assert marked is not None
    assert 'aria-invalid="true"' in marked[0]
    beside = re.search(rf'id="measurement-{field}-fault">([^<]*)<', text)
    assert beside is not None
    assert said in html.unescape(beside[1])
    assert f'value="{fields["value"]}"' in text
    assert get_piece_dossier(collection, piece).measurements == ()


def test_a_measurement_in_inches_is_shown_in_mm_with_its_uncertainty(client: TestClient, piece: str) -> None:
    """Units are converted once, and what was typed stays visible."""
    status, address = posted(client, f"/piece/{piece}/measurements", form="measurement", what="height", value="12 in")
    assert (status, address) == (303, f"/piece/{piece}")
    text = client.get(address).text
    assert "304.8\u00a0±\u00a01.4\u00a0mm" in text
    assert "typed as 12 in" in text


def test_a_stale_form_is_refused_and_changes_nothing(client: TestClient, collection: Collection, piece: str) -> None:
    """Two windows: the second save of the same version says 'changed meanwhile' (409)."""
    fields = {"form": "piece", "version": "1", "name": "No. 7"}
    assert posted(client, f"/piece/{piece}", **fields, notes="first")[0] == 303
    assert posted(client, f"/piece/{piece}", **fields, notes="second")[0] == 409
    assert get_piece(collection, piece).notes == "first"


def test_a_change_is_signed_and_can_be_undone(client: TestClient, collection: Collection, piece: str) -> None:
    """The signature stands in the history; undo is a change like any other."""
    assert posted(client, "/signature", form="signature", who="Ada Quill", back=f"/piece/{piece}")[0] == 303
    posted(client, f"/piece/{piece}/measurements", form="measurement", what="weight", value="812 g")
    last = history_of(collection, piece)[-1]
    assert last.who == "Ada Quill"
    assert f"/piece/{piece}/undo/{last.number}" in client.get(f"/piece/{piece}").text
    assert posted(client, f"/piece/{piece}/undo/{last.number}")[0] == 303
    assert get_piece_dossier(collection, piece).measurements == ()


def test_signing_never_leads_to_another_site(client: TestClient) -> None:
    """A crafted way back is replaced by the shelf."""
    for back in ("//evil.example", "https://evil.example/", "/\\evil.example"):
        assert posted(client, "/signature", form="signature", who="Ada", back=back) == (303, "/")


@pytest.mark.parametrize(
    "address", ["/piece/none", "/piece/none/inside", "/forms/none", "/nowhere", "/piece/none/live.json"]
)
def test_what_is_not_there_is_404_in_one_shape(client: TestClient, address: str) -> None:
    """The same sentence as a page and as JSON."""
    page = client.get(address, headers={"accept": "text/html"})
    told = client.get(address, headers={"accept": "application/json"})
    assert (page.status_code, told.status_code) == (404, 404)
    error = told.json()["error"]
    assert set(error) == {"status", "title", "sentence", "where", "field", "value", "expected"}
    if not address.endswith(".json"):
        assert error["sentence"] in page.text


def test_writing_to_what_is_not_there_is_404(client: TestClient) -> None:
    """A form left open on a piece that is gone is refused, not a fault of ours."""
    assert posted(client, "/piece/none/measurements", form="measurement", what="height", value="200")[0] == 404


def test_reading_changes_nothing(client: TestClient, collection: Collection, piece: str) -> None:
    """Every address that is read leaves the history as it was."""
    record_measurement(collection, piece, "height", "250", who="Ada")
    before = history_of(collection)
    view = f"/piece/{piece}/bench/{piece}.view-1"
    tails = ("", "/inside", "/live.json", "/inside.json")
    for address in (
        "/",
        *(f"/piece/{piece}{tail}" for tail in tails),
        view,
        f"{view}/state.json",
        "/forms",
        "/shelf.csv",
    ):
        assert client.get(address).status_code == 200, address
    for address in (f"/piece/{piece}/withdraw", f"{view}/find.json", "/pieces", "/theme", "/carry/out"):
        assert client.get(address).status_code == 405, address
    assert history_of(collection) == before


def test_photographs_are_kept_by_browsers_and_pages_are_not(
    client: TestClient, collection: Collection, piece: str
) -> None:
    """A hash never changes its picture; a page may change at any time."""
    photo = get_piece_dossier(collection, piece).views[0].photo.id
    for size in ("small", "large", "whole", "original"):
        reply = client.get(f"/photograph/{photo}/{size}")
        assert reply.headers["content-type"] == "image/jpeg"
        assert "immutable" in reply.headers["cache-control"]
    assert client.get(f"/photograph/{photo}/original").headers["content-disposition"].startswith("attachment")
    assert client.get("/").headers["cache-control"] == "no-store"


def test_other_sites_cannot_change_anything(client: TestClient, collection: Collection, piece: str) -> None:
    """A forged post is refused before any route sees it."""
    reply = client.post(f"/piece/{piece}/withdraw", headers={"origin": "http://evil.example"})
    assert reply.status_code == 403
    assert not get_piece(collection, piece).withdrawn


def test_a_piece_can_be_taken_off_and_brought_back(client: TestClient, collection: Collection, piece: str) -> None:
    """Off the shelf it is not listed; its page says so and its history undoes it."""
    assert posted(client, f"/piece/{piece}/withdraw", version="1")[0] == 303
    assert list_pieces(collection) == []
    assert "taken off the shelf" in client.get(f"/piece/{piece}").text
    posted(client, f"/piece/{piece}/undo/{history_of(collection, piece)[-1].number}")
    assert len(list_pieces(collection)) == 1


def test_day_or_night_is_remembered(client: TestClient) -> None:
    """The choice is a cookie and shows in the next page."""
    client.post("/theme", data={"theme": "dark"}, headers={"origin": OURS})
    assert 'data-theme="dark"' in client.get("/").text
    assert posted(client, "/theme", theme="plaid")[0] == 422


def test_shelf_searches_filters_and_lists(client: TestClient, collection: Collection) -> None:
    """Words, covering and order do what they say, on the page and in the lists."""
    create_piece(collection, "Brown demijohn", who="Ada", technique="wicker")
    create_piece(collection, "Small flask", who="Ada", technique="coiling")
    assert "Small flask" not in client.get("/?q=demijohn").text
    assert "Brown demijohn" not in client.get("/?technique=coiling").text
    assert [row["name"] for row in client.get("/shelf.json?sort=name").json()["pieces"]] == [
        "Brown demijohn",
        "Small flask",
    ]
    assert client.get("/shelf.csv?technique=wicker").text.count("\n") == 2
    assert "No piece answers to that" in client.get("/?q=nothing").text


def test_long_shelf_is_shown_page_by_page_and_listed_whole(
    client: TestClient, collection: Collection, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Following 'more' shows every piece once, in the order asked for; the lists hold all of them."""
    monkeypatch.setattr(shelf, "PAGE_LENGTH", 2)
    for number in (10, 9, 2, 1, 3):
        create_piece(collection, f"No. {number}", who="Ada")
    address, seen = "/?sort=name&as=list", []
    while address:
        text = client.get(address).text
        seen += re.findall(r'<a href="/piece/[^"]+">(No. \d+)</a>', text)
        more = re.search(r'href="([^"]+)" rel="next"', text)
        address = more[1].replace("&amp;", "&") if more else ""
    assert seen == ["No. 1", "No. 2", "No. 3", "No. 9", "No. 10"]
    assert len(client.get("/shelf.json?from=4").json()["pieces"]) == 5


def test_photographs_of_a_piece_say_how_far_the_work_is_and_can_be_taken_away(
    client: TestClient, collection: Collection, piece: str
) -> None:
    """Not traced, then taken away; the history brings it back."""
    at = f"/piece/{piece}/photographs"
    text = client.get(at).text
    assert "outline not traced yet" in text
    assert "flask.jpg: JPEG, 800 × 1100 pixels" in text
    assert posted(client, f"/piece/{piece}/views/{piece}.view-1/withdraw", version="1")[0] == 303
    assert "No photograph yet" in client.get(at).text
    posted(client, f"/piece/{piece}/undo/{history_of(collection, piece)[-1].number}")
    assert "outline not traced yet" in client.get(at).text


def test_evidence_and_history_of_a_piece_can_be_kept(client: TestClient, collection: Collection, piece: str) -> None:
    """The evidence file is the one the command line takes; the history has a line a change."""
    record_measurement(collection, piece, "height", "292 mm", who="Ada")
    taken = Evidence.from_record(client.get(f"/piece/{piece}/evidence.json").json(), "download")
    assert taken.to_record() == evidence_of(collection, piece).to_record()
    lines = client.get(f"/piece/{piece}/history.csv").text.splitlines()
    assert lines[0] == "number,at,who,deed,kind,record,words"
    assert len(lines) == 1 + len(history_of(collection, piece))


def test_pieces_taken_off_the_shelf_can_be_found_again(client: TestClient, collection: Collection, piece: str) -> None:
    """They are one filter away, and from there their page brings them back."""
    posted(client, f"/piece/{piece}/withdraw", version="1")
    assert f'href="/piece/{piece}"' not in client.get("/").text
    assert f'href="/piece/{piece}"' in client.get("/?status=withdrawn").text


def test_collection_goes_out_and_into_an_empty_one(
    client: TestClient, collection: Collection, piece: str, tmp_path: Path
) -> None:
    """What was written out through the page loads into another collection, photograph and all."""
    record_measurement(collection, piece, "height", "250", who="Ada")
    packed = client.post("/carry/out", headers={"origin": OURS}).content
    with TestClient(create_app(tmp_path / "second"), base_url=OURS, follow_redirects=False) as other:
        reply = other.post("/carry/in", data={"form": "in"}, files={"file": ("shelf.zip", packed)})
        assert reply.status_code == 303
        there = other.app.state.collection  # type: ignore[attr-defined]
        assert get_piece_dossier(there, piece) == get_piece_dossier(collection, piece)
    again = client.post("/carry/in", files={"file": ("shelf.zip", packed)}, headers={"accept": "application/json"})
    assert again.status_code == 422


@pytest.mark.parametrize("name", ["../outside.txt", "/etc/outside.txt", "a\\b.txt", "C:/x.txt"])
def test_a_zip_that_would_write_elsewhere_is_refused(client: TestClient, name: str) -> None:
    """No path in a zip leads outside the folder it is unpacked in."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as packed:
        packed.writestr(name, "x")
    sent = {"file": ("bad.zip", made.getvalue())}
    reply = client.post("/carry/in", files=sent, headers={"accept": "application/json"})
    assert reply.status_code == 422
    assert reply.json()["error"]["expected"].startswith("plain files inside the zip")


def test_a_bad_form_file_is_refused_with_its_line(client: TestClient) -> None:
    """The second line is wrong, so nothing of the file is taken in."""
    good = '{"id": "t-1", "name": "test flask", "section": {"kind": "round"}, "profile": [[0, 30], [100, 30]]}\n'
    bad = '{"id": "t-2", "name": "test flask"}\n'
    sent = {"file": ("mine.jsonl", (good + bad).encode())}
    reply = client.post("/forms/file", data={"form": "forms-file"}, files=sent, headers={"accept": "text/html"})
    assert reply.status_code == 422
    assert "mine.jsonl line 2" in reply.text
    assert client.get("/forms/t-1").status_code == 404
    assert client.post("/forms/file", files={"file": ("mine.jsonl", good.encode())}).status_code == 303
    assert "test flask" in client.get("/forms/t-1").text


def test_own_form_is_taken_out_and_brought_back(client: TestClient, collection: Collection) -> None:
    """Out of the library it has no page and answers nothing; its line says so, and brings it back."""
    add_forms_from_file(collection, ("mine.jsonl", OWN_FORM.encode()), who="Ada")
    assert "take it out of the library" in client.get("/forms/tide-jar").text
    assert posted(client, "/forms/tide-jar/withdraw", version="1") == (303, "/forms#own")
    assert client.get("/forms/tide-jar").status_code == 404
    assert "Bring back: tide jar" in client.get("/forms").text
    assert posted(client, "/forms/tide-jar/withdraw", version="1")[0] == 409
    assert posted(client, "/forms/tide-jar/restore", version="2") == (303, "/forms/tide-jar")
    assert client.get("/forms/tide-jar").status_code == 200
    assert posted(client, "/forms/wine-onion-cont-720ml/withdraw")[0] == 404  # bundled forms stay


def test_soundness_names_what_changed_and_computes_a_finding_again(
    client: TestClient, collection: Collection, piece: str
) -> None:
    """Untouched at first; after a measurement it says so, and the finding's page shows then and now."""
    record_measurement(collection, piece, "height", "292 mm", who="Ada")
    finding = accept_finding(collection, piece, who="Ada Quill")
    text = client.get("/soundness").text
    assert "1 finding stands" in text
    assert "Nothing it rests on has changed since" in text
    record_measurement(collection, piece, "weight", "612 g", who="Ada")
    assert "Changed since: its evidence" in client.get("/soundness").text
    again = client.get(f"/soundness/{finding.id}").text
    assert "Since then became known: weight 612 g" in again
    told = client.get(f"/soundness/{finding.id}.json").json()
    assert told["verdict"] in VERDICTS
    assert told["sentences"]
    listed = client.get("/soundness.json").json()["findings"]
    assert [(row["finding"], row["evidence_changed"]) for row in listed] == [(finding.id, True)]
    assert client.get("/soundness.csv").text.startswith("finding,piece,name")


def test_soundness_tells_of_a_lost_photograph(client: TestClient, collection: Collection, piece: str) -> None:
    """Looked over, a missing original is named; without being asked nothing is looked over."""
    assert "All is well" in client.get("/soundness?look=over").text
    next((collection.path / "photos").iterdir()).unlink()
    assert "is missing" not in client.get("/soundness").text
    assert "The file of photograph flask.jpg is missing" in client.get("/soundness?look=over").text


def test_forms_can_be_saved_as_drawing_sheet_and_lists(client: TestClient) -> None:
    """The sheet is SVG of the forms searched for; lists hold a line a form."""
    sheet = client.get("/forms/sheet.svg?q=onion")
    assert sheet.headers["content-type"].startswith("image/svg+xml")
    assert "onion" in sheet.text
    onions = sum(matches(form, {"q": "onion"}) for form in FormLibrary.starter())
    assert client.get("/forms.csv?q=onion").text.count("\n") == onions + 1
    assert client.get("/forms.jsonl").text == FormLibrary.starter().to_text()


def test_next_look_is_answered_in_place_and_shows_what_moved(
    client: TestClient, collection: Collection, piece: str, photograph: Staged
) -> None:
    """A height typed under 'Next looks' moves the answer, and the page says before and after."""
    x1, y1, x2, y2 = photograph.ruler
    view = f"{piece}.view-1"
    assert client.post(f"/piece/{piece}/bench/{view}/find.json", json={"version": 1, "box": None}).status_code == 200
    rework_view(collection, view, {"scale": {"kind": "bar", "bar": [x1, y1, x2, y2], "mm": 100}}, who="Ada")
    status, address = posted(client, f"/piece/{piece}/look", form="look-1", kind="height", value="290")
    assert (status, address) == (303, f"/piece/{piece}/inside")
    text = client.get(address).text
    assert "What moved" in text
    assert "After recording the height over all, 290." in text
    assert len(evidence_of(collection, piece).measurements) == 1


def test_accepting_signs_the_browser_and_shows_on_the_piece(
    client: TestClient, collection: Collection, piece: str
) -> None:
    """Name and remark stand under the finding, and the name is remembered."""
    record_measurement(collection, piece, "height", "250", who="Ada")
    fields = {"form": "finding", "who": "Ada Quill", "remark": "The lip settles it.", "conclusion": ""}
    assert posted(client, f"/piece/{piece}/finding", **fields)[0] == 303
    text = client.get(f"/piece/{piece}").text
    assert "None of the forms listed" in text
    assert "Ada Quill" in text
    assert "The lip settles it." in text
    assert "Signed: Ada Quill" in text
    assert "finding accepted" in client.get("/").text


def test_accepting_without_a_name_is_told_beside_the_field(
    client: TestClient, collection: Collection, piece: str
) -> None:
    """A finding is signed or not made."""
    record_measurement(collection, piece, "height", "250", who="Ada")
    status, text = posted(client, f"/piece/{piece}/finding", form="finding", who="", remark="", conclusion="")
    assert status == 422
    assert 'id="finding-who-fault"' in text
    assert get_piece_dossier(collection, piece).findings == ()


@pytest.mark.parametrize(
    ("name", "probability", "said"),
    [
        ("none of the forms listed", 0.13, "not clear yet; likeliest none of the forms listed (13\u00a0%)"),
        ("flask", 0.55, "about even flask (55\u00a0%)"),
        ("flask", 0.99, "almost certainly flask (99\u00a0%)"),
    ],
)
def test_the_shelf_names_no_vessel_surely_while_none_leads_clearly(name: str, probability: float, said: str) -> None:
    row = ShelfRow(Piece(id="p", version=1, name="p"), None, 0, BriefAnswer(None, name, probability, 0.1, False, False))
    assert shelf.vessel_words(row) == said
