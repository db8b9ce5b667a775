"""How far a camera looks down, told from how round the bottom and top edges of an upright vessel appear."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weftglass.photos.camera import rim_edge
from weftglass.photos.frame import Frame
from weftglass.photos.rows import rows_of

FloatArray = NDArray[np.float64]

PRIOR_DEG = 4.0
PRIOR_SD_DEG = 7.0
"""People look a little down at a bottle on a table (common practice, no source)."""

EDGE_SD_PX = 1.5
INDEPENDENT_POINTS = 6.0
"""The points of an arc share their errors (rows of weave, rounding of the heel): they count as so many."""

REACH = 0.8
"""Share of an end's half-width over which its edge is compared; beyond it the rounding of heel or lip shows."""

TILTS_DEG = np.arange(-24.0, 40.01, 0.5)


NOT_ROUND_COST = 5.0
"""An end may be no level circle (a square base, a torn lip, a stopper), one time in four: then it tells nothing."""

STRAIGHT_SHARE = 0.4
SQUARE_FOOT_SHARE = 0.92

USUAL_EYE_SHARE, EYE_SHARE_SD = 0.45, 0.15
"""Few people hold a camera lower than nearly half the height of the piece (common practice, no source)."""


@dataclass(frozen=True)
class Tilt:
    """Tilt in degrees, positive when the camera looks down, with its standard deviation."""

    degrees: float
    sd: float


@dataclass(frozen=True, eq=False)
class EndArc:
    """The bottom or top edge of a silhouette: middle part of it, in pixels."""

    points_px: FloatArray
    bottom: bool


def end_arc(polygon_px: FloatArray, frame: Frame, *, bottom: bool) -> EndArc:
    """Middle part of the bottom or top edge of a silhouette."""
    seen = frame.seen(polygon_px)
    half = end_half_width(seen, bottom=bottom)
    middle = (seen[:, 1].min() + seen[:, 1].max()) / 2
    x = np.linspace(-REACH, REACH, 41) * half
    turned = rows_of(seen[:, ::-1], 400)  # crossings of upright lines: rows of the picture laid on its side
    edge = np.interp(x, turned.y, turned.right if bottom else turned.left)
    keep = (edge > middle) if bottom else (edge < middle)
    return EndArc(frame.back(np.column_stack([x, edge])[keep]), bottom)


