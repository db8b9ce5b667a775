"""A close-up as a figure: the rows and stitches counted drawn over the photograph, and the map of local gauge."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from markupsafe import Markup, escape

from weftglass.weave import Gauge, LocalGauge

FINER = 0.04  # relative; less is not told apart


def covering_svg(href: str, size: tuple[int, int], gauge: Gauge | None, words: str) -> Markup:
    """
    The photograph with what was counted on it, in its own pixels.

    Parameters
    ----------
    href : str
        Address of the picture, upright, of any size with the photograph's proportions.
    size : tuple (width, height)
        Of the photograph in pixels.
    gauge : Gauge or None
        None: the photograph alone.
    words : str
        What the figure shows, for those who do not see it.
    """
    width, height = size
    parts = [
        f'<svg class="covering-figure" viewBox="0 0 {width} {height}" role="img" aria-label="{escape(words)}" '
        f'data-covering-figure><image href="{escape(href)}" width="{width}" height="{height}"/>'
    ]
    if gauge is not None:
        parts += [f'<path class="row-line" d="{_path(line)}"/>' for line in gauge.row_lines]
        if gauge.stitch_marks is not None and len(gauge.stitch_marks):
            tall = 0.25 * _pitch(gauge)
            marks = "".join(f"M{x:.1f} {y - tall:.1f}v{2 * tall:.1f}" for x, y in gauge.stitch_marks)
            parts.append(f'<path class="stitch-mark" d="{marks}"/>')
    parts.append("<g data-drawn></g></svg>")
    return Markup("".join(parts))


def local_svg(windows: Sequence[LocalGauge], middle: float, words: str) -> Markup:
    """Map of rows per cm, window by window: darker where the work is finer than the whole, lighter where coarser."""
    x = sorted({round((one.box_px[0] + one.box_px[2]) / 2, 1) for one in windows})
    y = sorted({round((one.box_px[1] + one.box_px[3]) / 2, 1) for one in windows})
    wide, tall = 64, 34
    parts = [f'<svg class="local-gauge" viewBox="0 0 {wide * len(x)} {tall * len(y)}" role="img" '
             f'aria-label="{escape(words)}">']  # fmt: skip
    for one in windows:
        i = x.index(round((one.box_px[0] + one.box_px[2]) / 2, 1))
        j = y.index(round((one.box_px[1] + one.box_px[3]) / 2, 1))
        told = "–" if one.rows_per_cm is None else f"{one.rows_per_cm:.1f}"
        off = 0.0 if one.rows_per_cm is None else one.rows_per_cm / middle - 1
        kind = "even" if abs(off) < FINER else "finer" if off > 0 else "coarser"
        parts.append(
            f'<g class="{kind}"><rect x="{i * wide}" y="{j * tall}" width="{wide}" height="{tall}"/>'
            f'<text x="{(i + 0.5) * wide}" y="{(j + 0.66) * tall}">{told}</text></g>'
        )
    return Markup("".join([*parts, "</svg>"]))


def _path(line: np.ndarray) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in line)


def _pitch(gauge: Gauge) -> float:
    middles = sorted(float(np.mean(line[:, 1])) for line in gauge.row_lines)
    return float(np.median(np.diff(middles))) if len(middles) > 2 else 10.0
