"""
Contours of finishes: from the neck up to the sealing surface, each kind of lip with its rings.

A contour is a list of (share of the finish height from its lower end 0 to the top 1, half-width in mm). Proportions are
those of the trade's usual drawings; heights follow published ranges (finish table in ``data/SOURCES.md``).
"""

from __future__ import annotations

import math
from collections.abc import Callable

Contour = list[tuple[float, float]]


def ring(low: float, high: float, inner: float, outer: float, steps: int = 8) -> Contour:
    """A half-round ring between two shares of the height."""
    middle, half = 0.5 * (low + high), 0.5 * (high - low)
    angles = [math.pi * i / steps for i in range(steps + 1)]
    return [(middle - half * math.cos(t), inner + (outer - inner) * math.sin(t) ** 0.8) for t in angles]


def plain(neck: float, lip: float) -> Contour:
    """Sheared, fire-polished or ground: the neck ends with a softened edge."""
    edge = max(neck, min(lip, neck * 1.12))
    return [(0.0, neck), (0.5, 0.5 * (neck + edge)), (0.86, edge), (0.95, edge * 0.985), (1.0, edge * 0.93)]


def string_rim(neck: float, lip: float) -> Contour:
    """A trail of glass wound round the neck a little below a plain lip."""
    above = neck + 0.25 * (lip - neck)
    return [(0.0, neck), *ring(0.12, 0.66, neck * 1.01, lip), (0.7, above), (0.94, above), (1.0, above - 0.7)]


def oil(neck: float, lip: float) -> Contour:
    """One tall collar, widest at its lower edge and sloping inward to the top."""
    top = lip - 0.38 * (lip - neck) - 0.4
    return [(0.0, neck), (0.02, lip - 0.8), (0.07, lip), (0.12, lip), (0.9, top), (0.97, top - 0.6), (1.0, top - 1.5)]


def mineral(neck: float, lip: float) -> Contour:
    """A sloping collar above a narrower ring."""
    waist, top = neck + 0.35 * (lip - neck), lip - 0.3 * (lip - neck) - 0.4
    lower = ring(0.02, 0.3, neck, neck + 0.75 * (lip - neck))
    return [
        (0.0, neck),
        *lower,
        (0.32, waist),
        (0.36, waist),
        (0.38, lip - 0.6),
        (0.43, lip),
        (0.93, top),
        (1.0, top - 1.3),
    ]


def brandy(neck: float, lip: float) -> Contour:
    """A slim tall tapering collar above a thin ring."""
    waist, top = neck + 0.3 * (lip - neck), lip - 0.42 * (lip - neck) - 0.3
    lower = ring(0.03, 0.22, neck, neck + 0.85 * (lip - neck))
    return [
        (0.0, neck),
        *lower,
        (0.24, waist),
        (0.27, waist),
        (0.29, lip - 0.6),
        (0.33, lip),
        (0.93, top),
        (1.0, top - 1.2),
    ]


def double_ring(neck: float, lip: float) -> Contour:
    """Two stacked rings, the upper one larger."""
    waist = neck + 0.3 * (lip - neck)
    lower = ring(0.02, 0.38, neck, neck + 0.72 * (lip - neck))
    return [(0.0, neck), *lower, *ring(0.42, 1.0, waist, lip, 10)[:-1], (1.0, lip - 0.6 * (lip - neck) - 0.6)]


def blob(neck: float, lip: float) -> Contour:
    """A thick bulging collar."""
    top = ring(0.04, 1.0, neck + 0.15, lip, 14)[:-2]
    return [(0.0, neck), *top, (1.0, neck + 0.45 * (lip - neck))]


def bead(neck: float, lip: float) -> Contour:
    """One narrow rounded ring at the very top."""
    return [(0.0, neck), (0.12, neck), *ring(0.16, 1.0, neck, lip, 10)[:-1], (1.0, neck + 0.3 * (lip - neck))]


