"""An offer, values, the pocket sheet and the catalogue on the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.desk.conftest import picture
from tests.web.shelves import stocked
from weftglass.cli.main import run
from weftglass.desk import (
    add_community,
    evidence_of,
    get_piece,
    get_piece_dossier,
    open_collection,
    record_sighting,
    values_of,
)


@pytest.fixture
def shelf(tmp_path: Path) -> str:
    with open_collection(tmp_path / "shelf") as opened:
        stocked(opened, 30)
    return str(tmp_path / "shelf")


def told(capsys: pytest.CaptureFixture[str], *asked: str) -> object:
    """The one JSON document a command prints."""
    assert run([*asked, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_an_offer_goes_from_text_to_message_to_answer_to_the_shelf(
    shelf: str, capsys: pytest.CaptureFixture[str]
) -> None:
    taken = told(capsys, "offer", shelf, "--take-in", "Quay bottle", "--price", "60 USD", "--seller", "T. O.")
    assert isinstance(taken, dict)
    piece = taken["piece"]
    with open_collection(shelf) as opened:
        record_sighting(opened, piece, "colour", "amber", who="Ada", sure=0.7)
    assert run(["offer", shelf, piece, "--sent"]) == 0
    assert "Hello T. O.," in capsys.readouterr().out
    sent = told(capsys, "offer", shelf, piece)
    assert isinstance(sent, dict)
    height = next(one["inquiry"] for one in sent["inquiries"] if "tall" in one["question"])
    told(capsys, "offer", shelf, piece, "--answer", height, "30 cm or so", "--reading", "300 mm")
    with open_collection(shelf) as opened:
        assert [one.value for one in evidence_of(opened, piece).measurements] == [300]
    over = told(capsys, "offer", shelf, piece, "--end", "bought", "--paid", "55 USD")
    assert isinstance(over, dict)
    assert over["outcome"] == "bought"
    with open_collection(shelf) as opened:
        assert get_piece(opened, piece).status == "owned"
    assert told(capsys, "offers", shelf, "--open") == []


def test_changing_one_field_of_an_offer_keeps_the_others(
    shelf: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    photo = tmp_path / "front.jpg"
    photo.write_bytes(picture())
    given = ["--photo", str(photo), "--price", "60 USD", "--seller", "T. O."]
    told(capsys, "offer", shelf, "--take-in", "Quay bottle", *given)
    with open_collection(shelf) as opened:
        assert len(get_piece_dossier(opened, "quay-bottle").views) == 1
    changed = told(capsys, "offer", shelf, "quay-bottle", "--price", "50 USD")
    assert isinstance(changed, dict)
    assert (changed["asked"], changed["seller"]) == (50, "T. O.")


def test_a_price_keeps_every_digit_when_something_else_is_changed(
    shelf: str, capsys: pytest.CaptureFixture[str]
) -> None:
    told(capsys, "offer", shelf, "--take-in", "Quay bottle", "--price", "1,234,567.25 JPY")
    changed = told(capsys, "offer", shelf, "quay-bottle", "--seller", "T. O.")
    assert isinstance(changed, dict)
    assert (changed["asked"], changed["currency"], changed["seller"]) == (1234567.25, "JPY", "T. O.")
    assert run(["offer", shelf, "quay-bottle"]) == 0
    assert "1,234,567.25 JPY" in capsys.readouterr().out


def test_a_value_is_written_down_and_summed(shelf: str, capsys: pytest.CaptureFixture[str]) -> None:
    given = ["--piece", "owned-0001", "--kind", "cost", "--amount", "80 USD", "--on", "2019-01-01", "--source", "bill"]
    found = told(capsys, "values", shelf, *given)
    assert isinstance(found, dict)
    assert [one["amount"] for one in found["totals"]] == [80]
    with open_collection(shelf) as opened:
        assert len(values_of(opened, "owned-0001")) == 1


def test_the_pocket_sheet_is_a_file_whole_in_itself(shelf: str, tmp_path: Path) -> None:
    assert run(["pocket", shelf, str(tmp_path / "pocket.html")]) == 0
    text = (tmp_path / "pocket.html").read_text(encoding="utf-8")
    assert "Forms to know" in text
    assert "href=" not in text


def test_pages_are_put_together_and_published(shelf: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    put = ["catalogue", shelf, "--put"]
    told(capsys, *put, "table", "--rows", "community", "--columns", "family", "--title", "Who wove on what")
    pages = told(capsys, *put, "piece", "--piece", "owned-0003", "--page", "who-wove-on-what")
    assert isinstance(pages, list)
    assert [len(one["shows"]) for one in pages] == [2]
    assert run(["publish", shelf, str(tmp_path / "all.html")]) == 0
    text = (tmp_path / "all.html").read_text(encoding="utf-8")
    assert "Piece owned-0003" in text
    assert "30 pieces counted" in text


def test_a_piece_with_a_restricted_design_is_not_published(
    shelf: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told(capsys, "catalogue", shelf, "--put", "piece", "--piece", "owned-0003", "--title", "One")
    with open_collection(shelf) as opened:
        community = get_piece(opened, "owned-0003").community
        add_community(opened, {"name": community, "restricted_designs": "heron"}, who="Ada")
        record_sighting(opened, "owned-0003", "design", "two herons", who="Ada")
    assert run(["publish", shelf, str(tmp_path / "all.html")]) == 0
    assert "restricted knowledge" in capsys.readouterr().err
    assert "owned-0003" not in (tmp_path / "all.html").read_text(encoding="utf-8")


def test_rarity_and_whereabouts_print_and_draw(shelf: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["rarity", shelf, "--with", "community=Delmuine", "--svg", str(tmp_path / "rare.svg")]) == 0
    assert "of 30 pieces on record: between 1 in" in capsys.readouterr().out
    assert (tmp_path / "rare.svg").read_text(encoding="utf-8").startswith("<svg")
    years = tmp_path / "years.svg"
    found = told(capsys, "whereabouts", shelf, "--only", "community=Delmuine", "--years", str(years))
    assert isinstance(found, dict)
    assert {one["community"] for one in found["years"]} == {"Delmuine"}
    assert years.exists()


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (["offer", "{shelf}"], "the id of a piece on offer"),
        (["offer", "{shelf}", "owned-0001"], "a piece that is on offer"),
        (["offer", "{shelf}", "--take-in", "A", "--price", "much"], "an amount and its currency"),
        (["offer", "{shelf}", "--take-in", "A", "--photo", "nowhere.jpg"], "there is no such file"),
        (["values", "{shelf}", "--amount", "5 USD"], "--piece is left out"),
        (["publish", "{shelf}", "out.html"], "at least one page"),
        (["catalogue", "{shelf}", "--put", "piece", "--piece", "none", "--title", "A"], "the id of a piece"),
        (["catalogue", "{shelf}", "--put", "map", "--page", "none"], "the id of a catalogue page"),
        (["rarity", "{shelf}", "--with", "weather=fine"], "terms are community"),
        (["holdings", "{shelf}", "--only", "community"], "as community=Delmuine"),
        (["whereabouts", "{shelf}", "--map", "map.svg"], "something to draw"),
    ],
)
def test_a_mistake_leaves_with_two_and_one_sentence(
    asked: list[str], said: str, shelf: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    assert run([word.format(shelf=shelf) for word in asked]) == 2
    captured = capsys.readouterr()
    assert said in captured.err
    assert captured.out == ""
    assert [place.name for place in tmp_path.iterdir()] == ["shelf"]
