"""The colour page under the hand: a click on the photograph reads the glass there."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import served
from tests.web.photograph import staged
from weftglass.desk import create_piece, open_collection

pytestmark = pytest.mark.browser

ADDRESS = "/piece/no-7-a-flask/colour/no-7-a-flask.view-1"


@pytest.fixture(scope="module")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of a collection with one photographed piece."""
    folder = tmp_path_factory.mktemp("furnished") / "shelf"
    with open_collection(folder) as collection:
        create_piece(collection, "No. 7, a flask", who="Ada", photos=[("a.jpg", staged().jpeg)])
    with served(folder) as address:
        yield address


def test_click_on_the_bare_neck_reads_green_glass_and_keeps_it(page: Page, furnished: str) -> None:
    """The spot goes where the click went; the colour is named; kept, the answer says what moved."""
    page.goto(furnished + ADDRESS)
    at = page.evaluate(
        """() => {
            const stage = document.getElementById("spot-stage");
            const point = new DOMPoint(400, 230).matrixTransform(stage.getScreenCTM());
            return [point.x, point.y];
        }"""
    )
    page.mouse.click(*at)
    expect(page.get_by_role("heading", name="What was read")).to_be_visible()
    assert abs(float(page.locator("#spot-x").input_value()) - 400) <= 2
    expect(page.get_by_text("Glass of that colour is called")).to_contain_text("green")
    page.get_by_role("button", name="Keep it as a sighting").click()
    page.wait_for_url("**/inside")
    expect(page.locator(".moved")).to_contain_text("sampling the colour of the glass")
