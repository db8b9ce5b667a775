"""`weftglass letters`: inscriptions that a partly read word may be."""

from __future__ import annotations

from pathlib import Path

import click

from weftglass.cli.options import forms_option, json_option, library_from, numbers
from weftglass.cli.printing import print_json, print_table
from weftglass.desk import search_inscriptions
from weftglass.desk.letters import FACES
from weftglass.errors import InputError


@click.command()
@click.argument("reading")
@click.option("--z", metavar="LOW,HIGH", help="Where it was read, mm above the standing plane.")
@click.option("--face", metavar="|".join(FACES), help="On which side it was read.")
@forms_option
@json_option
def letters(reading: str, z: str | None, face: str | None, forms: Path | None, as_json: bool) -> None:
    """
    Find inscriptions of the library that a partly read word may belong to.

    In READING, ? is one letter that could not be read and * any run of such letters; quote it for the shell. Matches
    with one letter read wrong come after the exact ones, and inscriptions known to be elsewhere after those in place.

    \b
    Example:
      weftglass letters "H?R*" --forms mine.jsonl
    """
    if face is not None and face not in FACES:
        raise InputError("letters", "--face", face, "one of: " + ", ".join(FACES))
    between = None if z is None else numbers(z, 2, "--z", "two numbers LOW,HIGH in mm")
    found = search_inscriptions(
        library_from(forms), reading, z_mm=None if between is None else (between[0], between[1]), face=face
    )
    if as_json:
        print_json(
            [
                {"wrong_letters": one.wrong_letters, "form": one.form, "text": one.text, "face": one.face or "",
                 "z": one.z_mm, "place": one.place}
                for one in found
            ]
        )  # fmt: skip
    elif found:
        rows = [[str(one.wrong_letters), one.form, one.text, one.face or "", one.place] for one in found]
        print_table(["wrong letters", "form", "inscription", "face", "place"], rows)
    else:
        click.echo("No inscription of the library fits, not even with one letter wrong.")
