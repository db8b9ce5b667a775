"""The demo collection goes through the desk, and the report tells how far its answers are from the truth."""

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from weftglass.demo import build, build_demo, demo_report, report, scenario
from weftglass.demo.report import DemoReport, DemoRow, overlap_of
from weftglass.demo.shown import show_some
from weftglass.desk import create_piece, get_piece_dossier, open_collection
from weftglass.desk.catalogue import catalogue_pages
from weftglass.desk.communities import add_community
from weftglass.desk.publishing import make_catalogue

SHOWN = ("p-01", "p-29")


@pytest.fixture(scope="module")
def collection(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """Two pieces of the demo, one with a scale and one without."""
    told = dict(scenario.scenario())
    told["pieces"] = [piece for piece in told["pieces"] if piece["id"] in SHOWN]
    place: Path = tmp_path_factory.mktemp("demo") / "collection"
    said: list[str] = []
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(build, "scenario", lambda: told)
        patch.setattr(report, "scenario", lambda: told)
        build_demo(place, progress=said.append)
        yield place, said, demo_report(place)


def test_build_tells_each_piece(collection: Any) -> None:
    assert [line.split(":")[0] for line in collection[1]] == ["1 of 2", "2 of 2"]


def test_built_piece_holds_readings_photographs_and_a_measured_outline(collection: Any) -> None:
    with open_collection(collection[0], create=False) as opened:
        dossier = get_piece_dossier(opened, "p-01")
    assert {record.what for record in dossier.measurements} == {"weight", "height", "lip_diameter"}
    front = dossier.views[0].view
    assert front.role == "front"
    assert front.measured is not None
    assert front.bare


def test_a_catalogue_is_there_to_look_at_without_what_is_kept_back(collection: Any) -> None:
    """Of the pieces built one is on the first page, the charts are on the second."""
    with open_collection(collection[0], create=False) as opened:
        first, second = catalogue_pages(opened)
        made = make_catalogue(opened, date(2026, 11, 25))
    assert [exhibit.told["piece"] for exhibit in first.exhibits] == ["p-01"]
    assert {exhibit.kind for exhibit in second.exhibits} == {"table", "map", "years", "rarity"}
    assert first.remark
    assert [page.title for page in made.catalogue.pages] == [first.title, second.title]
    assert made.left_out == ()


def test_what_is_kept_back_is_not_put_into_the_catalogue(tmp_path: Path) -> None:
    """A piece of the first page whose design became restricted is passed over."""
    with open_collection(tmp_path / "shelf") as made:
        add_community(made, {"name": "Delmuine", "restricted_designs": "boat"}, who="Ada")
        create_piece(made, "Boats", who="Ada", piece_id="p-19", community="Delmuine", design="a row of boats")
        create_piece(made, "Lozenges", who="Ada", piece_id="p-01", community="Delmuine", design="lozenges")
        show_some(made, "Ada")
        assert [exhibit.told["piece"] for exhibit in catalogue_pages(made)[0].exhibits] == ["p-01"]


def test_report_compares_with_the_truth(collection: Any) -> None:
    row = next(row for row in collection[2].rows if row.piece == "p-01")
    assert row.form == "wine-cyl-3pc"
    assert row.rank is not None
    assert row.overlap is not None
    assert row.overlap > 0.9
    assert row.diameter_error_mm is not None
    assert abs(row.diameter_error_mm) < 0.03 * 86


def test_report_says_failures_and_gaps() -> None:
    good = DemoRow("a", "form-1", 1, 0.8, 0.9, 0.1, 80.0, 0.4, 0.99)
    bad = DemoRow("b", None, 5, 0.02, None, 0.02, 90.0, -9.0, 0.70)
    gap = DemoRow("c", "form-2", None, None, None, None, 70.0, None, None)
    whole = DemoReport((good, bad, gap))
    text = whole.to_text()
    assert "the truth is first in 1, among the first three in 1" in text
    assert "0.700 at worst" in text
    assert "10.0 % at worst" in text
    assert "–" in text
    assert json.loads(whole.to_json())["summary"]["answered"] == 2
    assert whole.to_markdown().count("\n| ") == 2 + 3


def test_overlap_of_apart_and_same() -> None:
    square = [[0, 0], [9, 0], [9, 9], [0, 9]]
    assert overlap_of(square, square, (40, 40)) == 1.0
    assert overlap_of(square, [[20, 20], [29, 20], [29, 29], [20, 29]], (40, 40)) == 0.0
