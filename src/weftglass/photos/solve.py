"""The geometry of an outline: axis, tilt, and the profile in units of the camera's distance."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from weftglass.photos.camera import front_edge, touched_circle
from weftglass.photos.cut import Unseen, whole_sides
from weftglass.photos.frame import Frame
from weftglass.photos.heel import end_half_width, end_of, fitted_end
from weftglass.photos.level_rows import Detail
from weftglass.photos.plan import PLANS, ROUND, Plan
from weftglass.photos.rows import Rows, rows_of, runs, straight_middle
from weftglass.photos.scale import Scale
from weftglass.photos.section import GUESSED_DEPTH, GUESSED_DEPTH_SD, Depth, SectionHint
from weftglass.photos.sight import FEWEST_POINTS, Sight, sight_of
from weftglass.photos.tilt import Tilt, straight_bottom

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
AxisPx = tuple[tuple[float, float], tuple[float, float]]

RING_SHARE = 0.6
"""How much of the way in to the ring it touches an end counts as wide as at its plane."""

BULGE_SHARE = 0.06
"""A side that stands out by more than this share of the half-width is taken for a handle, strap or seal."""


@dataclass(frozen=True, eq=False)
class Sides:
    """Half-widths by rows of a turned camera, in units of the distance, one-sided bulges taken off."""

    y: FloatArray
    half: FloatArray
    uneven: FloatArray
    left_bulge: BoolArray
    right_bulge: BoolArray
    cut: BoolArray


@dataclass(frozen=True, eq=False)
class Shape:
    """
    A profile in units of the distance: drop of the standing plane below the eye, rows of height and radius, and how
    far the height is open since the rounding of its ends is.
    """

    base_drop: float
    height: float
    z: FloatArray
    radius: FloatArray
    y_of_z: FloatArray
    height_sd: float

    def radius_at(self, z: FloatArray) -> FloatArray:
        return np.asarray(np.interp(z, self.z, self.radius))


@dataclass(frozen=True, eq=False)
class Solved:
    frame: Frame
    axis_px: AxisPx
    tilt: Tilt
    sides: Sides
    shape: Shape
    depth: Depth | None
    plan: Plan
    cut: Unseen


def solve(
    line: FloatArray,
    focal: float,
    centre: tuple[float, float],
    axis: AxisPx | None,
    tilt_deg: float | None,
    section: SectionHint | None,
    cut: Unseen,
    detail: Detail | None = None,
) -> Solved:
    """Axis and tilt in turn (each needs the other a little), then the shape."""
    rows = rows_of(line)
    width = round(2 * centre[0] + 1)
    at_zero, lean = straight_middle(rows, _trusted(*whole_sides(rows.left, rows.right, width)))
    ends = (float(rows.y[0]), float(rows.y[-1]))
    found: AxisPx = ((at_zero + lean * ends[0], ends[0]), (at_zero + lean * ends[1], ends[1]))
    axis_px = axis or found
    sight = _sight(line, axis_px, focal, centre, section, cut, detail)
    tilt = Tilt(tilt_deg, 0.0) if tilt_deg is not None else sight.tilt
    if axis is None:
        axis_px = _refined_axis(line, axis_px, tilt, focal, centre)
    frame = Frame.facing(axis_px, tilt.degrees, focal, centre)
    sides = sides_of(frame, line)
    share = None if sight.depth is None else sight.depth.share
    shape = shape_of(sides, line, frame, share, cut, sight.plan)
    return Solved(frame, axis_px, tilt, sides, shape, sight.depth, sight.plan, cut)


def _sight(
    line: FloatArray,
    axis_px: AxisPx,
    focal: float,
    centre: tuple[float, float],
    section: SectionHint | None,
    cut: Unseen,
    detail: Detail | None,
) -> Sight:
    """Tilt and plan: as a person says the section, else as rows tell it, else guessed from a straight bottom edge."""
    ends = tuple(bottom for bottom, gone in ((True, cut.base), (False, cut.top)) if not gone)
    if section is None and detail is not None:
        return sight_of(line, axis_px, focal, centre, plans=PLANS, ends=ends, detail=detail)
    depth = _depth(line, Frame.facing(axis_px, 0.0, focal, centre), section, cut)
    if depth is None:
        return sight_of(line, axis_px, focal, centre, ends=ends, detail=detail)
    plans = () if section is None else section.plans
    ends = ends if plans and detail is not None else tuple(bottom for bottom in ends if not bottom)
    seen = sight_of(line, axis_px, focal, centre, plans=plans or (ROUND,), ends=ends, detail=detail if plans else None)
    return replace(seen, depth=depth)


def _depth(line: FloatArray, start: Frame, section: SectionHint | None, cut: Unseen) -> Depth | None:
    """Where the borders stand before the axis: as a person says, else guessed from a straight bottom edge."""
    if section is not None:
        return section.depth
    if not cut.base and straight_bottom(line, start):
        return Depth(GUESSED_DEPTH, GUESSED_DEPTH_SD)
    return None


def _trusted(left: BoolArray, right: BoolArray) -> FloatArray:
    """Weights of the rows for the axis: those cut by the frame tell nothing, unless all are."""
    whole = left & right
    return np.where(whole, 1.0, 0.0) if whole.sum() >= 12 else np.ones(len(whole))


def _whole(frame: Frame, rows: Rows) -> tuple[BoolArray, BoolArray]:
    """Where left and right edge, in a turned camera, are not the frame of the picture."""
    left, right = (frame.back(np.column_stack([x, rows.y]))[:, 0] for x in (rows.left, rows.right))
    return whole_sides(left, right, round(2 * frame.centre_px[0] + 1))


def _refined_axis(line: FloatArray, axis_px: AxisPx, tilt: Tilt, focal: float, centre: tuple[float, float]) -> AxisPx:
    """In the turned camera the silhouette is symmetric exactly, so the middles there give the axis."""
    for _ in range(2):
        frame = Frame.facing(axis_px, tilt.degrees, focal, centre)
        rows = rows_of(frame.seen(line))
        at_zero, lean = straight_middle(rows, _trusted(*_whole(frame, rows)))
        upper, lower = frame.back([[at_zero + lean * y, y] for y in (rows.y[0], rows.y[-1])])
        axis_px = ((float(upper[0]), float(upper[1])), (float(lower[0]), float(lower[1])))
    return axis_px


def sides_of(frame: Frame, line: FloatArray) -> Sides:
    rows = rows_of(frame.seen(line))
    left_whole, right_whole = _whole(frame, rows)
    both, neither = left_whole & right_whole, ~left_whole & ~right_whole
    left, right = -rows.left, rows.right
    lesser = np.maximum(np.minimum(left, right), 0.0)
    body = float(np.max(lesser))
    limit = np.maximum(BULGE_SHARE * lesser, 0.025 * body)
    shortest = max(3, len(rows.y) // 30)
    out = [np.zeros(len(rows.y), dtype=bool), np.zeros(len(rows.y), dtype=bool)]
    inner = slice(len(rows.y) // 40, len(rows.y) - len(rows.y) // 40)
    for side, excess in zip(out, (left - right, right - left), strict=True):
        for first, last in runs((excess[inner] > limit[inner]) & both[inner], shortest):
            side[inner][first : last + 1] = True
    uneven = np.abs(left - right) / 2
    either = out[0] | out[1]
    half = np.where(either, lesser, np.maximum((left + right) / 2, 0.0))
    half = np.where(left_whole & ~right_whole, np.maximum(left, 0.0), half)
    half = np.where(right_whole & ~left_whole, np.maximum(right, 0.0), half)
    half = np.where(neither, np.maximum(left, right), half)
    return Sides(rows.y, half, np.where(either | ~both, 0.3 * uneven, uneven), out[0], out[1], neither)


def shape_of(
    sides: Sides, line: FloatArray, frame: Frame, depth_share: float | None, cut: Unseen, plan: Plan = ROUND
) -> Shape:
    """
    Undo the perspective: ends from the rounded rims of base and lip, sides from the planes that touch them.

    With a `depth_share` the piece is square or flat and its sides are the corners of its front. An end that is cut off
    is no rim: the sides simply end there.
    """
    if depth_share is None:
        radius, drop = touched_circle(sides.half, sides.y, _slope(sides.y, sides.half))
        radius = radius * plan.half_width(sides.half) / np.maximum(ROUND.half_width(sides.half), 1e-12)
    else:
        radius, drop = front_edge(sides.half, sides.y, depth_share)
    base_drop, base_radius, base_sd = _end(sides, radius, line, frame, depth_share, plan, bottom=True)
    top_drop, top_radius, top_sd = _end(sides, radius, line, frame, None, ROUND, bottom=False)
    base_drop = float(drop[-1]) if cut.base else base_drop
    top_drop = float(drop[0]) if cut.top else top_drop
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
    return Shape(base_drop, height, z, r, base_drop - z, float(np.hypot(base_sd, top_sd)))


def _end(
    sides: Sides,
    radius: FloatArray,
    line: FloatArray,
    frame: Frame,
    depth_share: float | None,
    plan: Plan,
    *,
    bottom: bool,
) -> tuple[float, float, float]:
    """Drop of the plane that an end touches, its radius there, and the drop's sd: a rounded rim's, or a box's front."""
    end = end_of(line, frame, bottom=bottom)
    if depth_share is None and len(end.points_px) >= FEWEST_POINTS:
        fit = fitted_end(end, frame, plan)
        at_plane = _radius_near(fit.drop, sides, radius, np.inf) * (1 - RING_SHARE * fit.within)
        return fit.drop, at_plane, fit.drop_sd
    seen = frame.seen(line)
    at = float(seen[:, 1].max() if bottom else seen[:, 1].min())
    half = end_half_width(seen, bottom=bottom)
    drop = at
    for _ in range(3):
        nearer = half * (1.0 if depth_share is None else depth_share)
        drop = at * (1 - nearer if bottom == (at >= 0) else 1 + nearer)
        half = _radius_near(drop, sides, radius, half)
    return drop, half, 0.0