def patent(neck: float, lip: float) -> Contour:
    """A flat upright band with a flat top."""
    return [(0.0, neck), (0.03, lip - 0.7), (0.1, lip), (0.9, lip), (0.98, lip - 0.5), (1.0, lip - 1.0)]


def flared(neck: float, lip: float) -> Contour:
    """The neck itself tooled outward to a thin edge."""
    curve = [
        (t, neck + (lip - neck) * (1 - math.sqrt(max(0.0, 1 - t * t)))) for t in (0.0, 0.3, 0.55, 0.75, 0.88, 0.95)
    ]
    return [*curve, (0.97, lip - 0.3), (0.99, lip), (1.0, lip - 0.4)]


def rolled_out(neck: float, lip: float) -> Contour:
    """Turned outward and folded back: a thick rounded edge."""
    return [
        (0.0, neck),
        (0.2, neck + 0.05 * (lip - neck)),
        *ring(0.3, 1.0, neck + 0.3 * (lip - neck), lip, 12)[:-2],
        (1.0, lip - 1.6),
    ]


def rolled_in(neck: float, lip: float) -> Contour:
    """Folded inward: a rounded top and no outer step to speak of."""
    edge = min(lip, neck * 1.12)
    return [(0.0, neck), (0.3, neck), (0.6, edge), (0.8, edge), (0.93, edge * 0.95), (1.0, edge * 0.82)]


def phial(neck: float, lip: float) -> Contour:
    """A wide thin flange on a straight neck."""
    return [
        (0.0, neck),
        (0.55, neck),
        (0.68, neck + 0.3 * (lip - neck)),
        (0.76, lip - 0.3),
        (0.85, lip),
        (1.0, lip - 0.5),
    ]


def prescription(neck: float, lip: float) -> Contour:
    """Flat-topped with a thin edge, sloping in to the neck below."""
    return [
        (0.0, neck),
        (0.15, neck + 0.06 * (lip - neck)),
        (0.7, lip - 0.8),
        (0.78, lip),
        (0.95, lip),
        (1.0, lip - 0.4),
    ]


def wine_ring(neck: float, lip: float) -> Contour:
    """A narrow flat band a little below the lip."""
    above = neck + 0.15
    return [
        (0.0, neck),
        (0.1, neck),
        (0.13, lip - 0.5),
        (0.2, lip),
        (0.6, lip),
        (0.68, lip - 0.6),
        (0.72, above),
        (0.93, above),
        (1.0, above - 0.7),
    ]


def cork_band(neck: float, lip: float) -> Contour:
    """The machine-made straight band for a straight cork."""
    return [(0.0, neck), (0.05, lip - 0.5), (0.12, lip), (0.93, lip), (0.98, lip - 0.5), (1.0, lip - 1.0)]


def collar(neck: float, lip: float) -> Contour:
    """A heavy upright collar with rounded edges: internal screws, swing stoppers, sauce bottles."""
    return [
        (0.0, neck),
        (0.04, lip - 1.0),
        (0.12, lip - 0.15),
        (0.3, lip),
        (0.75, lip),
        (0.92, lip - 0.5),
        (1.0, lip - 1.6),
    ]


def siphon(neck: float, lip: float) -> Contour:
    """A ringed neck that takes a metal head."""
    waist = neck - 0.5
    return [
        (0.0, neck),
        *ring(0.05, 0.3, neck, lip),
        (0.34, waist),
        (0.6, waist),
        *ring(0.64, 0.97, waist, lip),
        (1.0, neck - 1.0),
    ]


def crown(neck: float, lip: float) -> Contour:
    """The locking ring of the crimped cap, with a strengthening ring below it."""
    waist, throat = lip - 1.5, lip - 1.3
    strong = ring(0.1, 0.48, neck, max(neck, lip) + 0.25)
    ring_top = [
        (0.72, throat),
        (0.75, lip - 0.35),
        (0.8, lip),
        (0.88, lip - 0.25),
        (0.94, lip - 1.3),
        (0.98, lip - 2.6),
        (1.0, lip - 3.6),
    ]
    return [(0.0, neck), *strong, (0.52, waist), (0.66, waist), *ring_top]


