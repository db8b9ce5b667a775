"""The holdings page: counts, the pieces behind a cell, preferences, completeness, and what can be saved."""

from __future__ import annotations

import csv
import io

import pytest
from starlette.testclient import TestClient

from tests.web.shelves import stocked


@pytest.fixture
def shelf(client: TestClient) -> TestClient:
    stocked(client.app.state.collection, 80)  # type: ignore[attr-defined]
    return client


def test_an_empty_collection_says_what_is_missing(client: TestClient) -> None:
    assert "No piece has both terms yet" in client.get("/holdings").text


def test_the_table_names_the_planted_preference_and_the_pieces_behind_it(shelf: TestClient) -> None:
    text = shelf.get("/holdings").text
    assert "80 pieces counted" in text
    assert "Of 22 pieces from Delmuine, 15 are on" in text
    assert "by chance 4 would be" in text
    family = text.split("Of 22 pieces from Delmuine, 15 are on ")[1].split(";")[0]
    behind = shelf.get("/holdings", params={"row": "Delmuine", "column": family}).text
    assert behind.count('<li><a href="/piece/owned-') == 15


def test_the_table_can_be_saved_as_list_and_picture(shelf: TestClient) -> None:
    rows = list(csv.DictReader(io.StringIO(shelf.get("/holdings.csv").text)))
    assert sum(int(row["pieces"]) for row in rows) == 80
    assert abs(sum(float(row["by_chance"]) for row in rows) - 80) < 0.1
    picture = shelf.get("/holdings.svg")
    assert picture.headers["content-type"].startswith("image/svg+xml")
    assert picture.text.count("<circle") == sum(int(row["pieces"]) > 0 for row in rows)
    assert "<svg" in shelf.get("/holdings-growth.svg").text


def test_completeness_stands_in_sentences_with_intervals(shelf: TestClient) -> None:
    text = shelf.get("/holdings").text
    assert "The next piece is of a new kind with probability 16" in text
    assert "Kinds there are in all, at least: 42 (36 to 66, 95%)" in text


def test_nonsense_in_the_address_reads_as_the_usual_table(shelf: TestClient) -> None:
    asked = {"rows": "<script>", "columns": "community", "whose": "x", "row": "<b>", "column": "y"}
    answer = shelf.get("/holdings", params=asked)
    assert answer.status_code == 200
    assert "<b>" not in answer.text


def test_pieces_on_offer_are_counted_only_when_asked(shelf: TestClient) -> None:
    stocked(shelf.app.state.collection, 5, seed=2, status="offered")  # type: ignore[attr-defined]
    assert "80 pieces counted" in shelf.get("/holdings").text
    assert "5 pieces counted" in shelf.get("/holdings?whose=offered").text
    assert "85 pieces counted" in shelf.get("/holdings?whose=all").text
