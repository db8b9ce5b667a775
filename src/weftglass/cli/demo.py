"""`weftglass demo`: the demo collection, built and shown, or held against its own truth."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import click

from weftglass.cli.options import FILE, WholeNumber, refuse_other_things
from weftglass.demo import build_demo, demo_report
from weftglass.web.server import DEFAULT_PORT, run_server


@click.command()
@click.argument("collection", type=FILE, default="demo-collection")
@click.option("--report", is_flag=True, help="Print how each answer compares with the truth, failures included.")
@click.option("--json", "as_json", is_flag=True, help="With --report: one JSON document to standard output.")
@click.option("--build-only", is_flag=True, help="Build the collection and stop.")
@click.option("--port", type=WholeNumber(1, 65535), default=DEFAULT_PORT, show_default=True)
@click.option("--open/--no-open", "open_browser", default=None, help="Open a browser; done where there is one.")
def demo(collection: Path, report: bool, as_json: bool, build_only: bool, port: int, open_browser: bool | None) -> None:
    """
    Build the demo collection in the folder COLLECTION, once, and show it in the browser.

    The pieces, their makers and the coast they come from are invented; the photographs are rendered from a scene whose
    truth is known, which is what --report compares with.
    """
    refuse_other_things(collection)
    if not (collection / "collection.sqlite").exists():
        build_demo(collection, progress=lambda text: click.echo(text, err=True))
    if report:
        found = demo_report(collection)
        click.echo(found.to_json() if as_json else found.to_text())
        return
    if build_only:
        click.echo(f"The demo collection stands in {collection}", err=True)
        return
    run_server(collection, port=port, open_browser=has_screen() if open_browser is None else open_browser)


def has_screen() -> bool:
    """Whether a browser could open a window here."""
    return sys.platform in ("darwin", "win32") or any(os.environ.get(name) for name in ("DISPLAY", "WAYLAND_DISPLAY"))
