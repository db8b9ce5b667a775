"""Facts of the page that samples the colour of the glass on a photograph."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import quote

from markupsafe import Markup

from weftglass.desk.colours import ColourSample
from weftglass.desk.photographs import ViewOnPhoto
from weftglass.weave.colour import srgb_of_lab
from weftglass.web.door import FormFault
from weftglass.web.pages.addresses import bench_address, photo_address, piece_address
from weftglass.web.pages.wording import percent_text

USUAL_SHARE = 0.012  # of the photograph's width: radius of a spot before anybody chose one


@dataclass(frozen=True)
class SampleFacts:
    """A colour that was read: its figures in words, a swatch, the nearest names, and where to keep it."""

    lab: str
    uneven: str
    swatch: Markup
    names: str
    keep_href: str
    x: str
    y: str
    radius: str


@dataclass(frozen=True)
class ColourFacts:
    """The page: the photograph to click on, the spot as numbers, and what was read there."""

    piece_name: str
    piece_href: str
    bench_href: str
    read_href: str
    photo_href: str
    width: int
    height: int
    x: str
    y: str
    radius: str
    sample: SampleFacts | None
    fault: FormFault | None


def colour_address(piece: str, view: str) -> str:
    """Address of the colour page of a view."""
    return f"{piece_address(piece)}/colour/{quote(view, safe='')}"


def colour_facts(
    piece_name: str, seen: ViewOnPhoto, sample: ColourSample | None, fault: FormFault | None
) -> ColourFacts:
    """Put the page together; the spot of a sample stays where it was put."""
    view, photo = seen.view, seen.photo
    spot = (0.5 * photo.width_px, 0.5 * photo.height_px, max(USUAL_SHARE * photo.width_px, 4.0))
    if sample is not None:
        spot = (sample.x, sample.y, sample.radius)
    return ColourFacts(
        piece_name,
        piece_address(view.piece),
        bench_address(view),
        colour_address(view.piece, view.id),
        photo_address(photo.id, "large"),
        photo.width_px,
        photo.height_px,
        f"{spot[0]:.0f}",
        f"{spot[1]:.0f}",
        f"{spot[2]:.0f}",
        None if sample is None else sample_facts(sample, colour_address(view.piece, view.id)),
        fault,
    )


def sample_facts(sample: ColourSample, address: str) -> SampleFacts:
    """What was read, in words."""
    red, green, blue = (round(255 * float(part)) for part in srgb_of_lab(sample.lab))
    fill = f"#{red:02x}{green:02x}{blue:02x}"
    swatch = Markup(
        '<svg class="swatch" viewBox="0 0 60 24" role="img" aria-label="The colour that was read">'
        f'<rect width="60" height="24" fill="{fill}"/></svg>'
    )
    lightness, a, b = sample.lab
    named = ", ".join(f"{name} ({percent_text(chance)})" for name, chance in sample.nearest)
    return SampleFacts(
        f"L* {lightness:.0f}, a* {a:.0f}, b* {b:.0f}",
        f"half of the spot lies within {sample.spread:.0f} of it",
        swatch,
        named,
        f"{address}/keep",
        f"{sample.x:.1f}",
        f"{sample.y:.1f}",
        f"{sample.radius:.1f}",
    )
