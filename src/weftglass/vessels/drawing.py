"""
Drawings of forms as SVG: one form with its measures, and a sheet of a whole library.

Plain strings without script or style attributes. Lines take ``currentColor``; classes let a page set more:
``wg-drawing``, ``wg-sheet``, ``wg-wall``, ``wg-edge``, ``wg-tone``, ``wg-axis``, ``wg-measure``, ``wg-label``,
``wg-group``.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from html import escape

import numpy as np
from numpy.typing import NDArray

from weftglass.vessels.form import Form
from weftglass.vessels.library import FormLibrary
from weftglass.vessels.profile import Profile
from weftglass.vessels.volume import glass_volume_ml, surface_area_mm2

FloatArray = NDArray[np.float64]

SHEET_WIDTH = 1600.0
TONES = ((0.955, 0.5), (0.9, 0.34), (0.83, 0.22), (0.74, 0.13))  # engraved shading: share of the half-width, opacity
GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("Wine", ("wine", "wine/spirits", "wine/oil", "wine/cider/storage")),
    ("Spirits, cordials and bitters", ("spirits", "spirits/cordial", "spirits/bitters", "bitters", "bitters/cordial",
                                       "cordial", "spirits/wine", "spirits/general")),
    ("Medicine, pharmacy and chemicals", ("medicine", "prescription", "medicine/chemical", "poison/chemical",
                                          "pharmacy stock")),
    ("Soda and mineral water", ("soda", "mineral water", "soda/beer")),
    ("Beer and cider", ("beer", "beer/cider", "cider/beer")),
    ("Food, oil and milk", ("food", "milk", "tobacco")),
    ("Ink, toilet and household", ("ink", "household", "toilet", "fire-fighting")),
    ("Demijohns, carboys and storage", ("storage", "chemical", "rose water")),
)  # fmt: skip


def form_drawing_svg(form: Form, *, lettering: float = 1.0) -> str:
    """
    One form drawn as catalogues of glass do: left half in section, right half from outside, measures in mm.

    Parameters
    ----------
    form : Form
        A flat form gets its side view and plan as well.
    lettering : float
        Size of the measures' letters against the usual; 1.8 can be read where the drawing is as wide as a phone.

    Returns
    -------
    str
        An ``<svg>`` element whose user unit is about half a mm of a wine bottle; it scales to its container.

    Notes
    -----
    The wall of the section is not measured: it is the mean wall that the form's mass and surface give, and left out
    where no mass is listed. Each measure carries one standard deviation of the form's tolerance.
    """
    height = form.profile.height_mm
    widest = form.profile.widest_mm
    scale = min(520.0 / height, 230.0 / widest)
    flat = _needs_side(form)
    side = form.silhouette(90.0)
    size = (13.0 if not flat else 18.0) * lettering
    middle = 130.0 + widest * scale
    floor = 60.0 + height * scale
    parts = [_solid(form, middle, floor, scale), _measures(form, form.profile, middle, floor, scale, "width", size)]
    right = middle + widest * scale + max(150.0, 44.0 + 7.2 * size)
    bottom = floor + 80.0
    if flat:
        second = right + side.widest_mm * scale + 10.0
        parts += [
            _outside(side, second, floor, scale, both=True),
            _axis(second, floor, height * scale),
            _across(side.widest_mm, form, second, floor + 34.0, scale, "depth", size),
        ]
        right = second + max(side.widest_mm * scale + 50.0, 5.0 * size)
    if form.section.kind != "round":
        parts.append(_plan(form, middle, floor + 70.0 + side.widest_mm * scale, scale))
        bottom = floor + 100.0 + 2 * side.widest_mm * scale
    return _svg("wg-drawing", right, bottom, f"{form.title}, drawn to scale", parts)


def _needs_side(form: Form) -> bool:
    """Whether the side differs enough from the front to be drawn: a tenth of the width."""
    return form.section.kind != "round" and abs(form.silhouette(90.0).widest_mm / form.profile.widest_mm - 1) > 0.1


def library_sheet_svg(library: FormLibrary) -> str:
    """
    All forms of a library on one sheet, grouped by what they held, each group to one scale with its own scale bar.

    Parameters
    ----------
    library : FormLibrary
        Any number of forms; those of a flat plan show their side as well.

    Returns
    -------
    str
        An ``<svg>`` element 1600 units wide, as tall as it needs to be.
    """
    parts: list[str] = []
    top = 20.0
    for title, forms in _grouped(library):
        drawn, top = _group(title, forms, top)
        parts += drawn
    return _svg("wg-sheet", SHEET_WIDTH, top + 10.0, f"{len(library)} forms drawn to scale", parts)


def _grouped(library: FormLibrary) -> list[tuple[str, list[Form]]]:
    groups: dict[str, list[Form]] = {title: [] for title in (*(title for title, _ in GROUPS), "Other vessels")}
    home = {held: title for title, contents in GROUPS for held in contents}
    for form in library:
        groups[home.get(form.contents or "", "Other vessels")].append(form)
    return [(title, forms) for title, forms in groups.items() if forms]


def _group(title: str, forms: list[Form], top: float) -> tuple[list[str], float]:
    """Heading, scale bar and rows of one group; and where the next one begins."""
    tallest = max(form.profile.height_mm for form in forms)
    scale = min(240.0 / tallest, 1.6)
    bar = 100.0 if tallest > 180 else 50.0
    parts = [_text(20, top + 24, escape(title), 20, "wg-group"), _scale_bar(SHEET_WIDTH - 30.0, top + 20, bar, scale)]
    parts.append(_line(20, top + 36, SHEET_WIDTH - 20, top + 36, 0.6, "wg-rule", 0.5))
    top += 52.0
    for row in _rows(forms, scale):
        height = max(form.profile.height_mm for form in row) * scale
        left = 20.0
        for form in row:
            cell = _cell_width(form, scale)
            parts.append(_cell(form, left, cell, top + height, scale))
            left += cell
        top += height + 74.0
    return parts, top


def _rows(forms: Iterable[Form], scale: float) -> list[list[Form]]:
    rows: list[list[Form]] = [[]]
    used = 0.0
    for form in forms:
        cell = _cell_width(form, scale)
        if rows[-1] and used + cell > SHEET_WIDTH - 40.0:
            rows.append([])
            used = 0.0
        rows[-1].append(form)
        used += cell
    return rows


def _cell_width(form: Form, scale: float) -> float:
    drawn = 2 * form.profile.widest_mm * scale
    if _needs_side(form):
        drawn += 2 * form.silhouette(90.0).widest_mm * scale + 14.0
    return max(drawn + 30.0, 118.0)


def _cell(form: Form, left: float, width: float, floor: float, scale: float) -> str:
    middle = left + width / 2
    drawn = []
    if not _needs_side(form):
        drawn.append(_outside(form.profile, middle, floor, scale, both=True, form=form))
    else:
        side = form.silhouette(90.0)
        half = (form.profile.widest_mm + side.widest_mm) * scale + 7.0
        drawn.append(
            _outside(form.profile, middle - half + form.profile.widest_mm * scale, floor, scale, both=True, form=form)
        )
        drawn.append(_outside(side, middle + half - side.widest_mm * scale, floor, scale, both=True))
    lines = _wrapped(form.name, max(18, int(width / 6.2)))[:3]
    labels = [
        _text(middle, floor + 17 + 12 * i, escape(line), 10.5, "wg-label", "middle") for i, line in enumerate(lines)
    ]
    small = _text(middle, floor + 17 + 12 * len(lines), escape(form.size or ""), 9.5, "wg-label wg-size", "middle")
    title = f"<title>{escape(form.title)}</title>"
    content = title + "".join(drawn) + "".join(labels) + small
    return f'<g class="wg-form" data-form="{escape(form.id, quote=True)}">{content}</g>'


def _wrapped(words: str, longest: int) -> list[str]:
    lines = [""]
    for word in words.split():
        if lines[-1] and len(lines[-1]) + len(word) + 1 > longest:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return lines


def _solid(form: Form, middle: float, floor: float, scale: float) -> str:
    """Left half in section where the wall can be told, right half from outside."""
    wall = _wall_mm(form)
    parts = [_outside(form.profile, middle, floor, scale, both=wall is None, form=form)]
    if wall is not None:
        parts.append(_half_section(form, wall, middle, floor, scale))
    parts.append(_axis(middle, floor, form.profile.height_mm * scale))
    return "".join(parts)


def _outside(
    profile: Profile, middle: float, floor: float, scale: float, *, both: bool, form: Form | None = None
) -> str:
    """View from outside: edge, ring lines, corner lines of a plan with corners, engraved tone on the right."""
    fine, coarse = profile.simplified(0.08 / scale), profile.simplified(0.3 / scale)
    z, r = fine.z_mm, fine.half_width_mm
    right = np.column_stack([middle + r * scale, floor - z * scale])
    left = np.column_stack([middle - r * scale, floor - z * scale])
    start = np.array([[middle, right[0, 1]]])
    end = np.array([[middle, right[-1, 1]]])
    half = np.concatenate([start, right, end])
    outline = np.concatenate([left[::-1], right]) if both else half
    weight = 1.15 if scale < 1.7 else 1.5
    parts = [_path(outline, weight, "wg-edge", closed=both)]
    for share, opacity in TONES:
        line = np.column_stack([middle + share * coarse.half_width_mm * scale, floor - coarse.z_mm * scale])
        parts.append(_path(line, 0.5, "wg-tone", opacity))
    for height, reach in _ledges(profile):
        y = floor - height * scale
        parts.append(
            _line(middle - reach * scale if both else middle, y, middle + reach * scale, y, 0.6, "wg-edge", 0.8)
        )
    if form is not None:
        parts += [_path(corner, 0.6, "wg-edge", 0.7) for corner in _corner_lines(form, middle, floor, scale, both=both)]
    return "".join(parts)


def _ledges(profile: Profile) -> list[tuple[float, float]]:
    """Heights where the contour steps sideways, with the lesser half-width: the lines an eye sees across a finish."""
    z, r = profile.z_mm, profile.half_width_mm
    step = np.abs(np.diff(r)) / np.diff(z)
    reach = np.minimum(r[1:], r[:-1])
    lip = profile.half_width_at(np.linspace(0.96, 1.0, 60) * profile.height_mm).max()
    enough = (step > 2.2) & (np.abs(np.diff(r)) > 0.5) & (z[:-1] > 0.3 * profile.height_mm) & (reach < 1.05 * lip)
    return [(float(z[i]), float(max(r[i], r[i + 1]))) for i in np.flatnonzero(enough)]


def _corner_lines(form: Form, middle: float, floor: float, scale: float, *, both: bool) -> list[FloatArray]:
    """Upright lines where faces of a polygon, square or rectangle meet, as seen from the front."""
    shares = _corner_shares(form)
    if not shares:
        return []
    z = np.linspace(0.0, 1.0, 60) * form.profile.height_mm
    r = form.profile.half_width_at(z)
    low, high = form.section.blend_mm or (0.0, 1e-9)
    full = np.clip((r - low) / (high - low), 0.0, 1.0)
    shown = (full >= 1.0) & (z > 0.01 * form.profile.height_mm)
    if shown.sum() < 2:
        return []
    seen = [share for share in shares if share >= 0 or both]
    return [np.column_stack([middle + share * r[shown] * scale, floor - z[shown] * scale]) for share in seen]


def _corner_shares(form: Form) -> list[float]:
    section = form.section
    if section.kind == "polygon" and section.sides:
        angles = -np.pi / 2 - np.pi / section.sides + 2 * np.pi * np.arange(section.sides) / section.sides
        x, front = np.cos(angles), np.sin(angles) < 0
        half = 0.5 * (x.max() - x.min())
        return [float(v / half) for v in x[front] if abs(v) < 0.999 * half]
    if section.kind in ("square", "rectangle"):
        depth = 1.0 if form.side_profile is None else form.side_profile.widest_mm / form.profile.widest_mm
        inset = (section.corner or 0.0) * min(1.0, depth)
        return [-(1 - inset), 1 - inset] if inset > 0.05 else []
    return []


def _wall_mm(form: Form) -> float | None:
    """Mean wall from the middle of the mass range and the outer surface, mm; None where no mass is listed."""
    if form.weight_g is None:
        return None
    side = None if form.side_profile is None else form.side_profile.simplified(0.5)
    area = surface_area_mm2(form.profile.simplified(0.5), section=form.section, side_profile=side)
    return 1000.0 * glass_volume_ml(sum(form.weight_g) / 2) / area


def _half_section(form: Form, wall: float, middle: float, floor: float, scale: float) -> str:
    """The cut wall on the left: outer contour, inner contour one mean wall inside, base with its push-up."""
    z = np.unique(np.concatenate([form.profile.z_mm, np.linspace(0.0, form.profile.height_mm, 400)]))
    r = form.profile.half_width_at(z)
    push = form.push_up_mm or 0.0
    base = min(1.6 * wall + 1.0, 0.15 * form.profile.height_mm)
    bore = (form.bore_mm or 0.0) / 2
    inner = np.maximum(_inset(form.profile, z, wall), np.minimum(max(bore, 1.0), 0.85 * r))
    at = z >= base
    up = np.linspace(0.0, 1.0, 14)
    hollow = 0.8 * float(r[0]) * (1 - up)
    crown = push * np.sin(up * math.pi / 2) ** 1.3
    under = np.column_stack([middle - hollow * scale, floor - crown * scale])
    floor_of_inside = np.column_stack([middle - hollow[::-1] * scale, floor - (crown[::-1] + base) * scale])
    inside = np.column_stack([middle - inner[at] * scale, floor - z[at] * scale])
    outside = np.column_stack([middle - r[::-1] * scale, floor - z[::-1] * scale])
    shape = np.concatenate([inside, outside, under, floor_of_inside])
    rim = _line(float(inside[-1, 0]), float(inside[-1, 1]), middle, float(inside[-1, 1]), 0.6, "wg-edge", 0.8)
    fill = f'<path class="wg-wall" d="{_d(shape, True)}" fill="currentColor" fill-opacity="0.22" stroke="currentColor"'
    return f'{fill} stroke-width="1.1" stroke-linejoin="round"/>{rim}'


def _inset(profile: Profile, z: FloatArray, wall: float) -> FloatArray:
    """Half-width of everything that lies at least one wall inside the contour, at heights z."""
    reach = np.linspace(-1.0, 1.0, 21) * wall
    near = np.clip(z[:, None] + reach, 0.0, profile.height_mm)
    return np.asarray((profile.half_width_at(near) - np.sqrt(wall**2 - reach**2)).min(axis=1))


def _plan(form: Form, middle: float, y: float, scale: float) -> str:
    """The body's plan, front face downward."""
    widest = int(form.profile.half_width_mm.argmax())
    z = float(form.profile.z_mm[widest])
    side = form.profile if form.side_profile is None else form.side_profile
    edge = form.section.edge_points(form.profile.widest_mm, float(side.half_width_at(z)), 240)
    points = np.column_stack([middle + edge[:, 0] * scale, y - edge[:, 1] * scale])
    return _path(points, 1.2, "wg-edge wg-plan", closed=True)


