"""The page of a piece's covering: counting, keeping, withdrawing and carrying counts away."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from tests.web.conftest import OURS, posted
from tests.web.photograph import staged
from weftglass.desk import Collection, add_photos_to_piece, covering_of, create_piece, save_outline, set_scale
from weftglass.records import ScaleBar, View

CLOSEUPS = Path(__file__).parents[1] / "weave" / "closeups"
TRUTH = json.loads((CLOSEUPS / "truth.json").read_text())["twined"]
OUTLINE = [[274, 1020], [274, 510], [310, 435], [349, 375], [349, 150], [451, 150], [451, 375], [490, 435], [526, 510],
           [526, 1020]]  # fmt: skip
NASTY = "<script>alert('x')</script>"


@pytest.fixture
def covered(collection: Collection) -> str:
    """Id of a piece with one close-up of twined work."""
    picture = (CLOSEUPS / "twined.jpg").read_bytes()
    return create_piece(collection, "A twined flask", who="Ada", photos=[("close-up.jpg", picture)]).id


@pytest.fixture
def fields(collection: Collection, covered: str) -> dict[str, str]:
    """What a person fills in to count on it: a bar of 20 mm, the technique."""
    view = covering_of(collection, covered).views[0].view.id
    length = 20 / TRUTH["mm_per_px"]
    return {"view": view, "technique": "twined", "box": "", "bar": f"20, 400, {20 + length:.2f}, 400", "mm": "20"}


@pytest.fixture
def measured(collection: Collection) -> View:
    """The front of a round piece 84 mm across, outline and scale set."""
    picture = staged()
    piece = create_piece(collection, "A round one", who="Ada", photos=[("front.jpg", picture.jpeg)]).id
    view = covering_of(collection, piece).views[0].view
    save_outline(collection, view.id, OUTLINE, who="Ada")
    return set_scale(collection, view.id, ScaleBar(*picture.ruler, 100.0, in_axis_plane=True), who="Ada")


def test_page_without_a_photograph_says_what_to_take(client: TestClient, collection: Collection) -> None:
    """No dead end: a way to add one."""
    piece = create_piece(collection, "Bare", who="Ada").id
    text = client.get(f"/piece/{piece}/covering").text
    assert "no photograph of it yet" in text
    assert f'href="/piece/{piece}/photographs"' in text


def test_count_is_drawn_kept_listed_and_withdrawn(
    client: TestClient, collection: Collection, covered: str, fields: dict[str, str]
) -> None:
    """Counted rows stand over the picture; the kept study agrees with the truth; withdrawn it is gone."""
    at = f"/piece/{covered}/covering"
    status, text = posted(client, at, form="count", **fields)
    assert status == 200
    assert len(re.findall('class="row-line"', text)) > 10
    assert "rows per cm" in text
    assert f"stitches lean {TRUTH['lean']}".capitalize() in text
    assert covering_of(collection, covered).studies == ()
    assert posted(client, f"{at}/keep", form="keep", remark=NASTY, **fields) == (303, f"{at}#kept")
    study = covering_of(collection, covered).studies[0]
    assert study.rows_per_cm == pytest.approx(TRUTH["rows_per_cm"], rel=0.05)
    assert study.how == "picture"
    page = client.get(at).text
    assert "<script>alert" not in page
    assert "counted in the picture" in page
    table = client.get(f"{at}/studies.csv").text.splitlines()
    assert len(table) == 2
    assert table[0].startswith("study,view,on,by,how,technique,rows_per_cm")
    assert posted(client, f"{at}/{study.id}/withdraw") == (303, f"{at}#kept")
    assert covering_of(collection, covered).studies == ()


def test_count_by_hand_is_kept_with_its_uncertainty(
    client: TestClient, collection: Collection, covered: str, fields: dict[str, str]
) -> None:
    """Eleven taps 2 mm apart are five a cm, known to the error of two ends."""
    at, step = f"/piece/{covered}/covering", 2 / TRUTH["mm_per_px"]
    taps = "; ".join(f"100, {50 + k * step:.2f}" for k in range(11))
    more = {name: fields[name] for name in ("view", "technique", "bar", "mm")}
    assert posted(client, f"{at}/hand", form="hand", what="rows", taps=taps, **more)[0] == 303
    study = covering_of(collection, covered).studies[0]
    assert study.rows_per_cm == pytest.approx(5, rel=1e-3)
    assert study.rows_sd == pytest.approx(5 * 0.71 / 20, rel=0.1)
    assert len(study.taps_px) == 11


@pytest.mark.parametrize(
    ("address", "wrong", "said"),
    [
        ("", {"bar": "1, 2, 3"}, "Scale: two points x1, y1, x2, y2 in pixels: “1, 2, 3” will not do"),
        ("", {"mm": "many"}, "Millimetres between them: “many” will not do"),
        ("", {"height": "90 up"}, "Height of the place on the piece, mm: “90 up” will not do"),
        ("", {"height": "90"}, "before its outline has been measured"),
        ("", {"box": "1, 2"}, "Box: two corners x0, y0, x1, y1 in pixels: “1, 2” will not do"),
        ("", {"technique": "knitted"}, "Technique: “knitted” will not do"),
        ("/keep", {"box": "0, 0, 20, 20"}, "box is"),
        ("/hand", {"taps": "1, 2, 3"}, "Taps: x, y in pixels: “1, 2, 3” will not do"),
    ],
)
def test_wrong_entries_are_named_and_kept_in_the_form(
    client: TestClient, covered: str, fields: dict[str, str], address: str, wrong: dict[str, str], said: str
) -> None:
    """Status 422, the sentence on the page, what was typed still there; nothing kept."""
    form = {"": "count", "/keep": "keep", "/hand": "hand"}[address]
    entries = fields | {"what": "rows", "taps": ""} | wrong
    status, text = posted(client, f"/piece/{covered}/covering{address}", form=form, **entries)
    assert status == 422
    assert said in text
    assert f'value="{next(iter(wrong.values()))}"' in text or "technique" in wrong


def test_picture_without_rows_is_refused_in_words(client: TestClient, collection: Collection) -> None:
    """Wood: no count, the reason on the page, nothing to keep."""
    wood = (CLOSEUPS / "wood.jpg").read_bytes()
    piece = create_piece(collection, "A board", who="Ada", photos=[("wood.jpg", wood)]).id
    view = covering_of(collection, piece).views[0].view.id
    entries = {"view": view, "technique": "twined", "box": "", "bar": "10, 10, 210, 10", "mm": "20"}
    status, text = posted(client, f"/piece/{piece}/covering", form="count", **entries)
    assert status == 200
    assert "No count:" in text
    assert "Keep this count" not in text


def test_foreign_view_is_refused(client: TestClient, collection: Collection, covered: str, piece: str) -> None:
    """A photograph of another piece can't be counted under this one."""
    view = covering_of(collection, piece).views[0].view.id
    entries = {"view": view, "bar": "10, 10, 210, 10", "mm": "20", "form": "count"}
    reply = client.post(f"/piece/{covered}/covering", data=entries, headers={"origin": OURS, "accept": "text/html"})
    assert reply.status_code == 422
    assert "a photograph of this piece" in reply.text


def test_scale_from_the_pieces_own_edges_at_a_height(
    client: TestClient, collection: Collection, measured: View, fields: dict[str, str]
) -> None:
    """No ruler: the width that the outline gives there is the scale, the sentence says so, and the count is kept."""
    picture = (CLOSEUPS / "twined.jpg").read_bytes()
    add_photos_to_piece(collection, measured.piece, [("close-up.jpg", picture)], who="Ada", role="close-up")
    seen = covering_of(collection, measured.piece)
    assert seen.profile is not None
    view = next(one.view.id for one in seen.views if one.view.role == "close-up")
    width = 2 * seen.profile.wall_at(100.0, "here")[0]
    entries = fields | {"view": view, "mm": "", "height": "100", "bar": "0, 360, 600, 360"}
    at = f"/piece/{measured.piece}/covering"
    status, text = posted(client, at, form="count", **entries)
    assert status == 200
    assert "Scale from the piece&#39;s own width there" in text
    assert posted(client, f"{at}/keep", form="keep", remark="", **entries)[0] == 303
    study = covering_of(collection, measured.piece).studies[0]
    assert study.bar[4] == pytest.approx(width / (1 + width / 250) ** 0.5, rel=0.01)
    assert study.remark.startswith("Scale from the piece's own width there")
