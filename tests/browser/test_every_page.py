"""Every page, by day and by night, wide and narrow: no fault that axe finds, no sideways scrolling, no dead end."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.base import AXE_FILE_PATH
from playwright.sync_api import Page, expect
from starlette.routing import Route

from tests.browser.conftest import served
from tests.web.photograph import staged
from weftglass.desk import (
    accept_finding,
    begin_examination,
    create_piece,
    mark_spot,
    open_collection,
    propose_outline,
    record_measurement,
    record_sighting,
    rework_view,
)
from weftglass.desk.catalogue import put_into_catalogue
from weftglass.desk.communities import add_community
from weftglass.web.routes import ROUTES

pytestmark = pytest.mark.browser

PIECE, VIEW = "no-7-a-flask", "no-7-a-flask.view-1"
NO_PAGES = ("/photograph/", "/piece/{piece}/rollout/picture/", "/piece/{piece}/letters/picture/")
PAPERS = ("/pocket", "/catalogue/shown")  # to be printed or saved: no head, but a way back
PAGES = [
    "/",
    "/?as=list",
    f"/piece/{PIECE}",
    f"/piece/{PIECE}/inside",
    f"/piece/{PIECE}/tone",
    f"/piece/{PIECE}/bench/{VIEW}",
    f"/piece/{PIECE}/photographs",
    f"/piece/{PIECE}/condition",
    f"/piece/{PIECE}/condition?at={PIECE}.examination-1",
    f"/piece/{PIECE}/dates",
    f"/piece/{PIECE}/maker",
    f"/piece/{PIECE}/covering",
    "/terms",
    f"/piece/{PIECE}/rollout",
    f"/piece/{PIECE}/letters",
    f"/piece/{PIECE}/colour/{VIEW}",
    f"/piece/{PIECE}/price",
    "/holdings",
    "/communities",
    "/communities/sallow-reach",
    "/letters",
    "/buying",
    "/pocket",
    "/values",
    "/whereabouts",
    "/rarity?with-signed=yes",
    "/catalogue",
    "/catalogue/shown",
    "/soundness",
    "/soundness?look=over",
    f"/soundness/{PIECE}.finding-1",
    "/forms",
    "/forms/wine-onion-cont-720ml",
    "/carry",
    "/signature",
    "/cautions",
    "/about",
    "/nowhere",
]

CHARTED = (f"/piece/{PIECE}/dates", "/holdings", "/whereabouts", "/rarity?with-signed=yes", "/catalogue/shown")


@pytest.fixture(scope="module")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of a collection with two pieces, one of them worked through to a finding."""
    picture, folder = staged(), tmp_path_factory.mktemp("furnished") / "shelf"
    with open_collection(folder) as collection:
        piece = create_piece(
            collection, "No. 7, a flask", who="Ada", photos=[("a.jpg", picture.jpeg)], technique="plain twining"
        )
        propose_outline(collection, VIEW, who="Ada")
        scale = {"kind": "bar", "bar": list(picture.ruler), "mm": 100}
        rework_view(collection, VIEW, {"scale": scale, "bare": [[225, 290]]}, who="Ada")
        record_measurement(collection, piece.id, "weight", "612 g", who="Ada")
        record_sighting(collection, piece.id, "colour", "olive", who="Ada", sure=0.7)
        accept_finding(collection, piece.id, who="Ada Quill", remark="So far.")
        record_measurement(collection, piece.id, "height", "290 mm", who="Ada")
        add_community(collection, {"name": "Sallow Reach", "place": "Outer bank"}, who="Ada")
        for day in ("2024-05-03", "2026-05-03"):
            examined = begin_examination(
                collection, piece.id, who="Ada", on=day, state="watch", remark="A strand gone."
            )
            spot = {"kind": "break", "face": "front", "up": 0.4, "across": 0.3, "size_mm": 9.0}
            mark_spot(collection, examined.id, who="Ada", **spot)
        put_into_catalogue(collection, "piece", {"piece": piece.id}, who="Ada", title="A flask")
        put_into_catalogue(collection, "years", {}, who="Ada", page="a-flask")
        create_piece(collection, "A piece with a very long name that has to break somewhere on a telephone", who="Ada")
    with served(folder) as address:
        yield address


