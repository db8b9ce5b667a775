"""Counting a covering under the hand: drags give scale and box, the count stands over the picture, taps count too."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import served
from weftglass.desk import create_piece, open_collection

pytestmark = pytest.mark.browser

CLOSEUPS = Path(__file__).parents[1] / "weave" / "closeups"
TRUTH = json.loads((CLOSEUPS / "truth.json").read_text())["twined"]


@pytest.fixture
def covering(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of the covering page of a piece with one close-up."""
    folder = tmp_path_factory.mktemp("covering") / "shelf"
    with open_collection(folder) as collection:
        picture = (CLOSEUPS / "twined.jpg").read_bytes()
        flask = create_piece(collection, "Twined flask", who="Ada", photos=[("close-up.jpg", picture)])
    with served(folder) as address:
        yield f"{address}/piece/{flask.id}/covering"


def dragged(page: Page, start: tuple[float, float], end: tuple[float, float]) -> None:
    """Drag on the picture between two places given as shares of its width and height."""
    box = page.locator("[data-covering-figure]").bounding_box()
    assert box is not None
    at = [(box["x"] + x * box["width"], box["y"] + y * box["height"]) for x, y in (start, end)]
    page.mouse.move(*at[0])
    page.mouse.down()
    page.mouse.move(*at[1], steps=4)
    page.mouse.up()


@pytest.mark.parametrize("width", [360, 1280])
def test_drag_count_and_keep(page: Page, covering: str, width: int) -> None:
    """From a telephone and from a desk: scale and box by dragging, the rows over the picture, the count kept."""
    page.set_viewport_size({"width": width, "height": 900})
    page.goto(covering)
    page.locator("[data-covering-figure]").scroll_into_view_if_needed()
    dragged(page, (0.1, 0.3), (0.9, 0.3))
    ends = [float(part) for part in page.locator("#count-bar").input_value().split(", ")]
    expect(page.locator("#hand-bar")).to_have_value(page.locator("#count-bar").input_value())
    length = ((ends[2] - ends[0]) ** 2 + (ends[3] - ends[1]) ** 2) ** 0.5 * TRUTH["mm_per_px"]
    page.locator("#count-mm").fill(f"{length:.3f}")
    page.get_by_role("button", name="Box").click()
    dragged(page, (0.02, 0.02), (0.98, 0.98))
    expect(page.locator(".drawn-box")).to_have_count(1)
    page.get_by_label("Technique").select_option("twined")
    page.get_by_role("button", name="Count", exact=True).click()
    expect(page.locator(".row-line").nth(10)).to_be_attached()
    counted = page.locator(".count").first.inner_text()
    assert float(counted.split()[0]) == pytest.approx(TRUTH["rows_per_cm"], rel=0.05)
    page.get_by_role("button", name="Keep this count").click()
    expect(page.locator(".studies li")).to_have_count(1)


def test_taps_count_by_hand(page: Page, covering: str) -> None:
    """Each tap is drawn, the gauge is told while tapping, the last tap can be taken back, and the count is kept."""
    page.goto(covering)
    page.locator("#hand-bar").fill("10, 10, 210, 10")
    page.locator("#hand-mm").fill("20")
    page.get_by_role("button", name="Tap by hand").click()
    box = page.locator("[data-covering-figure]").bounding_box()
    assert box is not None
    for k in range(8):
        page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] * (0.1 + 0.05 * k))
    expect(page.locator(".drawn-tap")).to_have_count(8)
    page.get_by_role("button", name="Take back").click()
    expect(page.locator(".drawn-tap")).to_have_count(7)
    expect(page.locator("[data-hand-words]")).to_contain_text("6 in ")
    page.get_by_role("button", name="Keep the count by hand").click()
    expect(page.locator(".studies li")).to_contain_text("counted by hand")