def _measures(form: Form, profile: Profile, middle: float, floor: float, scale: float, across: str, size: float) -> str:
    height, widest = profile.height_mm, profile.widest_mm
    x = middle + widest * scale + 34.0
    top = floor - height * scale
    high = form.tolerance.height_sd * height
    lip = float(profile.half_width_at(np.linspace(0.95, 1.0, 60) * height).max())
    parts = [
        _arrowed(x, floor, x, top),
        _line(middle + widest * scale * 0.9 + 6, floor, x + 5, floor, 0.5, "wg-measure", 0.7),
        _line(middle + lip * scale + 6, top, x + 5, top, 0.5, "wg-measure", 0.7),
        _text(x + 8, (floor + top) / 2, f"{height:.0f} ± {_sd(high)} mm", size, "wg-measure"),
        _across(widest, form, middle, floor + 34.0, scale, across, size),
        _across(lip, form, middle, top - 22.0, scale, "lip", size, above=True),
    ]
    return "".join(parts)


def _across(
    half: float, form: Form, middle: float, y: float, scale: float, what: str, size: float, *, above: bool = False
) -> str:
    """A width between two upright ticks, with its number."""
    width = 2 * half
    sd = math.hypot(form.tolerance.width_sd * width, form.tolerance.shape_sd_mm * 0.5)
    reach = half * scale
    words = f"{what} {width:.{0 if width >= 50 else 1}f} ± {_sd(sd)} mm"
    ticks = "".join(_line(x, y - 5, x, y + 5, 0.5, "wg-measure", 0.7) for x in (middle - reach, middle + reach))
    return (
        _arrowed(middle - reach, y, middle + reach, y)
        + ticks
        + _text(middle, y - 8 if above else y + 4 + size, words, size, "wg-measure", "middle")
    )


