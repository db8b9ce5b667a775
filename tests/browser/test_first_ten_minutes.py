"""From an empty shelf to a signed finding: the whole way a newcomer goes, in one browser, on a rendered photograph."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.hands import drag, drop_photograph, saved
from weftglass.demo.scenario import photograph, truths

pytestmark = pytest.mark.browser

SHOWN = "p-01-front"  # a wine cylinder in twined willow, bare from the shoulder up, a ruler beside it
TRUE = {
    "height": "281",
    "weight": "867",
    "lip_diameter": "27",
    "bore": "19",
    "body_width": "84.7",
    "body_depth": "84.7",
    "base_diameter": "84.3",
    "cover_thickness": "3.9",
    "finish": "wine ring",
    "closure": "cork",
    "colour": "dark olive",
    "base": "push-up",
    "section": "round",
}
"""What somebody who has the piece in hand would answer."""


def test_first_ten_minutes_lead_from_a_photograph_to_a_signed_finding(page: Page, address: str) -> None:
    """Drop, trace, scale, mark the lip, read the answer, look, see it move, accept, print the entry, find it."""
    jpeg, truth = photograph(SHOWN), truths()[SHOWN]
    assert jpeg is not None

    page.goto(address)
    expect(page.get_by_role("heading", level=1)).to_have_text("Begin with one covered piece")
    drop_photograph(page, jpeg)
    expect(page.locator("#bench-status")).to_contain_text("The outline stands")
    expect(page.locator(".edge-line")).to_have_attribute("d", outline_path())

    first, second = truth["scale_bar"]["ends_px"]
    page.get_by_role("button", name="Scale", exact=True).click()
    drag(page, tuple(first), tuple(second))
    page.get_by_label("Length of the bar, mm").fill(f"{truth['scale_bar']['mm']:g}")
    page.get_by_role("button", name="Set the scale").click()
    saved(page, "scale")
    expect(page.locator("#scale-words")).to_contain_text("from the ruler")
    expect(page.locator("#live .candidate").first).to_be_visible()

    page.get_by_role("button", name="Bare glass").click()
    middle, top, shoulder = where_bare(truth)
    drag(page, (middle, top), (middle, shoulder))
    saved(page, "bare glass")
    expect(page.locator("#bare-list li")).to_have_count(1)

    live = page.locator("#live")
    expect(live.locator("svg.fitted title")).to_contain_text("drawn inside the outline")
    expect(live.get_by_text("none of the forms listed").first).to_be_visible()
    expect(live.locator(".moved")).to_contain_text("marking bare glass")

    live.get_by_role("link", name="Why, and accepting a finding").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("What is inside")
    answer_look(page.locator(".look:has(form)").first)
    expect(page.locator(".moved")).to_contain_text("After recording")
    expect(page.locator(".weights tbody tr").first).to_contain_text("db")

    page.get_by_role("link", name="Entry", exact=True).click()
    page.locator("#measurement-value").fill("281 mm")
    page.locator("form[action$='/measurements'] button").click()
    expect(page.locator(".leaders").first).to_contain_text("281.0\u00a0±\u00a01.3\u00a0mm")
    page.get_by_role("link", name="What is inside", exact=True).first.click()
    expect(page.locator(".moved")).to_contain_text("After recording the height over all, 281 mm")
    expect(page.locator(".weights tbody tr").filter(has_text="281 mm")).to_contain_text("db")

    page.get_by_label("Your name").fill("Ada Quill")
    page.get_by_label("Remark").fill("Lip and height agree.")
    page.get_by_role("button", name="Accept and sign").click()
    entry = page.locator(".finding")
    expect(entry).to_contain_text("Ada Quill")
    expect(entry).to_contain_text("Lip and height agree.")
    expect(page.locator(".catalogue-line")).to_contain_text("Inside:")
    assert printed_pages(page) <= 2
    page.emulate_media(media="print")
    expect(entry).to_be_visible()
    expect(page.locator(".entry-plates img").first).to_be_visible()
    assert page.locator("button:visible, form:visible, input:visible, nav:visible, summary:visible").count() == 0
    page.emulate_media(media="screen")

    page.get_by_role("link", name="Shelf", exact=True).first.click()
    standing = page.locator(".standing")
    expect(standing).to_have_count(1)
    expect(standing).to_contain_text("finding accepted")
    expect(standing.locator("img")).to_have_js_property("complete", True)


def answer_look(look: Locator) -> None:
    """Answer the look as it is asked for, in its own form."""
    kind = look.locator("input[name=kind]").get_attribute("value") or ""
    look.locator("[name=value]").fill(TRUE[kind])
    look.get_by_role("button", name="Record it").click()


def where_bare(truth: dict[str, object]) -> tuple[float, float, float]:
    """Middle of the piece, a little above its top, and where the covering ends, in pixels."""
    polygon = truth["polygon_px"]
    assert isinstance(polygon, list)
    tops, xs = [y for _, y in polygon], [x for x, _ in polygon]
    ((low, _high),) = truth["bare"]  # type: ignore[misc,attr-defined]
    share = 1.0 - (low + 4.0) / truth["height_mm"]  # type: ignore[operator]
    top, base = min(tops), max(tops)
    return (min(xs) + max(xs)) / 2, top - 5.0, top + share * (base - top)


def printed_pages(page: Page) -> int:
    """How many sheets the page takes."""
    paper = page.pdf(prefer_css_page_size=True)
    assert paper.startswith(b"%PDF")
    return len(re.findall(rb"/Type\s*/Page[^s]", paper))


def outline_path() -> re.Pattern[str]:
    """A drawn outline: a closed path of many points."""
    return re.compile(r"^M[\d.]+ [\d.]+(L[\d.-]+ [\d.-]+){30,}Z$")
