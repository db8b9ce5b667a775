"""Draws a candidate vessel inside the outline of its covered piece, with the clearance beside it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from markupsafe import Markup, escape
from numpy.typing import NDArray

Rows = NDArray[np.float64]

INK = "#25221c"
SOFT = "#5c5548"
GLASS = "#1f5a4c"
GLASS_TINT = "#cfe3da"
CANE = "#a8762f"
CANE_TINT = "#f2e6d0"
STOP = "#8a3315"
OUTSIDE_MM = -0.5  # less than this outside is drawn as touching
MARGIN = 16.0  # in units of the drawing
LETTERS = 7.0  # likewise; about 13 pixels where the drawing has a phone's width
CLEARANCE_STRETCH = 4.0  # the strip beside the drawing shows clearance four times enlarged


@dataclass(frozen=True, eq=False)
class Fitted:
    """
    One vessel in one outline, all in the outline's frame.

    Parameters
    ----------
    outline, vessel : array, shape (n, 2)
        Rows of (height z, half-width) in mm, z upward.
    clearance : array, shape (n, 2)
        Rows of (height z, gap in mm between glass and outer edge); negative where the glass would stick out.
    bare : tuple of (low, high)
        Height ranges in mm where glass itself is the outer edge.
    left_out : tuple of (low, high)
        Height ranges in mm whose edge was not read as evidence: a strap, a knot, a bulge.
    """

    outline: Rows
    vessel: Rows
    clearance: Rows
    bare: tuple[tuple[float, float], ...] = ()
    left_out: tuple[tuple[float, float], ...] = ()


def vessel_in_outline_svg(fitted: Fitted, name: str, scale_sentence: str = "") -> Markup:
    """
    SVG of the vessel in its covering: both edges, the covering between them, and clearance against height.

    One user unit is one millimetre. Colours stand in presentation attributes so that a saved file looks right; the
    pages restyle the classes for day and night. The title and description say in words what is drawn.
    """
    top = float(max(fitted.outline[-1, 0], fitted.vessel[-1, 0]))
    low = float(min(0.0, fitted.vessel[0, 0]))
    wide = float(max(fitted.outline[:, 1].max(), fitted.vessel[:, 1].max()))
    unit = max(top / 220.0, 0.45)
    margin = MARGIN * unit
    strip = max(CLEARANCE_STRETCH * (float(_shown_gap(fitted).max(initial=1.0)) + 1.0), 36.0 * unit)
    strip_x = wide + margin
    box = f"{-strip_x:.1f} {-top - margin:.1f} {strip_x + strip_x + strip:.1f} {top - low + 2 * margin:.1f}"
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" role="img" class="fitted" font-family="serif">',
        f"<title>{escape(name)} drawn inside the outline</title>",
        f"<desc>{escape(_described(fitted, name, scale_sentence))}</desc>",
        _shape(fitted.outline, "cover", CANE_TINT, CANE, 0.7 * unit),
        _weave(fitted, unit),
        _shape(fitted.vessel, "glass", GLASS_TINT, GLASS, 0.9 * unit),
        _line(_closed(fitted.outline), "outer-edge", INK, 0.6 * unit),
        _bare_marks(fitted, unit),
        _left_out_marks(fitted, unit),
        f'<path class="axis-line" d="M0 {-low + 4:.1f}V{-top - 4:.1f}" stroke="{SOFT}" fill="none" '
        f'stroke-width="{0.35 * unit:.2f}" '
        f'stroke-dasharray="{6 * unit:.1f} {1.5 * unit:.1f} {unit:.1f} {1.5 * unit:.1f}"/>',
        _clearance_strip(fitted, strip_x, strip_x + strip - unit, unit),
        "</svg>",
    ]
    return Markup("".join(parts))


def _closed(rows: Rows) -> str:
    right = [f"{half:.2f} {-z:.2f}" for z, half in rows]
    left = [f"{-half:.2f} {-z:.2f}" for z, half in rows[::-1]]
    return "M" + "L".join([*right, *left]) + "Z"


def _shape(rows: Rows, kind: str, fill: str, stroke: str, width: float) -> str:
    return (
        f'<path class="{kind}" d="{_closed(rows)}" fill="{fill}" stroke="{stroke}" stroke-width="{width:.2f}" '
        f'stroke-linejoin="round"/>'
    )


def _line(path: str, kind: str, stroke: str, width: float) -> str:
    pen = f'fill="none" stroke="{stroke}" stroke-width="{width:.2f}" stroke-linejoin="round"'
    return f'<path class="{kind}" d="{path}" {pen}/>'


def _weave(fitted: Fitted, unit: float) -> str:
    """Short slanted strokes across the covering on both sides, a row every few millimetres, none where it is bare."""
    marks = []
    step = 3.2 * unit
    for z in np.arange(step, fitted.outline[-1, 0], step):
        if any(low <= z <= high for low, high in (*fitted.bare, *fitted.left_out)):
            continue
        outer = float(np.interp(z, fitted.outline[:, 0], fitted.outline[:, 1]))
        inner = min(float(np.interp(z, fitted.vessel[:, 0], fitted.vessel[:, 1], left=0.0, right=0.0)), outer)
        if outer - inner < 0.5 * unit:
            continue
        rise = min(1.6 * unit, outer - inner)
        marks += [f"M{side * inner:.2f} {-z:.2f}L{side * outer:.2f} {-z - rise:.2f}" for side in (-1, 1)]
    return f'<path class="weave" d="{"".join(marks)}" stroke="{CANE}" stroke-width="{0.8 * unit:.2f}" fill="none"/>'


def _bare_marks(fitted: Fitted, unit: float) -> str:
    """A bracket beside each bare range."""
    x = -float(fitted.outline[:, 1].max()) - 5.0 * unit
    marks = [f"M{x + 2:.1f} {-low:.1f}H{x:.1f}V{-high:.1f}H{x + 2:.1f}" for low, high in fitted.bare]
    words = [
        f'<text class="mark-words" transform="translate({x - 2 * unit:.1f} {-(low + high) / 2:.1f}) rotate(-90)" '
        f'text-anchor="middle" font-size="{LETTERS * unit:.1f}" fill="{GLASS}">bare</text>'
        for low, high in fitted.bare
    ]
    return _line("".join(marks), "bare-mark", GLASS, 0.6 * unit) + "".join(words) if marks else ""


def _left_out_marks(fitted: Fitted, unit: float) -> str:
    """Hatching against the weave's slant where the edge was not read, with a bracket on the other side than bare."""
    x = float(fitted.outline[:, 1].max()) + 5.0 * unit
    low_end, high_end = float(fitted.outline[0, 0]), float(fitted.outline[-1, 0])
    ranges = [(max(low, low_end), min(high, high_end)) for low, high in fitted.left_out]
    ranges = [(low, high) for low, high in ranges if low < high]
    if not ranges:
        return ""
    step, rise = 2.0 * unit, 2.4 * unit
    heights = [z for low, high in ranges for z in (*np.arange(low, high - rise, step), max(high - rise, low))]
    hatching = []
    for z in heights:
        outer = float(np.interp(z, fitted.outline[:, 0], fitted.outline[:, 1]))
        glass = float(np.interp(z, fitted.vessel[:, 0], fitted.vessel[:, 1], left=0.0, right=0.0))
        inner = min(glass, outer - 2.0 * unit)
        hatching += [f"M{side * outer:.2f} {-z:.2f}L{side * inner:.2f} {-z - rise:.2f}" for side in (-1, 1)]
    brackets = "".join(f"M{x - 2:.1f} {-low:.1f}H{x:.1f}V{-high:.1f}H{x - 2:.1f}" for low, high in ranges)
    words = "".join(
        f'<text class="mark-words" transform="translate({x + 2 * unit:.1f} {-(low + high) / 2:.1f}) rotate(90)" '
        f'text-anchor="middle" font-size="{LETTERS * unit:.1f}" fill="{SOFT}">left out</text>'
        for low, high in ranges
    )
    drawn = _line("".join(hatching), "left-out", SOFT, 0.5 * unit) + _line(brackets, "left-out", SOFT, 0.6 * unit)
    return drawn + words


