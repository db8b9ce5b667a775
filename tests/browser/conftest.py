"""A real Chromium on a real server over a collection of its own."""

from __future__ import annotations

import shutil
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, Playwright, expect, sync_playwright

from weftglass.web import create_app

expect.set_options(timeout=180_000)  # a busy machine is slow, not wrong

ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session")
def play() -> Iterator[Playwright]:
    """The one driver; a second cannot be started beside it."""
    with sync_playwright() as playing:
        yield playing


@pytest.fixture(scope="session")
def program() -> str:
    """Debian's own Chromium."""
    found = shutil.which("chromium")
    assert found is not None, "the browser tests need Debian's package chromium"
    return found


@pytest.fixture(scope="session")
def browser(play: Playwright, program: str) -> Iterator[Browser]:
    """One Chromium for all tests."""
    opened = play.chromium.launch(executable_path=program, args=ARGUMENTS)
    yield opened
    opened.close()


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """Serve a collection from a thread on a free loopback port; gives its address."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = uvicorn.Server(uvicorn.Config(create_app(folder), host="127.0.0.1", port=port, log_level="error"))
    running = threading.Thread(target=server.run, daemon=True)
    running.start()
    while not server.started:
        assert running.is_alive(), "the server did not start"
        time.sleep(0.02)
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    running.join()


@pytest.fixture
def address(new_collection: Callable[[str], Path]) -> Iterator[str]:
    """Address of a server over an empty collection."""
    with served(new_collection("shelf")) as at:
        yield at


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    """A fresh browser profile, the size of a laptop's window."""
    opened = browser.new_context(viewport={"width": 1280, "height": 900}, reduced_motion="reduce")
    opened.set_default_timeout(120_000)
    yield opened
    opened.close()


@pytest.fixture
def page(context: BrowserContext) -> Iterator[Page]:
    """A page on which any script error or blocked resource fails the test."""
    faults: list[str] = []

    def heard(message: ConsoleMessage) -> None:
        if message.type == "error":
            faults.append(message.text)

    opened = context.new_page()
    opened.on("pageerror", lambda fault: faults.append(str(fault)))
    opened.on("console", heard)
    yield opened
    assert faults == []


@pytest.fixture
def page_without_script(browser: Browser) -> Iterator[Page]:
    """A page with script switched off."""
    context = browser.new_context(java_script_enabled=False)
    yield context.new_page()
    context.close()
