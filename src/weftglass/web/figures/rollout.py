"""A rollout as a figure: the picture between mm rulers, its bands and repeats marked."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup, escape

from weftglass.publish import DESK, Size

LEFT, FOOT = 56.0, 30.0
UNITS: dict[Size, float] = {"at-desk": 75.0, "at-hand": 40.0}
"""The longer side of the picture in units of the rulers, whose letters are 1.6 high."""


def rollout_svg(
    geometry: dict[str, Any], marks: tuple[dict[str, Any], ...], href: str, words: str, *, size: Size = DESK
) -> Markup:
    """
    SVG in the picture's own pixels, a ruler up the wall on the left and one round the girth below.

    Parameters
    ----------
    geometry : dict
        As `Rollout.geometry` gives it.
    marks : tuple of dict
        Rows ``top_row``, ``bottom_row``, ``label`` and ``columns`` where repeats begin.
    href : str
        Address of the plain picture.
    words : str
        What the figure shows, for those who do not see it.
    size : {'at-desk', 'at-hand'}
        In the hand the rulers' letters are larger against the picture.
    """
    rows, columns, scale = geometry["rows"], geometry["columns"], geometry["px_per_mm"]
    unit = max(columns, rows) / UNITS[size]
    parts = [
        f'<svg class="rollout-figure {size}" viewBox="{-LEFT * unit / 10:.1f} {-unit:.1f} '
        f'{columns + (LEFT + 34) * unit / 10:.1f} {rows + FOOT * unit / 8 + unit:.1f}" role="img" '
        f'aria-label="{escape(words)}"><image href="{escape(href)}" width="{columns}" height="{rows}"/>'
    ]
    parts += [_across(mm, mm * scale, rows, unit) for mm in range(0, int(geometry["girth_mm"]) + 1, 10)]
    parts += [_up(mm, rows - mm * scale, unit) for mm in range(0, int(geometry["along_wall_mm"]) + 1, 10)]
    parts += [_band(mark, columns, unit) for mark in marks]
    return Markup("".join(parts) + "</svg>")


def _across(mm: int, x: float, rows: float, unit: float) -> str:
    long = mm % 50 == 0
    text = f'<text x="{x:.1f}" y="{rows + 3.1 * unit:.1f}" font-size="{1.6 * unit:.1f}">{mm}</text>' if long else ""
    return f'<path class="tick" d="M{x:.1f} {rows}V{rows + (1.3 if long else 0.7) * unit:.1f}"/>{text}'


def _up(mm: int, y: float, unit: float) -> str:
    long = mm % 50 == 0
    text = ""
    if long:
        text = (
            f'<text class="end" x="{-1.6 * unit:.1f}" y="{y + 0.5 * unit:.1f}" font-size="{1.6 * unit:.1f}">{mm}</text>'
        )
    return f'<path class="tick" d="M0 {y:.1f}H{-(1.3 if long else 0.7) * unit:.1f}"/>{text}'


def _band(mark: dict[str, Any], columns: float, unit: float) -> str:
    top, bottom = mark["top_row"], mark["bottom_row"]
    lines = "".join(f"M{column:.1f} {top}V{bottom}" for column in mark["columns"])
    label = escape(mark["label"].replace(" x", "\u00d7"))
    return (
        f'<g class="band-mark"><path d="M0 {top}H{columns}M0 {bottom}H{columns}{lines}"/>'
        f'<text x="{columns + 0.8 * unit:.1f}" y="{(top + bottom) / 2 + 0.5 * unit:.1f}" font-size="{1.8 * unit:.1f}" '
        f'class="start">{label}</text></g>'
    )


def swatch_svg(colour: str) -> Markup:
    """A small square of one colour; decoration, its name stands beside it."""
    return Markup(
        f'<svg class="swatch" viewBox="0 0 10 10" aria-hidden="true" focusable="false">'
        f'<rect width="10" height="10" fill="{escape(colour)}"/></svg>'
    )
