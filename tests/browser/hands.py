"""What a hand does at the workbench, in photograph pixels."""

from __future__ import annotations

import base64
from collections.abc import Iterator
from contextlib import contextmanager

from playwright.sync_api import Page, Route, expect

from tests.web.photograph import Staged

Point = tuple[float, float]


def begin(page: Page, address: str, staged: Staged) -> None:
    """Open an empty collection, drop a photograph on its first page, and wait for the outline."""
    page.goto(address)
    drop_photograph(page, staged.jpeg)
    expect(page.locator("#bench-status")).to_contain_text("The outline stands")


def drop_photograph(page: Page, jpeg: bytes) -> None:
    """Drop a photograph file on the page's drop form; the workbench opens."""
    carried = page.evaluate_handle(
        """(base64) => {
            const bytes = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
            const carried = new DataTransfer();
            carried.items.add(new File([bytes], "covered flask.jpg", { type: "image/jpeg" }));
            return carried;
        }""",
        base64.b64encode(jpeg).decode(),
    )
    page.locator("#begin").dispatch_event("drop", {"dataTransfer": carried})
    page.wait_for_url("**/bench/**")


def on_screen(page: Page, point: Point) -> Point:
    """Where a photograph point lies in the window."""
    found = page.evaluate(
        """([x, y]) => {
            const matrix = document.querySelector("#stage").getScreenCTM();
            const point = new DOMPoint(x, y).matrixTransform(matrix);
            return [point.x, point.y];
        }""",
        list(point),
    )
    return float(found[0]), float(found[1])


def drag(page: Page, start: Point, end: Point) -> None:
    """Drag from one photograph point to another with the mouse, the whole photograph in sight."""
    page.locator("#stage").scroll_into_view_if_needed()
    (x0, y0), (x1, y1) = on_screen(page, start), on_screen(page, end)
    page.mouse.move(x0, y0)
    page.mouse.down()
    page.mouse.move(x0 + (x1 - x0) / 2, y0 + (y1 - y0) / 2, steps=3)
    page.mouse.move(x1, y1, steps=3)
    page.mouse.up()


def saved(page: Page, words: str) -> None:
    """Wait until the page says that a change is saved."""
    expect(page.locator("#bench-status")).to_contain_text(f"Saved: {words}.")


def set_scale(page: Page, staged: Staged) -> None:
    """Take the scale in hand, drag along the ruler and type its length."""
    x1, y1, x2, y2 = staged.ruler
    page.get_by_role("button", name="Scale", exact=True).click()
    drag(page, (x1, y1), (x2, y2))
    page.get_by_label("Length of the bar, mm").fill("100")
    page.get_by_role("button", name="Set the scale").click()
    saved(page, "scale")


class Slow:
    """A collection that answers saves only when it is told to."""

    def __init__(self) -> None:
        self.waiting: list[Route] = []
        self.slow = True

    def hear(self, route: Route) -> None:
        """Hold a save back; everything else goes its way."""
        if self.slow and route.request.method == "POST":
            self.waiting.append(route)
        else:
            route.continue_()

    def answer(self) -> None:
        """Let the save that waits longest go on."""
        self.waiting.pop(0).continue_()


@contextmanager
def slow_saves(page: Page) -> Iterator[Slow]:
    """Within the block every save of the workbench waits until `Slow.answer`; afterwards none does."""
    slow = Slow()
    page.route("**/bench/**/*.json", slow.hear)
    yield slow
    slow.slow = False
    while slow.waiting:
        slow.answer()
