"""`weftglass check`: look a collection over."""

from __future__ import annotations

from pathlib import Path

import click

from weftglass.cli.options import collection_argument, existing_collection, json_option
from weftglass.cli.printing import print_json
from weftglass.desk import check_collection


@click.command()
@collection_argument
@json_option
def check(collection: Path, as_json: bool) -> int:
    """
    Look a collection over: the database, every photograph's hash, every record, the history.

    Nothing is changed. Exit status 1 when something is lost, damaged or contradicts itself.
    """
    with existing_collection(collection) as opened:
        found = check_collection(opened)
    if as_json:
        print_json([{"serious": oddity.serious, "sentence": oddity.sentence} for oddity in found])
    else:
        for oddity in found:
            click.echo(("serious: " if oddity.serious else "unusual: ") + oddity.sentence)
        if not found:
            click.echo("All is well.")
    return int(any(oddity.serious for oddity in found))
