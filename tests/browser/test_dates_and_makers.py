"""Dates, makers and communities in a real browser: by keyboard, narrow and wide, by day and by night."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.base import AXE_FILE_PATH
from playwright.sync_api import Page, expect

from tests.browser.conftest import served
from weftglass.desk import create_piece, open_collection, record_sighting
from weftglass.desk.communities import add_community

pytestmark = pytest.mark.browser

ME = "Ada"
HABITS = {"Delmuine": ("up to the right", "braided"), "Orvathal": ("up to the left", "folded")}
PAGES = ["/piece/asked/dates", "/piece/asked/maker", "/communities", "/communities/delmuine", "/piece/bare/dates"]


@pytest.fixture(scope="module")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of a collection with two communities, ten documented pieces and one with a contradiction."""
    folder = tmp_path_factory.mktemp("makers") / "shelf"
    with open_collection(folder) as collection:
        add_community(collection, {"name": "Delmuine", "years": "1870 to 1935", "restricted_designs": "heron"}, who=ME)
        for i in range(5):
            for name, (lean, rim) in HABITS.items():
                piece = create_piece(collection, f"{name} {i}", who=ME, community=name, technique="plain twining")
                record_sighting(collection, piece.id, "lean", lean, who=ME)
                record_sighting(collection, piece.id, "rim", rim, who=ME)
        asked = create_piece(collection, "asked", who=ME, piece_id="asked", technique="plain twining")
        for feature, value in (("lean", "up to the right"), ("rim", "braided"), ("seam", "seam over the lip"),
                               ("inscription", "1868, on a label")):  # fmt: skip
            record_sighting(collection, asked.id, feature, value, who=ME, sure=0.95)
        create_piece(collection, "bare", who=ME, piece_id="bare")
    with served(folder) as address:
        yield address


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_axe_finds_no_fault(page: Page, furnished: str, theme: str) -> None:
    """WCAG A and AA with best practices; contrast included."""
    page.emulate_media(color_scheme=theme)
    rules, found = Path(AXE_FILE_PATH).read_text(encoding="utf-8"), []
    for address in PAGES:
        page.goto(furnished + address)
        page.evaluate(rules)
        report = page.evaluate("() => axe.run(document, { resultTypes: ['violations'] })")
        found += [(address, one["id"], one["nodes"][0]["html"][:120]) for one in report["violations"]]
    assert found == []


@pytest.mark.parametrize("wide", [360, 1280])
def test_no_page_scrolls_sideways(page: Page, furnished: str, wide: int) -> None:
    page.set_viewport_size({"width": wide, "height": 800})
    for address in PAGES:
        page.goto(furnished + address)
        assert page.evaluate("document.documentElement.scrollWidth") <= wide, address


def test_contradiction_and_curves_are_on_the_page(page: Page, furnished: str) -> None:
    page.goto(f"{furnished}/piece/asked/dates")
    expect(page.get_by_role("heading", name="Contradiction")).to_be_visible()
    expect(page.get_by_text("before its glass could exist")).to_be_visible()
    expect(page.get_by_role("img", name="asked: year curves")).to_be_visible()
    expect(page.get_by_role("link", name="Save the picture (SVG)")).to_have_attribute("download", "asked-dates.svg")


def test_dating_by_keyboard_moves_the_years(page: Page, furnished: str) -> None:
    page.goto(f"{furnished}/piece/bare/dates")
    page.get_by_label("What", exact=True).select_option("base")
    page.get_by_label("What is to be seen, or what it says").fill("sand pontil")
    page.get_by_label("What is to be seen, or what it says").press("Enter")
    expect(page.get_by_role("cell", name="sand (disk) pontil")).to_be_visible()
    expect(page.locator(".verdict")).to_contain_text("The glass was made between")


def test_maker_from_ranking_to_signature(page: Page, furnished: str) -> None:
    page.goto(f"{furnished}/piece/asked/maker")
    expect(page.locator(".verdict")).to_contain_text("Delmuine")
    expect(page.get_by_role("cell", name="rim at the neck: braided").first).to_be_visible()
    page.get_by_role("link", name="Leave the vessel out").click()
    expect(page.get_by_text("The vessel inside is left out.")).to_be_visible()
    expect(page.get_by_label("It was made by")).to_have_value("Delmuine")
    page.get_by_label("Your name").fill("Ada Quill")
    page.get_by_role("button", name="Sign the maker").click()
    expect(page.get_by_role("heading", name="Made by Delmuine")).to_be_visible()


def test_community_is_entered_with_a_fault_mended_first(page_without_script: Page, furnished: str) -> None:
    """Works without scripts too; the refused form comes back with its fault and what was typed."""
    page = page_without_script
    page.goto(f"{furnished}/communities")
    expect(page.get_by_text("Said on average").first).to_be_visible()
    page.get_by_role("link", name="Orvathal").click()
    expect(page.get_by_label("Name", exact=True)).to_have_value("Orvathal")
    page.get_by_label("Years in which it is known to have covered vessels").fill("long ago")
    page.get_by_role("button", name="Enter the community").click()
    expect(page.locator("#community-years-fault")).to_be_visible()
    page.get_by_label("Years in which it is known to have covered vessels").fill("1820 to 1950")
    page.get_by_role("button", name="Enter the community").click()
    expect(page.get_by_role("heading", name="Orvathal", exact=True)).to_be_visible()
    expect(page.get_by_role("link", name="Orvathal 0")).to_be_visible()