def _clearance_strip(fitted: Fitted, x: float, right: float, unit: float) -> str:
    """Clearance against height from ``x`` on, four times enlarged, with lines at whole mm; named at its right."""
    if not len(fitted.clearance):
        return ""
    z, gap = fitted.clearance[:, 0], _shown_gap(fitted)
    low, high = float(z[0]), float(z[-1])
    size = LETTERS * unit
    lines = []
    most = int(np.ceil(gap.max(initial=1.0)))
    for mm in range(0, most + 1, _grid_step(unit)):
        at = x + CLEARANCE_STRETCH * mm
        lines.append(
            f'<path class="grid-line" d="M{at:.1f} {-low:.1f}V{-high:.1f}" stroke="{SOFT}" stroke-opacity="0.5" '
            f'stroke-width="{(0.5 if mm == 0 else 0.25) * unit:.2f}"/>'
            f'<text class="mark-words" x="{at:.1f}" y="{-low + 9 * unit:.1f}" text-anchor="middle" '
            f'font-size="{size:.1f}" fill="{SOFT}">{mm}</text>'
        )
    area = f"M{x:.1f} {-low:.1f}" + "".join(
        f"L{x + CLEARANCE_STRETCH * max(g, 0.0):.2f} {-h:.2f}" for h, g in zip(z, gap, strict=True)
    )
    area += f"L{x:.1f} {-high:.1f}Z"
    out = "".join(
        f"M{x:.2f} {-h:.2f}L{x + CLEARANCE_STRETCH * g:.2f} {-h:.2f}"
        for h, g in zip(z, gap, strict=True)
        if g < OUTSIDE_MM
    )
    return (
        "".join(lines) + f'<path class="gap" d="{area}" fill="{CANE}" fill-opacity="0.45" stroke="{CANE}" '
        f'stroke-width="{0.5 * unit:.2f}"/>'
        + (_line(out, "sticks-out", STOP, 1.2 * unit) if out else "")
        + f'<text class="mark-words" x="{right:.1f}" y="{-high - 4 * unit:.1f}" text-anchor="end" '
        f'font-size="{size:.1f}" fill="{SOFT}">clearance, mm</text>'
    )


