"""The workbench under the hands: handles by mouse, keys and touch, zoom, undo, limits of bare glass, saving."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.browser.hands import begin, drag, on_screen, saved, set_scale, slow_saves
from tests.web.photograph import Staged, staged

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def picture() -> Staged:
    """One staged photograph."""
    return staged()


@pytest.fixture
def bench(page: Page, address: str, picture: Staged) -> Page:
    """The workbench with a traced outline, the edge in hand."""
    begin(page, address, picture)
    page.get_by_role("button", name="Edge", exact=True).click()
    return page


def outline(page: Page) -> str:
    """The drawn outline."""
    return page.locator(".edge-line").get_attribute("d") or ""


def place_of(page: Page, which: int) -> tuple[float, float]:
    """Where a handle stands, in photograph pixels."""
    moved = page.locator(".handle").nth(which).get_attribute("transform") or ""
    x, y = moved.split("(")[1].split(")")[0].split(" ")
    return float(x), float(y)


def test_a_handle_follows_the_mouse_and_the_change_stays(bench: Page) -> None:
    """Dragged, saved, and still so after the page is opened again."""
    x, y = place_of(bench, 3)
    drag(bench, (x, y), (x + 25, y + 4))
    saved(bench, "outline")
    # corners that lie nearly straight now may be handles no longer, so that this one may have another number
    stand = [place_of(bench, which) for which in range(bench.locator(".handle").count())]
    assert any(place == pytest.approx((x + 25, y + 4), abs=1.5) for place in stand)
    after = outline(bench)
    bench.reload()
    expect(bench.locator("[data-ready]")).to_be_visible()
    assert outline(bench) == after


def test_a_moved_handle_is_told_in_millimetres_once_there_is_a_scale(bench: Page, picture: Staged) -> None:
    """What is seen moves by pixels; what counts is what it does to height and width."""
    set_scale(bench, picture)
    bench.get_by_role("button", name="Edge", exact=True).click()
    x, y = place_of(bench, 3)
    drag(bench, (x, y), (x + 25, y + 4))
    saved(bench, "outline")
    expect(bench.locator("#bench-status")).to_contain_text(
        re.compile(r"Now \d+\.\d ± \d+\.\d mm tall .* at its widest")
    )


def test_keys_move_a_handle_by_one_or_ten(bench: Page) -> None:
    """Tab reaches the handles; an arrow moves one step, with shift ten times as far."""
    bench.locator("#stage").focus()
    bench.keyboard.press("Tab")
    expect(bench.locator(".handle").first).to_be_focused()
    x, y = place_of(bench, 0)
    bench.keyboard.press("ArrowRight")
    one = place_of(bench, 0)[0] - x
    bench.keyboard.press("Shift+ArrowRight")
    assert place_of(bench, 0)[0] - x == pytest.approx(11 * one, rel=0.01)
    assert place_of(bench, 0)[1] == y
    saved(bench, "outline")
    bench.keyboard.press("Tab")
    expect(bench.locator(".handle").nth(1)).to_be_focused()


def test_a_handle_in_hand_stays_the_same_handle_when_its_move_is_saved(bench: Page) -> None:
    """Moved in line with its neighbours it is hardly a corner any more; the next key still moves it and no other."""
    dots = bench.locator(".handle")
    count = dots.count()
    for which in (3, 5):
        dots.nth(which).focus()
        x, y = place_of(bench, which)
        for times in (1, 2):
            bench.keyboard.press("Shift+ArrowRight" if which < count // 2 else "Shift+ArrowLeft")
            saved(bench, "outline")
            expect(dots.nth(which)).to_be_focused()
            assert place_of(bench, which)[1] == y
            assert abs(place_of(bench, which)[0] - x) == pytest.approx(times * step_of(bench), rel=0.01)
    assert dots.count() == count


def step_of(page: Page) -> float:
    """How far one press with shift moves, in photograph pixels."""
    grain = page.evaluate("document.querySelector('[data-bench]').bench.stage.grain")
    return 10.0 * max(1.0, float(grain))


def test_handles_are_put_in_and_taken_out_by_keys_and_undone(bench: Page) -> None:
    """Delete takes the focused one away, undo brings the old outline back, redo does it again."""
    count, before = bench.locator(".handle").count(), outline(bench)
    bench.locator(".handle").nth(4).focus()
    bench.keyboard.press("Insert")
    expect(bench.locator(".handle")).to_have_count(count + 1)
    bench.keyboard.press("Delete")
    saved(bench, "outline")
    bench.locator(".handle").nth(4).focus()
    bench.keyboard.press("Delete")
    saved(bench, "outline")
    changed = outline(bench)
    assert changed != before
    bench.keyboard.press("Control+z")
    bench.keyboard.press("Control+z")
    expect(bench.locator("#bench-status")).to_have_text("Undone. Saved: outline.")
    expect(bench.locator(".edge-line")).to_have_attribute("d", before)
    bench.keyboard.press("Control+Shift+Z")
    bench.keyboard.press("Control+Shift+Z")
    expect(bench.locator(".edge-line")).to_have_attribute("d", changed)


def test_moves_made_while_a_save_is_under_way_are_measured_together(bench: Page) -> None:
    """Of four moves the first is saved at once and the last with one more save; undo still takes one back at a time."""
    sent, drawn = [], []
    bench.on("request", lambda asked: sent.append(asked) if asked.method == "POST" else None)
    steps = "document.querySelector('[data-bench]').bench.steps.done.length"
    with slow_saves(bench) as slow:
        bench.locator(".handle").nth(3).focus()
        with bench.expect_request(lambda asked: asked.method == "POST"):
            bench.keyboard.press("Shift+ArrowRight")
        for _ in range(3):
            before = bench.evaluate(steps)
            bench.keyboard.press("Shift+ArrowRight")
            bench.wait_for_function(f"before => {steps} > before", arg=before)
            drawn.append(outline(bench))
        with bench.expect_request(lambda asked: asked.method == "POST"):
            slow.answer()
    saved(bench, "outline")
    assert len(sent) == 2
    assert outline(bench) == drawn[-1]
    bench.keyboard.press("Control+z")
    expect(bench.locator("#bench-status")).to_have_text("Undone. Saved: outline.")
    assert outline(bench) == drawn[-2]


def test_wheel_and_keys_zoom_about_what_is_looked_at(bench: Page) -> None:
    """The point under the pointer stays under it; 0 shows the whole again."""
    whole = bench.locator("#stage").get_attribute("viewBox")
    x, y = on_screen(bench, (300.0, 400.0))
    bench.mouse.move(x, y)
    bench.mouse.wheel(0, -600)
    expect(bench.locator("#stage")).not_to_have_attribute("viewBox", whole or "")
    assert on_screen(bench, (300.0, 400.0)) == pytest.approx((x, y), abs=2.0)
    bench.locator("#stage").focus()
    bench.keyboard.press("-")
    bench.keyboard.press("0")
    expect(bench.locator("#stage")).to_have_attribute("viewBox", whole or "")


def test_limits_of_bare_glass_take_the_arrow_keys(bench: Page, picture: Staged) -> None:
    """A range is marked with the mouse, its limit moved by keys, and taken away."""
    set_scale(bench, picture)
    bench.get_by_role("button", name="Bare glass").click()
    drag(bench, (picture.middle_x, picture.top_y - 5), (picture.middle_x, picture.lip_y))
    saved(bench, "bare glass")
    lower = bench.get_by_role("slider", name="Bare glass 1, lower limit")
    z = int(lower.get_attribute("aria-valuenow") or 0)
    lower.focus()
    with bench.expect_response(lambda reply: reply.request.method != "GET"):
        bench.keyboard.press("Shift+ArrowUp")
    saved(bench, "bare glass")
    expect(lower).to_have_attribute("aria-valuenow", str(z + 10))
    bench.get_by_role("button", name="Take away").click()
    expect(bench.locator("#bare-list li")).to_have_count(0)


@pytest.fixture
def marked(bench: Page, picture: Staged) -> Page:
    """The workbench with a scale and one range of bare glass, marked and saved."""
    set_scale(bench, picture)
    bench.get_by_role("button", name="Bare glass").click()
    drag(bench, (picture.middle_x, picture.top_y - 5), (picture.middle_x, picture.lip_y))
    saved(bench, "bare glass")
    return bench


def lower_limit(page: Page) -> int:
    """Lower limit of the first range of bare glass, mm."""
    return int(page.get_by_role("slider", name="Bare glass 1, lower limit").get_attribute("aria-valuenow") or 0)


def test_keys_pressed_while_a_save_is_under_way_are_kept(marked: Page) -> None:
    """The answer to the first save does not take back what was moved since."""
    z, lower = lower_limit(marked), marked.get_by_role("slider", name="Bare glass 1, lower limit")
    with slow_saves(marked) as slow:
        lower.focus()
        with marked.expect_request(lambda asked: asked.method == "POST"):
            marked.keyboard.press("Shift+ArrowUp")
        lower.focus()
        marked.keyboard.press("Shift+ArrowUp")
        assert lower_limit(marked) == z + 20
        with marked.expect_request(lambda asked: asked.method == "POST"):
            slow.answer()
        assert lower_limit(marked) == z + 20
        with marked.expect_response(lambda reply: reply.request.method == "POST"):
            slow.answer()
    saved(marked, "bare glass")
    marked.reload()
    expect(marked.locator("[data-ready]")).to_be_visible()
    marked.get_by_role("button", name="Bare glass").click()
    assert lower_limit(marked) == z + 20


def test_a_press_on_take_away_survives_the_answer_to_a_save(marked: Page) -> None:
    """The button under the finger is the same one when the answer comes between press and release."""
    lower, drop = marked.get_by_role("slider", name="Bare glass 1, lower limit"), marked.locator("#bare-list button")
    with slow_saves(marked) as slow:
        lower.focus()
        with marked.expect_request(lambda asked: asked.method == "POST"):
            marked.keyboard.press("Shift+ArrowUp")
        drop.hover()
        marked.mouse.down()
        with marked.expect_response(lambda reply: reply.request.method == "POST"):
            slow.answer()
        expect(marked.locator("#bench-status")).to_have_text("Saved: bare glass.")
        marked.mouse.up()
        expect(marked.locator("#bare-list li")).to_have_count(0)
    saved(marked, "bare glass")
    marked.reload()
    expect(marked.locator("[data-ready]")).to_be_visible()
    expect(marked.locator("#bare-list li")).to_have_count(0)


def test_taking_away_right_after_a_key_is_not_undone(marked: Page) -> None:
    """The pause that gathers keys does not bring the range back once it is over."""
    lower = marked.get_by_role("slider", name="Bare glass 1, lower limit")
    lower.focus()
    with marked.expect_response(lambda reply: reply.request.method == "POST"):
        marked.keyboard.press("ArrowUp")
        marked.locator("#bare-list button").click()
    expect(marked.locator("#bare-list li")).to_have_count(0)
    marked.get_by_role("button", name="Undo").click()
    expect(marked.locator("#bench-status")).to_have_text("Undone. Saved: bare glass.")
    expect(marked.locator("#bare-list li")).to_have_count(1)
    marked.get_by_role("button", name="Redo").click()
    expect(marked.locator("#bench-status")).to_have_text("Done again. Saved: bare glass.")
    marked.reload()
    expect(marked.locator("[data-ready]")).to_be_visible()
    expect(marked.locator("#bare-list li")).to_have_count(0)


def test_a_tool_taken_in_hand_while_the_outline_is_sought_stays(marked: Page) -> None:
    """The answer does not put another tool into the hand."""
    marked.get_by_role("button", name="Find again").click()
    with slow_saves(marked) as slow:
        with marked.expect_request("**/find.json"):
            marked.get_by_role("button", name="Find it in the whole photograph").click()
        marked.get_by_role("button", name="Leave out").click()
        slow.answer()
        expect(marked.locator("#bench-status")).to_contain_text("The outline stands")
    expect(marked.get_by_role("button", name="Leave out")).to_have_attribute("aria-pressed", "true")


def test_what_is_not_seen_is_ticked_saved_and_undone(marked: Page) -> None:
    """Base cut off: said with one tick, kept, and taken back by undo like anything else."""
    marked.get_by_role("button", name="Leave out").click()
    tick = marked.get_by_label("The base is not seen")
    tick.check()
    saved(marked, "base")
    marked.reload()
    expect(marked.locator("[data-ready]")).to_be_visible()
    marked.get_by_role("button", name="Leave out").click()
    expect(tick).to_be_checked()
    tick.uncheck()
    saved(marked, "base")
    marked.get_by_role("button", name="Undo").click()
    expect(tick).to_be_checked()


def test_a_candidate_pressed_while_the_answer_changes_is_chosen(marked: Page) -> None:
    """The strip waits for the finger to be lifted before it shows the newer answer."""
    second = marked.locator("#candidate-2")
    expect(second).to_be_visible()
    name = second.locator("span").first.inner_text()
    second.hover()
    marked.mouse.down()
    with marked.expect_response("**/live.json"):
        marked.evaluate("() => { document.querySelector('[data-bench]').bench.live.refresh(); }")
    marked.mouse.up()
    expect(marked.locator("#live svg.fitted title")).to_contain_text(name)


def test_a_box_finds_the_outline_again(bench: Page, picture: Staged) -> None:
    """The box is drawn with the mouse; the page says that it is at work, then that the outline stands."""
    bench.get_by_role("button", name="Find again").click()
    drag(bench, (picture.middle_x - 220, picture.top_y - 40), (picture.middle_x + 220, picture.base_y + 30))
    expect(bench.locator("#bench-status")).to_contain_text("The outline stands")


def test_a_box_typed_in_per_cent_finds_the_outline_and_nonsense_is_told(bench: Page, picture: Staged) -> None:
    """For those who use no mouse; what is no box changes nothing."""
    bench.get_by_role("button", name="Find again").click()
    sides = ("Left side", (picture.middle_x - 220) / 8), ("Right side", (picture.middle_x + 220) / 8)
    ends = ("Top", (picture.top_y - 40) / 11), ("Bottom", (picture.base_y + 30) / 11)
    for label, share in (*sides, *ends):
        bench.get_by_label(f"{label}, %").fill(f"{share:.1f}")
    bench.get_by_label("Top, %").fill("99.5")
    bench.get_by_role("button", name="Find it in this box").click()
    expect(bench.locator("#bench-status")).to_contain_text("top before bottom")
    bench.get_by_label("Top, %").fill(f"{ends[0][1]:.1f}")
    bench.get_by_role("button", name="Find it in this box").click()
    expect(bench.locator("#bench-status")).to_contain_text("The outline stands")


def test_a_doubtful_outline_is_not_said_to_stand(bench: Page) -> None:
    """A box of a corner of the table holds no piece: what is found there is doubtful, or nothing is."""
    bench.get_by_role("button", name="Find again").click()
    drag(bench, (10, 10), (790, 260))
    expect(bench.locator("#bench-status.busy")).to_have_count(0)
    expect(bench.locator("#bench-status")).not_to_contain_text("The outline stands and is saved")


def test_beside_a_doubt_the_box_is_one_press_away(bench: Page) -> None:
    """The form beside the warnings takes the tool in hand and says what to do."""
    bench.evaluate("() => { document.querySelector('#compared').hidden = false; }")
    bench.get_by_role("button", name="Draw a box round the piece").click()
    expect(bench.get_by_role("button", name="Find again")).to_have_attribute("aria-pressed", "true")
    expect(bench.locator("#bench-status")).to_contain_text("Drag a box round the piece")


def test_another_window_saved_meanwhile_is_told_and_shown(
    context: BrowserContext, address: str, picture: Staged
) -> None:
    """The second window's change is refused, and what the first saved is then on the screen."""
    late, early = context.new_page(), context.new_page()
    begin(late, address, picture)
    early.goto(late.url)
    for window in (late, early):
        expect(window.locator("[data-ready]")).to_be_visible()
        window.get_by_role("button", name="Edge", exact=True).click()
    x, y = place_of(early, 5)
    drag(early, (x, y), (x + 30, y))
    saved(early, "outline")
    x, y = place_of(late, 9)
    with late.expect_response(lambda reply: reply.status == 409):
        drag(late, (x, y), (x - 30, y))
    expect(late.locator("#bench-status")).to_contain_text("changed meanwhile")
    expect(late.locator(".edge-line")).to_have_attribute("d", outline(early))


