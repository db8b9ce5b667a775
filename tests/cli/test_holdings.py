"""`weftglass holdings` and `weftglass wants` on a stocked collection."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest

from tests.web.shelves import stocked
from weftglass.cli.main import run
from weftglass.desk import edit_offer, open_collection


@pytest.fixture
def shelf(tmp_path: Path) -> str:
    with open_collection(tmp_path / "shelf") as opened:
        stocked(opened, 80)
        stocked(opened, 3, seed=7, status="offered")
        for number in range(3):
            edit_offer(opened, f"offered-{number:04d}", who="Ada", today=date(2026, 11, 25), price="50 USD")
    return str(tmp_path / "shelf")


def test_holdings_prints_the_table_and_the_planted_preference(shelf: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["holdings", shelf]) == 0
    printed = capsys.readouterr().out
    assert "Of 22 pieces from Delmuine, 15 are on" in printed
    assert "at least 42 kinds in all (36 to 66)" in printed


def test_holdings_as_json_is_one_document(shelf: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["holdings", shelf, "--whose", "all", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert sum(cell["pieces"] for cell in document["cells"]) == 83
    assert document["preferences"][0]["row"] == "Delmuine"
    assert document["association"]["p"] < 0.01


def test_wants_names_gaps_and_plans_a_sum(shelf: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["wants", shelf, "--budget", "100", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert all(gap["held"] == 0 for gap in document["wants"])
    assert document["plan"]["proven"]
    assert document["plan"]["cost"] <= 100
    assert run(["wants", shelf, "--objective", "mirror"]) == 0
    assert "in the next 20" in capsys.readouterr().out


@pytest.mark.parametrize(
    "asked",
    [["holdings", "nowhere"], ["holdings", ".", "--rows", "weather"], ["wants", "{shelf}", "--budget", "-1"]],
)
def test_wrong_input_leaves_with_two(asked: list[str], shelf: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run([word.format(shelf=shelf) for word in asked]) == 2
    assert capsys.readouterr().out == ""
