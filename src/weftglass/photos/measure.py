"""From an outline in pixels to a profile in mm, with perspective undone and a standard deviation at each height."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from weftglass.errors import InputError
from weftglass.photos.camera import FOCAL_REL_SD, focal_px, front_edge, touched_circle
from weftglass.photos.frame import Frame
from weftglass.photos.rows import Rows, dense, rows_of, runs, straight_middle
from weftglass.photos.scale import Scale, scale_from_height
from weftglass.photos.tilt import Tilt, end_half_width, straight_bottom, tilt_of

FloatArray = NDArray[np.float64]
AxisPx = tuple[tuple[float, float], tuple[float, float]]

POINTS = 140
EDGE_SD_PX = 1.0
"""How well an edge stands at one height, before left and right are compared (common practice, no source)."""

USUAL_DISTANCE_MM = 800.0
USUAL_DISTANCE_LOG_SD = 0.4
"""Distance assumed where the focal length is unknown: 0.55 to 1.2 m in two of three (common practice, no source)."""

FLAT_DEPTH, FLAT_DEPTH_SD = 0.6, 0.3
"""Half-depth over half-width assumed for a piece with a straight bottom edge: from flask (0.3) to square (1)."""

BULGE_SHARE = 0.06
"""A side that stands out by more than this share of the half-width is taken for a handle, strap or seal."""


@dataclass(frozen=True, eq=False)
class MeasuredOutline:
    """
    A profile measured on a photograph.

    Parameters
    ----------
    polygon_px : array, shape (n, 2)
        The outline as traced or drawn: x right, y down, pixels of the photograph.
    mm_per_px : float
        At the axis, on average over its height.
    axis : dict
        ``top_px``, ``bottom_px`` (where the axis meets top and standing plane), ``roll_deg`` (axis from upright in the
        picture, positive when its top leans right), ``tilt_deg`` and ``tilt_sd_deg`` (camera looking down),
        ``distance_mm`` and ``distance_sd_mm`` (camera to axis), ``height_mm`` and ``height_sd_mm`` (scale included).
    points : array, shape (n, 2)
        Rows of (height z, half-width) in mm; z rises from 0 at the standing plane to the top.
    sd_mm : array, shape (n,)
        Standard deviation of the edge along its normal at each height, scale not included, mm.
    scale_sd : float
        Relative standard deviation of the scale shared by all lengths.
    warnings : tuple of str
    hidden : tuple of (low, high)
        Height ranges in mm where one side bulges (handle, strap, seal): the other side was taken.
    """

    polygon_px: FloatArray
    mm_per_px: float
    axis: dict[str, Any]
    points: FloatArray
    sd_mm: FloatArray
    scale_sd: float
    warnings: tuple[str, ...] = ()
    hidden: tuple[tuple[float, float], ...] = ()

    @property
    def height_mm(self) -> float:
        """Height from standing plane to top, mm."""
        return float(self.points[-1, 0])

    def to_record(self) -> dict[str, Any]:
        """What `weftglass outline --json` prints: rounded to a hundredth of a pixel or millimetre."""
        return {
            "polygon_px": np.round(self.polygon_px, 2).tolist(),
            "mm_per_px": float(f"{self.mm_per_px:.6g}"),
            "axis": self.axis,
            "profile": np.round(self.points, 2).tolist(),
            "sd_mm": np.round(self.sd_mm, 3).tolist(),
            "scale_sd": round(self.scale_sd, 5),
            "hidden": [[round(low, 1), round(high, 1)] for low, high in self.hidden],
            "warnings": list(self.warnings),
        }


@dataclass(frozen=True, eq=False)
class _Sides:
    """Half-widths by rows of a turned camera, in units of the distance, one-sided bulges taken off."""

    y: FloatArray
    half: FloatArray
    uneven: FloatArray
    left_bulge: NDArray[np.bool_]
    right_bulge: NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class _Shape:
    """A profile in units of the distance: drop of the standing plane below the eye, rows of height and radius."""

    base_drop: float
    height: float
    z: FloatArray
    radius: FloatArray
    y_of_z: FloatArray

    def radius_at(self, z: FloatArray) -> FloatArray:
        return np.asarray(np.interp(z, self.z, self.radius))


def measure_outline(
    polygon_px: ArrayLike,
    *,
    scale: Scale | None = None,
    height_mm: float | None = None,
    height_sd_mm: float = 1.0,
    focal_35mm: float | None = None,
    image_size: tuple[int, int],
    axis: AxisPx | None = None,
    tilt_deg: float | None = None,
    points: int = POINTS,
    where: str = "outline",
) -> MeasuredOutline:
    """
    Measure an outline: symmetry axis, roll, tilt, perspective of a vessel of revolution, profile.

    Parameters
    ----------
    polygon_px : array, shape (n, 2), n >= 3
        The outline, traced or drawn by hand, closed or not; x right, y down.
    scale : Scale, optional
        From a bar. At least one of `scale` and `height_mm` is needed; of both, each weighs by its certainty.
    height_mm, height_sd_mm : float, optional
        Known height of the piece, standing plane to top, and its standard deviation.
    focal_35mm : float, optional
        Focal length as on 35 mm film. Without it a distance of 0.55 to 1.2 m is assumed and said.
    image_size : tuple (width, height)
        Of the upright photograph, in pixels.
    axis : two points (upper, lower), optional
        The symmetry axis where a person set it; else found.
    tilt_deg : float, optional
        How far the camera looked down, where known; else estimated from bottom and top edge.
    points : int
        Rows of the profile wanted.
    where : str
        For messages.

    Returns
    -------
    MeasuredOutline

    Raises
    ------
    InputError
        If the polygon is no outline, or neither scale nor height is given.

    Notes
    -----
    Assumes square pixels, no lens distortion and an uncropped picture (optical axis through its middle).
    """
    polygon = _checked_polygon(polygon_px, where)
    if scale is None and height_mm is None:
        raise InputError(where, "scale", None, "a scale bar or a known height in mm")
    rough = _rough_scale(polygon, scale, height_mm, where)
    line = dense(polygon)
    width, height = image_size
    centre = ((width - 1) / 2, (height - 1) / 2)
    focal, focal_sd = _focal(focal_35mm, rough.mm_per_px, width, height)
    solved = _solve(line, focal, centre, axis, tilt_deg)
    unit_mm, scale_sd = _unit_mm(solved, scale, height_mm, height_sd_mm, rough)
    z = np.linspace(0.0, solved.shape.height, points)
    sd_mm, height_spread = _spread(line, solved, z, unit_mm, focal_sd, scale, tilt_known=tilt_deg is not None)
    rows = np.column_stack([z, solved.shape.radius_at(z)]) * unit_mm
    hidden, remarks = _bulges(solved, unit_mm)
    remarks += _doubts(polygon, image_size, focal_35mm, height_spread, solved.tilt, flat=solved.flat)
    top, bottom = solved.frame.back([[0.0, solved.shape.y_of_z[-1]], [0.0, solved.shape.y_of_z[0]]])
    tall_mm = float(solved.shape.height * unit_mm)
    facts = {
        "top_px": [round(float(v), 2) for v in top],
        "bottom_px": [round(float(v), 2) for v in bottom],
        "roll_deg": round(math.degrees(math.atan2(top[0] - bottom[0], bottom[1] - top[1])), 2),
        "tilt_deg": round(solved.tilt.degrees, 2),
        "tilt_sd_deg": round(solved.tilt.sd, 2),
        "distance_mm": round(unit_mm, 1),
        "distance_sd_mm": round(unit_mm * math.hypot(focal_sd, scale_sd), 1),
        "height_mm": round(tall_mm, 1),
        "height_sd_mm": round(math.hypot(height_spread, tall_mm * scale_sd), 1),
    }
    rows.setflags(write=False)
    sd_mm.setflags(write=False)
    mm_per_px = tall_mm / float(np.hypot(*(top - bottom)))
    return MeasuredOutline(polygon, mm_per_px, facts, rows, sd_mm, scale_sd, tuple(remarks), hidden)


@dataclass(frozen=True, eq=False)
class _Solved:
    frame: Frame
    axis_px: AxisPx
    tilt: Tilt
    sides: _Sides
    shape: _Shape
    flat: bool


def _checked_polygon(polygon_px: ArrayLike, where: str) -> FloatArray:
    polygon = np.array(polygon_px, dtype=np.float64)
    if polygon.ndim != 2 or polygon.shape[1:] != (2,) or not 3 <= len(polygon) <= 100_000:
        raise InputError(where, "polygon", f"{polygon.shape}", "at least 3 points (x, y) in pixels")
    if not np.all(np.isfinite(polygon)) or np.any(np.abs(polygon) > 1e6):
        raise InputError(where, "polygon", "not finite", "finite numbers, in pixels")
    if np.ptp(polygon[:, 1]) < 16 or np.ptp(polygon[:, 0]) < 8:
        size = f"{np.ptp(polygon[:, 0]):.0f} × {np.ptp(polygon[:, 1]):.0f} pixels"
        raise InputError(where, "polygon", size, "an outline at least 8 pixels wide and 16 tall")
    polygon.setflags(write=False)
    return polygon


def _rough_scale(polygon: FloatArray, scale: Scale | None, height_mm: float | None, where: str) -> Scale:
    if scale is not None:
        return scale
    assert height_mm is not None
    return scale_from_height(height_mm, float(np.ptp(polygon[:, 1])), where=where)


def _focal(focal_35mm: float | None, mm_per_px: float, width: int, height: int) -> tuple[float, float]:
    """Focal length in pixels and its relative sd; from the usual distance where the camera wrote none."""
    if focal_35mm is None:
        return USUAL_DISTANCE_MM / mm_per_px, USUAL_DISTANCE_LOG_SD
    return focal_px(focal_35mm, width, height), FOCAL_REL_SD


def _solve(
    line: FloatArray, focal: float, centre: tuple[float, float], axis: AxisPx | None, tilt_deg: float | None
) -> _Solved:
    """Axis and tilt in turn (each needs the other a little), then the shape."""
    rows = rows_of(line)
    at_zero, lean = straight_middle(rows)
    ends = (float(rows.y[0]), float(rows.y[-1]))
    found: AxisPx = ((at_zero + lean * ends[0], ends[0]), (at_zero + lean * ends[1], ends[1]))
    axis_px = axis or found
    tilt = Tilt(tilt_deg, 0.0) if tilt_deg is not None else tilt_of(line, axis_px, focal, centre)
    if axis is None:
        axis_px = _refined_axis(line, axis_px, tilt, focal, centre)
    frame = Frame.facing(axis_px, tilt.degrees, focal, centre)
    sides = _sides(rows_of(frame.seen(line)))
    flat = straight_bottom(line, Frame.facing(axis_px, 0.0, focal, centre))
    return _Solved(frame, axis_px, tilt, sides, _shape(sides, frame.seen(line), FLAT_DEPTH if flat else None), flat)


def _refined_axis(line: FloatArray, axis_px: AxisPx, tilt: Tilt, focal: float, centre: tuple[float, float]) -> AxisPx:
    """In the turned camera the silhouette is symmetric exactly, so the middles there give the axis."""
    for _ in range(2):
        frame = Frame.facing(axis_px, tilt.degrees, focal, centre)
        rows = rows_of(frame.seen(line))
        at_zero, lean = straight_middle(rows)
        upper, lower = frame.back([[at_zero + lean * y, y] for y in (rows.y[0], rows.y[-1])])
        axis_px = ((float(upper[0]), float(upper[1])), (float(lower[0]), float(lower[1])))
    return axis_px


def _sides(rows: Rows) -> _Sides:
    left, right = -rows.left, rows.right
    lesser = np.maximum(np.minimum(left, right), 0.0)
    body = float(np.max(lesser))
    limit = np.maximum(BULGE_SHARE * lesser, 0.025 * body)
    shortest = max(3, len(rows.y) // 30)
    out = [np.zeros(len(rows.y), dtype=bool), np.zeros(len(rows.y), dtype=bool)]
    inner = slice(len(rows.y) // 40, len(rows.y) - len(rows.y) // 40)
    for side, excess in zip(out, (left - right, right - left), strict=True):
        for first, last in runs(excess[inner] > limit[inner], shortest):
            side[inner][first : last + 1] = True
    uneven = np.abs(left - right) / 2
    either = out[0] | out[1]
    half = np.where(either, lesser, np.maximum((left + right) / 2, 0.0))
    return _Sides(rows.y, half, np.where(either, 0.3 * uneven, uneven), out[0], out[1])


def _shape(sides: _Sides, seen: FloatArray, depth_share: float | None) -> _Shape:
    """
    Undo the perspective: ends from the ellipses of base and lip, sides from the planes that touch them.

    With a `depth_share` the piece is square or flat and its sides are the corners of its front.
    """
    if depth_share is None:
        radius, drop = touched_circle(sides.half, sides.y, _slope(sides.y, sides.half))
    else:
        radius, drop = front_edge(sides.half, sides.y, depth_share)
    y_low, y_top = float(seen[:, 1].max()), float(seen[:, 1].min())
    base_radius, top_radius = (end_half_width(seen, bottom=b) for b in (True, False))
    for _ in range(3):
        nearer = base_radius * (1.0 if depth_share is None else depth_share)
        base_drop = y_low * (1 - nearer if y_low >= 0 else 1 + nearer)
        top_drop = y_top * (1 + top_radius if y_top >= 0 else 1 - top_radius)
        base_radius = _radius_near(base_drop, sides, radius, base_radius)
        top_radius = _radius_near(top_drop, sides, radius, top_radius)
    height = base_drop - top_drop
    inside = (sides.y > top_drop) & (sides.y < base_drop)
    z = base_drop - drop[inside]
    order = np.argsort(z, kind="stable")
    z, r = z[order], radius[inside][order]
    keep = (z > 0.004 * height) & (z < 0.996 * height)
    z, r = z[keep], r[keep]
    if len(z) < 8:  # a disc seen from above: no side to measure, the ends are all there is
        z, r = np.array([0.5 * height]), np.array([max(base_radius, top_radius)])
    z = np.concatenate([[0.0], z, [height]])
    r = np.concatenate([[min(base_radius, r[0] * 1.02)], r, [min(top_radius, r[-1] * 1.02)]])
    return _Shape(base_drop, height, z, r, base_drop - z)


def _radius_near(drop: float, sides: _Sides, radius: FloatArray, widest: float) -> float:
    """Radius at the row of a rim's centre, but not beyond what the end is wide."""
    return float(min(np.interp(drop, sides.y, radius), widest * 1.05)) or widest


