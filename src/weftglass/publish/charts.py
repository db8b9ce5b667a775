"""Charts of the collection as SVG text that can be saved: a table of two terms, kinds against pieces, shares."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from markupsafe import Markup, escape
from numpy.typing import NDArray

from weftglass.holdings import Estimate

INK, SOFT, LINE, GLASS, GLASS_TINT, CANE, PAPER = (
    "#25221c", "#5c5548", "#d6cfbf", "#1f5a4c", "#cfe3da", "#a8762f", "#fcfaf5",
)  # fmt: skip
CELL, HEAD, SIDE = 34.0, 150.0, 190.0
LEANING = 96.0
"""Room at the right for the last column's name, which leans that way."""
WIDE, TALL, EDGE = 520.0, 300.0, 46.0


def counts_svg(
    title: str, rows: Sequence[str], columns: Sequence[str], counts: NDArray[np.int64], marks: NDArray[np.int64]
) -> Markup:
    """
    A table as discs whose areas are the counts; a ring round those more, or less, often than chance explains.

    Parameters
    ----------
    title : str
    rows, columns : sequence of str
    counts, marks : array, shape (rows, columns)
        Pieces, and 1 where there are more than chance would put there, -1 fewer, 0 neither.
    """
    wide, tall = SIDE + CELL * len(columns) + LEANING, HEAD + CELL * len(rows) + 12
    most = float(max(int(counts.max(initial=0)), 1))
    parts = [_opening(wide, tall, title, _sentence(rows, columns, counts))]
    for j, name in enumerate(columns):
        x = SIDE + CELL * (j + 0.6)
        parts.append(
            f'<text transform="translate({x:.1f} {HEAD - 8:.1f}) rotate(-50)" font-size="12" fill="{INK}">'
            f"{escape(_short(name, 26))}</text>"
        )
    for i, name in enumerate(rows):
        y = HEAD + CELL * (i + 0.5)
        parts.append(f'<path d="M{SIDE:.1f} {y:.1f}H{wide - LEANING + 6:.1f}" stroke="{LINE}" stroke-width="0.6"/>')
        parts.append(
            f'<text x="{SIDE - 8:.1f}" y="{y + 4:.1f}" text-anchor="end" font-size="13" fill="{INK}">'
            f"{escape(_short(name, 28))}</text>"
        )
        parts += [
            _disc(SIDE + CELL * (j + 0.5), y, int(counts[i, j]), most, int(marks[i, j]))
            for j in range(len(columns))
            if counts[i, j]
        ]
    return Markup("".join([*parts, "</svg>"]))


def _disc(x: float, y: float, count: int, most: float, mark: int) -> str:
    radius = 4.0 + 11.0 * (count / most) ** 0.5
    ring = f' stroke="{CANE}" stroke-width="3"' if mark else ""
    inked = PAPER if radius > 7.5 else INK
    dy = 4.0 if radius > 7.5 else -radius - 2
    return (
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}" fill="{GLASS}"{ring}/>'
        f'<text x="{x:.1f}" y="{y + dy:.1f}" text-anchor="middle" font-size="11" fill="{inked}">{count}</text>'
    )


