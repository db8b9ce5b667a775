"""Options that say which pieces are meant, and writing pictures and files where they are asked for."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from weftglass.cabinet.photo_files import write_whole
from weftglass.cli.options import NEW_FILE, OneOf
from weftglass.desk.holdings import TERMS
from weftglass.desk.selection import ONLY, WHOSE, Selection
from weftglass.errors import InputError

whose_option = click.option(
    "--whose", type=OneOf(list(WHOSE)), default="owned", show_default=True, help="Whose pieces are counted."
)
only_option = click.option(
    "--only",
    multiple=True,
    metavar="TERM=VALUE",
    help="Only pieces with this; ? as value: not known. Repeatable.",
)


def selection_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Both options."""
    return whose_option(only_option(command))


def selection_from(whose: str, only: tuple[str, ...]) -> Selection:
    """The selection that was typed."""
    return Selection.of({"whose": whose, **{ONLY + term: value for term, value in pairs(only, "--only").items()}})


def pairs(typed: tuple[str, ...], option: str) -> dict[str, str]:
    """``TERM=VALUE`` pairs by term."""
    found = {}
    for text in typed:
        term, equals, value = text.partition("=")
        if term not in TERMS or not equals or not value.strip():
            expected = "a term, an equals sign and a value, as community=Delmuine; terms are " + ", ".join(TERMS)
            raise InputError("command line", option, text, expected)
        found[term] = value.strip()
    return found


def save(place: Path | None, content: object) -> None:
    """Write a picture or a page where a place was named; nothing is half written."""
    if place is None:
        return
    if content is None or not str(content):
        raise InputError("command line", "file", place.name, "something to draw: nothing is known for this picture yet")
    write_whole(place, content if isinstance(content, bytes) else str(content).encode("utf-8"))
    click.echo(f"{place} written.", err=True)


def file_option(name: str, words: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """An option that names a file to write."""
    return click.option(name, type=NEW_FILE, metavar="FILE", help=words)
