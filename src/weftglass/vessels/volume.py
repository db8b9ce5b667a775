"""What a vessel displaces and holds: outer volume, wall area, volume of its glass, capacity."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from weftglass.errors import InputError
from weftglass.vessels.profile import Profile
from weftglass.vessels.section import Section

FloatArray = NDArray[np.float64]

CONTAINER_GLASS_G_PER_ML = 2.52  # soda-lime container glass at 20 °C, range 2.48 to 2.56 (Seward & Vascott 2005)
NODES, WEIGHTS = np.polynomial.legendre.leggauss(5)  # exact for polynomials up to degree 9
ROUND = Section("round")


def outer_volume_ml(
    profile: Profile,
    *,
    section: Section = ROUND,
    side_profile: Profile | None = None,
    z_low_mm: float | None = None,
    z_high_mm: float | None = None,
) -> float:
    """
    Volume inside the outer face, between two heights.

    Parameters
    ----------
    profile : Profile
        Front half-width against height, mm.
    section : Section
        Shape of the plan; default round.
    side_profile : Profile, optional
        Half-depth against height, mm. Default: the same as the front.
    z_low_mm, z_high_mm : float, optional
        Heights in mm within the profile, the lower below the higher. Default: its two ends.

    Returns
    -------
    float
        Volume in ml, >= 0.

    Raises
    ------
    InputError
        If a height lies outside the profile or the heights are not in order.

    Notes
    -----
    Exact for straight segments (relative error below 1e-12) of round, oval, square, rectangle and polygon plans:
    between two breaks the area is a polynomial of the height. Flask plans: relative error below 2e-5. Carries no
    uncertainty of its own. A push-up in the base is not taken off.

    Examples
    --------
    >>> round(outer_volume_ml(Profile.of([[0, 40], [100, 40]])), 2)    # cylinder, 80 mm across, 100 mm tall
    502.65
    """
    low, high = _heights(profile, z_low_mm, z_high_mm)
    z, front, depth = _nodes(profile, section, side_profile, low, high)
    if section.kind == "round":
        r1, r2 = front[:-1], front[1:]
        return float(math.pi / 3 * np.sum(np.diff(z) * (r1 * r1 + r1 * r2 + r2 * r2)) / 1000.0)
    share = 0.5 * (NODES + 1.0)
    wide = front[:-1, None] + np.diff(front)[:, None] * share
    deep = depth[:-1, None] + np.diff(depth)[:, None] * share
    area = section.area_mm2(wide, deep) @ (0.5 * WEIGHTS)
    return float(np.sum(area * np.diff(z)) / 1000.0)


def surface_area_mm2(
    profile: Profile,
    *,
    section: Section = ROUND,
    side_profile: Profile | None = None,
    with_base: bool = True,
    with_top: bool = False,
) -> float:
    """
    Area of the outer wall, mm².

    Parameters
    ----------
    profile, section, side_profile
        As in `outer_volume_ml`.
    with_base, with_top : bool
        Whether the flat plan at the lowest and at the highest row counts. The mouth is open by default.

    Returns
    -------
    float
        Area in mm², >= 0. Exact for round plans; for others a fine mesh of the wall, relative error below 1e-3.

    Examples
    --------
    >>> round(surface_area_mm2(Profile.of([[0, 40], [100, 40]]), with_base=False), 1)
    25132.7
    """
    z, front, depth = _nodes(profile, section, side_profile, float(profile.z_mm[0]), profile.height_mm)
    if section.kind == "round":
        wall = float(math.pi * np.sum((front[:-1] + front[1:]) * np.hypot(np.diff(front), np.diff(z))))
    else:
        wall = _meshed_wall(z, front, depth, section)
    base = float(section.area_mm2(front[0], depth[0])) if with_base else 0.0
    top = float(section.area_mm2(front[-1], depth[-1])) if with_top else 0.0
    return wall + base + top


def glass_volume_ml(weight_g: float, density_g_per_ml: float = CONTAINER_GLASS_G_PER_ML) -> float:
    """
    Volume of the glass itself from its mass.

    Parameters
    ----------
    weight_g : float
        Empty mass, g, at least 0.
    density_g_per_ml : float
        2.52 for soda-lime container glass (range 2.48 to 2.56; Seward & Vascott 2005); about 2.6 for dark high-lime
        bottle glass of the 17th to 19th century and 2.9 to 3.1 for lead glass (both from memory).

    Returns
    -------
    float
        ml.

    Examples
    --------
    >>> round(glass_volume_ml(567), 0)
    225.0
    """
    _above("weight_g", weight_g, "g", allow_zero=True)
    _above("density_g_per_ml", density_g_per_ml, "g/ml")
    return weight_g / density_g_per_ml


def capacity_from_outer_ml(
    outer_ml: float, weight_g: float, density_g_per_ml: float = CONTAINER_GLASS_G_PER_ML
) -> float:
    """
    Brimful capacity: outer volume less the volume of the glass, ml; 0 when the glass alone is larger.

    Notes
    -----
    The outer volume must leave out the air of a push-up, else capacity comes out too large by that volume.

    Examples
    --------
    >>> round(capacity_from_outer_ml(480, 567), 0)
    255.0
    """
    _above("outer_ml", outer_ml, "ml", allow_zero=True)
    return max(0.0, outer_ml - glass_volume_ml(weight_g, density_g_per_ml))


def _heights(profile: Profile, low: float | None, high: float | None) -> tuple[float, float]:
    first, last = float(profile.z_mm[0]), profile.height_mm
    z_low = first if low is None else low
    z_high = last if high is None else high
    if not first <= z_low < z_high <= last:
        expected = f"two heights from {first:g} to {last:g} mm, the lower first"
        raise InputError("volume", "z_low_mm, z_high_mm", f"{low}, {high}", expected)
    return z_low, z_high


def _nodes(
    profile: Profile, section: Section, side_profile: Profile | None, low: float, high: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Heights between which width and depth are straight and the section keeps its rule; widths and depths there."""
    side = profile if side_profile is None or section.kind == "round" else side_profile
    z = np.unique(np.concatenate([profile.z_mm, side.z_mm, [low, high]]))
    z = z[(z >= low) & (z <= high)]
    front, depth = profile.half_width_at(z), side.half_width_at(z)
    if section.kind != "round":
        level = np.maximum(front, depth)
        crossings = [_crossings(z, front - depth)]
        for bound in section.blend_mm or ():
            crossings += [_crossings(z, front - bound), _crossings(z, depth - bound), _crossings(z, level - bound)]
        z = np.unique(np.concatenate([z, *crossings]))
        front, depth = profile.half_width_at(z), side.half_width_at(z)
    return z, front, depth