def _slope(y: FloatArray, half: FloatArray, reach: int = 3) -> FloatArray:
    """dw/dy by least squares over 2 * reach + 1 rows, clipped where the outline runs level."""
    steps = np.arange(-reach, reach + 1)
    padded = np.pad(half, reach, mode="edge")
    kernel = steps / np.sum(steps**2)
    slope = np.convolve(padded, kernel[::-1], mode="valid") / (y[1] - y[0])
    return np.asarray(np.clip(slope, -3.0, 3.0))


def _unit_mm(
    solved: _Solved, scale: Scale | None, height_mm: float | None, height_sd_mm: float, rough: Scale
) -> tuple[float, float]:
    """Millimetres for one unit (the camera's distance) and its relative sd; bar and height weigh by certainty."""
    found: list[tuple[float, float]] = []
    if scale is not None:
        found.append((_unit_from_bar(solved.frame, scale), scale.rel_sd))
    if height_mm is not None:
        edge = rough.rel_sd if scale is None else height_sd_mm / height_mm
        found.append((height_mm / solved.shape.height, math.hypot(height_sd_mm / height_mm, edge)))
    weights = np.array([1 / max(sd, 1e-4) ** 2 for _, sd in found])
    logs = np.log([unit for unit, _ in found])
    return float(np.exp(np.average(logs, weights=weights))), float(1 / math.sqrt(weights.sum()))


