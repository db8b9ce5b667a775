"""The workbench's JSON: its state, saving with versions, finding the outline, and the same by plain forms."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from starlette.testclient import TestClient

from tests.web.conftest import posted
from tests.web.photograph import Staged
from weftglass.desk import Collection, evidence_of, get_view
from weftglass.records import View

SQUARE = [[300.0, 200.0], [500.0, 200.0], [500.0, 1000.0], [300.0, 1000.0]]


@pytest.fixture
def bench(piece: str) -> str:
    """Address of the workbench on the piece's photograph."""
    return f"/piece/{piece}/bench/{piece}.view-1"


def test_state_before_anything_is_traced(client: TestClient, bench: str) -> None:
    """The photograph with its size, and nothing else yet."""
    state = client.get(f"{bench}/state.json").json()
    assert (state["photo"]["width"], state["photo"]["height"]) == (800, 1100)
    assert state["polygon"] is None
    assert state["scale"] is None
    assert state["axis"] is None
    assert state["version"] == 1


def test_finding_the_outline_answers_with_the_new_state(client: TestClient, bench: str, photograph: Staged) -> None:
    """The traced outline reaches from the lip to the standing plane of the staged bottle."""
    state = client.post(f"{bench}/find.json", json={"version": 1, "box": None}).json()
    y = [point[1] for point in state["polygon"]]
    assert abs(min(y) - photograph.top_y) < 8
    assert abs(max(y) - photograph.base_y) < 8
    assert state["version"] == 2


def test_each_change_is_saved_with_a_new_version(client: TestClient, bench: str, photograph: Staged) -> None:
    """Outline, scale and bare glass, one after the other; heights come out in mm."""
    client.post(f"{bench}/find.json", json={"version": 1, "box": None})
    scale = {"kind": "bar", "bar": list(photograph.ruler), "mm": 100}
    state = client.post(f"{bench}/state.json", json={"version": 2, "scale": scale}).json()
    assert abs(state["axis"]["height_mm"] - 290) < 12
    state = client.post(f"{bench}/state.json", json={"version": state["version"], "bare": [[230, 290]]}).json()
    assert state["bare"] == [[230, 290]]
    assert state["version"] == 4
    assert "±" in state["words"]["scale"]


def test_a_change_of_the_outline_says_what_it_did_to_height_and_width(
    client: TestClient, bench: str, photograph: Staged
) -> None:
    """In mm, with what is uncertain; nothing before there is a scale, nor where nothing was measured anew."""
    found = client.post(f"{bench}/find.json", json={"version": 1, "box": None}).json()
    assert found["words"]["changed"] == ""
    polygon = found["polygon"]
    scale = {"kind": "bar", "bar": list(photograph.ruler), "mm": 100}
    scaled = client.post(f"{bench}/state.json", json={"version": 2, "scale": scale}).json()
    assert scaled["words"]["changed"] == ""  # a guess before
    middle = sum(x for x, _ in polygon) / len(polygon)
    wider = [[middle + 1.1 * (x - middle), y] for x, y in polygon]
    state = client.post(f"{bench}/state.json", json={"version": 3, "polygon": wider}).json()
    assert re.fullmatch(
        r"Now 2\d\d\.\d ± \d+\.\d mm tall \((as before|\d+\.\d mm (more|less))(, (more|less) certain)?\), "
        r"\d+\.\d ± \d\.\d mm at its widest \(\d+\.\d mm more(, (more|less) certain)?\)\.",
        state["words"]["changed"],
    )
    state = client.post(f"{bench}/state.json", json={"version": 4, "polygon": polygon}).json()
    assert re.search(r"at its widest \(\d+\.\d mm less", state["words"]["changed"])
    state = client.post(f"{bench}/state.json", json={"version": 5, "bare": [[230, 290]]}).json()
    assert state["words"]["changed"] == ""


def test_a_length_that_is_as_before_but_surer_is_said_to_be(client: TestClient, bench: str, photograph: Staged) -> None:
    """A height by the tape to 5 mm, then the same to 1 mm: no millimetre more, but more certain."""
    client.post(f"{bench}/find.json", json={"version": 1, "box": None})
    told = [{"kind": "height", "mm": 290, "sd_mm": sd} for sd in (5, 1, 5)]
    client.post(f"{bench}/state.json", json={"version": 2, "scale": told[0]})
    surer = client.post(f"{bench}/state.json", json={"version": 3, "scale": told[1]}).json()["words"]["changed"]
    assert surer.startswith("Now 290.0 ± ")
    assert "mm tall (as before, more certain)" in surer
    less = client.post(f"{bench}/state.json", json={"version": 4, "scale": told[2]}).json()["words"]["changed"]
    assert "mm tall (as before, less certain)" in less
    larger = {"kind": "height", "mm": 294, "sd_mm": 5}
    longer = client.post(f"{bench}/state.json", json={"version": 5, "scale": larger}).json()["words"]["changed"]
    assert "294.0 ±" in longer
    assert "mm tall (4.0 mm more), " in longer  # a little less certain, as all that is larger is: not worth a word


