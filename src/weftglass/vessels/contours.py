"""
Contours of bodies, shoulders and necks, from a few proportions.

Every function gives rows (height z, half-width) in mm, z rising. A shoulder is one cubic Bézier curve that leaves the
body upright and meets the neck upright: ``fullness`` and ``root`` are the lengths of its two handles as shares of its
height.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

Contour = list[tuple[float, float]]
STEPS = 28


@dataclass(frozen=True)
class Draught:
    """
    Sizes of one contour, mm: total height, greatest half-width, base, neck and lip, and the style's proportions.

    Parameters
    ----------
    body : str
        straight, globe, egg, roundbottom, cone, barrel or dome.
    height, half_width, base, neck, lip : float
        Total height; greatest half-width; half-widths of the base, of the neck and of the lip.
    neck_top : float
        Half-width of the neck just below the finish.
    z_shoulder, z_neck, z_finish : float
        Heights where the body ends, the neck begins, the finish begins.
    fullness, root : float
        Handles of the shoulder curve, 0 to 1.
    taper : float
        Half-width at the foot over the half-width at the shoulder of straight sides; 1 upright.
    heel : float
        Radius of the heel as a share of the half-width.
    belly : float
        Height of the widest place of a globe or egg as a share of the total height.
    power : float
        Roundness of the lower half of a globe or egg: 2 an ellipse, more is fuller.
    neck_taper : float
        Half-width at the neck's root over that below the finish.
    neck_kind : str
        plain, bulged, pinched or ringed.
    """

    body: str
    height: float
    half_width: float
    base: float
    neck: float
    neck_top: float
    lip: float
    z_shoulder: float
    z_neck: float
    z_finish: float
    fullness: float
    root: float
    taper: float
    heel: float
    belly: float
    power: float
    neck_taper: float
    neck_kind: str


def curve(
    p0: tuple[float, float], p1: tuple[float, float], p2: tuple[float, float], p3: tuple[float, float]
) -> Contour:
    """A cubic Bézier curve as rows."""
    rows = []
    for i in range(STEPS + 1):
        t = i / STEPS
        b0, b1, b2, b3 = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
        rows.append(tuple(b0 * p0[k] + b1 * p1[k] + b2 * p2[k] + b3 * p3[k] for k in (0, 1)))
    return [(z, r) for z, r in rows]


def shoulder(z_low: float, half_width: float, z_high: float, neck: float, fullness: float, root: float) -> Contour:
    """From the body's edge to the root of the neck."""
    rise = z_high - z_low
    return curve(
        (z_low, half_width), (z_low + fullness * rise, half_width), (z_high - root * rise, neck), (z_high, neck)
    )


def heel(standing: float, half_width: float, height: float) -> Contour:
    """A quarter ellipse from the standing edge up to the wall."""
    reach = half_width - standing
    angles = [0.5 * math.pi * i / 10 for i in range(11)]
    return [(height * (1 - math.cos(t)), standing + reach * math.sin(t)) for t in angles]


def lower_globe(base: float, half_width: float, belly: float, power: float) -> Contour:
    """From the base to the widest place: a superellipse cut off by the standing plane."""
    cut = min(base / half_width, 0.985)
    depth = belly / (1 - cut**power) ** (1 / power)
    rows = []
    for i in range(2 * STEPS + 1):
        angle = 0.5 * math.pi * i / (2 * STEPS)  # closer steps near the base, where the edge turns fastest
        z = belly * (1 - math.cos(angle))
        rows.append((z, half_width * (1 - ((belly - z) / depth) ** power) ** (1 / power)))
    edge = 0.03 * half_width  # the standing edge is rounded
    foot = float(half_width * (1 - ((belly - edge) / depth) ** power) ** (1 / power))
    return [*heel(foot - 1.5 * edge, foot, edge), *((z, r) for z, r in rows if z > edge)]


def straight_body(d: Draught) -> Contour:
    """Heel and straight sides, upright, widening or narrowing upward, with a shoulder."""
    top = d.half_width if d.taper <= 1 else d.half_width / d.taper
    foot = top * d.taper
    inset = d.heel * d.half_width
    rows = heel(foot - inset, foot, min(1.1 * inset, 0.5 * d.z_shoulder))
    return rows + shoulder(d.z_shoulder, top, d.z_neck, d.neck * d.neck_taper, d.fullness, d.root)