def _unit_from_bar(frame: Frame, scale: Scale) -> float:
    """A bar stands in the upright plane through the axis that runs across the picture, square to the optical axis."""
    if scale.ends_px is None or scale.length_mm is None:
        return scale.mm_per_px * frame.focal_px
    rays = np.column_stack([frame.seen(np.array(scale.ends_px).reshape(2, 2)), np.ones(2)])
    across = frame.turn @ np.array([0.0, 0.0, 1.0])
    ends = rays * (across[2] / (across[0] * rays[:, :1] + across[2]))
    return scale.length_mm / float(np.linalg.norm(ends[1] - ends[0]))


def _spread(
    line: FloatArray,
    solved: _Solved,
    z: FloatArray,
    unit_mm: float,
    focal_sd: float,
    scale: Scale | None,
    *,
    tilt_known: bool,
) -> tuple[FloatArray, float]:
    """
    Sd along the normal at each height, and of the height as a whole, mm, the scale's own error left out.

    The edge itself, left against right, and what becomes of the profile when tilt and focal length are off by one
    standard deviation each way.
    """
    pixel = unit_mm / solved.frame.focal_px
    uneven = np.interp(solved.shape.base_drop - z, solved.sides.y, solved.sides.uneven) * unit_mm
    radius = solved.shape.radius_at(z)
    normal = 1.0 / np.sqrt(1.0 + np.gradient(radius, z) ** 2)
    variance = (EDGE_SD_PX * pixel) ** 2 + (_smooth(uneven) * normal) ** 2 / 2
    height_variance = (EDGE_SD_PX * pixel) ** 2 * 2
    tilts = [] if tilt_known else [Tilt(solved.tilt.degrees + d, 0.0) for d in (-solved.tilt.sd, solved.tilt.sd)]
    share = FLAT_DEPTH if solved.flat else None
    variants = [(tilt, solved.frame.focal_px, share) for tilt in tilts]
    variants += [(solved.tilt, solved.frame.focal_px * math.exp(d), share) for d in (-focal_sd, focal_sd)]
    if share is not None:
        variants += [(solved.tilt, solved.frame.focal_px, share + d) for d in (-FLAT_DEPTH_SD, FLAT_DEPTH_SD)]
    for tilt, focal, depth_share in variants:
        frame = Frame.facing(solved.axis_px, tilt.degrees, focal, solved.frame.centre_px)
        seen = frame.seen(line)
        shape = _shape(_sides(rows_of(seen)), seen, depth_share)
        same_height = unit_mm * solved.shape.height / shape.height
        unit = same_height if scale is None else _unit_from_bar(frame, scale)
        other = np.interp(z * unit_mm, shape.z * unit, shape.radius * unit)
        variance += ((other - radius * unit_mm) * normal) ** 2 / 2
        height_variance += ((shape.height * unit - solved.shape.height * unit_mm) ** 2) / 2
    return np.sqrt(variance), math.sqrt(height_variance)


