"""A rollout as a picture to keep: at its stated scale, with a ruler along two edges and the scale in the file."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass

from PIL import Image, ImageDraw, ImageFont

from weftglass.photos.rollout import Rollout

MARGIN = 46
FOOT = 64
INK, PALE, MARK = (40, 36, 30), (120, 112, 100), (176, 32, 80)
MM_PER_INCH = 25.4


@dataclass(frozen=True)
class BandMark:
    """
    A band to mark on the picture.

    Parameters
    ----------
    top_row, bottom_row : int
        Of the rollout's picture.
    label : str
        Short, beside the band.
    columns : tuple of float
        Where repeats begin.
    """

    top_row: int
    bottom_row: int
    label: str
    columns: tuple[float, ...] = ()


def ruled_picture(rollout: Rollout, marks: Sequence[BandMark] = ()) -> Image.Image:
    """
    The rollout with mm rulers: up the wall on the left, round the reference girth below, and a line of what it is.

    Parameters
    ----------
    rollout : Rollout
    marks : sequence of BandMark
        Drawn on the picture; none leaves it as photographed.

    Returns
    -------
    PIL.Image.Image
        RGB, with ``info["dpi"]`` set to the rollout's scale.
    """
    rows, columns = rollout.picture.shape[:2]
    sheet = Image.new("RGB", (columns + 2 * MARGIN, rows + FOOT + 10), (255, 255, 255))
    sheet.paste(Image.fromarray(rollout.picture), (MARGIN, 10))
    draw = ImageDraw.Draw(sheet)
    scale = rollout.px_per_mm
    tick = 1 if scale >= 4 else 5
    for mm in range(0, int(rollout.girth_mm) + 1, tick):
        x = MARGIN + mm * scale
        draw.line([(x, 10 + rows + 2), (x, 10 + rows + _length(mm))], INK)
        if mm % 20 == 0:
            draw.text((x, 10 + rows + 14), str(mm), INK, font=_font(11), anchor="ma")
    for mm in range(0, int(rollout.run_mm[0]) + 1, tick):
        y = 10 + rows - mm * scale
        draw.line([(MARGIN - _length(mm), y), (MARGIN - 2, y)], INK)
        if mm % 20 == 0:
            draw.text((MARGIN - 14, y), str(mm), INK, font=_font(11), anchor="rm")
    for mark in marks:
        _draw_mark(draw, mark, columns)
    draw.text((MARGIN, 10 + rows + 32), caption(rollout), PALE, font=_font(12))
    sheet.info["dpi"] = (scale * MM_PER_INCH, scale * MM_PER_INCH)
    return sheet


def caption(rollout: Rollout) -> str:
    """What the picture is, in one line."""
    extent = "whole round" if rollout.round else "the seen part"
    return (
        f"{extent}; {rollout.px_per_mm:g} pixels per mm along the wall, and round it at the girth of "
        f"{rollout.girth_mm:.1f} ± {rollout.girth_sd_mm:.1f} mm; mm rulers"
    )


def picture_bytes(picture: Image.Image, kind: str = "PNG") -> bytes:
    """
    A picture as a PNG or TIFF file that carries its resolution.

    Parameters
    ----------
    picture : PIL.Image.Image
        As `ruled_picture` makes it.
    kind : str
        PNG or TIFF.
    """
    out = io.BytesIO()
    more = {"compression": "tiff_lzw"} if kind == "TIFF" else {"optimize": True}
    picture.save(out, kind, dpi=picture.info["dpi"], **more)
    return out.getvalue()


def plain_picture(rollout: Rollout) -> Image.Image:
    """The rollout alone, with its resolution noted."""
    picture = Image.fromarray(rollout.picture)
    picture.info["dpi"] = (rollout.px_per_mm * MM_PER_INCH, rollout.px_per_mm * MM_PER_INCH)
    return picture


def _length(mm: int) -> int:
    return 12 if mm % 10 == 0 else 8 if mm % 5 == 0 else 5


def _font(size: int) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    return ImageFont.load_default(size)


def _draw_mark(draw: ImageDraw.ImageDraw, mark: BandMark, columns: int) -> None:
    left, right = MARGIN, MARGIN + columns
    for row in (mark.top_row, mark.bottom_row):
        draw.line([(left, 10 + row), (right, 10 + row)], MARK)
    for column in mark.columns:
        x = MARGIN + column
        draw.line([(x, 10 + mark.top_row), (x, 10 + mark.bottom_row)], MARK)
    middle = 10 + (mark.top_row + mark.bottom_row) / 2
    draw.text((right + 6, middle), mark.label, MARK, font=_font(11), anchor="lm")
