"""Draws the year curves of a piece: glass and covering over one axis, and under them the years of each item."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup
from numpy.typing import NDArray

from weftglass.dating import YEARS, DateSpan, Dating, Item
from weftglass.publish import paper
from weftglass.publish.paper import DESK, HAND_WIDE, Size, inked

SIDE, TOP = 10.0, 14.0
CURVE, BRACKET = 130.0, 34.0
LEAST_SPAN = 60  # years shown at least
MOST_LANES = 14


@dataclass(frozen=True)
class _Sheet:
    """The measures of one size: width, letters of names and of items, and how many of those a line holds."""

    wide: float
    letters: int
    small: int
    most: int
    years: int
    """Year labels at most."""

    @property
    def lane(self) -> float:
        """Height of one line of an item."""
        return self.small + 17.0


SHEETS: dict[Size, _Sheet] = {
    "at-desk": _Sheet(460.0, 15, 13, 62, 7),
    "at-hand": _Sheet(HAND_WIDE, 14, 13, 44, 5),
}


@dataclass(frozen=True)
class _Axis:
    first: int
    last: int
    wide: float

    @property
    def right(self) -> float:
        return self.wide - SIDE

    def x(self, year: float) -> float:
        share = (year - self.first) / (self.last - self.first)
        return SIDE + (self.right - SIDE) * min(max(share, 0.0), 1.0)


def year_curves_svg(dating: Dating, title: str, *, size: Size = DESK) -> Markup | None:
    """
    The year curves as SVG that can be saved; None where nothing dates the piece.

    Parameters
    ----------
    dating : Dating
    title : str
        What the picture is called.
    size : {'at-desk', 'at-hand'}
    """
    spans = [part.span for part in (dating.glass, dating.covering) if part.span is not None]
    if not spans:
        return None
    sheet = SHEETS[size]
    items = [*dating.glass.items, *dating.covering.items][:MOST_LANES]
    axis = _axis(spans, sheet.wide)
    clashing = {name for clash in dating.clashes for name in (clash.first, clash.second)}
    base = TOP + CURVE
    lanes = base + 32 + 2 * BRACKET
    tall = lanes + sheet.lane * len(items) + 8
    parts = [
        paper.opening(sheet.wide, tall, title, _described(dating), size, "years"),
        f'<rect width="{sheet.wide:.0f}" height="{tall:.0f}" {inked(fill="paper")}/>',
        _grid(axis, base, tall, sheet),
        _curve(dating.covering.curve, axis, base, "cane"),
        _curve(dating.glass.curve, axis, base, "glass"),
        paper.line(f"M{SIDE} {base}H{axis.right}", "soft", 1),
    ]
    for place, (name, part, ink) in enumerate(
        (("glass", dating.glass, "glass"), ("covering", dating.covering, "cane"))
    ):
        if part.span is not None:
            parts.append(_bracket(name, part.span, axis, base + 52 + place * BRACKET, ink, sheet.letters))
    for place, item in enumerate(items):
        ink = "stop" if item.name in clashing else "glass" if item.part == "glass" else "cane"
        parts.append(_lane(item, axis, lanes + sheet.lane * place, ink, sheet))
    return Markup("".join([*parts, "</svg>"]))


def _axis(spans: Sequence[DateSpan], wide: float) -> _Axis:
    first = min(span.earliest for span in spans) - 8
    last = max(span.latest for span in spans) + 8
    short = max(0, LEAST_SPAN - (last - first)) // 2
    return _Axis(max(int(YEARS[0]), first - short), min(int(YEARS[-1]), last + short), wide)


def _described(dating: Dating) -> str:
    said = [f"{part.part}: {part.span.words}" for part in (dating.glass, dating.covering) if part.span is not None]
    return "; ".join(said)


def _grid(axis: _Axis, base: float, tall: float, sheet: _Sheet) -> str:
    step = next(s for s in (5, 10, 20, 25, 50, 100, 200) if (axis.last - axis.first) / s <= sheet.years)
    drawn = []
    for year in range(-(-axis.first // step) * step, axis.last + 1, step):
        x = axis.x(year)
        anchor = "start" if x < SIDE + 12 else "end" if x > axis.right - 12 else "middle"
        drawn.append(
            paper.line(f"M{x:.1f} {TOP - 4}V{tall - 4:.1f}", "line", 0.8)
            + paper.words(x, base + 18, str(year), size=sheet.letters, anchor=anchor)
        )
    return "".join(drawn)


def _curve(curve: NDArray[np.float64], axis: _Axis, base: float, ink: str) -> str:
    shown = (axis.first <= YEARS) & (axis.last >= YEARS)
    years, share = YEARS[shown], curve[shown]
    height = share / share.max() * (CURVE - 6)
    points = "L".join(f"{axis.x(float(y)):.1f} {base - h:.1f}" for y, h in zip(years, height, strict=True))
    area = f"M{SIDE} {base}L{points}L{axis.right} {base}Z"
    return f'<path d="{area}" {inked(fill=f"{ink}-tint")} fill-opacity="0.7"/>' + paper.line(f"M{points}", ink, 2)


def _bracket(name: str, span: DateSpan, axis: _Axis, y: float, ink: str, letters: int) -> str:
    """Outer range as a line, likely range as a bar, the name above it."""
    x1, x2, x3, x4 = (axis.x(year) for year in (span.earliest, span.likely_from, span.likely_to + 1, span.latest))
    said = f"{name} {span.likely_from}" + ("" if span.likely_from == span.likely_to else f" to {span.likely_to}")
    at, anchor = (x4, "end") if x1 > axis.wide / 2 else (x1, "start")
    return (
        paper.line(f"M{x1:.1f} {y:.1f}H{x4:.1f}M{x1:.1f} {y - 4:.1f}v8M{x4:.1f} {y - 4:.1f}v8", ink, 1)
        + f'<rect x="{x2:.1f}" y="{y - 5:.1f}" width="{max(x3 - x2, 3):.1f}" height="10" {inked(fill=ink)}/>'
        + paper.words(at, y - 9, said, size=letters, ink="ink", anchor=anchor)
    )


def _lane(item: Item, axis: _Axis, y: float, ink: str, sheet: _Sheet) -> str:
    """An item's years as a thin bar under its words; an open end fades out at the picture's edge."""
    low, high = item.bounds
    x1 = SIDE if low is None else axis.x(low)
    x2 = axis.right if high is None else max(axis.x(high + 1), x1 + 3)
    said = paper.shortened(f"{item.part}: {item.name}, {item.years_words}", sheet.most)
    open_ends = "".join(
        paper.line(f"M{x:.1f} {y + 19:.1f}h{reach}", ink, 3, ' stroke-dasharray="2 3"')
        for x, reach, is_open in ((x1, 14, low is None), (x2 - 14, 14, high is None))
        if is_open
    )
    inner1, inner2 = x1 + (14 if low is None else 0), x2 - (14 if high is None else 0)
    return (
        paper.words(SIDE, y + 12, said, size=sheet.small, ink="stop" if ink == "stop" else "ink")
        + paper.line(f"M{inner1:.1f} {y + 19:.1f}H{max(inner2, inner1 + 1):.1f}", ink, 4)
        + open_ends
    )
