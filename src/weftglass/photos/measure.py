"""From an outline in pixels to a profile in mm, with perspective undone and a standard deviation at each height."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from weftglass.errors import InputError, Unfit, numbers_text
from weftglass.photos.camera import FOCAL_REL_SD, focal_px
from weftglass.photos.cut import SEEN, Unseen, cut_ends
from weftglass.photos.decode import Pixels
from weftglass.photos.frame import Frame
from weftglass.photos.remarks import bulges, doubts, size_doubts
from weftglass.photos.rows import dense
from weftglass.photos.scale import Scale, scale_from_height
from weftglass.photos.section import SectionHint
from weftglass.photos.solve import AxisPx, Solved, shape_of, sides_of, unit_from_bar
from weftglass.photos.solved_once import solved_once
from weftglass.photos.tilt import Tilt
from weftglass.photos.top_edge import doubted_top

FloatArray = NDArray[np.float64]

POINTS = 140
EDGE_SD_PX = 1.0
"""How well an edge stands at one height, before left and right are compared (common practice, no source)."""

USUAL_DISTANCE_MM = 800.0
USUAL_DISTANCE_LOG_SD = 0.4
"""Distance assumed where the focal length is unknown: 0.55 to 1.2 m in two of three (common practice, no source)."""

UNKNOWN_HEIGHT_MM, UNKNOWN_SD = 240.0, 0.45
"""Height and its relative sd of a piece of which no size is known (the middle of the starter library's forms)."""

PART_SD = 0.3
"""Least relative sd of a scale from a known height of which only a part is seen."""


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
        Height ranges in mm where one side bulges (handle, strap, seal) or leaves the picture: the other side was taken.
    unseen : Unseen
        Whether base or top are cut off or hidden; then heights count from the lowest point seen.
    """

    polygon_px: FloatArray
    mm_per_px: float
    axis: dict[str, Any]
    points: FloatArray
    sd_mm: FloatArray
    scale_sd: float
    warnings: tuple[str, ...] = ()
    hidden: tuple[tuple[float, float], ...] = ()
    unseen: Unseen = SEEN

    @property
    def height_mm(self) -> float:
        """Height from standing plane to top, mm."""
        return float(self.points[-1, 0])

    def to_record(self) -> dict[str, Any]:
        """What `weftglass outline --json` prints: rounded to a hundredth of a pixel or millimetre."""
        ends = {"base_unseen": self.unseen.base, "top_unseen": self.unseen.top}
        return {
            "polygon_px": np.round(self.polygon_px, 2).tolist(),
            "mm_per_px": float(f"{self.mm_per_px:.6g}"),
            "axis": self.axis,
            "profile": np.round(self.points, 2).tolist(),
            "sd_mm": np.round(self.sd_mm, 3).tolist(),
            "scale_sd": round(self.scale_sd, 5),
            "hidden": [[round(low, 1), round(high, 1)] for low, high in self.hidden],
            "warnings": list(self.warnings),
            **{name: True for name, gone in ends.items() if gone},
        }


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
    section: SectionHint | None = None,
    unseen: Unseen | None = None,
    shape_only: bool = False,
    pixels: Pixels | None = None,
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
        From a bar. One of `scale`, `height_mm` and `shape_only` is needed; of both, each weighs by its certainty.
    height_mm, height_sd_mm : float, optional
        Known height of the piece, standing plane to top, and its standard deviation.
    focal_35mm : float, optional
        Focal length as on 35 mm film. Without it a distance of 0.55 to 1.2 m is assumed and said.
    image_size : tuple (width, height)
        Of the upright photograph, in pixels.
    axis : two points (upper, lower), optional
        The symmetry axis where a person set it; else found.
    tilt_deg : float, optional
        How far the camera looked down, where known; else estimated from bottom and top edge, and from `pixels`.
    section : SectionHint, optional
        What is known of the body's section. Default: as the rows tell it; without `pixels` round, unless the bottom
        edge is straight.
    unseen : Unseen, optional
        Whether base or top are hidden. What the frame of the picture cuts off is noticed without it.
    shape_only : bool
        Whether no size at all is known: then a height of 240 mm is assumed, right within a factor of 1.6.
    pixels : array, shape (height, width, 3), uint8, optional
        The upright photograph: then the rows of the covering tell the tilt and what the body is in plan as well.
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
        If the polygon is no outline, or neither scale nor height is given and it is not for the shape only.

    Notes
    -----
    Assumes square pixels, no lens distortion and an uncropped picture (optical axis through its middle).
    """
    polygon = _checked_polygon(polygon_px, where)
    shape_only = shape_only and scale is None and height_mm is None
    if shape_only:
        height_mm, height_sd_mm = UNKNOWN_HEIGHT_MM, UNKNOWN_SD * UNKNOWN_HEIGHT_MM
    if scale is None and height_mm is None:
        raise InputError(where, "scale", None, "a scale bar or a known height in mm")
    rough = _rough_scale(polygon, scale, height_mm, where)
    line = dense(polygon)
    cut = cut_ends(line, image_size)
    if unseen is not None:
        cut = Unseen(cut.base or unseen.base, cut.top or unseen.top)
    if height_mm is not None and cut.any:
        height_sd_mm = max(height_sd_mm, PART_SD * height_mm)
    width, height = image_size
    centre = ((width - 1) / 2, (height - 1) / 2)
    focal, focal_sd = _focal(focal_35mm, rough.mm_per_px, width, height)
    solved = solved_once(polygon, line, pixels, focal, centre, axis, tilt_deg, section, cut)
    unit_mm, scale_sd = _unit_mm(solved, scale, height_mm, height_sd_mm, rough)
    z = np.linspace(0.0, solved.shape.height, points)
    sd_mm, height_spread = _spread(line, solved, z, unit_mm, focal_sd, scale, tilt_known=tilt_deg is not None)
    rows = np.column_stack([z, solved.shape.radius_at(z)]) * unit_mm
    doubted = None if cut.top else doubted_top(line, pixels)
    if doubted is not None:
        height_spread = math.hypot(height_spread, doubted.open_by * solved.shape.height * unit_mm / 2)
    hidden, remarks = bulges(solved, unit_mm)
    tall_mm = float(solved.shape.height * unit_mm)
    uncertain = f"{100 * height_spread / tall_mm:.0f} % of itself" if shape_only else f"{height_spread:.1f} mm"
    remarks += doubts(polygon, image_size, focal_35mm, uncertain, solved, guessed=section is None)
    remarks += size_doubts(solved, scale, height_mm, height_sd_mm, height_spread / unit_mm, shape_only=shape_only)
    remarks += [] if doubted is None else [doubted.why]
    top, bottom = solved.frame.back([[0.0, solved.shape.y_of_z[-1]], [0.0, solved.shape.y_of_z[0]]])
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
    return MeasuredOutline(polygon, mm_per_px, facts, rows, sd_mm, scale_sd, tuple(remarks), hidden, cut)


def _checked_polygon(polygon_px: ArrayLike, where: str) -> FloatArray:
    polygon = np.array(polygon_px, dtype=np.float64)
    if polygon.ndim != 2 or polygon.shape[1:] != (2,) or not 3 <= len(polygon) <= 100_000:
        wrong = f"polygon has {numbers_text(polygon.shape)}"
        raise Unfit(where, "polygon", wrong, "3 to 100 000 points (x, y) in pixels")
    if not np.all(np.isfinite(polygon)) or np.any(np.abs(polygon) > 1e6):
        raise Unfit(where, "polygon", "a point is not finite or over a million", "finite numbers, in pixels")
    if np.ptp(polygon[:, 1]) < 16 or np.ptp(polygon[:, 0]) < 8:
        wrong = f"the outline is {np.ptp(polygon[:, 0]):.0f} × {np.ptp(polygon[:, 1]):.0f} pixels large"
        raise Unfit(where, "polygon", wrong, "an outline at least 8 pixels wide and 16 tall")
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


def _unit_mm(
    solved: Solved, scale: Scale | None, height_mm: float | None, height_sd_mm: float, rough: Scale
) -> tuple[float, float]:
    """Millimetres for one unit (the camera's distance) and its relative sd; bar and height weigh by certainty."""
    found: list[tuple[float, float]] = []
    if scale is not None:
        found.append((unit_from_bar(solved.frame, scale), scale.rel_sd))
    if height_mm is not None:
        edge = rough.rel_sd if scale is None else height_sd_mm / height_mm
        found.append((height_mm / solved.shape.height, math.hypot(height_sd_mm / height_mm, edge)))
    weights = np.array([1 / max(sd, 1e-4) ** 2 for _, sd in found])
    logs = np.log([unit for unit, _ in found])
    return float(np.exp(np.average(logs, weights=weights))), float(1 / math.sqrt(weights.sum()))


def _spread(
    line: FloatArray,
    solved: Solved,
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
    height_variance = (EDGE_SD_PX * pixel) ** 2 * 2 + (solved.shape.height_sd * unit_mm) ** 2
    tilts = [] if tilt_known else [Tilt(solved.tilt.degrees + d, 0.0) for d in (-solved.tilt.sd, solved.tilt.sd)]
    share = None if solved.depth is None else solved.depth.share
    against_bar = 1.0 if scale is None else unit_mm / unit_from_bar(solved.frame, scale)
    variants = [(tilt, solved.frame.focal_px, share) for tilt in tilts]
    variants += [(solved.tilt, solved.frame.focal_px * math.exp(d), share) for d in (-focal_sd, focal_sd)]
    if solved.depth is not None:
        depths = [max(0.0, solved.depth.share + d) for d in (-solved.depth.sd, solved.depth.sd)]
        variants += [(solved.tilt, solved.frame.focal_px, depth) for depth in depths]
    for tilt, focal, depth_share in variants:
        frame = Frame.facing(solved.axis_px, tilt.degrees, focal, solved.frame.centre_px)
        shape = shape_of(sides_of(frame, line), line, frame, depth_share, solved.cut, solved.plan)
        same_height = unit_mm * solved.shape.height / shape.height
        unit = same_height if scale is None else against_bar * unit_from_bar(frame, scale)
        other = np.interp(z * unit_mm, shape.z * unit, shape.radius * unit)
        variance += ((other - radius * unit_mm) * normal) ** 2 / 2
        height_variance += ((shape.height * unit - solved.shape.height * unit_mm) ** 2) / 2
    return np.sqrt(variance), math.sqrt(height_variance)


def _smooth(values: FloatArray, reach: int = 4) -> FloatArray:
    """Root mean square over 2 * reach + 1 neighbours."""
    window = np.ones(2 * reach + 1) / (2 * reach + 1)
    return np.asarray(np.sqrt(np.convolve(np.pad(values**2, reach, mode="edge"), window, mode="valid")))


def with_warnings(measured: MeasuredOutline, more: Sequence[str]) -> MeasuredOutline:
    """The same outline with further warnings in front."""
    return replace(measured, warnings=(*more, *measured.warnings))