def growth_svg(
    pieces: NDArray[np.int64],
    kinds: NDArray[np.float64],
    low: NDArray[np.float64],
    high: NDArray[np.float64],
    at_hand: int,
    words: str,
) -> Markup:
    """Kinds against pieces, with its band; what is extrapolated is dashed."""
    top = float(high.max()) * 1.05
    x = EDGE + (WIDE - EDGE - 12) * pieces / float(pieces.max())
    up = (TALL - EDGE - 12) / top

    def y(values: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(TALL - EDGE - values * up)

    band = [*zip(x, y(high), strict=True), *zip(x[::-1], y(low)[::-1], strict=True)]
    known = pieces <= at_hand
    here = float(x[pieces == at_hand][0])
    parts = [
        _opening(WIDE, TALL, words, f"{kinds[known][-1]:.0f} kinds among {at_hand} pieces at hand."),
        f'<path d="M{_points(band)}Z" fill="{GLASS_TINT}"/>',
        f'<path d="M{_points(list(zip(x[known], y(kinds)[known], strict=True)))}" {_pen(GLASS, 2)}/>',
        f'<path d="M{_points(list(zip(x[pieces >= at_hand], y(kinds)[pieces >= at_hand], strict=True)))}" '
        f'{_pen(GLASS, 2)} stroke-dasharray="6 4"/>',
        f'<path d="M{here:.1f} {TALL - EDGE:.1f}V12" {_pen(CANE, 1)}/>',
        f'<path d="M{EDGE:.1f} 12V{TALL - EDGE:.1f}H{WIDE - 12:.1f}" {_pen(SOFT, 1)}/>',
        f'<text x="{here + 4:.1f}" y="24" font-size="12" fill="{SOFT}">at hand: {at_hand}</text>',
    ]
    across = (WIDE - EDGE - 12) / float(pieces.max())
    parts += [_words(EDGE - 6, TALL - EDGE - value * up + 4, f"{value:g}", "end") for value in _ticks(top)]
    parts += [
        _words(EDGE + across * value, TALL - EDGE + 16, f"{value:g}", "middle") for value in _ticks(float(pieces.max()))
    ]
    parts += [
        _words((WIDE + EDGE) / 2, TALL - 8, "pieces", "middle"),
        f'<text transform="translate(12 {TALL / 2:.1f}) rotate(-90)" text-anchor="middle" font-size="12" '
        f'fill="{SOFT}">kinds</text>',
    ]
    return Markup("".join([*parts, "</svg>"]))


def _opening(wide: float, tall: float, title: str, described: str, look: str = "") -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:.0f} {tall:.0f}" role="img" '
        f'class="{f"chart {look}".strip()}" '
        f'font-family="serif"><title>{escape(title)}</title><desc>{escape(described)}</desc>'
    )


def _sentence(rows: Sequence[str], columns: Sequence[str], counts: NDArray[np.int64]) -> str:
    filled = [
        f"{row} on {column}: {counts[i, j]}"
        for i, row in enumerate(rows)
        for j, column in enumerate(columns)
        if counts[i, j]
    ]
    return "; ".join(filled)


def _points(points: Sequence[tuple[float, float]]) -> str:
    return "L".join(f"{a:.1f} {b:.1f}" for a, b in points)


def _pen(colour: str, width: float) -> str:
    return f'fill="none" stroke="{colour}" stroke-width="{width}"'


def _words(x: float, y: float, text: str, anchor: str) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="12" fill="{SOFT}">{escape(text)}</text>'


def _ticks(top: float) -> list[float]:
    """Round numbers from 0 to the top, about five of them."""
    step = 10.0 ** np.floor(np.log10(max(top, 1.0) / 4))
    for factor in (1, 2, 5, 10):
        if top / (step * factor) <= 6:
            break
    return [float(value) for value in np.arange(0, top, step * factor)]


def _short(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: most - 1]}…"


def shares_svg(title: str, groups: Sequence[tuple[str, Sequence[tuple[str, str, Estimate]]]]) -> Markup:
    """
    Shares with their intervals, one under the other.

    Parameters
    ----------
    title : str
    groups : sequence of (what, lines)
        Each line: among which pieces, the count in words, and the share from 0 to 1.
    """
    side, lane, head, right = 150.0, 22.0, 28.0, 700.0
    top = min(1.0, max(0.05, *(share.high for _, lines in groups for _, _, share in lines)))
    tall = 16 + sum(head + lane * len(lines) for _, lines in groups) + 34

    def x(share: float) -> float:
        return side + (right - side) * min(share, top) / top

    described = "; ".join(
        f"{what}, {among}: {count}, {100 * one.low:.1f} to {100 * one.high:.1f} %"
        for what, lines in groups
        for among, count, one in lines
    )
    parts = [_opening(right + 24, tall, title, described, "wide")]
    for value in _ticks(100 * top):
        parts.append(f'<path d="M{x(value / 100):.1f} 8V{tall - 28:.1f}" {_pen(LINE, 1)}/>')
        parts.append(_words(x(value / 100), tall - 10, f"{value:g} %", "middle"))
    y = 16.0
    for what, lines in groups:
        parts.append(
            f'<text x="8" y="{y + 10:.1f}" font-size="14" fill="{INK}" paint-order="stroke" stroke="{PAPER}" '
            f'stroke-width="4">{escape(what)}</text>'
        )
        y += head
        for among, count, share in lines:
            parts.append(_words(side - 10, y + 4, f"{among}, {count}", "end"))
            parts.append(f'<path d="M{x(share.low):.1f} {y:.1f}H{x(share.high):.1f}" {_pen(GLASS, 6)} opacity="0.45"/>')
            parts.append(f'<circle cx="{x(share.value):.1f}" cy="{y:.1f}" r="5" fill="{GLASS}"/>')
            y += lane
    return Markup("".join([*parts, "</svg>"]))
