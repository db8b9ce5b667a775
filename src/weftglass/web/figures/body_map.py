"""The piece drawn from all sides with its spots, each with its number: the map of a condition record."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from markupsafe import Markup, escape

from weftglass.desk import Silhouette, SpotChange
from weftglass.records import FACES, SPOT_KINDS, Spot

INK = "#25221c"
SOFT = "#5c5548"
CANE = "#a8762f"
CANE_TINT = "#f2e6d0"
STOP = "#8a3315"
TALL = 200.0
"""Height of every drawn piece in units of the drawing; a unit is no millimetre."""

AIR = 14.0
LEAST_RADIUS = 5.5
PLANS = ("top", "base")


def face_svg(silhouette: Silhouette, face: str, changes: Sequence[SpotChange]) -> Markup:
    """
    One face as an SVG of its own, its spots drawn to scale where the height is known, never smaller than can be hit.

    Spots no longer seen are hollow and dashed. Colours stand in presentation attributes, so that a saved file looks
    right; pages restyle the classes for day and night.
    """
    wide, tall = _extent(silhouette, face)
    box = f"{-wide - AIR:.1f} {-tall - AIR:.1f} {2 * (wide + AIR):.1f} {tall + 2 * AIR:.1f}"
    return Markup(
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" class="body-face" role="img" '
        f'font-family="sans-serif" aria-label="{escape(_described(face, changes))}">'
        f"{_face(silhouette, face, changes)}</svg>"
    )


def body_map_svg(silhouette: Silhouette, changes: Sequence[SpotChange], title: str) -> Markup:
    """All faces side by side in one SVG, with their names: the map to save or print."""
    parts, x, top = [], 0.0, TALL + AIR
    for face, name in FACES.items():
        wide, _ = _extent(silhouette, face)
        middle = x + wide + AIR
        label = f'<text x="{middle:.1f}" y="18" text-anchor="middle" font-size="9" fill="{SOFT}">{escape(name)}</text>'
        parts.append(f'<g transform="translate({middle:.1f} 0)">{_face(silhouette, face, changes)}</g>{label}')
        x += 2 * (wide + AIR)
    return Markup(
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 {-top:.1f} {x:.1f} {top + 26:.1f}" role="img" '
        f'font-family="sans-serif"><title>{escape(title)}</title>'
        f'<rect x="0" y="{-top:.1f}" width="{x:.1f}" height="{top + 26:.1f}" fill="#ffffff"/>{"".join(parts)}</svg>'
    )


def place_on_face(silhouette: Silhouette, face: str, spot: Spot) -> tuple[float, float]:
    """Where a spot stands in the drawing of its face, x right and y down from the middle of the standing plane."""
    wide, tall = _extent(silhouette, face)
    if face in PLANS:
        depth = tall / 2
        toward = 1.0 if face == "top" else -1.0  # the front edge is drawn below on the top, above on the base
        return spot.across * wide, -depth + toward * depth * (1 - 2 * spot.up)
    return spot.across * half_width(silhouette, face, spot.up), -TALL * spot.up


def half_width(silhouette: Silhouette, face: str, up: float) -> float:
    """Half-width of a side at a height, both in units of the drawing and shares."""
    rows = np.array(silhouette.side if face in ("right", "left") else silhouette.front)
    return TALL * float(np.interp(up, rows[:, 0], rows[:, 1]))


def _extent(silhouette: Silhouette, face: str) -> tuple[float, float]:
    """Half the width and the whole height that a face takes up."""
    front, side = np.array(silhouette.front), np.array(silhouette.side)
    if face == "base":
        return TALL * float(front[: max(2, len(front) // 4), 1].max()), 2 * TALL * float(
            side[: max(2, len(side) // 4), 1].max()
        )
    if face == "top":
        return TALL * float(front[:, 1].max()), 2 * TALL * float(side[:, 1].max())
    return TALL * float((side if face in ("right", "left") else front)[:, 1].max()), TALL


def _face(silhouette: Silhouette, face: str, changes: Sequence[SpotChange]) -> str:
    here = [change for change in changes if change.spot.face == face]
    return _edge(silhouette, face) + "".join(_spot(silhouette, face, change) for change in here)


def _edge(silhouette: Silhouette, face: str) -> str:
    pen = f'class="body" fill="{CANE_TINT}" stroke="{CANE}" stroke-width="1"'
    wide, tall = _extent(silhouette, face)
    if face in PLANS:
        lip = ""
        if face == "top":
            mouth = TALL * silhouette.front[-1][1], TALL * silhouette.side[-1][1]
            lip = (
                f'<ellipse class="body-line" cx="0" cy="{-tall / 2:.1f}" rx="{mouth[0]:.1f}" ry="{mouth[1]:.1f}" '
                f'fill="none" stroke="{CANE}" stroke-width="1"/>'
            )
        return f'<ellipse {pen} cx="0" cy="{-tall / 2:.1f}" rx="{wide:.1f}" ry="{tall / 2:.1f}"/>{lip}'
    rows = silhouette.side if face in ("right", "left") else silhouette.front
    right = [f"{TALL * half:.1f} {-TALL * up:.1f}" for up, half in rows]
    left = [f"{-TALL * half:.1f} {-TALL * up:.1f}" for up, half in reversed(rows)]
    return f'<path {pen} stroke-linejoin="round" d="M{"L".join([*right, *left])}Z"/>'


def _spot(silhouette: Silhouette, face: str, change: SpotChange) -> str:
    spot = change.spot
    x, y = place_on_face(silhouette, face, spot)
    scale = TALL / silhouette.height_mm if silhouette.height_mm else 0.0
    radius = max(LEAST_RADIUS, min(spot.size_mm * scale / 2, TALL / 3))
    gone = change.what == "gone"
    dash = ' stroke-dasharray="2 2"' if gone else ""
    colour = SOFT if gone else STOP
    fill = "none" if gone else colour
    return (
        f'<g class="spot{" gone" if gone else ""}"><title>{spot.number}: {escape(spot_words(spot))}</title>'
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}" fill="{fill}" fill-opacity="0.28" stroke="{colour}" '
        f'stroke-width="1"{dash}/><text x="{x:.1f}" y="{y + 3:.1f}" text-anchor="middle" font-size="8.5" '
        f'fill="{INK}">{spot.number}</text></g>'
    )


def spot_words(spot: Spot) -> str:
    """
    A spot in a few words.

    Examples
    --------
    >>> spot_words(Spot(2, "stain", "front", 0.5, 0.0, 12.0, "tea?"))
    'stain, 12\\xa0mm, tea?'
    """
    return ", ".join(part for part in (SPOT_KINDS[spot.kind], f"{spot.size_mm:g}\u00a0mm", spot.remark) if part)


def _described(face: str, changes: Sequence[SpotChange]) -> str:
    here = [change for change in changes if change.spot.face == face]
    told = "; ".join(f"{change.spot.number}: {spot_words(change.spot)}" for change in here)
    return f"{FACES[face]}: {told}" if told else f"{FACES[face]}: nothing marked"