def _sd(value: float) -> str:
    return f"{value:.0f}" if value >= 10 else f"{value:.1f}"


def _arrowed(x0: float, y0: float, x1: float, y1: float) -> str:
    length = math.hypot(x1 - x0, y1 - y0)
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    size = min(7.0, 0.3 * length)
    heads = []
    for x, y, turn in ((x0, y0, 1.0), (x1, y1, -1.0)):
        bx, by = x + turn * ux * size, y + turn * uy * size
        head = np.array(
            [[x, y], [bx - uy * size * 0.3, by + ux * size * 0.3], [bx + uy * size * 0.3, by - ux * size * 0.3]]
        )
        heads.append(f'<path class="wg-measure" d="{_d(head, True)}" fill="currentColor"/>')
    return _line(x0, y0, x1, y1, 0.6, "wg-measure") + "".join(heads)


def _axis(middle: float, floor: float, height: float) -> str:
    return (
        f'<path class="wg-axis" d="M{_n(middle)} {_n(floor + 12)}V{_n(floor - height - 12)}" fill="none" '
        'stroke="currentColor" stroke-width="0.6" stroke-dasharray="14 3 2 3" stroke-opacity="0.75"/>'
    )


def _scale_bar(right: float, y: float, length_mm: float, scale: float) -> str:
    left = right - length_mm * scale
    ticks = "".join(_line(x, y - 4, x, y + 4, 0.9, "wg-measure") for x in (left, (left + right) / 2, right))
    return (
        _line(left, y, right, y, 0.9, "wg-measure")
        + ticks
        + _text(left - 8, y + 4, f"{length_mm:.0f} mm", 11, "wg-measure", "end")
    )