def test_a_scale_set_inside_the_outline_asks_to_look_with_and_without_script(client: TestClient, bench: str) -> None:
    """The ruler may have been traced for the piece: the state and the page say so."""
    client.post(f"{bench}/find.json", json={"version": 1, "box": None})
    state = client.get(f"{bench}/state.json").json()
    x = sum(point[0] for point in state["polygon"]) / len(state["polygon"])
    y = [point[1] for point in state["polygon"]]
    inside = {"kind": "bar", "bar": [x, min(y) + 30, x, max(y) - 30], "mm": 100}
    assert "bar lies inside" not in client.get(bench).text
    state = client.post(f"{bench}/state.json", json={"version": state["version"], "scale": inside}).json()
    assert any("The bar lies inside the outline" in sentence for sentence in state["warnings"])
    assert "<li>The bar lies inside the outline" in client.get(bench).text


def test_a_change_made_on_an_old_version_is_refused(client: TestClient, bench: str) -> None:
    """Two windows on one photograph cannot overwrite one another unseen."""
    client.post(f"{bench}/state.json", json={"version": 1, "polygon": SQUARE})
    reply = client.post(f"{bench}/state.json", json={"version": 1, "polygon": SQUARE[:3]})
    assert reply.status_code == 409
    assert "changed meanwhile" in reply.json()["error"]["sentence"]
    assert len(client.get(f"{bench}/state.json").json()["polygon"]) == 4


@pytest.mark.parametrize(
    "body",
    [
        {"version": 1, "polygon": [[0, 0]]},
        {"version": 1, "polygon": "round"},
        {"version": 1, "bare": [[50, 10]]},
        {"version": 1, "scale": {"kind": "bar", "bar": [0, 0, 10, 10], "mm": -5}},
        {"version": 1, "colour": "green"},
        {"polygon": SQUARE},
        [],
    ],
)
def test_nonsense_is_refused_and_saves_nothing(client: TestClient, bench: str, body: object) -> None:
    """Each is 422 with a sentence; the state stays as it was."""
    before = client.get(f"{bench}/state.json").json()
    reply = client.post(f"{bench}/state.json", json=body, headers={"accept": "application/json"})
    assert reply.status_code == 422
    assert reply.json()["error"]["sentence"].endswith("Nothing was changed.")
    assert client.get(f"{bench}/state.json").json() == before


@pytest.mark.parametrize("body", [b"{", b"\xff\xfe", b'{"version": NaN}'])
def test_broken_json_is_refused(client: TestClient, bench: str, body: bytes) -> None:
    """Not JSON, not text, or not a number: one sentence, no fault of ours."""
    reply = client.post(f"{bench}/state.json", content=body, headers={"content-type": "application/json"})
    assert reply.status_code == 422


def test_the_same_changes_work_by_plain_forms(
    client: TestClient, collection: Collection, bench: str, piece: str
) -> None:
    """Without script: find the outline, give a height, mark a range."""
    assert posted(client, bench, form="find") == (303, bench)
    assert posted(client, bench, form="height", mm="290") == (303, bench)
    assert posted(client, bench, form="bare", low="230", high="290") == (303, bench)
    view = get_view(collection, f"{piece}.view-1").view
    assert view.measured is not None
    assert abs(view.measured.height_mm - 290) < 2
    assert view.bare == ((230.0, 290.0),)
    assert posted(client, bench, form="height", mm="tall")[0] == 422


def test_a_view_is_found_only_under_its_own_piece(client: TestClient, bench: str) -> None:
    """Another piece's address does not open it."""
    assert client.get(bench.replace("/piece/", "/piece/not-")).status_code == 404


def test_an_uncovered_vessel_becomes_a_form(client: TestClient, bench: str) -> None:
    """Traced, scaled and named, it stands in the library with how well it is known."""
    posted(client, bench, form="find")
    posted(client, bench, form="height", mm="290")
    status, address = posted(client, f"{bench}/keep", form="keep", name="staged bottle", size="pint", id="staged-1")
    assert (status, address) == (303, "/forms/staged-1")
    text = client.get(address).text
    assert "staged bottle, pint" in text
    assert "mm from the glass" in text


