"""Options that several commands share."""

from __future__ import annotations

from pathlib import Path

import click

from weftglass.desk import Collection, open_collection
from weftglass.errors import InputError
from weftglass.vessels import FormLibrary

json_option = click.option(
    "--json", "as_json", is_flag=True, help="Print one JSON document to standard output and nothing else."
)
forms_option = click.option(
    "--forms",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Form file (JSON Lines) to use instead of the starter library.",
)
collection_argument = click.argument("collection", type=click.Path(file_okay=False, path_type=Path))


def library_from(forms: Path | None) -> FormLibrary:
    """The library of a form file, or the starter library."""
    return FormLibrary.starter() if forms is None else FormLibrary.read(forms)


def existing_collection(folder: Path) -> Collection:
    """The collection of a folder that must already be one: looking something over makes nothing new."""
    if not folder.is_dir():
        raise InputError("collection", "COLLECTION", str(folder), "the folder of a collection")
    return open_collection(folder, create=False)