def _svg(name: str, width: float, height: float, title: str, parts: Iterable[str]) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="{name}" role="img" viewBox="0 0 {_n(width)} {_n(height)}" '
        f"font-family=\"Georgia, 'Liberation Serif', serif\"><title>{escape(title)}</title>{''.join(parts)}</svg>"
    )


def _path(points: FloatArray, width: float, name: str, opacity: float = 1.0, *, closed: bool = False) -> str:
    faint = "" if opacity >= 1 else f' stroke-opacity="{opacity:g}"'
    return (
        f'<path class="{name}" d="{_d(points, closed)}" fill="none" stroke="currentColor" stroke-width="{width:g}"'
        f'{faint} stroke-linejoin="round"/>'
    )


def _d(points: FloatArray, closed: bool) -> str:
    return "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in points) + ("Z" if closed else "")


def _line(x0: float, y0: float, x1: float, y1: float, width: float, name: str, opacity: float = 1.0) -> str:
    return _path(np.array([[x0, y0], [x1, y1]]), width, name, opacity)


def _text(x: float, y: float, words: str, size: float, name: str, anchor: str = "start") -> str:
    return (
        f'<text class="{name}" x="{_n(x)}" y="{_n(y)}" font-size="{size:g}" text-anchor="{anchor}" '
        f'fill="currentColor">{words}</text>'
    )


def _n(value: float) -> str:
    return f"{value:.1f}".rstrip("0").rstrip(".")