def thread(neck: float, lip: float) -> Contour:
    """A continuous thread of one and a half turns above a bead; cut by a plane through the axis."""
    root = lip - min(1.3, 0.09 * lip)
    bead_below = ring(0.02, 0.16, neck, max(lip, neck) + 0.6, 6)
    first, second = ring(0.36, 0.52, root, lip, 6), ring(0.62, 0.78, root, lip, 6)
    return [
        (0.0, neck),
        *bead_below,
        (0.18, root),
        (0.34, root),
        *first,
        *second,
        (0.8, root),
        (0.96, root),
        (1.0, root - 0.6),
    ]


def roll_on(neck: float, lip: float) -> Contour:
    """Thread above a locking bead, for a rolled-on metal cap."""
    root = lip - 1.1
    low = [(0.0, neck), (0.04, lip - 0.3), (0.1, lip), (0.2, lip), (0.26, root), (0.36, root)]
    return [
        *low,
        *ring(0.42, 0.56, root, lip - 0.2, 6),
        *ring(0.66, 0.8, root, lip - 0.2, 6),
        (0.84, root),
        (0.96, root),
        (1.0, root - 0.6),
    ]


def milk(neck: float, lip: float) -> Contour:
    """A thick rounded lip above a thin bead."""
    waist = neck + 0.1 * (lip - neck)
    low = ring(0.02, 0.18, neck, neck + 0.75 * (lip - neck), 6)
    return [(0.0, neck), *low, (0.24, waist), (0.4, waist), *ring(0.44, 1.0, waist, lip, 12)[:-2], (1.0, lip - 2.2)]


def foil(neck: float, lip: float) -> Contour:
    """A thin beaded lip for a crimped foil."""
    return [(0.0, neck), (0.4, neck), *ring(0.45, 1.0, neck, lip, 8)[:-1], (1.0, neck + 0.2 * (lip - neck))]


def demijohn(neck: float, lip: float) -> Contour:
    """A heavy sloped collar on a short stout neck."""
    top = lip - 0.45 * (lip - neck)
    return [(0.0, neck), (0.04, lip - 1.6), (0.14, lip), (0.3, lip), (0.85, top + 0.5), (0.95, top), (1.0, top - 1.8)]


def globe(neck: float, lip: float) -> Contour:
    """Rounded collar that holds a rubber ring inside, for a glass ball."""
    return [
        (0.0, neck),
        *ring(0.06, 0.9, neck, lip, 12)[:-1],
        (0.93, lip - 0.35 * (lip - neck) - 0.6),
        (1.0, lip - 0.5 * (lip - neck) - 1.6),
    ]


def jar_thread(neck: float, lip: float) -> Contour:
    """Coarse thread on a wide mouth, the top ground."""
    root = lip - 1.5
    return [
        (0.0, neck),
        (0.06, root),
        *ring(0.14, 0.3, root, lip, 6),
        *ring(0.42, 0.58, root, lip, 6),
        *ring(0.68, 0.84, root, lip, 6),
        (0.9, root),
        (1.0, root - 0.3),
    ]


