"""An offer from a seller's photograph to the message, and its answer."""

from __future__ import annotations

import re
from importlib.resources import as_file, files

import pytest
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser


def test_an_offer_goes_from_photograph_to_message_and_its_answer_moves_everything(page: Page, address: str) -> None:
    """A poor photograph without a scale is dropped in, traced, asked about; the seller's height makes it clearer."""
    page.set_default_timeout(180_000)  # tracing takes its time on a busy machine
    page.goto(f"{address}/buying")
    page.get_by_label("What to call it").fill("Dark bottle on a quay")
    picture = files("weftglass.demo") / "data" / "photographs" / "p-16-front.jpg"
    with as_file(picture) as path:
        page.get_by_label("The seller’s photographs").set_input_files(str(path))
    page.get_by_label("Asked, with currency").fill("60 USD")
    page.get_by_label("Seller", exact=True).fill("T. Orrin")
    page.get_by_label("The seller’s own words").fill("Old bottle in its basket, nice patina.")
    page.get_by_role("button", name="Take the offer in").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("On offer")
    expect(page.locator("main")).not_to_contain_text("Nothing is known of the vessel yet")
    expect(page.locator("[data-maker]")).to_contain_text("Who made it can’t be told")
    message = page.get_by_label("The message, to be copied and sent")
    expect(message).to_have_value(re.compile(re.escape("1. ")))
    first = page.locator("[data-question]").first
    text = first.get_attribute("data-question") or "?"
    expect(message).to_have_value(re.compile(re.escape(f"1. {text}")))
    expect(message).to_have_value(re.compile(re.escape("nothing needs to be opened")))
    first.uncheck()
    assert text not in message.input_value()
    first.check()

    page.get_by_role("button", name="I sent it: keep these questions").click()
    sent = page.locator(".inquiry").filter(has_text="How tall is it")
    expect(sent).to_have_count(1)
    sent.get_by_label("What the seller answered").fill("30 centimetres or so")
    sent.get_by_label("As a reading for the evidence").fill("300 mm")
    sent.get_by_role("button", name="Keep the answer").click()
    expect(page.locator(".inquiry").filter(has_text="30 centimetres or so")).to_have_count(1)
    page.get_by_role("link", name="Why").click()
    expect(page.locator("main")).to_contain_text("height over all, 300 mm")
