"""`weftglass gauge`: how finely a covering is woven, from a close-up."""

from __future__ import annotations

from pathlib import Path

import click

from weftglass.cli.options import json_option
from weftglass.cli.outline import numbers, read_bytes
from weftglass.cli.printing import print_json, warn
from weftglass.errors import InputError
from weftglass.photos import read_photograph, scale_from_bar
from weftglass.weave import TECHNIQUES, Box, Gauge, Known, gauge_of


@click.command()
@click.argument("photo", type=click.Path(dir_okay=False, path_type=Path))
@click.option(
    "--scale-bar", metavar="X1,Y1,X2,Y2,MM", help="Two points of the picture in pixels and their distance in mm."
)
@click.option("--mm-per-px", type=float, metavar="F", help="Millimetres a pixel, instead of a bar.")
@click.option("--technique", metavar="|".join(TECHNIQUES), help="Taken from the picture without it, less surely.")
@click.option("--box", metavar="X0,Y0,X1,Y1", help="The part to count, in pixels; it should hold covering only.")
@click.option("--radius", "radius_mm", type=float, metavar="MM", help="Of the covering there, if known; found without.")
@json_option
def gauge(
    photo: Path,
    scale_bar: str | None,
    mm_per_px: float | None,
    technique: str | None,
    box: str | None,
    radius_mm: float | None,
    as_json: bool,
) -> None:
    """
    Count rows and stitches per centimetre on a close-up.

    The scale is that of the covering's outer face in the middle of the box: hold the bar there, square to the camera.
    Rows should lie about level in the picture. Where the picture cannot carry a count, none is given, and why.

    \b
    Example:
      weftglass gauge close-up.jpg --scale-bar 120,900,520,900,20 --technique twined --json
    """
    if (scale_bar is None) == (mm_per_px is None):
        raise InputError("gauge", "--scale-bar", scale_bar, "given, or --mm-per-px instead, one of the two")
    corners: Box | None = None
    if box is not None:
        x0, y0, x1, y1 = numbers(box, 4, "--box", "four numbers X0,Y0,X1,Y1 in pixels")
        corners = (x0, y0, x1, y1)
    if radius_mm is not None and not 3 <= radius_mm <= 1000:
        raise InputError("gauge", "--radius", radius_mm, "a number from 3 to 1000, in mm")
    factor, scale_sd = mm_per_px or 0.0, 0.0
    if scale_bar is not None:
        bar = numbers(scale_bar, 5, "--scale-bar", "five numbers X1,Y1,X2,Y2,MM")
        scale = scale_from_bar(*bar, in_axis_plane=True, where="gauge --scale-bar")
        factor, scale_sd = scale.mm_per_px, scale.rel_sd
    picture = read_photograph(read_bytes(photo), photo.name)
    known = None if radius_mm is None else Known(radius_mm=radius_mm)
    counted = gauge_of(
        picture.pixels, factor, technique=technique, box=corners, scale_sd=scale_sd, known=known, where=photo.name
    )
    warn((*picture.warnings, *counted.warnings))
    if as_json:
        print_json(counted.to_record())
        return
    show(counted)


def show(counted: Gauge) -> None:
    """The counts for people."""
    for value, sd, what in (
        (counted.rows_per_cm, counted.rows_sd, "rows"),
        (counted.stitches_per_cm, counted.stitches_sd, "stitches"),
    ):
        if value is not None and sd is not None:
            click.echo(f"{value:.2f} ± {sd:.2f} {what} per cm")
    if counted.lean is not None:
        click.echo(f"Stitches lean {counted.lean}")
    if counted.reason is not None:
        click.echo(f"{'No count' if counted.rows_per_cm is None else 'No stitches'}: {counted.reason}.")