def test_the_strip_waits_for_evidence_and_then_answers(client: TestClient, bench: str, piece: str) -> None:
    """Without scale it asks for one; with it, it names candidates drawn inside the outline."""
    waiting = client.get(f"/piece/{piece}/live.json").json()
    assert "once the outline has a scale" in waiting["html"]
    posted(client, bench, form="find")
    posted(client, bench, form="height", mm="290")
    told = client.get(f"/piece/{piece}/live.json").json()
    assert 'class="candidate"' in told["html"]
    assert "none of the forms listed" in told["html"]
    assert "<svg" in told["html"]
    assert told["sentence"]


def test_partial_view_turned_without_scale_is_told_by_plain_forms(
    client: TestClient, collection: Collection, bench: str, piece: str
) -> None:
    """A seller's picture: base cut off, nobody knows from where, no ruler; the engine is told each of it."""
    posted(client, bench, form="find")
    posted(client, bench, form="guess")
    posted(client, bench, form="ends", base_unseen="yes")
    assert posted(client, bench, form="role", role="turned", caption="the seller's")[0] == 303
    assert posted(client, bench, form="section", value="square", sure="0.7")[0] == 303
    evidence = evidence_of(collection, piece)
    (outline,) = evidence.outlines
    assert (outline.view, outline.base_unseen, outline.top_unseen) == ("turned", True, False)
    assert outline.scale_sd > 0.3
    assert [(seen.feature, seen.value) for seen in evidence.sightings] == [("section", "square")]
    assert "Without a scale" in client.get(f"{bench}/state.json").json()["words"]["scale"]
    posted(client, bench, form="ends")
    assert not evidence_of(collection, piece).outlines[0].base_unseen


def test_a_box_typed_in_per_cent_finds_the_outline(
    client: TestClient, bench: str, piece: str, collection: Collection, photograph: Staged
) -> None:
    """A plain form does it, for those who don't draw; what is no place on the photograph is told beside its field."""
    wide, tall = 800, 1100
    sides = {
        "left": f"{100 * (photograph.middle_x - 200) / wide:.1f}",
        "right": f"{100 * (photograph.middle_x + 200) / wide:.1f}".replace(".", ","),
        "top": f"{100 * (photograph.top_y - 40) / tall:.1f}",
        "bottom": f"{100 * (photograph.base_y + 30) / tall:.1f}",
    }
    for wrong in ("-1", "101", "", "half"):
        status, text = posted(client, bench, form="box", **(sides | {"top": wrong}))
        assert status == 422
        assert 'id="box-top-fault"' in text
    for turned, field in (({"left": "90"}, "right"), ({"top": "99"}, "bottom"), ({"right": "2"}, "right")):
        status, text = posted(client, bench, form="box", **(sides | turned))
        assert status == 422
        assert f'id="box-{field}-fault"' in text
    status, text = posted(client, bench, form="box", **(sides | {"right": sides["left"]}))
    assert status == 422
    assert "at least 16 wide and high" in text
    assert get_view(collection, f"{piece}.view-1").view.polygon == ()
    assert posted(client, bench, form="box", **sides) == (303, bench)
    y = [row[1] for row in client.get(f"{bench}/state.json").json()["polygon"]]
    assert abs(min(y) - photograph.top_y) < 8
    assert abs(max(y) - photograph.base_y) < 8


def test_wrong_role_is_told_beside_its_field(client: TestClient, bench: str) -> None:
    """And the view keeps the one it has."""
    status, text = posted(client, bench, form="role", role="inside", caption="")
    assert status == 422
    assert 'id="role-role-fault"' in text


def test_a_doubted_outline_can_be_said_to_be_right(
    client: TestClient, bench: str, piece: str, collection: Collection, photograph: Staged
) -> None:
    """The workbench offers it, the page of the answer warns until it is done, and a plain form does it."""
    client.post(f"{bench}/find.json", json={"version": 1, "box": None})
    scale = {"kind": "bar", "bar": list(photograph.ruler), "mm": 100}
    client.post(f"{bench}/state.json", json={"version": 2, "scale": scale})
    with collection.cabinet.writing("program") as draft:
        draft.put(replace(draft.get(View, f"{piece}.view-1"), trace_warnings=("The outline is doubtful.",)))
    assert client.get(f"{bench}/state.json").json()["doubted"] is True
    assert '<form method="post" action="' + bench + '" id="compared">' in client.get(bench).text
    assert "doubts it" in client.get(f"/piece/{piece}/inside").text
    assert posted(client, bench, form="compared") == (303, bench)
    assert client.get(f"{bench}/state.json").json()["doubted"] is False
    assert "doubts it" not in client.get(f"/piece/{piece}/inside").text
    assert 'id="compared" hidden' in client.get(bench).text