def opened(page: Page, at: str, address: str) -> None:
    """Open a page and wait until it has settled."""
    page.goto(at + address)
    if "/bench/" in address:
        expect(page.locator("[data-ready]")).to_be_visible()
        expect(page.locator("#live .candidate").first).to_be_visible()


def test_every_page_is_in_this_list() -> None:
    """A page that comes is looked at here too: each address that gives a page has one that answers to it."""
    shown = {address.partition("?")[0] for address in PAGES}
    given = [route for route in ROUTES if isinstance(route, Route) and "GET" in (route.methods or ())]
    pages = [route for route in given if "." not in route.path and not route.path.startswith(NO_PAGES)]
    assert [route.path for route in pages if not any(route.path_regex.match(address) for address in shown)] == []


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_axe_finds_no_fault(page: Page, furnished: str, theme: str) -> None:
    """WCAG A and AA with best practices, on every page; contrast included."""
    page.emulate_media(color_scheme=theme)
    rules = Path(AXE_FILE_PATH).read_text(encoding="utf-8")
    found = []
    for address in PAGES[:-1]:
        opened(page, furnished, address)
        page.evaluate(rules)
        report = page.evaluate("() => axe.run(document, { resultTypes: ['violations'] })")
        found += [
            f"{address}: {fault['id']}: {node['html'][:140]}"
            for fault in report["violations"]
            for node in fault["nodes"]
        ]
    assert found == []


@pytest.mark.parametrize("width", [360, 768, 1280])
def test_no_page_scrolls_sideways(page: Page, furnished: str, width: int) -> None:
    """From a small telephone to a desk: the page is as wide as the window."""
    page.set_viewport_size({"width": width, "height": 780})
    too_wide = {}
    for address in PAGES[:-1]:
        opened(page, furnished, address)
        over = page.evaluate("() => document.documentElement.scrollWidth - document.documentElement.clientWidth")
        if over > 0:
            too_wide[address] = over
    assert too_wide == {}


def test_every_link_on_every_page_leads_somewhere(page: Page, furnished: str) -> None:
    """No dead ends: each address that a page links to, shows or downloads is answered."""
    asked: dict[str, int] = {}
    for address in PAGES[:-1]:
        opened(page, furnished, address)
        links = page.evaluate(
            "() => [...document.querySelectorAll('a[href], img[src]')].map((el) => el.href || el.src)"
        )
        for link in sorted({str(link).partition("#")[0] for link in links}):
            if link not in asked and not link.startswith("data:"):  # a picture that is in the page itself
                asked[link] = page.request.get(link).status
        assert page.locator("nav a").count() >= 3 or address in PAPERS, address
    assert {link: status for link, status in asked.items() if status != 200} == {}


def test_a_page_that_is_not_there_leads_back(furnished: str, page: Page) -> None:
    """The error page has the way to the shelf; the browser's own complaint about 404 is expected."""
    reply = page.request.get(f"{furnished}/nowhere")
    assert reply.status == 404
    assert 'href="/"' in reply.text()


def test_skip_link_is_first_and_jumps_over_the_head(page: Page, furnished: str) -> None:
    """The first Tab shows it; Enter moves the focus into the page."""
    page.goto(furnished)
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Skip to the page")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("#main")).to_be_focused()


def test_night_is_dark_and_day_can_be_chosen_against_the_device(page: Page, furnished: str) -> None:
    """The device's wish is followed until the person chooses, and the choice stays."""

    def paper() -> int:
        text = str(page.evaluate("() => getComputedStyle(document.body).backgroundColor"))
        return sum(int(part) for part in text.removeprefix("rgb(").removesuffix(")").split(",")[:3])

    page.emulate_media(color_scheme="dark")
    page.goto(furnished)
    assert paper() < 150
    page.get_by_role("button", name="Day").click()
    assert paper() > 600
    page.goto(f"{furnished}/forms")
    assert paper() > 600


