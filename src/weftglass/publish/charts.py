"""Charts of the collection as SVG text that can be saved: a table of two terms, kinds against pieces, shares."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

import numpy as np
from markupsafe import Markup, escape
from numpy.typing import NDArray

from weftglass.holdings import Estimate, GrowthCurve
from weftglass.publish.paper import DESK, HAND, HAND_WIDE, Size, inked, line, opening, shortened, words, words_on_paper

CELL, HEAD, SIDE = 34.0, 150.0, 190.0
LEANING = 96.0
"""Room at the right for the last column's name, which leans that way."""
LANE = 32.0
WIDE, TALL, EDGE = 520.0, 300.0, 46.0
HAND_TALL = 240.0

Share = tuple[str, str, Estimate]


def counts_svg(
    title: str,
    rows: Sequence[str],
    columns: Sequence[str],
    counts: NDArray[np.int64],
    marks: NDArray[np.int64],
    *,
    size: Size = DESK,
) -> Markup:
    """
    A table as discs whose areas are the counts; a ring round those more, or less, often than chance explains.

    Parameters
    ----------
    title : str
    rows, columns : sequence of str
    counts, marks : array, shape (rows, columns)
        Pieces, and 1 where there are more than chance would put there, -1 fewer, 0 neither.
    size : {'at-desk', 'at-hand'}
        In the hand, each row is a list of its columns that have pieces, for a table's width is not to be had there.
    """
    if size == HAND:
        return _counts_listed(title, rows, columns, counts, marks)
    wide, tall = SIDE + CELL * len(columns) + LEANING, HEAD + CELL * len(rows) + 12
    most = float(max(int(counts.max(initial=0)), 1))
    parts = [opening(wide, tall, title, _sentence(rows, columns, counts), size)]
    for j, name in enumerate(columns):
        x = SIDE + CELL * (j + 0.6)
        parts.append(
            f'<text transform="translate({x:.1f} {HEAD - 8:.1f}) rotate(-50)" font-size="12" {inked(fill="ink")}>'
            f"{escape(shortened(name, 26))}</text>"
        )
    for i, name in enumerate(rows):
        y = HEAD + CELL * (i + 0.5)
        parts.append(line(f"M{SIDE:.1f} {y:.1f}H{wide - LEANING + 6:.1f}", "line", 0.6))
        parts.append(words(SIDE - 8, y + 4, shortened(name, 28), size=13, ink="ink", anchor="end"))
        parts += [
            _disc(SIDE + CELL * (j + 0.5), y, int(counts[i, j]), most, int(marks[i, j]))
            for j in range(len(columns))
            if counts[i, j]
        ]
    return Markup("".join([*parts, "</svg>"]))


def _counts_listed(
    title: str, rows: Sequence[str], columns: Sequence[str], counts: NDArray[np.int64], marks: NDArray[np.int64]
) -> Markup:
    most = float(max(int(counts.max(initial=0)), 1))
    parts, y = [], 6.0
    for i, row in enumerate(rows):
        parts.append(words(4, y + 16, shortened(row, 40), size=14, ink="ink"))
        parts.append(line(f"M4 {y + 23:.1f}H{HAND_WIDE - 4:.1f}", "line", 0.8))
        y += 26
        for j in np.flatnonzero(counts[i]).tolist():
            parts.append(_disc(24, y + LANE / 2, int(counts[i, j]), most, int(marks[i, j])))
            parts.append(words(48, y + LANE / 2 + 4, shortened(columns[j], 37), size=13))
            y += LANE
        y += 8
    head = opening(HAND_WIDE, y, title, _sentence(rows, columns, counts), HAND)
    return Markup("".join([head, *parts, "</svg>"]))


def _disc(x: float, y: float, count: int, most: float, mark: int) -> str:
    radius = 4.0 + 11.0 * (count / most) ** 0.5
    ring = ' stroke-width="3"' if mark else ""
    inside = radius > 7.5
    return (
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}" {inked(fill="glass", pen="cane" if mark else "")}{ring}/>'
        + words(
            x, y + (4.0 if inside else -radius - 2), str(count), size=11, ink="paper" if inside else "ink",
            anchor="middle",
        )
    )  # fmt: skip