def _crossings(z: FloatArray, values: FloatArray) -> FloatArray:
    """Heights at which straight pieces change sign."""
    v1, v2 = values[:-1], values[1:]
    turns = v1 * v2 < 0
    return np.asarray(z[:-1][turns] + np.diff(z)[turns] * v1[turns] / (v1[turns] - v2[turns]))


def _meshed_wall(z: FloatArray, front: FloatArray, depth: FloatArray, section: Section, around: int = 360) -> float:
    """Area of triangles between the plan's edge at consecutive heights."""
    total, below = 0.0, None
    for height, a, b in zip(z, front, depth, strict=True):
        ring = np.column_stack([section.edge_points(float(a), float(b), around), np.full(around, height)])
        if below is not None:
            along, up = np.roll(below, -1, axis=0) - below, ring - below
            far = np.roll(ring, -1, axis=0)
            first = np.linalg.norm(np.cross(along, far - below), axis=1)
            second = np.linalg.norm(np.cross(far - below, up), axis=1)
            total += 0.5 * float(np.sum(first + second))
        below = ring
    return total


def _above(field: str, value: float, unit: str, *, allow_zero: bool = False) -> None:
    fine = math.isfinite(value) and (value >= 0 if allow_zero else value > 0)
    if not fine:
        raise InputError("volume", field, value, f"a number {'of at least' if allow_zero else 'above'} 0, in {unit}")