# finish -> (contour, height in mm on a 30 mm lip)
LIPS: dict[str, tuple[Callable[[float, float], Contour], float]] = {
    "cracked-off": (plain, 3.0),
    "fire-polished": (plain, 3.0),
    "burst-off": (plain, 3.0),
    "ground": (plain, 6.0),
    "string rim": (string_rim, 12.0),
    "flared": (flared, 5.0),
    "rolled-out": (rolled_out, 7.0),
    "rolled-in": (rolled_in, 4.0),
    "phial": (phial, 4.5),
    "oil": (oil, 21.0),
    "mineral": (mineral, 25.0),
    "brandy": (brandy, 24.0),
    "double ring": (double_ring, 15.0),
    "bulged neck ring": (mineral, 24.0),
    "prescription": (prescription, 6.5),
    "patent": (patent, 10.0),
    "wide patent": (patent, 10.0),
    "bead": (bead, 6.5),
    "packer": (prescription, 9.0),
    "blob": (blob, 17.0),
    "wine ring": (wine_ring, 15.0),
    "flat-top cork": (cork_band, 19.0),
    "bar-top": (cork_band, 15.0),
    "club sauce": (collar, 14.0),
    "ground stopper": (prescription, 7.0),
    "gravitating stopper": (collar, 20.0),
    "wire-loop stopper": (blob, 18.0),
    "globe stopper": (globe, 21.0),
    "swing stopper": (collar, 20.0),
    "siphon": (siphon, 20.0),
    "internal screw": (collar, 20.0),
    "crown": (crown, 21.0),
    "sparkling wine crown": (crown, 28.0),
    "external thread": (thread, 11.0),
    "continuous thread": (thread, 15.0),
    "jar thread": (jar_thread, 18.0),
    "wax groove": (patent, 11.0),
    "wire-clamp lid": (bead, 14.0),
    "roll-on": (roll_on, 17.0),
    "long roll-on": (cork_band, 19.0),
    "milk cap seat": (milk, 21.0),
    "milk foil": (foil, 9.0),
    "pouring lip": (flared, 10.0),
    "snuff": (rolled_out, 7.0),
    "demijohn collar": (demijohn, 22.0),
}
NECK_SHARE = {  # greatest half-width of the neck just below, as a share of the lip's; common practice, no source
    "cracked-off": 1.0, "fire-polished": 1.0, "burst-off": 1.0, "ground": 1.0, "rolled-in": 1.0, "globe stopper": 0.9,
    "crown": 0.94, "sparkling wine crown": 0.96, "flat-top cork": 0.94, "long roll-on": 0.94, "bar-top": 0.94,
    "roll-on": 0.96, "continuous thread": 0.93, "external thread": 0.92, "jar thread": 0.97, "milk foil": 0.95,
    "milk cap seat": 0.92, "siphon": 0.88, "wax groove": 0.92, "internal screw": 0.88, "wide patent": 0.88,
}  # fmt: skip
OTHER_NECK_SHARE = 0.84
HEIGHT_FOLLOWS = {
    "flared",
    "rolled-out",
    "rolled-in",
    "phial",
    "bead",
    "demijohn collar",
    "double ring",
    "blob",
    "patent",
}


def finish_height_mm(finish: str, lip_diameter_mm: float, neck_height_mm: float) -> float:
    """Height of a finish on a lip of this width: small lips have lower collars; never over four fifths of the neck."""
    usual = LIPS[finish][1]
    scale = min(1.0, max(0.45, lip_diameter_mm / 30.0)) if finish not in HEIGHT_FOLLOWS else lip_diameter_mm / 30.0
    return min(usual * min(max(scale, 0.45), 1.5), 0.8 * neck_height_mm)


def neck_below(finish: str, neck_mm: float, lip_mm: float) -> float:
    """Half-width of the neck just below a finish: as given, unless the finish needs a narrower one to stand out."""
    return min(neck_mm, NECK_SHARE.get(finish, OTHER_NECK_SHARE) * lip_mm)


def lip_contour(finish: str, z_mm: float, height_mm: float, neck_mm: float, lip_mm: float) -> Contour:
    """
    Rows (height, half-width) of a finish.

    Parameters
    ----------
    finish : str
        A key of `LIPS`.
    z_mm, height_mm : float
        Where its lower end lies and how tall it is, mm.
    neck_mm, lip_mm : float
        Half-widths of the neck just below and of the lip, mm.
    """
    shape = LIPS[finish][0]
    return [(z_mm + share * height_mm, half_width) for share, half_width in shape(neck_mm, lip_mm)]
