"""A covering laid flat and letters put together, by hand in a real browser."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.base import AXE_FILE_PATH
from playwright.sync_api import Page, expect

from tests.browser.conftest import served
from tests.web.photograph import staged
from weftglass.desk import add_forms_from_file, create_piece, open_collection, propose_outline, rework_view

pytestmark = pytest.mark.browser

PIECE, VIEW = "a-covered-flask", "a-covered-flask.view-1"
LETTERED = {
    "id": "tine-flask", "name": "tine flask", "section": {"kind": "round"}, "profile": [[0, 40], [200, 38], [290, 14]],
    "letters": [{"text": "HARLOW & TINE", "face": "front", "z": [60, 110]}],
}  # fmt: skip


@pytest.fixture(scope="module")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of a collection with one piece whose front is traced and scaled."""
    picture, folder = staged(), tmp_path_factory.mktemp("rollout") / "shelf"
    with open_collection(folder) as collection:
        create_piece(collection, "A covered flask", who="Ada", photos=[("a.jpg", picture.jpeg)])
        propose_outline(collection, VIEW, who="Ada")
        scale = {"kind": "bar", "bar": list(picture.ruler), "mm": 100}
        rework_view(collection, VIEW, {"scale": scale, "bare": [[225, 290]]}, who="Ada")
        add_forms_from_file(collection, ("own.jsonl", json.dumps(LETTERED).encode()), who="Ada")
    with served(folder) as address:
        yield address


def faults(page: Page) -> list[str]:
    page.evaluate(Path(AXE_FILE_PATH).read_text(encoding="utf-8"))
    report = page.evaluate("() => axe.run(document, { resultTypes: ['violations'] })")
    return [f"{one['id']}: {node['html'][:140]}" for one in report["violations"] for node in one["nodes"]]


def too_wide(page: Page) -> int:
    return int(page.evaluate("() => document.documentElement.scrollWidth - document.documentElement.clientWidth"))


def test_a_covering_is_laid_flat_looked_at_closely_and_saved(page: Page, furnished: str) -> None:
    """From the piece's entry to the rollout, its bands and colours, a closer look, and its files."""
    page.goto(f"{furnished}/piece/{PIECE}")
    page.get_by_role("navigation", name="Parts of this piece").get_by_role("link", name="Rollout").click()
    expect(page.get_by_role("heading", name="The covering laid flat")).to_be_visible()
    page.get_by_label("From height, mm").fill("10")
    page.get_by_label("to height, mm").fill("150")
    page.get_by_role("button", name="Lay it out").click()
    figure = page.locator(".rollout-figure.at-desk")
    expect(figure).to_be_visible()
    expect(page.locator(".bands li").first).to_contain_text("mm")
    expect(page.locator(".facts")).to_contain_text("Girth at the widest")
    narrow = figure.bounding_box()
    page.get_by_role("button", name="Larger").click()
    wide = figure.bounding_box()
    assert narrow is not None
    assert wide is not None
    assert wide["width"] > 1.3 * narrow["width"]
    page.locator("[data-zoom]").press("0")
    expect(page.locator(".zoom-tools output")).to_have_text("1×")
    for link in page.locator("a[download]").all():
        reply = page.request.get(furnished + str(link.get_attribute("href")))
        assert reply.status == 200
        assert len(reply.body()) > 200
    assert faults(page) == []
    page.set_viewport_size({"width": 360, "height": 780})
    assert too_wide(page) <= 0


def test_letters_are_put_together_and_the_reading_moves_the_answer(page: Page, furnished: str) -> None:
    """One photograph is enough to begin; the reading is kept with its height, and shown among what is known."""
    page.goto(f"{furnished}/piece/{PIECE}/letters")
    page.locator("#together-low").fill("60")
    page.locator("#together-high").fill("120")
    page.get_by_role("button", name="Put them together").click()
    expect(page.locator(".together img").first).to_be_visible()
    assert page.locator(".together img").first.evaluate("image => image.decode().then(() => image.naturalWidth)") > 50
    expect(page.locator("#read-low")).to_have_value("60")
    assert faults(page) == []
    page.locator("#read-value").fill("H?R*")
    page.get_by_role("button", name="Record the letters").click()
    page.wait_for_url("**/inside")
    page.goto(f"{furnished}/piece/{PIECE}")
    expect(page.locator(".leaders")).to_contain_text("H?R*")
    page.set_viewport_size({"width": 360, "height": 780})
    page.goto(f"{furnished}/piece/{PIECE}/letters")
    assert too_wide(page) <= 0


def test_inscriptions_are_searched_by_part_of_them(page: Page, furnished: str) -> None:
    """The page of the library's inscriptions: a hit leads to its form, nonsense is said to fit nothing."""
    page.goto(f"{furnished}/letters")
    page.get_by_label("Read").fill("H?R*TINE")
    page.get_by_role("button", name="Search").click()
    expect(page.locator("tbody")).to_contain_text("HARLOW & TINE")
    assert faults(page) == []
    refused = page.request.get(f"{furnished}/letters?q=%3F%3F")
    assert refused.status == 422
    assert "at least one letter" in refused.text()
    page.set_viewport_size({"width": 360, "height": 780})
    assert too_wide(page) <= 0
