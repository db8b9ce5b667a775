"""The pages of rollouts and letters: what they say when something is missing, and what they refuse."""

from __future__ import annotations

import re
from datetime import date

import pytest
from starlette.testclient import TestClient

from tests.web.conftest import posted
from tests.web.photograph import Staged
from weftglass.desk import (
    Collection,
    ScaleAsked,
    add_forms_from_file,
    get_piece_dossier,
    keep_hand_count,
    kept_rollout,
    propose_outline,
    set_scale,
)
from weftglass.records import ScaleBar

LETTERED = (
    '{"id": "tine-jar", "name": "tine jar", "section": {"kind": "round"}, "profile": [[0, 40], [180, 15]], '
    '"letters": [{"text": "HARLOW <TINE>", "face": "front", "z": [60, 110]}]}\n'
)


def test_a_piece_without_an_outline_says_what_is_needed(client: TestClient, piece: str) -> None:
    text = client.get(f"/piece/{piece}/rollout").text
    assert "Needed: a front view with its outline and scale, or 6 to 24 turns of a turntable" in text
    assert "Take them in" in text
    assert "can be put together here" in client.get(f"/piece/{piece}/letters").text


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"low": "10"}, "both heights"),
        ({"section": "oval"}, "round, square, rectangle"),
        ({"stitches_per_cm": "many"}, "a number"),
        ({"stitches_per_cm": "4", "stitches_sd": "0"}, "a number above 0 and at most 30"),
        ({}, "none of its views can be rolled out"),
    ],
)
def test_a_choice_that_cannot_be_is_refused_in_a_sentence(
    client: TestClient, piece: str, typed: dict[str, str], sentence: str
) -> None:
    status, text = posted(client, f"/piece/{piece}/rollout", form="roll", **typed)
    assert status == 422
    assert sentence in text


def test_stitches_counted_on_the_piece_are_taken_over_with_their_uncertainty(
    client: TestClient, collection: Collection, piece: str, photograph: Staged
) -> None:
    """The newest count of stitches stands in the form; what is sent from it is in the rollout that is kept."""
    view = get_piece_dossier(collection, piece).views[0].view
    taps = [(200.0 + 12 * k, 600.0) for k in range(21)]
    scale = ScaleAsked((100, 100, 400, 100), 100.0)
    for what in ("stitches", "rows"):
        keep_hand_count(
            collection, piece, view.id, who="Ada", on=date(2026, 5, 1), scale=scale, what=what, taps=taps
        )  # fmt: skip
    propose_outline(collection, view.id, who="Ada")
    set_scale(collection, view.id, ScaleBar(*photograph.ruler, 100.0, in_axis_plane=True), who="Ada")
    page = client.get(f"/piece/{piece}/rollout").text
    assert "Taken over from the count of 2026-05-01, counted by hand." in page
    typed = re.findall(r'name="(stitches_\w+)" type="text" value="([\d.]+)"', page)
    assert dict(typed)["stitches_per_cm"] == "2.50"
    assert 0.01 <= float(dict(typed)["stitches_sd"]) < 0.1
    entries = {"section": "round", "low": "20", "high": "90", "px_per_mm": "1", **dict(typed)}
    assert posted(client, f"/piece/{piece}/rollout", form="roll", **entries)[0] == 303
    kept = kept_rollout(collection, piece)
    assert kept is not None
    assert kept.choice.stitches_per_cm == pytest.approx(2.5, abs=0.01)
    assert kept.choice.stitches_sd is not None


@pytest.mark.parametrize(
    "address",
    ["rollout/picture/plain", "rollout/picture/other", "rollout/rows.csv", "rollout/rollout.json",
     "letters/picture/letters-0/plain", "letters/picture/..%2F..%2Fcollection/plain"],
)  # fmt: skip
def test_what_was_not_made_is_not_there(client: TestClient, piece: str, address: str) -> None:
    assert client.get(f"/piece/{piece}/{address}").status_code == 404


def test_too_few_turns_are_refused_and_nothing_is_taken_in(
    client: TestClient, collection: Collection, piece: str
) -> None:
    status, text = posted(client, f"/piece/{piece}/rollout/turns", form="turns", height="200")
    assert status == 422
    assert "6 to 24 photographs" in text
    assert len(get_piece_dossier(collection, piece).views) == 1


def test_inscriptions_are_found_escaped_and_exported(client: TestClient, collection: Collection) -> None:
    add_forms_from_file(collection, ("own.jsonl", LETTERED.encode()), who="Ada")
    text = client.get("/letters", params={"q": "H?RL*", "low": "65", "high": "80", "face": "front"}).text
    assert "HARLOW &lt;TINE&gt;" in text
    assert "where it was read" in text
    assert client.get("/letters.json", params={"q": "HERL"}).json()[0]["wrong_letters"] == 1
    assert "tine-jar" in client.get("/letters.csv", params={"q": "TINE"}).text
    assert "not even with one letter wrong" in client.get("/letters", params={"q": "QQQ"}).text
    assert client.get("/letters", params={"q": "*"}).status_code == 422


def test_letters_read_are_kept_with_their_height(client: TestClient, collection: Collection, piece: str) -> None:
    fields = {"form": "read", "value": "H?R*", "sure": "0.9", "low": "60", "high": "80", "face": "front"}
    status, where = posted(client, f"/piece/{piece}/letters/read", **fields)
    assert (status, where) == (303, f"/piece/{piece}/inside")
    seen = get_piece_dossier(collection, piece).sightings[0]
    assert (seen.value, seen.z_mm, seen.face) == ("H?R*", (60.0, 80.0), "front")
    status, text = posted(client, f"/piece/{piece}/letters/read", **(fields | {"low": "x"}))
    assert status == 422
    assert "a number in mm" in text
    status, text = posted(client, f"/piece/{piece}/letters/read", **(fields | {"value": "?*?"}))
    assert status == 422
    assert "at least one letter or figure" in text
    assert len(get_piece_dossier(collection, piece).sightings) == 1