def test_touch_drags_handles_and_pinches(browser: Browser, address: str, picture: Staged) -> None:
    """Fingers do what the mouse does: one drags a handle, two zoom."""
    context = browser.new_context(viewport={"width": 390, "height": 800}, has_touch=True)
    page = context.new_page()
    begin(page, address, picture)
    page.get_by_role("button", name="Edge", exact=True).click()
    page.locator("#stage").scroll_into_view_if_needed()
    hand = context.new_cdp_session(page)

    def touch(kind: str, *points: tuple[float, float]) -> None:
        fingers = [{"x": x, "y": y, "id": k} for k, (x, y) in enumerate(points)]
        hand.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": fingers})

    x, y = place_of(page, 6)
    start, end = on_screen(page, (x, y)), on_screen(page, (x + 30, y))
    touch("touchStart", start)
    touch("touchMove", ((start[0] + end[0]) / 2, start[1]))
    touch("touchMove", end)
    touch("touchEnd")
    saved(page, "outline")
    assert place_of(page, 6)[0] == pytest.approx(x + 30, abs=4)

    whole = page.locator("#stage").get_attribute("viewBox")
    middle = on_screen(page, (400.0, 500.0))
    touch("touchStart", (middle[0] - 30, middle[1]), (middle[0] + 30, middle[1]))
    touch("touchMove", (middle[0] - 60, middle[1]), (middle[0] + 60, middle[1]))
    touch("touchMove", (middle[0] - 90, middle[1]), (middle[0] + 90, middle[1]))
    touch("touchEnd")
    expect(page.locator("#stage")).not_to_have_attribute("viewBox", whole or "")
    context.close()


def test_a_new_doubt_is_led_to_from_the_line_above_the_photograph(marked: Page) -> None:
    """On a phone the doubts stand below the photograph, out of sight of who moved a handle."""
    marked.set_viewport_size({"width": 390, "height": 844})
    marked.get_by_role("button", name="Edge", exact=True).click()
    places = [place_of(marked, which) for which in range(marked.locator(".handle").count())]
    x, y = max(places)
    drag(marked, (x, y), (x + 110, y))
    saved(marked, "outline")
    link = marked.locator("#bench-status a")
    expect(link).to_contain_text("new doubt")
    link.click()
    expect(marked.locator("#bench-warnings li").first).to_be_in_viewport()
    expect(marked.locator("#live .moved")).to_be_visible()
    assert marked.evaluate("document.documentElement.scrollWidth") == 390  # the table of what moved slides in its place
