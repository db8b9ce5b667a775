"""`weftglass outline`: the profile of a piece from a photograph."""

from __future__ import annotations

from pathlib import Path

import click
import cv2
import numpy as np

from weftglass.cabinet.photo_files import write_whole
from weftglass.cli.options import ABOVE_0, FILE, NEW_FILE, NUMBER, json_option, numbers, read_picture
from weftglass.cli.printing import print_json, warn
from weftglass.errors import InputError, Unfit
from weftglass.photos import SectionHint, Unseen, outline_from_photograph


@click.command()
@click.argument("photo", type=FILE)
@click.option(
    "--scale-bar", metavar="X1,Y1,X2,Y2,MM", help="Two points of the picture in pixels and their distance in mm."
)
@click.option(
    "--height", "height_mm", type=ABOVE_0, metavar="MM", help="Known height of the piece; beside a bar or alone."
)
@click.option("--shape-only", is_flag=True, help="No size is known: measure the shape alone.")
@click.option(
    "--section", metavar="KIND", help="What the body is: round, square, flat, or flat:RATIO (depth over width)."
)
@click.option(
    "--turn", "turn_deg", type=NUMBER, default=0.0, metavar="DEG", help="How far a square or flat one is turned."
)
@click.option("--base-unseen", is_flag=True, help="The base is hidden (what the picture cuts off is noticed).")
@click.option("--top-unseen", is_flag=True, help="The top is hidden.")
@click.option("--box", metavar="X0,Y0,X1,Y1", help="Where the piece is, in pixels; found without it.")
@click.option("--mask", type=NEW_FILE, help="Write the silhouette to this PNG file.")
@json_option
def outline(
    photo: Path,
    scale_bar: str | None,
    height_mm: float | None,
    shape_only: bool,
    section: str | None,
    turn_deg: float,
    base_unseen: bool,
    top_unseen: bool,
    box: str | None,
    mask: Path | None,
    as_json: bool,
) -> None:
    """
    Trace the piece on a photograph and measure its profile.

    Pixels count from 0 at the centre of the top left one, x to the right, y down, in the picture as people see it
    (turned upright). Give a scale bar, a known height or both; with neither, --shape-only measures the shape.

    \b
    Example:
      weftglass outline front.jpg --scale-bar 812,1500,812,1100,100 --json
    """
    sized = scale_bar is not None or height_mm is not None
    if sized == shape_only:
        if sized:
            wrong = "--shape-only is given beside a size"
            raise Unfit("outline", "--shape-only", wrong, "a size, or --shape-only alone")
        expected = "given, or --height, or both; or --shape-only alone where no size is known"
        raise InputError("outline", "--scale-bar", None, expected)
    bar = None if scale_bar is None else numbers(scale_bar, 5, "--scale-bar", "five numbers X1,Y1,X2,Y2,MM")
    corners = None if box is None else numbers(box, 4, "--box", "four numbers X0,Y0,X1,Y1 in pixels")
    picture = read_picture(photo)
    silhouette, measured = outline_from_photograph(
        picture,
        scale_bar=bar,
        height_mm=height_mm,
        box=corners,
        section=None if section is None else SectionHint.of(section, turn_deg=turn_deg, where="outline"),
        unseen=Unseen(base_unseen, top_unseen),
        shape_only=shape_only,
        where=photo.name,
    )
    if mask is not None:
        done, png = cv2.imencode(".png", silhouette.mask.astype(np.uint8) * 255)
        if done:
            write_whole(mask, png.tobytes())
    warn(measured.warnings)
    if as_json:
        record = measured.to_record()
        at_each_height = record["sd_mm"]
        print_json(record | {"sd_mm": round(float(np.median(at_each_height)), 3), "sd_mm_at": at_each_height})
        return
    widest = measured.points[int(measured.points[:, 1].argmax())]
    sd = measured.scale_sd
    seen = "Height seen" if measured.unseen.any else "Height"
    click.echo(f"{seen} {measured.height_mm:.1f} ± {measured.height_mm * sd + 0.5:.1f} mm")
    click.echo(f"Greatest width {2 * widest[1]:.1f} ± {2 * widest[1] * sd + 0.5:.1f} mm at {widest[0]:.0f} mm")
    click.echo(f"Scale {measured.mm_per_px:.4f} mm a pixel, known to {100 * sd:.1f} %")
