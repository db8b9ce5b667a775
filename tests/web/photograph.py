"""A photograph made for the tests: a bottle in a cover on a plain ground, with a ruler whose ends are known."""

from __future__ import annotations

import io
from dataclasses import dataclass

import numpy as np
from PIL import ExifTags, Image, ImageDraw, ImageFilter

PX_PER_MM = 3.0


@dataclass(frozen=True)
class Staged:
    """
    JPEG bytes of a staged photograph.

    Parameters
    ----------
    jpeg : bytes
    ruler : (x1, y1, x2, y2)
        Ends of a 100 mm ruler, in pixels.
    top_y, base_y : float
        Where the piece begins and ends, in pixels.
    lip_y : float
        Down to here the glass is bare, in pixels.
    middle_x : float
        Its axis, in pixels.
    """

    jpeg: bytes
    ruler: tuple[float, float, float, float]
    top_y: float
    base_y: float
    lip_y: float
    middle_x: float


def staged(half_width_mm: float = 42.0, height_mm: float = 290.0) -> Staged:
    """A round-shouldered bottle, its neck bare green glass, its body covered in straw-coloured rows."""
    wide, tall = 800, 1100
    middle, base = 400.0, 1020.0
    picture = Image.new("RGB", (wide, tall), (206, 204, 198))
    pen = ImageDraw.Draw(picture)
    z = np.array([0, 3, 170, 195, 215, 270, 275, 284, 290]) * height_mm / 290.0
    half = np.array([half_width_mm - 3, half_width_mm, half_width_mm, 30, 17, 14.5, 17, 17, 14.5])
    heights = np.linspace(0, height_mm, 400)
    edges = np.interp(heights, z, half)
    right = [(middle + e * PX_PER_MM, base - h * PX_PER_MM) for e, h in zip(edges, heights, strict=True)]
    left = [(2 * middle - x, y) for x, y in reversed(right)]
    pen.polygon(right + left, fill=(150, 112, 62))
    bare = [(x, y) for x, y in right if base - y > 0.77 * height_mm * PX_PER_MM]
    pen.polygon(bare + [(2 * middle - x, y) for x, y in reversed(bare)], fill=(38, 74, 58))
    for row in range(6, int(0.77 * height_mm), 5):
        reach = float(np.interp(row, heights, edges)) * PX_PER_MM - 3
        y = base - row * PX_PER_MM
        pen.line((middle - reach, y, middle + reach, y), fill=(112, 80, 40), width=4)
    x1, y1, y2 = 130.0, 1000.0, 1000.0 - 100 * PX_PER_MM
    pen.rectangle((x1 - 16, y2 - 8, x1 + 16, y1 + 8), fill=(248, 248, 246))
    for k in range(10):
        pen.rectangle((x1, y1 - 30 * k - 30, x1 + 12, y1 - 30 * k), fill=(20, 20, 20) if k % 2 else (240, 240, 240))
    noise = np.random.default_rng(7).normal(0, 2.0, (tall, wide, 1))
    grain = np.clip(np.asarray(picture.filter(ImageFilter.GaussianBlur(1.0)), dtype=float) + noise, 0, 255)
    out = io.BytesIO()
    lens = Image.Exif()
    lens.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.FocalLengthIn35mmFilm] = 200  # from far away: no perspective drawn
    Image.fromarray(grain.astype(np.uint8)).save(out, "JPEG", quality=90, exif=lens)
    top = base - height_mm * PX_PER_MM
    return Staged(out.getvalue(), (x1, y1, x1, y2), top, base, base - 0.77 * height_mm * PX_PER_MM, middle)
