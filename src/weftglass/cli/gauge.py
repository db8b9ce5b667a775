"""`weftglass gauge`: how finely a covering is woven, from a close-up."""

from __future__ import annotations

from pathlib import Path

import click

from weftglass.cli.options import (
    ABOVE_0,
    FILE,
    NUMBER,
    both_or_neither,
    existing_collection,
    json_option,
    just_one,
    numbers,
    read_picture,
)
from weftglass.cli.printing import print_json, warn
from weftglass.desk.face_scale import (
    FaceScale,
    OwnProfile,
    own_profile,
    profile_from_outline,
    scale_by_bar,
    scale_by_edges,
)
from weftglass.errors import InputError
from weftglass.files import read_text
from weftglass.photos import Photograph
from weftglass.weave import TECHNIQUES, Box, Gauge, Known, gauge_of

OWN_PROFILE = "what `weftglass outline --json` prints"


@click.command()
@click.argument("photo", type=FILE)
@click.option(
    "--scale-bar", metavar="X1,Y1,X2,Y2,MM", help="Two points of the picture in pixels and their distance in mm."
)
@click.option("--mm-per-px", type=ABOVE_0, metavar="F", help="Millimetres a pixel, instead of a bar.")
@click.option("--edges", metavar="X1,Y1,X2,Y2", help="Instead: left and right edge of the piece, with a profile.")
@click.option("--profile", type=FILE, help="What `weftglass outline --json` printed,")
@click.option("--collection", type=FILE, help="or instead a collection's folder")
@click.option("--piece", help="and a piece of it whose front was measured:")
@click.option("--at", "height_mm", type=NUMBER, metavar="MM", help="how high on the piece the picture was taken.")
@click.option("--technique", metavar="|".join(TECHNIQUES), help="Taken from the picture without it, less surely.")
@click.option("--box", metavar="X0,Y0,X1,Y1", help="The part to count, in pixels; it should hold covering only.")
@click.option("--radius", "radius_mm", type=NUMBER, metavar="MM", help="Of the covering there; found without.")
@json_option
def gauge(
    photo: Path,
    scale_bar: str | None,
    mm_per_px: float | None,
    edges: str | None,
    profile: Path | None,
    collection: Path | None,
    piece: str | None,
    height_mm: float | None,
    technique: str | None,
    box: str | None,
    radius_mm: float | None,
    as_json: bool,
) -> None:
    """
    Count rows and stitches per centimetre on a close-up.

    The scale is that of the covering's outer face in the middle of the box: hold the bar there, square to the camera.
    Without a bar, the piece's own profile gives the scale where both its edges are in the picture; with a bar it still
    tells how round the wall is there. Rows should lie about level in the picture. Where the picture cannot carry a
    count, none is given, and why.

    \b
    Examples:
      weftglass gauge close-up.jpg --scale-bar 120,900,520,900,20 --technique twined --json
      weftglass gauge close-up.jpg --edges 40,600,1480,606 --collection shelf --piece p-04 --at 95
    """
    corners: Box | None = None
    if box is not None:
        x0, y0, x1, y1 = numbers(box, 4, "--box", "four numbers X0,Y0,X1,Y1 in pixels")
        corners = (x0, y0, x1, y1)
    if radius_mm is not None and not 3 <= radius_mm <= 1000:
        raise InputError("gauge", "--radius", radius_mm, "a number from 3 to 1000, in mm")
    own = _profile(profile, collection, piece, height_mm)
    picture = read_picture(photo)
    face = _face(picture, scale_bar, mm_per_px, edges, own, height_mm)
    known = face.known if radius_mm is None else Known(radius_mm=radius_mm)
    counted = gauge_of(
        picture.pixels, face.mm_per_px, technique=technique, box=corners, scale_sd=face.rel_sd, known=known,
        where=photo.name,
    )  # fmt: skip
    warn((*picture.warnings, *([face.words] if face.known is not None else []), *counted.warnings))
    if as_json:
        print_json(counted.to_record())
        return
    show(counted)


def _face(
    picture: Photograph,
    scale_bar: str | None,
    mm_per_px: float | None,
    edges: str | None,
    own: OwnProfile | None,
    height_mm: float | None,
) -> FaceScale:
    """The scale from whichever of the three was given."""
    just_one("gauge", {"--scale-bar": scale_bar, "--mm-per-px": mm_per_px, "--edges": edges})
    if scale_bar is not None:
        bar = numbers(scale_bar, 5, "--scale-bar", "five numbers X1,Y1,X2,Y2,MM")
        return scale_by_bar(bar, own, height_mm, where="gauge --scale-bar")
    if edges is not None:
        if own is None or height_mm is None:
            expected = "how high on the piece the edges are, in mm, with --profile, or --collection and --piece"
            raise InputError("gauge", "--at", None, expected)
        x1, y1, x2, y2 = numbers(edges, 4, "--edges", "four numbers X1,Y1,X2,Y2 in pixels")
        size = (picture.width_px, picture.height_px)
        return scale_by_edges(
            (x1, y1, x2, y2), own, height_mm, focal_35mm=picture.focal_35mm, size_px=size, where="gauge --edges"
        )
    known = None if own is None or height_mm is None else own.known_at(height_mm, "gauge --at")
    return FaceScale(
        mm_per_px or 0.0, 0.0, known, (0.0, 0.0, 0.0, 0.0, 0.0), "Scale as given; the wall by the profile."
    )


def _profile(
    profile: Path | None, collection: Path | None, piece: str | None, height_mm: float | None
) -> OwnProfile | None:
    """The profile that was pointed to, if one was."""
    both_or_neither("gauge", {"--collection": collection, "--piece": piece})
    given = profile is not None or collection is not None
    if given and height_mm is None:
        raise InputError("gauge", "--at", None, "how high on the piece the picture was taken, in mm, beside a profile")
    if height_mm is not None and not given:
        raise InputError("gauge", "--profile", None, "given beside --at, or --collection and --piece instead")
    if profile is not None:
        return profile_from_outline(read_text(profile, OWN_PROFILE), profile.name)
    if collection is None or piece is None:
        return None
    with existing_collection(collection) as opened:
        found = own_profile(opened, piece)
    if found is None:
        raise InputError("gauge", "--piece", piece, "a piece whose front view has a measured outline")
    return found


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
