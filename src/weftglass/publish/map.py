"""A map without a base map: places on a grid of latitude and longitude, each with its uncertainty, and a scale bar."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, log10, radians

from markupsafe import Markup, escape

from weftglass.holdings import Spot

INK, SOFT, LINE, GLASS, CANE, STOP = "#25221c", "#5c5548", "#d6cfbf", "#1f5a4c", "#a8762f", "#8a3315"
KM_A_DEGREE = 111.2
WIDE, TALL, EDGE = 720.0, 480.0, 40.0
LEAST_KM = 20.0
LOOK = {"community": GLASS, "documented": GLASS, "found": CANE, "not found": STOP}


def map_svg(spots: Sequence[Spot]) -> Markup:
    """
    All spots on one map, flat to the scale of its middle latitude (right to 1 % within 500 km of the middle).

    A disc is where something was; a cross, where it was looked for and not found; the ring round it is how far off the
    point may be.
    """
    middle = sum(one.point[0] for one in spots) / len(spots)
    kx = KM_A_DEGREE * max(cos(radians(middle)), 0.01)
    flat = [(one.point[1] * kx, one.point[0] * KM_A_DEGREE) for one in spots]
    x0, x1 = _ends([x for x, _ in flat], [one.within_km for one in spots])
    y0, y1 = _ends([y for _, y in flat], [one.within_km for one in spots])
    scale = min((WIDE - 2 * EDGE) / (x1 - x0), (TALL - 2 * EDGE) / (y1 - y0))
    cx, cy = (x0 + x1) / 2, (y0 + y1) / 2

    def at(x: float, y: float) -> tuple[float, float]:
        return WIDE / 2 + (x - cx) * scale, TALL / 2 - (y - cy) * scale

    described = "; ".join(f"{one.name}: {one.standing}, {len(one.pieces)} pieces" for one in spots)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:.0f} {TALL:.0f}" role="img" class="chart map" '
        f'font-family="serif"><title>Map of communities and places</title><desc>{escape(described)}</desc>',
        *_grid(cx, cy, scale, kx),
    ]
    for one, (x, y) in zip(spots, flat, strict=True):
        parts.append(_spot(one, *at(x, y), one.within_km * scale))
    return Markup("".join([*parts, _scale_bar(scale), "</svg>"]))


def _ends(values: Sequence[float], reach: Sequence[float]) -> tuple[float, float]:
    low = min(value - far for value, far in zip(values, reach, strict=True))
    high = max(value + far for value, far in zip(values, reach, strict=True))
    missing = max(LEAST_KM - (high - low), 0.0) / 2
    return low - missing, high + missing


def _spot(one: Spot, x: float, y: float, ring: float) -> str:
    colour = LOOK.get(one.standing, GLASS)
    dash = ' stroke-dasharray="5 4"' if one.standing == "not found" else ""
    mark = (
        f'<path d="M{x - 6:.1f} {y - 6:.1f}L{x + 6:.1f} {y + 6:.1f}M{x - 6:.1f} {y + 6:.1f}L{x + 6:.1f} {y - 6:.1f}" '
        f'stroke="{colour}" stroke-width="2.5"/>'
        if one.standing == "not found"
        else f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{4 + min(len(one.pieces), 16) ** 0.5 * 2:.1f}" fill="{colour}"/>'
    )
    count = f" ({len(one.pieces)})" if one.pieces else ""
    return (
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{max(ring, 1.0):.1f}" fill="{colour}" fill-opacity="0.1" '
        f'stroke="{colour}" stroke-opacity="0.6"{dash}/>{mark}'
        f'<text x="{x:.1f}" y="{y - 14:.1f}" text-anchor="middle" font-size="15" fill="{INK}" '
        f'paint-order="stroke" stroke="#fcfaf5" stroke-width="3">{escape(one.name)}{count}</text>'
    )


def _grid(cx: float, cy: float, scale: float, kx: float) -> list[str]:
    """Lines of whole or tenth degrees, labelled at the edges."""
    half_wide, half_tall = WIDE / 2 / scale, TALL / 2 / scale
    step = _round_step(2 * half_tall / KM_A_DEGREE / 4)
    lines = []
    for number in range(int((cy - half_tall) / KM_A_DEGREE / step), int((cy + half_tall) / KM_A_DEGREE / step) + 1):
        y = TALL / 2 - (number * step * KM_A_DEGREE - cy) * scale
        if 0 < y < TALL:
            lines.append(f'<path d="M0 {y:.1f}H{WIDE:.0f}" stroke="{LINE}"/>' + _label(4, y - 3, number * step, "NS"))
    for number in range(int((cx - half_wide) / kx / step) - 1, int((cx + half_wide) / kx / step) + 1):
        x = WIDE / 2 + (number * step * kx - cx) * scale
        if 0 < x < WIDE:
            lines.append(
                f'<path d="M{x:.1f} 0V{TALL:.0f}" stroke="{LINE}"/>' + _label(x + 3, TALL - 5, number * step, "EW")
            )
    return lines


def _label(x: float, y: float, degrees: float, names: str) -> str:
    name = names[0] if degrees >= 0 else names[1]
    return f'<text x="{x:.1f}" y="{y:.1f}" font-size="12" fill="{SOFT}">{abs(degrees):g}° {name}</text>'


def _round_step(wanted: float) -> float:
    power = 10.0 ** int(log10(max(wanted, 1e-3)) // 1)
    return float(next(power * factor for factor in (1, 2, 5, 10) if power * factor >= wanted))


def _scale_bar(scale: float) -> str:
    km = _round_step(100 / scale)
    wide = km * scale
    x, y = WIDE - EDGE - wide, TALL - 24
    return (
        f'<path d="M{x:.1f} {y - 5:.1f}V{y:.1f}H{x + wide:.1f}V{y - 5:.1f}" fill="none" stroke="{INK}" '
        f'stroke-width="1.5"/><text x="{x + wide / 2:.1f}" y="{y - 6:.1f}" text-anchor="middle" font-size="13" '
        f'fill="{INK}">{km:g} km</text>'
    )
