"""One individual glass vessel of a form: its own size and warp, and its mesh with wall, push-up, lip and letters."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter, ImageFont
from scipy.ndimage import gaussian_filter1d

from weftglass.vessels import Form, Section

FloatArray = NDArray[np.float64]
AROUND = 240
FONT = "DejaVuSans-Bold.ttf"


@dataclass(frozen=True, eq=False)
class Vessel:
    """Heights (mm), half-widths from the front and half-depths from the side of one individual, and its plan."""

    z: FloatArray
    wide: FloatArray
    deep: FloatArray
    section: Section
    bore: float
    push_up: float


def _smooth_noise(rng: np.random.Generator, z: FloatArray, length: float) -> FloatArray:
    """A smooth random curve of standard deviation 1."""
    fine = np.linspace(z[0] - 3 * length, z[-1] + 3 * length, 400)
    raw = gaussian_filter1d(rng.standard_normal(400), length / (fine[1] - fine[0]))
    return np.interp(z, fine, raw / raw.std())


def individual(form: Form, rng: np.random.Generator, share: float = 0.7) -> Vessel:
    """
    Draw one vessel of a form.

    ``share`` scales the form's own tolerances: 1 draws as far off as the library says vessels are. The warp is gentler
    in the neck and lip, where tools set the shape.
    """
    own = form.tolerance
    stretch = 1 + share * own.height_sd * np.clip(rng.standard_normal(), -2, 2)
    widen = 1 + share * own.width_sd * np.clip(rng.standard_normal(), -2, 2)
    front = form.profile.points
    z = np.unique(np.concatenate([front[:, 0], np.arange(0.0, form.profile.height_mm, 1.2)]))
    wide = form.profile.half_width_at(z)
    deep = (
        wide
        if form.side_profile is None
        else form.side_profile.half_width_at(np.minimum(z, form.side_profile.height_mm))
    )
    warp = _smooth_noise(rng, z, 0.22 * z[-1]) * share * own.shape_sd_mm
    warp = warp * np.clip(wide / wide.max(), 0.0, 1.0) ** 1.5 * np.clip(z / 12.0, 0.25, 1.0)
    flat = np.divide(deep, wide, out=np.ones_like(wide), where=wide > 0.0)  # a base may come to a point
    return Vessel(
        z=z * stretch,
        wide=wide * widen + warp,
        deep=deep * widen + warp * flat,
        section=form.section,
        bore=(form.bore_mm or 1.3 * float(wide[-1])) / 2,
        push_up=form.push_up_mm or 2.5,
    )


def _letter_field(text: str, x: FloatArray, z: FloatArray, height: float, middle: float) -> FloatArray:
    """Relief (0 to 1) of embossed letters at points x (from the middle, mm) and z."""
    scale = 10
    font = ImageFont.truetype(FONT, int(height * scale * 1.35))
    box = font.getbbox(text)
    picture = Image.new("L", (box[2] - box[0] + 8 * scale, box[3] - box[1] + 8 * scale), 0)
    ImageDraw.Draw(picture).text((4 * scale - box[0], 4 * scale - box[1]), text, fill=255, font=font)
    relief = np.asarray(picture.filter(ImageFilter.GaussianBlur(0.3 * scale)), dtype=np.float64) / 255
    col = np.round(x * scale + relief.shape[1] / 2).astype(int)
    row = np.round(relief.shape[0] / 2 - (z - middle) * scale).astype(int)
    inside = (col >= 0) & (col < relief.shape[1]) & (row >= 0) & (row < relief.shape[0])
    return np.where(inside, relief[np.clip(row, 0, relief.shape[0] - 1), np.clip(col, 0, relief.shape[1] - 1)], 0.0)


def glass_mesh(
    vessel: Vessel, wall: float, letters: tuple[dict[str, Any], ...] = ()
) -> tuple[FloatArray, NDArray[np.int32]]:
    """
    Closed mesh of the glass: bottom, outer wall, lip, inner wall, inner floor.

    Returns
    -------
    vertices (n, 3) in mm and quads (m, 4); the vessel stands on z = 0 with its front towards -y.
    """
    z, wide, deep = vessel.z, vessel.wide, vessel.deep
    around = AROUND
    if letters:
        top = max(item["z"][1] for item in letters) + 2
        low = min(item["z"][0] for item in letters) - 2
        extra = np.arange(low, top, 0.3)
        fine = np.unique(np.concatenate([z, extra]))
        wide, deep, z = np.interp(fine, z, wide), np.interp(fine, z, deep), fine
        around = 900
    dome = np.linspace(0.02, 0.92, 18)
    push = vessel.push_up * (1 - (dome / 0.92) ** 2) ** 1.3 + 0.01
    floor = max(4.0, wall * 1.6)
    narrow = np.flatnonzero((np.minimum(wide, deep) - wall < vessel.bore) & (z > 0.4 * z[-1]))
    shoulder = z[narrow[0]] if len(narrow) else z[-1]
    inner_wide = np.where(z < shoulder, wide - wall, np.minimum(vessel.bore, wide - 1.5))
    inner_deep = np.where(z < shoulder, deep - wall, np.minimum(vessel.bore, deep - 1.5))
    inner_wide, inner_deep = gaussian_filter1d(inner_wide, 1.0), gaussian_filter1d(inner_deep, 1.0)
    keep = z > floor + vessel.push_up * 0.25
    rings = [np.column_stack([push, dome * wide[0], dome * deep[0]]), np.column_stack([z, wide, deep])]
    lip = np.array([[z[-1] + 0.25, (wide[-1] + inner_wide[-1]) / 2, (deep[-1] + inner_deep[-1]) / 2]])
    rings += [lip, np.column_stack([z, inner_wide, inner_deep])[keep][::-1]]
    first = int(np.flatnonzero(keep)[0])
    inside = np.linspace(0.94, 0.02, 16)
    lift = floor + vessel.push_up * np.clip(1 - (inside / 0.92) ** 2, 0, 1) ** 1.3
    rings.append(np.column_stack([np.maximum(lift, 0.0), inside * inner_wide[first], inside * inner_deep[first]]))
    outer = slice(len(dome), len(dome) + len(z))
    loop = np.concatenate(rings)
    points = np.stack([_ring(vessel.section, row, around) for row in loop])
    if letters:
        points[outer] = _emboss(points[outer], letters)
    return points.reshape(-1, 3), _quads(len(loop), around)


def _ring(section: Section, row: FloatArray, around: int) -> FloatArray:
    edge = section.edge_points(float(row[1]), float(row[2]), around)
    return np.column_stack([edge, np.full(around, row[0])])


def _emboss(points: FloatArray, letters: tuple[dict[str, Any], ...]) -> FloatArray:
    flat = points.copy()
    away = np.hypot(points[..., 0], points[..., 1])[..., None]
    for item in letters:
        middle, height = sum(item["z"]) / 2, item["z"][1] - item["z"][0]
        angle = np.arctan2(points[..., 0], -points[..., 1])
        along = angle * away[..., 0] if item.get("curved", True) else points[..., 0]
        relief = _letter_field(item["text"], along, points[..., 2], height, middle) * (points[..., 1] < 0)
        flat[..., :2] += points[..., :2] / away * (relief * item.get("relief", 0.9))[..., None]
    return flat


def _quads(rings: int, around: int) -> NDArray[np.int32]:
    i, j = np.meshgrid(np.arange(rings - 1), np.arange(around), indexing="ij")
    k = (j + 1) % around
    return (
        np.stack([i * around + j, i * around + k, (i + 1) * around + k, (i + 1) * around + j], -1)
        .reshape(-1, 4)
        .astype(np.int32)
    )