def test_entry_prints_without_controls(page: Page, furnished: str) -> None:
    """On paper stand the entry, its numbers and its finding; forms and buttons do not."""
    page.goto(f"{furnished}/piece/{PIECE}")
    page.emulate_media(media="print")
    expect(page.locator(".finding")).to_be_visible()
    expect(page.locator(".leaders").first).to_be_visible()
    expect(page.locator(".entry-plates img").first).to_be_visible()
    assert page.locator("button:visible, form:visible, input:visible, nav:visible").count() == 0


def test_candidates_switch_in_the_strip_without_leaving_the_workbench(page: Page, furnished: str) -> None:
    """Choosing another candidate redraws it beside the photograph."""
    opened(page, furnished, f"/piece/{PIECE}/bench/{VIEW}")
    second = page.locator("#candidate-2")
    name = second.locator("span").first.inner_text()
    second.click()
    expect(page.locator("#live svg.fitted title")).to_contain_text(name)
    assert "/bench/" in page.url


def test_forms_filter_at_once_and_show_their_drawing(page: Page, furnished: str) -> None:
    """A chosen section narrows the grid without a button; a card leads to the drawing."""
    page.goto(f"{furnished}/forms")
    page.get_by_label("Section").select_option("square")
    page.wait_for_url("**section=square**")
    expect(page.locator(".forms li").first).to_contain_text("square")
    page.locator(".forms a").first.click()
    expect(page.locator(".form-drawing img")).to_have_js_property("complete", True)
    assert page.locator(".form-drawing img").evaluate("image => image.decode().then(() => image.naturalWidth)") > 0


def test_pages_work_without_script(page_without_script: Page, furnished: str) -> None:
    """A measurement is recorded and the shelf is searched with script switched off."""
    page = page_without_script
    page.goto(f"{furnished}/piece/{PIECE}")
    page.locator("#measurement-value").fill("291")
    page.locator("form[action$='/measurements'] button").click()
    expect(page.locator(".leaders")).to_contain_text("291.0")
    page.goto(furnished)
    page.locator("#find-q").fill("flask")
    page.get_by_role("button", name="Search").click()
    expect(page.locator(".standing")).to_have_count(1)


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_charts_are_read_on_a_phone_without_scrolling_by_day_and_by_night(
    page: Page, furnished: str, theme: str
) -> None:
    """One size of each is shown, within the window, its letters no smaller than 10 pixels and clear of their ground."""
    page.set_viewport_size({"width": 360, "height": 780})
    page.emulate_media(color_scheme=theme)
    seen = 0
    for address in CHARTED:
        opened(page, furnished, address)
        charts = page.evaluate(
            """() => [...document.querySelectorAll('svg.chart')].filter((one) => one.getClientRects().length)
              .map((svg) => {
              const box = svg.getBoundingClientRect(), unit = box.width / svg.viewBox.baseVal.width;
              const light = (colour) => colour.match(/[\\d.]+/g).slice(0, 3).reduce((a, b) => a + Number(b), 0);
              const ground = light(getComputedStyle(svg).backgroundColor);
              const words = [...svg.querySelectorAll('text:not(.fill-paper)')].map((text) => getComputedStyle(text));
              const rolled = [...document.querySelectorAll('*')].filter((one) => one.contains(svg)
                && one.scrollWidth > one.clientWidth + 1 && /auto|scroll/.test(getComputedStyle(one).overflowX)).length;
              return { hand: svg.classList.contains('at-hand'), right: box.right, rolled,
                letters: Math.min(...words.map((one) => unit * parseFloat(one.fontSize))),
                contrast: Math.min(...words.map((one) => Math.abs(light(one.fill) - ground))) };
            })"""
        )
        for chart in charts:
            assert chart["hand"], address
            assert chart["right"] <= 360, address
            assert chart["rolled"] == 0, address
            assert chart["letters"] >= 10, address
            assert chart["contrast"] > 200, address
        seen += len(charts)
    assert seen >= 3
