"""Draws the year curves of a piece: glass and covering over one axis, and under them the years of each item."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup, escape
from numpy.typing import NDArray

from weftglass.dating import YEARS, DateSpan, Dating, Item

INK, SOFT, LINE, GLASS, GLASS_TINT, CANE, CANE_TINT, STOP = (
    "#25221c", "#5c5548", "#d6cfbf", "#1f5a4c", "#cfe3da", "#a8762f", "#f2e6d0", "#8a3315",
)  # fmt: skip
WIDE, LEFT, RIGHT, TOP = 460.0, 10.0, 10.0, 14.0
SHOWN_WIDE = 690  # pixels on a wide screen; narrow ones shrink it
CURVE, LANE, BRACKET = 130.0, 30.0, 34.0
LETTERING = 15
LEAST_SPAN = 60  # years shown at least
MOST_LANES = 14


@dataclass(frozen=True)
class _Axis:
    first: int
    last: int

    def x(self, year: float) -> float:
        share = (year - self.first) / (self.last - self.first)
        return LEFT + (WIDE - LEFT - RIGHT) * min(max(share, 0.0), 1.0)


def year_curves_svg(dating: Dating, title: str) -> Markup | None:
    """
    The year curves as SVG that can be saved; None where nothing dates the piece.

    Parameters
    ----------
    dating : Dating
    title : str
        What the picture is called.
    """
    spans = [part.span for part in (dating.glass, dating.covering) if part.span is not None]
    if not spans:
        return None
    items = [*dating.glass.items, *dating.covering.items][:MOST_LANES]
    axis = _axis(spans)
    clashing = {name for clash in dating.clashes for name in (clash.first, clash.second)}
    base = TOP + CURVE
    lanes = base + 32 + 2 * BRACKET
    tall = lanes + LANE * len(items) + 8
    parts = [_opening(tall, title, _described(dating)), _grid(axis, base, tall)]
    parts += [
        _curve(dating.covering.curve, axis, base, CANE, CANE_TINT),
        _curve(dating.glass.curve, axis, base, GLASS, GLASS_TINT),
    ]
    parts.append(f'<path d="M{LEFT} {base}H{WIDE - RIGHT}" stroke="{SOFT}"/>')
    for place, (name, part, colour) in enumerate((("glass", dating.glass, GLASS), ("covering", dating.covering, CANE))):
        if part.span is not None:
            parts.append(_bracket(name, part.span, axis, base + 52 + place * BRACKET, colour))
    for place, item in enumerate(items):
        colour = STOP if item.name in clashing else GLASS if item.part == "glass" else CANE
        parts.append(_lane(item, axis, lanes + LANE * place, colour))
    return Markup("".join([*parts, "</svg>"]))


def _axis(spans: Sequence[DateSpan]) -> _Axis:
    first = min(span.earliest for span in spans) - 8
    last = max(span.latest for span in spans) + 8
    short = max(0, LEAST_SPAN - (last - first)) // 2
    return _Axis(max(int(YEARS[0]), first - short), min(int(YEARS[-1]), last + short))


def _opening(tall: float, title: str, described: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:.0f} {tall:.0f}" width="{SHOWN_WIDE}" role="img" '
        f'class="chart" font-family="serif" font-size="{LETTERING}"><title>{escape(title)}</title>'
        f"<desc>{escape(described)}</desc>"
        f'<rect width="{WIDE:.0f}" height="{tall:.0f}" fill="#fcfaf5"/>'
    )


def _described(dating: Dating) -> str:
    said = [f"{part.part}: {part.span.words}" for part in (dating.glass, dating.covering) if part.span is not None]
    return "; ".join(said)


def _grid(axis: _Axis, base: float, tall: float) -> str:
    step = next(s for s in (5, 10, 20, 25, 50, 100, 200) if (axis.last - axis.first) / s <= 7)
    drawn = []
    for year in range(-(-axis.first // step) * step, axis.last + 1, step):
        x = axis.x(year)
        anchor = "start" if x < 40 else "end" if x > WIDE - 40 else "middle"
        drawn.append(
            f'<path d="M{x:.1f} {TOP - 4}V{tall - 4:.1f}" stroke="{LINE}" stroke-width="0.8"/>'
            f'<text x="{x:.1f}" y="{base + 18:.1f}" text-anchor="{anchor}" fill="{SOFT}">{year}</text>'
        )
    return "".join(drawn)


def _curve(curve: NDArray[np.float64], axis: _Axis, base: float, colour: str, tint: str) -> str:
    shown = (axis.first <= YEARS) & (axis.last >= YEARS)
    years, share = YEARS[shown], curve[shown]
    height = share / share.max() * (CURVE - 6)
    points = "L".join(f"{axis.x(float(y)):.1f} {base - h:.1f}" for y, h in zip(years, height, strict=True))
    return (
        f'<path d="M{LEFT} {base}L{points}L{WIDE - RIGHT} {base}Z" fill="{tint}" fill-opacity="0.7" stroke="none"/>'
        f'<path d="M{points}" fill="none" stroke="{colour}" stroke-width="2"/>'
    )


def _bracket(name: str, span: DateSpan, axis: _Axis, y: float, colour: str) -> str:
    """Outer range as a line, likely range as a bar, the name above it."""
    x1, x2, x3, x4 = (axis.x(year) for year in (span.earliest, span.likely_from, span.likely_to + 1, span.latest))
    words = f"{name} {span.likely_from}" + ("" if span.likely_from == span.likely_to else f" to {span.likely_to}")
    text = f'x="{x4:.1f}" text-anchor="end"' if x1 > WIDE / 2 else f'x="{x1:.1f}"'
    return (
        f'<path d="M{x1:.1f} {y:.1f}H{x4:.1f}M{x1:.1f} {y - 4:.1f}v8M{x4:.1f} {y - 4:.1f}v8" stroke="{colour}"/>'
        f'<rect x="{x2:.1f}" y="{y - 5:.1f}" width="{max(x3 - x2, 3):.1f}" height="10" fill="{colour}"/>'
        f'<text {text} y="{y - 9:.1f}" fill="{INK}">{escape(words)}</text>'
    )


def _lane(item: Item, axis: _Axis, y: float, colour: str) -> str:
    """An item's years as a thin bar under its words; an open end fades out at the picture's edge."""
    low, high = item.bounds
    x1 = LEFT if low is None else axis.x(low)
    x2 = WIDE - RIGHT if high is None else max(axis.x(high + 1), x1 + 3)
    words = f"{item.part}: {item.name}, {item.years_words}"
    short = words if len(words) <= 62 else f"{words[:61]}…"
    lettering = colour if colour == STOP else INK
    open_ends = "".join(
        f'<path d="M{x:.1f} {y + 19:.1f}h{reach}" stroke="{colour}" stroke-dasharray="2 3" stroke-width="3"/>'
        for x, reach, is_open in ((x1, 14, low is None), (x2 - 14, 14, high is None))
        if is_open
    )
    inner1, inner2 = x1 + (14 if low is None else 0), x2 - (14 if high is None else 0)
    return (
        f'<text x="{LEFT}" y="{y + 12:.1f}" fill="{lettering}" font-size="13">{escape(short)}</text>'
        f'<path d="M{inner1:.1f} {y + 19:.1f}H{max(inner2, inner1 + 1):.1f}" stroke="{colour}" stroke-width="4"/>'
        f"{open_ends}"
    )
