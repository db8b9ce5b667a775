"""`weftglass serve`: a collection in the browser."""

from __future__ import annotations

from pathlib import Path

import click

from weftglass.cli.options import FILE, WholeNumber, refuse_other_things
from weftglass.web.server import DEFAULT_PORT, run_server


@click.command()
@click.argument("collection", type=FILE, default="collection")
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on; loopback by default.")
@click.option("--port", type=WholeNumber(1, 65535), default=DEFAULT_PORT, show_default=True)
@click.option("--open/--no-open", "open_browser", default=True, show_default=True, help="Open a browser.")
def serve(collection: Path, host: str, port: int, open_browser: bool) -> None:
    """
    Show a collection in the browser; COLLECTION is its folder, made when it does not exist.

    \b
    Example:
      weftglass serve my-pieces
    """
    refuse_other_things(collection)
    run_server(collection, host, port, open_browser=open_browser)
