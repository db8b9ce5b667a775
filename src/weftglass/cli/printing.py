"""How results are put on paper: JSON, and figures with unit and uncertainty."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from typing import Any

import click

from weftglass.desk.wording import percent_text


def print_json(document: Any) -> None:
    """One JSON document in UTF-8 on one line, never NaN."""
    click.echo(json.dumps(document, ensure_ascii=False, allow_nan=False))


def print_table(head: Sequence[str], rows: Iterable[Sequence[str]], *, right: frozenset[int] = frozenset()) -> None:
    """Columns as wide as their widest cell, those in ``right`` flush right; "(none)" where there is no row."""
    table = [list(map(str, row)) for row in rows]
    widths = [max(len(cell) for cell in column) for column in zip(head, *table, strict=True)]
    for line in (list(head), *table):
        cells = [
            cell.rjust(width) if i in right else cell.ljust(width)
            for i, (cell, width) in enumerate(zip(line, widths, strict=True))
        ]
        click.echo("  ".join(cells).rstrip())
    if len(table) == 0:
        click.echo("(none)")


def percent(probability: float) -> str:
    """A probability in per cent as the pages write it, with a plain blank."""
    return percent_text(probability, " ")


def warn(sentences: Iterable[str]) -> None:
    """Warnings to standard error, one a line."""
    for sentence in sentences:
        click.echo(f"note: {sentence}", err=True)
