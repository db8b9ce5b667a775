"""`weftglass load-in`: what write-out wrote, into an empty collection."""

from __future__ import annotations

from pathlib import Path

import click

from weftglass.cli.options import collection_argument
from weftglass.desk import load_in as load_collection_in
from weftglass.desk import open_collection


@click.command("load-in")
@collection_argument
@click.argument("folder", type=click.Path(file_okay=False, path_type=Path))
def load_in(collection: Path, folder: Path) -> None:
    """Load FOLDER, written by write-out, into the empty COLLECTION: all of it or nothing."""
    with open_collection(collection) as opened:
        tally = load_collection_in(opened, folder)
    records = sum(tally.records.values())
    click.echo(f"{records} records, {tally.changes} changes and {tally.photographs} photographs loaded.", err=True)
