"""The tone's page in a real browser with a microphone that hears a patted vessel."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, Playwright, expect

from tests.browser.conftest import ARGUMENTS, served
from tests.desk.test_tones import pat
from weftglass.desk import create_piece, evidence_of, open_collection, record_measurement

pytestmark = pytest.mark.browser

HZ = 187.0
PIECE = "no-9-a-jar"


@pytest.fixture(scope="module")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Path]]:
    """Address and folder of a collection with one measured piece."""
    folder = tmp_path_factory.mktemp("furnished") / "shelf"
    with open_collection(folder) as collection:
        piece = create_piece(collection, "No. 9, a jar", who="Ada")
        record_measurement(collection, piece.id, "height", "240 mm", who="Ada")
    with served(folder) as address:
        yield address, folder


@pytest.fixture
def hearing(play: Playwright, program: str, tmp_path: Path) -> Iterator[Page]:
    """A phone's page whose microphone plays a patted vessel's tone again and again; script faults fail the test."""
    sound = tmp_path / "pat.wav"
    sound.write_bytes(pat(HZ)[1])
    more = [
        "--use-fake-ui-for-media-stream",
        "--use-fake-device-for-media-stream",
        f"--use-file-for-fake-audio-capture={sound}",
    ]
    faults: list[str] = []
    opened = play.chromium.launch(executable_path=program, args=[*ARGUMENTS, *more])
    page = opened.new_page(viewport={"width": 360, "height": 780})
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    page.on("console", lambda message: faults.append(message.text) if message.type == "error" else None)
    yield page
    opened.close()
    assert faults == []


def test_microphone_is_heard_and_the_tone_is_kept(hearing: Page, furnished: tuple[str, Path]) -> None:
    """Record, hear the vessel's own tone, keep it: it is evidence with its standard deviation."""
    address, folder = furnished
    hearing.goto(f"{address}/piece/{PIECE}/tone")
    hearing.get_by_role("button", name="Record five seconds").click()
    expect(hearing.locator("#heard .verdict")).to_contain_text("A tone of")
    expect(hearing.get_by_label("Recordings made here").locator("li")).to_have_count(1)
    hearing.get_by_role("button", name="Keep this tone as evidence").click()
    hearing.wait_for_url("**/inside")
    expect(hearing.locator(".moved")).to_contain_text("recording the tone")
    with open_collection(folder) as collection:
        tone = next(m for m in evidence_of(collection, PIECE).measurements if m.what == "tone")
    assert tone.value == pytest.approx(HZ, rel=0.01)
    assert tone.sd > 0
    wide = hearing.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0


def test_file_does_without_script(page_without_script: Page, furnished: tuple[str, Path], tmp_path: Path) -> None:
    """With script off a WAV file is chosen and heard."""
    sound = tmp_path / "pat.wav"
    sound.write_bytes(pat(HZ)[1])
    page = page_without_script
    page.goto(f"{furnished[0]}/piece/{PIECE}/tone")
    page.locator("#tone-recordings").set_input_files(sound)
    page.get_by_role("button", name="Hear what they say").click()
    expect(page.locator("#heard .verdict")).to_contain_text("A tone of")