def growth_svg(curve: GrowthCurve, title: str, *, size: Size = DESK) -> Markup:
    """Kinds against pieces, with its band; what is extrapolated is dashed."""
    pieces, kinds, low, high, at_hand = curve.pieces, curve.kinds, curve.low, curve.high, curve.at_hand
    wide, tall = (WIDE, TALL) if size == DESK else (HAND_WIDE, HAND_TALL)
    top, last = float(high.max()) * 1.05, float(pieces.max())
    x = EDGE + (wide - EDGE - 12) * pieces / last
    up = (tall - EDGE - 12) / top

    def y(values: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(tall - EDGE - values * up)

    band = [*zip(x, y(high), strict=True), *zip(x[::-1], y(low)[::-1], strict=True)]
    known, beyond = pieces <= at_hand, pieces >= at_hand
    here = float(x[pieces == at_hand][0])
    named_left = here > wide * 0.7
    parts = [
        opening(wide, tall, title, f"{kinds[known][-1]:.0f} kinds among {at_hand} pieces at hand.", size),
        f'<path d="M{_points(band)}Z" {inked(fill="glass-tint")}/>',
        line(f"M{_points(list(zip(x[known], y(kinds)[known], strict=True)))}", "glass", 2),
        line(f"M{_points(list(zip(x[beyond], y(kinds)[beyond], strict=True)))}", "glass", 2, ' stroke-dasharray="6 4"'),
        line(f"M{here:.1f} {tall - EDGE:.1f}V12", "cane", 1),
        line(f"M{EDGE:.1f} 12V{tall - EDGE:.1f}H{wide - 12:.1f}", "soft", 1),
        words(here + (-4 if named_left else 4), 24, f"at hand: {at_hand}", anchor="end" if named_left else "start"),
    ]
    across = (wide - EDGE - 12) / last
    parts += [words(EDGE - 6, tall - EDGE - value * up + 4, f"{value:g}", anchor="end") for value in _ticks(top)]
    parts += [words(EDGE + across * value, tall - EDGE + 16, f"{value:g}", anchor="middle") for value in _ticks(last)]
    parts += [
        words((wide + EDGE) / 2, tall - 8, "pieces", anchor="middle"),
        f'<text transform="translate(12 {tall / 2:.1f}) rotate(-90)" text-anchor="middle" font-size="12" '
        f"{inked(fill='soft')}>kinds</text>",
    ]
    return Markup("".join([*parts, "</svg>"]))


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


def _ticks(top: float) -> list[float]:
    """Round numbers from 0 to the top, about five of them."""
    step = 10.0 ** np.floor(np.log10(max(top, 1.0) / 4))
    for factor in (1, 2, 5, 10):
        if top / (step * factor) <= 6:
            break
    return [float(value) for value in np.arange(0, top, step * factor)]


def shares_svg(title: str, groups: Sequence[tuple[str, Sequence[Share]]], *, size: Size = DESK) -> Markup:
    """
    Shares with their intervals, one under the other.

    Parameters
    ----------
    title : str
    groups : sequence of (what, lines)
        Each line: among which pieces, the count in words, and the share from 0 to 1.
    size : {'at-desk', 'at-hand'}
        In the hand the words stand above their bars instead of beside them.
    """
    beside = size == DESK
    side, right, lane, lift = (150.0, 700.0, 22.0, 0.0) if beside else (12.0, HAND_WIDE - 24, 34.0, 14.0)
    head, fold = 28.0, 17.0
    named = [(textwrap.wrap(what, 200 if beside else 40), lines) for what, lines in groups]
    top = min(1.0, max(0.05, *(share.high for _, lines in groups for _, _, share in lines)))
    tall = 16 + sum(head + fold * (len(what) - 1) + lane * len(lines) for what, lines in named) + 34

    def x(share: float) -> float:
        return side + (right - side) * min(share, top) / top

    parts = [opening(right + 24, tall, title, _shares_sentence(groups), size, "wide")]
    for value in _ticks(100 * top):
        parts.append(line(f"M{x(value / 100):.1f} 8V{tall - 28:.1f}", "line", 1))
        parts.append(words(x(value / 100), tall - 10, f"{value:g} %", anchor="middle"))
    y = 16.0
    for what, lines in named:
        for number, text in enumerate(what):
            parts.append(words_on_paper(8, y + 10 + fold * number, text, size=14, anchor="start"))
        y += head + fold * (len(what) - 1)
        for among, count, share in lines:
            told = f"{among}, {count}"
            parts.append(words(side - 10, y + 4, told, anchor="end") if beside else words(side, y + 4, told, size=13))
            parts.append(line(f"M{x(share.low):.1f} {y + lift:.1f}H{x(share.high):.1f}", "glass", 6, ' opacity="0.45"'))
            parts.append(f'<circle cx="{x(share.value):.1f}" cy="{y + lift:.1f}" r="5" {inked(fill="glass")}/>')
            y += lane
    return Markup("".join([*parts, "</svg>"]))


def _shares_sentence(groups: Sequence[tuple[str, Sequence[Share]]]) -> str:
    return "; ".join(
        f"{what}, {among}: {count}, {100 * one.low:.1f} to {100 * one.high:.1f} %"
        for what, lines in groups
        for among, count, one in lines
    )
