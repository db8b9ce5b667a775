"""
How long after a change the new answer stands beside the photograph, in the browser, on the demo collection.

Each of three changes is made ten times on a workbench page: another length of the scale bar, an edge handle moved by
an arrow key, a range of bare glass marked or taken away again. Timed in the page, from the change to the frame that
shows the new answer: saving, answering and drawing included. The processor time of the server is given beside it, as
it is what is left on a quiet machine. Needs Playwright with a Chromium and, for the processor time, Linux.

Usage: python benchmarks/live_page.py COLLECTION [PIECE...] [--chromium PATH] [--json]
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

TIMES = 10
PIECES = ("p-01", "p-07", "p-24")
TIMED = """
act => new Promise(done => {
  const live = document.querySelector("#live"), begun = performance.now();
  new MutationObserver((_, watch) => {
    if (live.hasAttribute("aria-busy") || live.querySelector(".note.stop")) return;
    watch.disconnect();
    requestAnimationFrame(() => done(performance.now() - begun));
  }).observe(live, { childList: true });
  new Function(act)();
})
"""
CHANGES = {
    "scale": "const mm = document.querySelector('#bar-mm'); mm.value = {mm}; mm.form.requestSubmit();",
    "edge handle": "const handle = document.querySelector('#stage .handle'); handle.focus(); handle.dispatchEvent("
    "new KeyboardEvent('keydown', {{ key: '{arrow}', bubbles: true }}));",
    "bare glass": "const form = document.querySelector('form[data-range=bare]'), ranges = document.querySelectorAll("
    "'#bare-list [data-drop]'); if ({odd} && ranges.length) ranges[ranges.length - 1].click(); else {{ "
    "form.elements.low.value = 2; form.elements.high.value = 6 + {number}; form.requestSubmit(); }}",
}


@contextmanager
def served(collection: Path) -> Iterator[tuple[str, int]]:
    """A copy of the collection at an address of its own, and the number of the process that serves it."""
    with tempfile.TemporaryDirectory() as folder, socket.socket() as free:
        shelf = Path(folder) / "shelf"
        shutil.copytree(collection, shelf)
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
        free.close()
        command = "from weftglass.cli import main; main()"
        run = [sys.executable, "-c", command, "serve", str(shelf), "--port", str(port), "--no-open"]
        server = subprocess.Popen(run, stderr=subprocess.DEVNULL)
        try:
            address = f"http://127.0.0.1:{port}"
            _wait_for(f"{address}/about")
            yield address, server.pid
        finally:
            server.terminate()
            server.wait()


def _wait_for(address: str) -> None:
    for _ in range(240):
        try:
            urllib.request.urlopen(address, timeout=5).close()
            return
        except OSError:
            time.sleep(0.5)
    raise SystemExit("The server did not answer within two minutes.")


def cpu_s(process: int) -> float | None:
    """Processor time a process has used so far, seconds; None where the system does not tell."""
    place = Path(f"/proc/{process}/stat")
    if not place.is_file():
        return None
    fields = place.read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / float(os.sysconf("SC_CLK_TCK"))


def timed(page: Page, change: str, process: int) -> tuple[list[float], list[float]]:
    """Seconds by the clock and of the server's processor, each of ten changes of a kind."""
    clock, used = [], []
    mm = float(page.locator("#bar-mm").input_value() or 100)
    for number in range(TIMES):
        act = CHANGES[change].format(
            mm=round(mm * (1 + 0.002 * (number + 1)), 3), arrow="ArrowLeft" if number % 2 else "ArrowRight",
            odd=str(number % 2 == 1).lower(), number=number,
        )  # fmt: skip
        before = cpu_s(process)
        clock.append(page.evaluate(TIMED, act) / 1000)
        after = cpu_s(process)
        if before is not None and after is not None:
            used.append(after - before)
        page.wait_for_timeout(200)
    return clock, used


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("collection", type=Path)
    parser.add_argument("pieces", nargs="*", default=PIECES)
    parser.add_argument("--chromium", help="Where the browser is, if not Playwright's own.")
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args()
    rows = []
    with served(asked.collection) as (address, process), sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=asked.chromium, args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        for piece in asked.pieces:
            for change in CHANGES:
                page.goto(f"{address}/piece/{piece}/bench/{piece}.view-1")
                page.wait_for_selector("[data-bench][data-ready]")
                page.wait_for_selector("#live:not([aria-busy]) .verdict")
                clock, used = timed(page, change, process)
                rows.append(
                    {
                        "piece": piece,
                        "change": change,
                        "median_s": round(statistics.median(clock), 3),
                        "slowest_s": round(max(clock), 3),
                        "server_cpu_s": round(statistics.median(used), 3) if used else None,
                    }
                )
        browser.close()
    if asked.json:
        print(json.dumps(rows))
        return
    print(f"{'piece':8}{'change':14}{'median':>9}{'slowest':>9}{'server':>9}   (s, {TIMES} changes each)")
    for row in rows:
        cpu = "" if row["server_cpu_s"] is None else f"{row['server_cpu_s']:.2f}"
        print(f"{row['piece']:8}{row['change']:14}{row['median_s']:9.2f}{row['slowest_s']:9.2f}{cpu:>9}")


if __name__ == "__main__":
    main()
