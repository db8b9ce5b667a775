"""`weftglass write-out`: a collection as plain JSON Lines with its photographs."""

from __future__ import annotations

from pathlib import Path

import click

from weftglass.cli.options import FILE, collection_argument, existing_collection
from weftglass.desk import write_out as write_collection_out


@click.command("write-out")
@collection_argument
@click.argument("folder", type=FILE)
def write_out(collection: Path, folder: Path) -> None:
    """Write the whole COLLECTION, history and photographs included, into a new or empty FOLDER."""
    with existing_collection(collection) as opened:
        tally = write_collection_out(opened, folder)
    records = sum(tally.records.values())
    click.echo(f"{records} records, {tally.changes} changes and {tally.photographs} photographs written.", err=True)
