"""`weftglass behind`: what several photographs show of the glass behind openwork, put together to read letters by."""

from __future__ import annotations

import io
from pathlib import Path

import click
import numpy as np
from numpy.typing import NDArray
from PIL import Image

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
from weftglass.desk import put_letters_together, put_photographs_together, readable_views
from weftglass.desk.behind import GLASS_FROM, turned_towards
from weftglass.desk.letters import FACES
from weftglass.errors import InputError


@click.command()
@click.argument("photos", nargs=-1, type=FILE)
@click.option("--turns", metavar="DEG,DEG,...", help="Turn of each photograph from the front, to about 12 degrees.")
@click.option("--scale-bar", metavar="X1,Y1,X2,Y2,MM", help="Two points in pixels and the mm between them.")
@click.option("--height", "height_mm", type=ABOVE_0, metavar="MM", help="Known height of the piece, instead of a bar.")
@click.option("--collection", type=FILE, help="Instead: a collection's folder,")
@click.option("--piece", help="and a piece of it: its measured views that show the face.")
@click.option("--face", default="front", show_default=True, metavar="|".join(FACES), help="Of the piece.")
@click.option("--heights", metavar="LOW,HIGH", help="Where to look, mm above the standing plane; needed.")
@click.option(
    "--cover",
    "cover_mm",
    type=NUMBER,
    default=3.0,
    show_default=True,
    metavar="MM",
    help="How far the glass lies behind the outline.",
)
@click.option(
    "--glass",
    default="dark",
    show_default=True,
    metavar="|".join((*GLASS_FROM, "#rrggbb")),
    help="Colour of the glass: found as the darkest or lightest seen, that of bare glass, or given.",
)
@click.option(
    "--out",
    type=NEW_FILE,
    help="Write the picture to this .png, and beside it one with contrast raised, its name ending in -clearer.png; "
    "needed.",
)
@json_option
def behind(
    photos: tuple[Path, ...],
    turns: str | None,
    scale_bar: str | None,
    height_mm: float | None,
    collection: Path | None,
    piece: str | None,
    face: str,
    heights: str | None,
    cover_mm: float,
    glass: str,
    out: Path | None,
    as_json: bool,
) -> None:
    """
    Put together what several photographs show of the glass behind openwork.

    Each photograph of a face, turned a little from the last, shows other parts of the glass through the gaps. They are
    laid on each other on the glass itself, and each place is read where it is glass. Read the letters by eye, then
    search them with `weftglass letters`.

    \b
    Example:
      weftglass behind a.jpg b.jpg c.jpg --turns 0,-12,12 --height 210 --heights 60,100 --cover 3 --out letters.png
    """
    pictures = [read_picture(photo) for photo in photos]
    if heights is None:
        raise InputError("behind", "--heights", None, "two numbers LOW,HIGH in mm: where to look")
    if out is None:
        raise InputError("behind", "--out", None, "the name of a picture to write, ending in .png")
    low, high = numbers(heights, 2, "--heights", "two numbers LOW,HIGH in mm")
    if out.suffix.lower() != ".png":
        raise InputError("behind", "--out", out.name, "a name that ends in .png")
    beside = out.with_name(f"{out.stem}-clearer.png")
    both_or_neither("behind", {"--collection": collection, "--piece": piece})
    if collection is not None and piece is not None:
        with existing_collection(collection) as opened:
            views = [one.view.id for one in turned_towards(readable_views(opened, piece), face)]
            kept = put_letters_together(
                opened, piece, views, face=face, heights_mm=(low, high), cover_mm=cover_mm, glass=glass
            )
            write_whole(out, kept.picture.read_bytes())
            write_whole(beside, kept.clearer.read_bytes())
        one, every, told = kept.share_one, kept.share_all, list(kept.photographs)
        doubts: tuple[str, ...] = ()
    else:
        if not photos:
            raise InputError("behind", "PHOTOS", None, "photograph files, or --collection with --piece")
        just_one("behind", {"--scale-bar": scale_bar, "--height": height_mm})
        bar = None if scale_bar is None else numbers(scale_bar, 5, "--scale-bar", "five numbers X1,Y1,X2,Y2,MM")
        each = "a number of degrees for each photograph, separated by commas"
        asked = [0.0] * len(photos) if turns is None else numbers(turns, len(photos), "--turns", each)
        together = put_photographs_together(
            pictures, asked, face=face, heights_mm=(low, high), cover_mm=cover_mm, glass=glass, scale_bar=bar,
            height_mm=height_mm,
        )  # fmt: skip
        write_whole(out, png_bytes(together.picture))
        write_whole(beside, png_bytes(together.clearer))
        one, every, doubts = together.share_one, together.share_all, together.warnings
        told = [f"turned {a.turn_deg:.1f} degrees" + ("" if a.used else "; left out") for a in together.placed]
    warn(doubts)
    if as_json:
        print_json({"share_one": round(one, 4), "share_all": round(every, 4), "photographs": told, "warnings": doubts})
        return
    warn(tuple(told))
    click.echo(f"The best photograph shows {100 * one:.0f} % of the glass there, all together {100 * every:.0f} %.")


def png_bytes(picture: NDArray[np.uint8]) -> bytes:
    """A picture as a PNG file."""
    out = io.BytesIO()
    Image.fromarray(picture).save(out, "PNG")
    return out.getvalue()
