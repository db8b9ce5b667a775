"""A map without a base map: places on a grid of latitude and longitude, each with its uncertainty, and a scale bar."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, log10, radians, sqrt

from markupsafe import Markup

from weftglass.holdings import Spot
from weftglass.publish.paper import DESK, HAND_WIDE, Size, inked, line, opening, words, words_on_paper

KM_A_DEGREE = 111.2
WIDE, TALL, EDGE = 720.0, 480.0, 40.0
HAND_TALL, HAND_EDGE = 340.0, 30.0
LETTER = 0.52
"""Mean width of a letter over its size, for keeping names clear of each other."""

LEAST_KM = 20.0
LOOK = {"community": "glass", "documented": "glass", "found": "cane", "not found": "stop"}

Box = tuple[float, float, float, float]
"""Left, top, right and bottom of a name or mark."""


@dataclass(frozen=True)
class _Ground:
    """Where the middle of the map lies in km, how many units a km takes, and how large the drawing is."""

    x_km: float
    y_km: float
    scale: float
    wide: float
    tall: float

    def at(self, x_km: float, y_km: float) -> tuple[float, float]:
        return self.wide / 2 + (x_km - self.x_km) * self.scale, self.tall / 2 - (y_km - self.y_km) * self.scale


def map_svg(spots: Sequence[Spot], *, size: Size = DESK) -> Markup:
    """
    All spots on one map, flat to the scale of its middle latitude (right to 1 % within 500 km of the middle).

    A disc is where something was; a cross, where it was looked for and not found; the ring round it is how far off the
    point may be.
    """
    wide, tall, edge = (WIDE, TALL, EDGE) if size == DESK else (HAND_WIDE, HAND_TALL, HAND_EDGE)
    middle = sum(one.point[0] for one in spots) / len(spots)
    kx = KM_A_DEGREE * max(cos(radians(middle)), 0.01)
    flat = [(one.point[1] * kx, one.point[0] * KM_A_DEGREE) for one in spots]
    x0, x1 = _ends([x for x, _ in flat], [one.within_km for one in spots])
    y0, y1 = _ends([y for _, y in flat], [one.within_km for one in spots])
    scale = min((wide - 2 * edge) / (x1 - x0), (tall - 2 * edge) / (y1 - y0))
    ground = _Ground((x0 + x1) / 2, (y0 + y1) / 2, scale, wide, tall)
    drawn = [ground.at(x, y) for x, y in flat]
    letters = 15.0 if size == DESK else 13.0
    described = "; ".join(f"{one.name}: {one.standing}, {len(one.pieces)} pieces" for one in spots)
    parts = [
        opening(wide, tall, "Map of communities and places", described, size, "map"),
        *_grid(ground, kx, 4 if size == DESK else 3),
        *(_mark(one, *place, one.within_km * scale) for one, place in zip(spots, drawn, strict=True)),
        *_names(spots, drawn, ground, letters),
        _scale_bar(ground, edge),
        "</svg>",
    ]
    return Markup("".join(parts))


def _ends(values: Sequence[float], reach: Sequence[float]) -> tuple[float, float]:
    low = min(value - far for value, far in zip(values, reach, strict=True))
    high = max(value + far for value, far in zip(values, reach, strict=True))
    missing = max(LEAST_KM - (high - low), 0.0) / 2
    return low - missing, high + missing


def _mark(one: Spot, x: float, y: float, ring: float) -> str:
    ink = LOOK.get(one.standing, "glass")
    lost = one.standing == "not found"
    dash = ' stroke-dasharray="5 4"' if lost else ""
    mark = (
        line(
            f"M{x - 6:.1f} {y - 6:.1f}L{x + 6:.1f} {y + 6:.1f}M{x - 6:.1f} {y + 6:.1f}L{x + 6:.1f} {y - 6:.1f}",
            ink,
            2.5,
        )
        if lost
        else f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{_radius(one):.1f}" {inked(fill=ink)}/>'
    )
    return (
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{max(ring, 1.0):.1f}" {inked(fill=ink, pen=ink)} fill-opacity="0.1" '
        f'stroke-opacity="0.6"{dash}/>{mark}'
    )


def _radius(one: Spot) -> float:
    return 4 + 2 * sqrt(min(len(one.pieces), 16))


def _names(spots: Sequence[Spot], drawn: Sequence[tuple[float, float]], ground: _Ground, letters: float) -> list[str]:
    """Each name above its mark, or below or beside it where another name or mark is in the way."""
    taken = [_about(x, y, _radius(one)) for one, (x, y) in zip(spots, drawn, strict=True)]
    names = []
    for one, (x, y) in zip(spots, drawn, strict=True):
        text = f"{one.name} ({len(one.pieces)})" if one.pieces else one.name
        far = _radius(one) + 4
        places = ((x, y - far, "middle"), (x, y + far + 0.75 * letters, "middle"),
                  (x + far, y + 0.35 * letters, "start"), (x - far, y + 0.35 * letters, "end"))  # fmt: skip
        boxes = [_box(*place, letters * LETTER * len(text), letters) for place in places]
        crowding = [_crowding(box, taken, ground) for box in boxes]
        best = crowding.index(min(crowding))
        taken.append(boxes[best])
        names.append(words_on_paper(*places[best][:2], text, size=letters, anchor=places[best][2]))
    return names


def _about(x: float, y: float, radius: float) -> Box:
    return x - radius, y - radius, x + radius, y + radius


def _box(x: float, y: float, anchor: str, long: float, letters: float) -> Box:
    left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * long
    return left, y - 0.8 * letters, left + long, y + 0.25 * letters


def _crowding(box: Box, taken: Sequence[Box], ground: _Ground) -> float:
    """Area of a box that others have taken or that lies off the map."""
    inside = _shared(box, (0.0, 0.0, ground.wide, ground.tall))
    return sum(_shared(box, other) for other in taken) + (box[2] - box[0]) * (box[3] - box[1]) - inside


def _shared(one: Box, other: Box) -> float:
    across = min(one[2], other[2]) - max(one[0], other[0])
    down = min(one[3], other[3]) - max(one[1], other[1])
    return max(across, 0.0) * max(down, 0.0)


def _grid(ground: _Ground, kx: float, lines_a_side: int) -> list[str]:
    """Lines of whole or tenth degrees, labelled at the edges."""
    half_wide, half_tall = ground.wide / 2 / ground.scale, ground.tall / 2 / ground.scale
    cx, cy = ground.x_km, ground.y_km
    step = _round_step(2 * half_tall / KM_A_DEGREE / lines_a_side)
    lines = []
    for number in range(int((cy - half_tall) / KM_A_DEGREE / step), int((cy + half_tall) / KM_A_DEGREE / step) + 1):
        _, y = ground.at(cx, number * step * KM_A_DEGREE)
        if 0 < y < ground.tall:
            lines.append(line(f"M0 {y:.1f}H{ground.wide:.0f}", "line", 1) + _label(4, y - 3, number * step, "NS"))
    for number in range(int((cx - half_wide) / kx / step) - 1, int((cx + half_wide) / kx / step) + 1):
        x, _ = ground.at(number * step * kx, cy)
        if 0 < x < ground.wide:
            lines.append(
                line(f"M{x:.1f} 0V{ground.tall:.0f}", "line", 1) + _label(x + 3, ground.tall - 5, number * step, "EW")
            )
    return lines


def _label(x: float, y: float, degrees: float, names: str) -> str:
    name = names[0] if degrees >= 0 else names[1]
    return words(x, y, f"{abs(degrees):g}° {name}")


def _round_step(wanted: float) -> float:
    power = 10.0 ** int(log10(max(wanted, 1e-3)) // 1)
    return float(next(power * factor for factor in (1, 2, 5, 10) if power * factor >= wanted))


def _scale_bar(ground: _Ground, edge: float) -> str:
    km = _round_step(100 / ground.scale)
    wide = km * ground.scale
    x, y = ground.wide - edge - wide, ground.tall - 24
    bar = line(f"M{x:.1f} {y - 5:.1f}V{y:.1f}H{x + wide:.1f}V{y - 5:.1f}", "ink", 1.5)
    return bar + words(x + wide / 2, y - 6, f"{km:g} km", size=13, ink="ink", anchor="middle")
