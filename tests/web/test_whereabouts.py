"""Where and when: places with absence, communities, pieces that name them, and the time line."""

from __future__ import annotations

import csv
import io

import pytest
from starlette.testclient import TestClient

from tests.web.conftest import posted
from tests.web.shelves import stocked
from weftglass.desk import Collection, create_piece, lifespans, map_of
from weftglass.desk.whereabouts import named_years

PLACE = {
    "form": "place",
    "name": "Port Hallowen",
    "latitude": "51.4",
    "longitude": "-3,2",
    "within_km": "8",
    "standing": "found",
    "looked_on": "",
    "source": "auction list",
}


def test_an_empty_collection_says_what_to_do(client: TestClient) -> None:
    text = client.get("/whereabouts").text
    assert "Nothing has a point yet" in text
    assert "No piece has years yet" in text
    assert client.get("/whereabouts-map.svg").status_code == 404


def test_a_place_stands_on_the_map_with_the_pieces_that_name_it(client: TestClient, collection: Collection) -> None:
    create_piece(collection, "Quay flask", who="Ada", place="Port Hallowen, the quay")
    assert posted(client, "/whereabouts", **PLACE)[0] == 303
    (spot,) = map_of(collection)
    assert (spot.point, spot.standing, [name for _, name in spot.pieces]) == ((51.4, -3.2), "found", ["Quay flask"])
    text = client.get("/whereabouts").text
    assert "51.40° N, 3.20° W, within 8" in text
    assert "Quay flask" in text
    (row,) = csv.DictReader(io.StringIO(client.get("/whereabouts.csv").text))
    assert (row["standing"], row["pieces"]) == ("found", "quay-flask")
    assert "km</text>" in client.get("/whereabouts-map.svg").text


def test_absence_is_recorded_with_its_day_and_drawn_as_a_cross(client: TestClient) -> None:
    status, text = posted(client, "/whereabouts", **{**PLACE, "standing": "not found"})
    assert status == 422
    assert "the day it was looked for" in text
    given = {**PLACE, "standing": "not found", "looked_on": "2025-06-01"}
    assert posted(client, "/whereabouts", **given)[0] == 303
    assert "stroke-dasharray" in client.get("/whereabouts-map.svg").text
    assert "looked for here and not found, 2025-06-01" in client.get("/whereabouts").text


@pytest.mark.parametrize(
    ("field", "value"), [("latitude", "north"), ("latitude", "95"), ("within_km", "0"), ("standing", "x"), ("name", "")]
)
def test_a_wrong_place_is_refused_beside_its_field(client: TestClient, field: str, value: str) -> None:
    status, text = posted(client, "/whereabouts", **{**PLACE, field: value})
    assert status == 422
    assert "should be" in text
    assert "Nothing has a point yet" in text


def test_a_place_can_be_taken_off_the_map(client: TestClient, collection: Collection) -> None:
    posted(client, "/whereabouts", **PLACE)
    assert posted(client, "/whereabouts/port-hallowen/withdraw", version="1")[0] == 303
    assert map_of(collection) == ()


def test_the_time_line_has_years_of_form_and_entry(client: TestClient, collection: Collection) -> None:
    stocked(collection, 12)
    spans = lifespans(collection)
    assert len(spans) == 12
    assert all(one.covering is not None and not one.signed for one in spans)
    assert all(one.covering[1] - one.covering[0] == 20 for one in spans if one.covering)
    picture = client.get("/whereabouts-years.svg").text
    assert picture.count("<rect") == sum((one.glass is not None) + (one.covering is not None) for one in spans)
    assert len(list(csv.DictReader(io.StringIO(client.get("/whereabouts-years.csv").text)))) == 12


def test_years_are_read_from_what_people_write() -> None:
    assert named_years("c. 1890") == (1880, 1900)
    assert named_years("between 1871 and 1875") == (1871, 1875)
    assert named_years("in grandmother's time") is None