def _radius_near(drop: float, sides: Sides, radius: FloatArray, widest: float) -> float:
    """Radius at the row of a rim's centre, but not beyond what the end is wide."""
    return float(min(np.interp(drop, sides.y, radius), widest * 1.05)) or widest


def _slope(y: FloatArray, half: FloatArray, reach: int = 3) -> FloatArray:
    """dw/dy by least squares over 2 * reach + 1 rows, clipped where the outline runs level."""
    steps = np.arange(-reach, reach + 1)
    padded = np.pad(half, reach, mode="edge")
    kernel = steps / np.sum(steps**2)
    slope = np.convolve(padded, kernel[::-1], mode="valid") / (y[1] - y[0])
    return np.asarray(np.clip(slope, -3.0, 3.0))


def unit_from_bar(frame: Frame, scale: Scale) -> float:
    """
    Millimetres for one unit by a bar that stands beside the piece, level with its axis, for somebody who stands before
    the piece: its plane is square to the level line from the camera to the axis, wherever the camera is turned.
    """
    if scale.ends_px is None or scale.length_mm is None:
        return scale.mm_per_px * frame.focal_px
    ends = frame.seen(np.array(scale.ends_px).reshape(2, 2))
    return scale.length_mm / float(np.linalg.norm(ends[1] - ends[0]))
