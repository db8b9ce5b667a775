"""The page of a piece's condition: marking, looking again, comparing, and carrying away."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest
from starlette.testclient import TestClient

from tests.web.conftest import posted
from weftglass.desk import Collection, Silhouette, condition_of, record_measurement
from weftglass.records import Spot
from weftglass.web.figures.body_map import TALL, place_on_face

NASTY = "<script>alert('x')</script>"


@pytest.fixture
def condition(collection: Collection, client: TestClient, piece: str) -> str:
    """Address of the condition of a piece 250 mm tall with one spot marked."""
    record_measurement(collection, piece, "height", "250 mm", who="Ada")
    at = f"/piece/{piece}/condition"
    posted(client, at, form="begin", on="2024-05-03", state="watch", remark=NASTY)
    examination = condition_of(collection, piece).examinations[0].id
    spot = {"kind": "stain", "face": "front", "height": "100", "across": "-50", "size_mm": "12", "remark": NASTY}
    assert posted(client, f"{at}/{examination}/spots", form="mark", **spot) == (303, f"{at}#map")
    return at


def test_page_asks_for_a_first_examination(client: TestClient, piece: str) -> None:
    """Nothing is claimed before anybody looked."""
    text = client.get(f"/piece/{piece}/condition").text
    assert "Examine it" in text
    assert "<svg" not in text
    assert ">Condition</a>" in text


def test_spot_stands_on_the_map_and_in_the_list(client: TestClient, condition: str) -> None:
    """In words with its height in mm, as a circle with its number; what was typed is never markup."""
    text = client.get(condition).text
    assert "front, 100 mm up, left of the middle" in text
    assert len(re.findall(r'<g class="spot">', text)) == 1
    assert "<script>alert" not in text
    assert "to be watched" in text


def test_second_examination_compares_with_the_first(
    client: TestClient, condition: str, collection: Collection, piece: str
) -> None:
    """Not looked at, then grown; the first one can still be read."""
    posted(client, condition, form="begin", on="2026-05-03", state="care", remark="")
    first, later = condition_of(collection, piece).examinations
    assert "Since 3 May 2024: 1 not looked at yet." in client.get(condition).text
    spot = f"{condition}/{later.id}/spots/1"
    assert posted(client, spot, form="spot-1", act="seen", size_mm="18", remark="")[0] == 303
    text = client.get(condition).text
    assert "Since 3 May 2024: 1 grown." in text
    assert "was 12\u00a0mm" in text
    earlier = client.get(f"{condition}?at={first.id}").text
    assert "An earlier examination" in earlier
    assert 'id="mark"' not in earlier
    posted(client, spot, form="spot-1", act="gone")
    assert "1 no longer seen" in client.get(condition).text
    assert '<g class="spot gone">' in client.get(condition).text


@pytest.mark.parametrize(
    ("fields", "field"),
    [({"height": "300"}, "height"), ({"height": "low"}, "height"), ({"size_mm": "-1"}, "size_mm")],
)
def test_wrong_place_or_size_is_told_beside_its_field(
    client: TestClient, condition: str, collection: Collection, piece: str, fields: dict[str, str], field: str
) -> None:
    """Status 422, and what was typed is still there."""
    at = f"{condition}/{condition_of(collection, piece).examinations[0].id}/spots"
    spot = {"kind": "wear", "face": "back", "height": "10", "across": "0", "size_mm": "5", **fields}
    status, text = posted(client, at, form="mark", **spot)
    assert status == 422
    assert f'id="mark-{field}-fault"' in text
    assert f'value="{fields[field]}"' in text


def test_soundness_lists_what_needs_care(client: TestClient, condition: str) -> None:
    """Watched for two years: due; once it needs care it leads the list."""
    assert "Of 1: 1 to be watched. 1 not looked at for over a year." in client.get("/soundness").text
    posted(client, condition, form="begin", on="2026-11-01", state="danger", remark="")
    text = client.get("/soundness").text
    assert "Of 1: 1 in danger." in text
    assert f'<a href="{condition}">' in text
    assert client.get("/care.csv").text.splitlines()[0] == "piece,name,on,state,by,spots,due"


def test_examination_of_another_piece_is_not_found(client: TestClient, condition: str) -> None:
    """An address put together by hand changes nothing."""
    assert posted(client, f"{condition}/elsewhere/spots", form="mark", height="1", size_mm="1", across="0")[0] == 404


def test_map_and_lists_can_be_kept(client: TestClient, condition: str) -> None:
    """A whole SVG with its colours in it, and the same spots as CSV and JSON."""
    drawing = client.get(f"{condition}.svg")
    assert drawing.headers["content-type"].startswith("image/svg+xml")
    assert ElementTree.fromstring(drawing.text).tag.endswith("svg")
    (row,) = client.get(f"{condition}.json").json()["spots"]
    assert (row["height_mm"], row["across"], row["kind"], row["on"]) == (100.0, -0.5, "stain", "2024-05-03")
    assert client.get(f"{condition}.csv").text.splitlines()[0].startswith("piece,examination,on,by,state")


JAR = Silhouette(((0.0, 0.2), (0.5, 0.3), (1.0, 0.1)), ((0.0, 0.1), (1.0, 0.1)), 250.0, "a drawing")


@pytest.mark.parametrize(
    ("face", "up", "across", "place"),
    [
        ("front", 0.5, 1.0, (0.3 * TALL, -0.5 * TALL)),
        ("left", 0.5, -1.0, (-0.1 * TALL, -0.5 * TALL)),
        ("top", 0.0, 0.0, (0.0, 0.0)),
        ("top", 1.0, 0.0, (0.0, -0.2 * TALL)),
        ("base", 1.0, 0.0, (0.0, 0.0)),
    ],
)
def test_spot_stands_where_it_was_said(face: str, up: float, across: float, place: tuple[float, float]) -> None:
    """On the edge at its height; on the top the front edge lies below, on the base above."""
    assert place_on_face(JAR, face, Spot(1, "wear", face, up, across, 5.0)) == pytest.approx(place)
