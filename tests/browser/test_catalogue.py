"""From a chart and a piece to a catalogue that opens by itself."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, Request, expect

from tests.browser.conftest import served
from tests.web.shelves import stocked
from weftglass.desk import open_collection

pytestmark = pytest.mark.browser


@pytest.fixture
def stocked_address(tmp_path: Path) -> Iterator[str]:
    """Address of a collection of 80 pieces, one community of which favours a form."""
    with open_collection(tmp_path / "coast") as collection:
        stocked(collection, 80)
    with served(tmp_path / "coast") as at:
        yield at


def test_chart_and_piece_become_a_file_that_asks_for_nothing(page: Page, stocked_address: str, tmp_path: Path) -> None:
    """Narrowed by a term, put on a page, worded, ordered, saved, and opened from the disk without the program."""
    page.goto(f"{stocked_address}/holdings")
    page.get_by_text("Only some of them").click()
    page.get_by_label("Technique", exact=True).select_option("coiling")
    page.wait_for_url("**only-technique=coiling**")
    expect(page.locator(".chosen")).to_contain_text("technique: coiling")
    put = page.locator("details.into").first
    put.locator("summary").click()
    put.get_by_label("Title of a new page").fill("Coiled pieces")
    put.get_by_role("button", name="Put it there").click()
    page.wait_for_url("**/catalogue#coiled-pieces")
    page.goto(f"{stocked_address}/piece/owned-0005")
    put = page.locator("details.into").first
    put.locator("summary").click()
    put.get_by_role("button", name="Put it there").click()
    page.get_by_role("button", name="Move Piece owned-0005 up").click()
    expect(page.locator("li.sheet input[name=title]").first).to_have_value("Piece owned-0005")
    page.get_by_label("Remark").first.fill("The first one we bought.")
    page.get_by_role("button", name="Keep title and remark").first.click()
    with page.expect_download() as saving:
        page.get_by_role("link", name="Save as one file (HTML)").click()
    saved = tmp_path / "catalogue.html"
    saving.value.save_as(saved)
    asked: list[str] = []

    def hear(request: Request) -> None:
        asked.append(request.url)

    page.on("request", hear)
    page.goto(saved.as_uri())
    expect(page.get_by_role("heading", level=2)).to_have_text(["Piece owned-0005", "Coiled pieces"])
    expect(page.locator("main")).to_contain_text("The first one we bought.")
    expect(page.locator("main")).to_contain_text("technique: coiling")
    expect(page.locator("svg.chart.at-desk")).to_be_visible()
    assert [url for url in asked if not url.startswith(("file:", "data:"))] == []
