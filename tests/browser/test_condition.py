"""The condition of a piece under the hand: a press on the drawing fills the form; keys and telephone do as well."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import served
from weftglass.desk import accept_finding, begin_examination, create_piece, open_collection, record_measurement

pytestmark = pytest.mark.browser


@pytest.fixture
def piece(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of a piece 250 mm tall, examined two years ago without a spot, its vessel accepted."""
    folder = tmp_path_factory.mktemp("condition") / "shelf"
    with open_collection(folder) as collection:
        jar = create_piece(collection, "Tide jar", who="Ada")
        record_measurement(collection, jar.id, "height", "250 mm", who="Ada")
        accept_finding(collection, jar.id, who="Ada", form="wine-onion-cont-720ml")
        begin_examination(collection, jar.id, who="Ada", on="2024-05-03", state="sound")
    with served(folder) as address:
        yield f"{address}/piece/{jar.id}"


def test_a_press_on_the_drawing_says_where_and_the_spot_stays(page: Page, piece: str) -> None:
    """The face, the height and the side are filled in; marked, it stands on the map with its number."""
    page.goto(f"{piece}/condition")
    drawn = page.locator("[data-face=back] svg")
    box = drawn.bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] * 0.75)
    expect(page.get_by_label("Seen from")).to_have_value("back")
    height = int(page.locator("#mark-height").input_value())
    assert 30 < height < 90
    assert abs(int(page.locator("#mark-across").input_value())) <= 5
    expect(page.locator("[data-face=back] .aim")).to_have_count(1)
    expect(page.get_by_label("Greatest size, mm")).to_be_focused()
    page.keyboard.type("14")
    page.get_by_label("What", exact=True).select_option("repair")
    page.get_by_role("button", name="Mark it").click()
    expect(page.locator("[data-face=back] .spot")).to_have_count(1)
    expect(page.locator(".spots li")).to_contain_text(f"back, {height} mm up, in the middle")


def test_keys_alone_mark_a_spot_and_the_cross_follows(page: Page, piece: str) -> None:
    """Nothing needs a pointer: the fields move the cross on the drawing."""
    page.goto(f"{piece}/condition")
    page.get_by_label("Seen from").focus()
    page.keyboard.press("ArrowDown")
    expect(page.get_by_label("Seen from")).to_have_value("right")
    page.keyboard.press("Tab")
    page.keyboard.type("60")
    before = page.locator("[data-face=right] .aim").get_attribute("d")
    page.keyboard.press("Tab")
    for _ in range(20):
        page.keyboard.press("ArrowRight")
    assert page.locator("[data-face=right] .aim").get_attribute("d") != before
    page.keyboard.press("Tab")
    page.keyboard.type("5")
    page.keyboard.press("Enter")
    expect(page.locator(".spots li")).to_contain_text("right side, 60 mm up, right of the middle")


def test_next_examination_asks_to_look_again(page: Page, piece: str) -> None:
    """Begun on a telephone, the year after: what was marked waits to be looked at, and what grew is said."""
    page.set_viewport_size({"width": 360, "height": 780})
    page.goto(f"{piece}/condition")
    page.locator("#mark-height").fill("100")
    page.get_by_label("Greatest size, mm").fill("8")
    page.get_by_role("button", name="Mark it").click()
    page.get_by_label("Day", exact=True).fill("2025-05-03")
    page.get_by_role("button", name="Begin").click()
    expect(page.get_by_text("Since 3 May 2024: 1 not looked at yet.")).to_be_visible()
    page.get_by_label("Size now, mm").fill("15")
    page.get_by_role("button", name="It is there").click()
    expect(page.get_by_text("Since 3 May 2024: 1 grown.")).to_be_visible()
    page.get_by_role("link", name="3 May 2024").click()
    expect(page.get_by_text("An earlier examination, as it was.")).to_be_visible()


def test_soundness_computes_every_finding_again_and_says_how_many_stand(page: Page, piece: str) -> None:
    """One after the other, each row told; nothing is saved by it."""
    page.goto(f"{piece.partition('/piece/')[0]}/soundness")
    page.get_by_role("button", name="Compute all again").click()
    expect(page.locator("[data-recheck-status]")).to_contain_text("Done: 1 ")
    expect(page.locator("[data-verdict]")).to_be_visible()
