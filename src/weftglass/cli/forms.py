"""`weftglass forms`: the form library as a list, a JSON document or a drawing sheet."""

from __future__ import annotations

from pathlib import Path

import click

from weftglass.cabinet.photo_files import write_whole
from weftglass.cli.options import NEW_FILE, forms_option, json_option, library_from
from weftglass.cli.printing import print_json, print_table
from weftglass.vessels import Form
from weftglass.vessels.drawing import library_sheet_svg


@click.command()
@click.argument("words", nargs=-1)
@forms_option
@click.option(
    "--sheet",
    type=NEW_FILE,
    help="Write the drawing sheet of the whole library to this SVG file.",
)
@json_option
def forms(words: tuple[str, ...], forms: Path | None, sheet: Path | None, as_json: bool) -> None:
    """
    List the forms of the library; with WORDS only those that match all of them.

    \b
    Examples:
      weftglass forms flask amber
      weftglass forms --sheet library.svg
      weftglass forms --forms mine.jsonl --json
    """
    library = library_from(forms)
    chosen = [form for form in library if all(word.lower() in described(form) for word in words)]
    if sheet is not None:
        write_whole(sheet, library_sheet_svg(library).encode())
        click.echo(f"Drawing sheet of {len(library)} forms written to {sheet}", err=True)
    if as_json:
        print_json([form.to_record() for form in chosen])
    elif sheet is None:
        print_table(
            ["form", "name", "size", "section", "height mm", "width mm", "years", "profile known to mm"],
            [row(form) for form in chosen],
            right=frozenset({4, 5, 7}),
        )
        click.echo(f"{len(chosen)} of {len(library)} forms; library version {library.version}", err=True)


def described(form: Form) -> str:
    """Everything a search may match, in lower case."""
    parts = [form.id, form.name, form.size or "", form.section.kind, form.contents or "", form.region or ""]
    return " ".join([*parts, *form.finish, *form.closure, *form.colours, *form.base]).lower()


def row(form: Form) -> list[str]:
    """One line of the list."""
    years = "" if form.years is None else f"{form.years[0]}–{form.years[1]}"
    return [
        form.id,
        form.name,
        form.size or "",
        form.section.kind,
        f"{form.profile.height_mm:.0f}",
        f"{2 * float(form.profile.half_width_mm.max()):.0f}",
        years,
        f"± {form.tolerance.shape_sd_mm:.1f}",
    ]