def _smooth(values: FloatArray, reach: int = 4) -> FloatArray:
    """Root mean square over 2 * reach + 1 neighbours."""
    window = np.ones(2 * reach + 1) / (2 * reach + 1)
    return np.asarray(np.sqrt(np.convolve(np.pad(values**2, reach, mode="edge"), window, mode="valid")))


def _bulges(solved: _Solved, unit_mm: float) -> tuple[tuple[tuple[float, float], ...], list[str]]:
    hidden: list[tuple[float, float]] = []
    remarks: list[str] = []
    z = (solved.shape.base_drop - solved.sides.y) * unit_mm
    for name, flags in (("left", solved.sides.left_bulge), ("right", solved.sides.right_bulge)):
        for first, last in runs(flags):
            low, high = max(0.0, float(z[last])), float(z[first])
            hidden.append((low, high))
            remarks.append(
                f"The outline stands out on the {name} between {low:.0f} and {high:.0f} mm: a handle or strap? "
                "There the other side was taken."
            )
    return tuple(sorted(hidden)), remarks


def _doubts(
    polygon: FloatArray,
    image_size: tuple[int, int],
    focal_35mm: float | None,
    height_spread: float,
    tilt: Tilt,
    *,
    flat: bool,
) -> list[str]:
    remarks: list[str] = []
    if focal_35mm is None:
        remarks.append(
            "The focal length is not known, so a camera 0.55 to 1.2 m away is assumed: "
            f"the height is uncertain by {height_spread:.1f} mm for that and the tilt."
        )
    if flat:
        remarks.append(
            "The bottom edge is straight, so the piece is taken to be square or flat and seen square-on; "
            "its depth is not known, which is allowed for."
        )
    if tilt.sd > 4:
        remarks.append("The edges at bottom and top do not tell how far the camera looked down.")
    width, height = image_size
    edges = {
        "top": polygon[:, 1].min() < 1,
        "bottom": polygon[:, 1].max() > height - 2,
        "left": polygon[:, 0].min() < 1,
        "right": polygon[:, 0].max() > width - 2,
    }
    remarks += [f"The outline is cut off by the {name} edge of the picture." for name, cut in edges.items() if cut]
    return remarks


def with_warnings(measured: MeasuredOutline, more: Sequence[str]) -> MeasuredOutline:
    """The same outline with further warnings in front."""
    return replace(measured, warnings=(*more, *measured.warnings))
