"""From an empty shelf to a signed finding: the whole way a newcomer goes, in one browser."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.hands import drag, drop_photograph, saved, set_scale
from tests.web.photograph import staged

pytestmark = pytest.mark.browser


def test_first_ten_minutes_lead_from_a_photograph_to_a_signed_finding(page: Page, address: str) -> None:
    """Drop, trace, scale, mark the lip, read the answer, measure, see it move, accept, read the entry, find it."""
    picture = staged(half_width_mm=37.0, height_mm=290.0)

    page.goto(address)
    expect(page.get_by_role("heading", level=1)).to_have_text("Begin with one covered piece")
    drop_photograph(page, picture)
    expect(page.locator("#bench-status")).to_contain_text("The outline stands")
    expect(page.locator(".edge-line")).to_have_attribute("d", outline_path())

    set_scale(page, picture)
    expect(page.locator("#scale-words")).to_contain_text("from the ruler")
    expect(page.locator("#live .candidate").first).to_be_visible()

    page.get_by_role("button", name="Bare glass").click()
    drag(page, (picture.middle_x, picture.top_y - 6), (picture.middle_x, picture.lip_y))
    saved(page, "bare glass")
    expect(page.locator("#bare-list li")).to_have_count(1)

    live = page.locator("#live")
    expect(live.locator("svg.fitted title")).to_contain_text("drawn inside the outline")
    expect(live.get_by_text("none of the forms listed").first).to_be_visible()
    expect(live.locator(".moved")).to_contain_text("marking bare glass")

    live.get_by_role("link", name="Why, and accepting a finding").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("What is inside")
    look = page.locator(".look").filter(has_text="Measure the height over all")
    look.get_by_label("Height over all, mm").fill("290")
    look.get_by_role("button", name="Record it").click()
    expect(page.locator(".moved")).to_contain_text("After recording the height over all, 290.")
    expect(page.locator(".weights tbody tr").filter(has_text="height 290 mm")).to_contain_text("db")

    page.get_by_label("Your name").fill("Ada Quill")
    page.get_by_label("Remark").fill("Lip and height agree.")
    page.get_by_role("button", name="Accept and sign").click()
    entry = page.locator(".finding")
    expect(entry).to_contain_text("Ada Quill")
    expect(entry).to_contain_text("Lip and height agree.")
    expect(page.locator(".leaders")).to_contain_text("290.0\u00a0±\u00a01.3\u00a0mm")
    expect(page.locator(".catalogue-line")).to_contain_text("Inside:")

    page.get_by_role("link", name="Shelf", exact=True).first.click()
    standing = page.locator(".standing")
    expect(standing).to_have_count(1)
    expect(standing).to_contain_text("finding accepted")
    expect(standing.locator("img")).to_have_js_property("complete", True)


def outline_path() -> re.Pattern[str]:
    """A drawn outline: a closed path of many points."""
    return re.compile(r"^M[\d.]+ [\d.]+(L[\d.-]+ [\d.-]+){30,}Z$")
