"""`weftglass rollout`: the covering laid flat, and its design."""

from __future__ import annotations

import csv
import io
import json
import sys
from dataclasses import replace
from pathlib import Path

import click

from weftglass.cabinet.photo_files import write_whole
from weftglass.cli.options import (
    ABOVE_0,
    FILE,
    NEW_FILE,
    NUMBER,
    both_or_neither,
    existing_collection,
    json_option,
    just_one,
    numbers,
    read_picture,
)
from weftglass.cli.printing import print_json, warn
from weftglass.desk import roll_out_piece, stitches_counted
from weftglass.desk.rolling import checked_choice, design_words, marks_of, roll_out_photographs, study_rollout
from weftglass.errors import InputError
from weftglass.photos import Rollout, picture_bytes, plain_picture, ruled_picture
from weftglass.weave.design import DesignStudy

KINDS = {".png": "PNG", ".tif": "TIFF", ".tiff": "TIFF"}


@click.command()
@click.argument("photos", nargs=-1, type=FILE)
@click.option("--collection", type=FILE, help="Instead: a collection's folder,")
@click.option("--piece", help="and a piece of it: its turns where there are 6 or more, else its front.")
@click.option("--scale-bar", metavar="X1,Y1,X2,Y2,MM", help="Two points in pixels and the mm between them.")
@click.option("--height", "height_mm", type=ABOVE_0, metavar="MM", help="Known height of the piece, instead of a bar.")
@click.option("--box", metavar="X0,Y0,X1,Y1", help="Where the piece is, in pixels; found without it.")
@click.option("--heights", metavar="LOW,HIGH", help="Part of the height to lay out, mm above the standing plane.")
@click.option("--px-per-mm", type=ABOVE_0, metavar="F", help="Scale of the picture; without it chosen for the detail.")
@click.option("--section", default="round", metavar="round|square|rectangle", help="Plan of the body.")
@click.option("--depth-share", type=NUMBER, default=1.0, metavar="F", help="Half-depth over half-width of a rectangle.")
@click.option(
    "--stitches-per-cm",
    type=NUMBER,
    metavar="F",
    help="Gauge along a row, for widths in stitches; of a piece, as last counted.",
)
@click.option("--out", type=NEW_FILE, help="Write the picture: .png or .tif, with mm rulers and its resolution.")
@click.option("--marks", is_flag=True, help="Mark bands and repeats on that picture.")
@click.option("--plain", is_flag=True, help="Leave the rulers off that picture.")
@click.option("--geometry", type=NEW_FILE, help="Write height, way up the wall and girth of rows: .csv or .json.")
@json_option
def rollout(
    photos: tuple[Path, ...],
    collection: Path | None,
    piece: str | None,
    scale_bar: str | None,
    height_mm: float | None,
    box: str | None,
    heights: str | None,
    px_per_mm: float | None,
    section: str,
    depth_share: float,
    stitches_per_cm: float | None,
    out: Path | None,
    marks: bool,
    plain: bool,
    geometry: Path | None,
    as_json: bool,
) -> None:
    """
    Lay a covering flat, to scale, and study its design.

    Give one photograph (the part it shows), or 6 to 24 taken at even turns of a turntable, in order, the piece turning
    so that what is on the right comes to the front; or a piece of a collection.

    \b
    Example:
      weftglass rollout turn-*.jpg --height 231 --out rollout.png
    """
    between = None if heights is None else numbers(heights, 2, "--heights", "two numbers LOW,HIGH in mm")
    choice = checked_choice(
        {
            "heights_mm": between,
            "px_per_mm": px_per_mm,
            "section": section,
            "depth_share": depth_share,
            "stitches_per_cm": stitches_per_cm,
        }
    )
    _check_files(out, geometry)
    both_or_neither("rollout", {"--collection": collection, "--piece": piece})
    if piece is not None and collection is not None:
        with existing_collection(collection) as opened:
            counted = stitches_counted(opened, piece) if stitches_per_cm is None else None
            if counted is not None:
                choice = replace(choice, stitches_per_cm=counted.stitches_per_cm, stitches_sd=counted.stitches_sd)
                warn((f"Stitches per cm taken over from the count of {counted.on}.",))
            rolled, study = roll_out_piece(opened, piece, choice, progress=tell)
    else:
        _check_photos(photos, scale_bar, height_mm)
        bar = None if scale_bar is None else numbers(scale_bar, 5, "--scale-bar", "five numbers X1,Y1,X2,Y2,MM")
        within = None if box is None else numbers(box, 4, "--box", "four numbers X0,Y0,X1,Y1 in pixels")
        pictures = [read_picture(photo) for photo in photos]
        rolled = roll_out_photographs(pictures, choice, scale_bar=bar, height_mm=height_mm, box=within, progress=tell)
        study = study_rollout(rolled, choice)
    _write(rolled, study, out, geometry, marks=marks, plain=plain)
    warn(rolled.warnings)
    if as_json:
        print_json({"rollout": rolled.geometry(), "design": study.to_record()})
        return
    _print(rolled, study)


def tell(words: str, share: float) -> None:
    """Progress, on one line of standard error that is written over."""
    if sys.stderr.isatty():
        click.echo(f"\r{100 * share:3.0f} %  {words:<60}", err=True, nl=False)


def _check_photos(photos: tuple[Path, ...], scale_bar: str | None, height_mm: float | None) -> None:
    if not photos:
        raise InputError("rollout", "PHOTOS", None, "photograph files, or --collection with --piece")
    just_one("rollout", {"--scale-bar": scale_bar, "--height": height_mm})


def _check_files(out: Path | None, geometry: Path | None) -> None:
    if out is not None and out.suffix.lower() not in KINDS:
        raise InputError("rollout", "--out", out.name, "a name that ends in .png, .tif or .tiff")
    if geometry is not None and geometry.suffix.lower() not in (".csv", ".json"):
        raise InputError("rollout", "--geometry", geometry.name, "a name that ends in .csv or .json")


def _write(
    rolled: Rollout, study: DesignStudy, out: Path | None, geometry: Path | None, *, marks: bool, plain: bool
) -> None:
    if out is not None:
        marked = marks_of(rolled, study) if marks else ()
        picture = plain_picture(rolled) if plain else ruled_picture(rolled, marked)
        write_whole(out, picture_bytes(picture, KINDS[out.suffix.lower()]))
    if geometry is not None and geometry.suffix.lower() == ".json":
        write_whole(geometry, json.dumps(rolled.geometry(), indent=1).encode())
    elif geometry is not None:
        write_whole(geometry, rows_csv(rolled.rows_table()).encode())


def rows_csv(table: list[dict[str, float]]) -> str:
    """Rows of a rollout as CSV."""
    text = io.StringIO()
    writer = csv.DictWriter(text, list(table[0]), lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(table)
    return text.getvalue()


def _print(rolled: Rollout, study: DesignStudy) -> None:
    rows, columns = rolled.picture.shape[:2]
    click.echo(f"Rollout of {columns} x {rows} pixels, {rolled.px_per_mm:g} pixels per mm")
    click.echo(f"Girth {rolled.girth_mm:.1f} ± {rolled.girth_sd_mm:.1f} mm at the widest")
    if rolled.closing is not None:
        click.echo(f"Turns close to {100 * rolled.closing:+.2f} % of a whole turn; the girth is corrected for it")
    for colour in study.palette:
        lightness, a, b = colour.lab
        click.echo(f"Colour {colour.hex}  L* {lightness:.0f} a* {a:+.0f} b* {b:+.0f}  {100 * colour.share:.0f} %")
    for sentence in design_words(study):
        click.echo(f"Band {sentence}")