def globe_body(d: Draught) -> Contour:
    """A globe, onion, pear or apple: lower half by `lower_globe`, upper half one shoulder curve."""
    belly = d.belly * d.height
    rows = lower_globe(d.base, d.half_width, belly, d.power)
    return rows + shoulder(belly, d.half_width, d.z_neck, d.neck * d.neck_taper, d.fullness, d.root)[1:]


def egg_body(d: Draught) -> Contour:
    """A body that ends below in a rounded point and cannot stand."""
    belly = d.belly * d.height
    rows = []
    for i in range(2 * STEPS + 1):
        z = belly * (1 - math.cos(0.5 * math.pi * i / (2 * STEPS)))
        share = 1 - z / belly
        rows.append((z, d.half_width * max(0.0, 1 - share**d.power) ** (1 / 1.9)))
    return rows + shoulder(belly, d.half_width, d.z_neck, d.neck * d.neck_taper, d.fullness, d.root)[1:]


def roundbottom_body(d: Draught) -> Contour:
    """A cylinder on a hemispherical bottom."""
    rows = heel(0.0, d.half_width, 0.92 * d.half_width)
    return rows + shoulder(d.z_shoulder, d.half_width, d.z_neck, d.neck * d.neck_taper, d.fullness, d.root)


def cone_body(d: Draught) -> Contour:
    """A short upright foot, then a straight cone up to the neck."""
    inset = d.heel * d.half_width
    rows = [*heel(d.half_width - inset, d.half_width, inset), (d.z_shoulder, d.half_width)]
    root = d.neck * d.neck_taper
    if d.neck_kind == "ringed":
        swell = 0.035 * d.height
        return [*rows, (d.z_neck - 2 * swell, root), *_ring(d.z_neck - 1.9 * swell, d.z_neck, root, root * 1.22)]
    return [*rows, (d.z_neck, root)]


def barrel_body(d: Draught) -> Contour:
    """Bulging staves with hoops near both ends, then a shoulder."""
    end = d.taper * d.half_width
    rise = d.z_shoulder

    def stave(z: float) -> float:
        return end + (d.half_width - end) * (1 - (2 * z / rise - 1) ** 2)

    inset = 0.05 * d.half_width
    rows = heel(stave(inset) - inset, stave(inset), inset)
    heights = [inset + (rise - inset) * i / 120 for i in range(1, 121)]
    hoops = (0.1, 0.17, 0.24, 0.76, 0.83, 0.9)
    for z in heights:
        near = min(abs(z / rise - hoop) for hoop in hoops)
        raised = max(0.0, 1 - (near / 0.024) ** 2) ** 0.5
        rows.append((z, stave(z) - 0.025 * d.half_width * (1 - raised)))
    return rows + shoulder(rise, rows[-1][1], d.z_neck, d.neck * d.neck_taper, d.fullness, d.root)[1:]


def _ring(low: float, high: float, inner: float, outer: float) -> Contour:
    middle, half = 0.5 * (low + high), 0.5 * (high - low)
    angles = [math.pi * i / 8 for i in range(9)]
    return [(middle - half * math.cos(t), inner + (outer - inner) * math.sin(t)) for t in angles]


def neck_rows(d: Draught) -> Contour:
    """From the neck's root to just below the finish."""
    low, high = d.z_neck, d.z_finish
    root = d.neck * d.neck_taper
    rows = []
    for i in range(1, STEPS + 1):
        t = i / STEPS
        half_width = root + (d.neck_top - root) * (1 - (1 - t) ** 1.5)
        if d.neck_kind == "bulged":
            half_width += 0.16 * d.neck * math.sin(math.pi * t) ** 2
        if d.neck_kind == "pinched":
            half_width = _pinched(t, d.neck, d.lip)
        rows.append((low + t * (high - low), half_width))
    return rows


def _pinched(t: float, chamber: float, lip: float) -> float:
    """Throat that keeps a glass ball out of the body, the ball's chamber, and the narrowing under the lip."""
    marks = ((0.0, 0.74 * chamber), (0.12, 0.68 * chamber), (0.45, chamber), (0.7, 0.97 * chamber), (1.0, 0.9 * lip))
    for (t0, r0), (t1, r1) in pairwise(marks):
        if t <= t1:
            share = (t - t0) / (t1 - t0)
            return r0 + (r1 - r0) * 0.5 * (1 - math.cos(math.pi * share))
    return marks[-1][1]


BODIES = {
    "straight": straight_body,
    "globe": globe_body,
    "egg": egg_body,
    "roundbottom": roundbottom_body,
    "cone": cone_body,
    "barrel": barrel_body,
}
