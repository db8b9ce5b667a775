"""`weftglass letters`: inscriptions that a partly read word may be."""

from __future__ import annotations

from pathlib import Path

import click

from weftglass.cli.options import forms_option, json_option, library_from
from weftglass.cli.printing import print_json, print_table
from weftglass.errors import InputError
from weftglass.inside.likelihood.letters import tidy, windows


@click.command()
@click.argument("reading")
@forms_option
@json_option
def letters(reading: str, forms: Path | None, as_json: bool) -> None:
    """
    Find inscriptions of the library that a partly read word may belong to.

    In READING, ? is one letter that could not be read and * any run of such letters; quote it for the shell. Matches
    with one letter read wrong come after the exact ones.

    \b
    Example:
      weftglass letters "H?R*" --forms mine.jsonl
    """
    if not any(ch.isalnum() for ch in tidy(reading)):
        raise InputError("letters", "READING", reading, "at least one letter or figure, with ? and * for unread ones")
    found = []
    for form in library_from(forms):
        for inscription in form.letters:
            wrong = next((n for n in (0, 1) if windows(reading, inscription.text, wrong=n)), None)
            if wrong is not None:
                found.append((wrong, form.id, inscription.text, inscription.face or "", inscription.z_mm))
    found.sort(key=lambda hit: hit[:3])
    if as_json:
        keys = ("wrong_letters", "form", "text", "face", "z")
        print_json([dict(zip(keys, hit, strict=True)) for hit in found])
    elif found:
        print_table(["wrong letters", "form", "inscription", "face"], [list(map(str, hit[:4])) for hit in found])
    else:
        click.echo("No inscription of the library fits, not even with one letter wrong.")