def _shown_gap(fitted: Fitted) -> Rows:
    """Clearance as far as the strip shows it: from 4 mm outside to 12 mm inside."""
    return np.clip(fitted.clearance[:, 1], -4.0, 12.0) if len(fitted.clearance) else np.zeros(1)


def _grid_step(unit: float) -> int:
    """Distance of the strip's lines in mm, so that their figures stand clear of one another."""
    return next((step for step in (1, 2, 4, 6) if step * CLEARANCE_STRETCH >= 8 * unit), 12)


def _described(fitted: Fitted, name: str, scale_sentence: str) -> str:
    ranges = " and ".join(f"from {low:.0f} to {high:.0f} mm height" for low, high in fitted.left_out)
    left_out = f" The edge {ranges} was left out: it is not read as evidence." if ranges else ""
    if not len(fitted.clearance):
        return f"{name} drawn in the outline.{left_out} {scale_sentence}".strip()
    gap = fitted.clearance[:, 1]
    told = (
        f"Clearance between glass and outer edge from {gap.min():.1f} to {gap.max():.1f} mm, "
        f"{gap.mean():.1f} mm on average."
    )
    if (gap < OUTSIDE_MM).any():
        worst = fitted.clearance[int(gap.argmin())]
        told += f" The glass would stick out by {-worst[1]:.1f} mm at {worst[0]:.0f} mm height."
    return f"{told}{left_out} {scale_sentence}".strip()