def end_half_width(seen: FloatArray, *, bottom: bool) -> float:
    """Half-width just inside the bottom or top edge: the widest within a third of that half-width from it."""
    rows = rows_of(seen, 400)
    half = (rows.right - rows.left) / 2
    y, half = (rows.y[::-1], half[::-1]) if bottom else (rows.y, half)
    inward = np.abs(y - y[0])
    width = float(half[max(1, len(y) // 50)])
    for _ in range(3):
        width = float(np.max(half[inward <= max(0.35 * width, inward[2])]))
    return width


def misfit_px(arc: EndArc, frame: Frame) -> FloatArray:
    """Seen edge less the edge of a level circle of the same width and end, in pixels; zero mean by construction."""
    seen = frame.seen(arc.points_px)
    radius = float(np.max(np.abs(seen[:, 0]))) / REACH
    end = float(np.median(seen[np.argsort(np.abs(seen[:, 0]))[:7], 1]))
    near = (end >= 0) == arc.bottom  # front edge below the horizon at the bottom, above it at the top
    sign = 1.0 if near else -1.0
    shape = rim_edge(seen[:, 0], radius, end * (1 - sign * radius), front=near)
    return np.asarray((seen[:, 1] - shape - np.mean(seen[:, 1] - shape)) * frame.focal_px)


def straight_bottom(polygon_px: FloatArray, start: Frame) -> bool:
    """
    Whether the bottom edge is too straight for a round base: a square or flat piece seen square-on.

    A camera held at nearly half the height of the piece or above would see a round base bulge down; this says whether
    the edge bulges by less than 0.4 of that. Where the sides open out from the foot, nothing is taken for square.
    """
    arc = end_arc(polygon_px, start, bottom=True)
    if len(arc.points_px) < 15:
        return False
    seen = start.seen(arc.points_px)
    low, high = np.arctan(frame_ends(start.seen(polygon_px)))
    eye = np.tan(USUAL_EYE_SHARE * (high - low))
    radius = float(np.max(np.abs(seen[:, 0]))) / REACH
    middle, side = rim_edge(np.array([0.0, REACH * radius]), radius, float(eye * (1 - radius)), front=True)
    expected_px = float(middle - side) * start.focal_px
    bulge_px = -float(np.polyfit(seen[:, 0], seen[:, 1], 2)[0]) * (REACH * radius) ** 2 * start.focal_px
    rows = rows_of(start.seen(polygon_px), 400)
    half, up = (rows.right - rows.left) / 2, rows.y[-1] - rows.y
    near, far = (float(np.interp(share * radius, up[::-1], half[::-1])) for share in (0.25, 0.7))
    return expected_px > 4.0 and bulge_px < STRAIGHT_SHARE * expected_px and near > SQUARE_FOOT_SHARE * far


def _too_low(polygon_px: FloatArray, start: Frame) -> FloatArray:
    """Cost of each tilt by how far below `USUAL_EYE_SHARE` of the piece's height it puts the camera."""
    seen = np.degrees(np.arctan(frame_ends(start.seen(polygon_px))))
    share = (seen[1] + TILTS_DEG) / max(seen[1] - seen[0], 1e-6)
    return np.asarray((np.maximum(0.0, USUAL_EYE_SHARE - share) / EYE_SHARE_SD) ** 2)


def frame_ends(seen: FloatArray) -> FloatArray:
    """Least and greatest y of points in a turned camera."""
    return np.array([seen[:, 1].min(), seen[:, 1].max()])


def tilt_of(
    polygon_px: FloatArray,
    axis_px: tuple[tuple[float, float], tuple[float, float]],
    focal_px: float,
    centre_px: tuple[float, float],
    *,
    ends: tuple[bool, ...] | None = None,
) -> Tilt:
    """
    Tilt that makes bottom and top edge the edges of level circles, weighed against a weak prior.

    Parameters
    ----------
    polygon_px : array, shape (n, 2)
        Densely walked silhouette.
    axis_px : two points (x, y), upper and lower
    focal_px : float
    centre_px : tuple (x, y)
    ends : tuple of bool, optional
        Which ends are seen and round: True the bottom, False the top. Default: both, the bottom unless it is straight.

    Returns
    -------
    Tilt
        In degrees. Where the edges say nothing, the prior (4 ± 7) comes back.
    """
    start = Frame.facing(axis_px, 0.0, focal_px, centre_px)
    if ends is None:
        ends = (False,) if straight_bottom(polygon_px, start) else (True, False)
    arcs = [arc for arc in (end_arc(polygon_px, start, bottom=b) for b in ends) if len(arc.points_px) >= 15]
    cost = ((TILTS_DEG - PRIOR_DEG) / PRIOR_SD_DEG) ** 2 + _too_low(polygon_px, start)
    for arc in arcs:
        for i, tilt in enumerate(TILTS_DEG):
            off = misfit_px(arc, Frame.facing(axis_px, float(tilt), focal_px, centre_px)) / EDGE_SD_PX
            off = off[np.isfinite(off)]
            round_cost = INDEPENDENT_POINTS * float(np.log1p(np.mean(off**2))) if len(off) else NOT_ROUND_COST
            cost[i] += -2.0 * np.log(0.75 * np.exp(-round_cost / 2) + 0.25 * np.exp(-NOT_ROUND_COST / 2))
    weight = np.exp(-(cost - cost.min()) / 2)
    weight /= weight.sum()
    mean = float(np.sum(weight * TILTS_DEG))
    return Tilt(mean, max(0.4, float(np.sqrt(np.sum(weight * (TILTS_DEG - mean) ** 2)))))
