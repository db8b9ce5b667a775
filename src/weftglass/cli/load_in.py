"""`weftglass load-in`: what write-out wrote, into an empty collection."""

from __future__ import annotations

from pathlib import Path

import click

from weftglass.cli.options import FILE, collection_argument, refuse_other_things
from weftglass.desk import load_new


@click.command("load-in")
@collection_argument
@click.argument("folder", type=FILE)
def load_in(collection: Path, folder: Path) -> None:
    """Load FOLDER, written by write-out, into COLLECTION, which is empty or not there yet: all of it or nothing."""
    refuse_other_things(collection)
    tally = load_new(collection, folder)
    records = sum(tally.records.values())
    click.echo(f"{records} records, {tally.changes} changes and {tally.photographs} photographs loaded.", err=True)
