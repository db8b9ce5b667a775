"""The lower and upper end of a vessel as rounded rims, and how they appear: a heel hides the ring it stands on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from weftglass.photos.cut import whole_sides
from weftglass.photos.frame import Frame
from weftglass.photos.plan import ROUND, Plan
from weftglass.photos.rows import rows_of

FloatArray = NDArray[np.float64]

HEELS = np.array(
    [[0.04, 0.04], [0.08, 0.08], [0.13, 0.13], [0.2, 0.2], [0.3, 0.3], [0.42, 0.42], [0.06, 0.015], [0.12, 0.03]]
)
DRAWN_IN = np.array([[0.2, 0.03], [0.3, 0.03], [0.42, 0.03], [0.55, 0.03]])
RING_WITHIN, ROUNDED = np.vstack([HEELS, DRAWN_IN]).T
"""How far the ring an end touches lies within its half-width, and the radius that rounds it, as shares of the
half-width: six round heels, two that are cut off at a slant, and feet to which the side itself is drawn in."""

HARDLY_DRAWN_IN = 0.01
"""Share of drawn-in feet among those whose side runs straight down (common practice, no source)."""

USUAL_SHARE, SHARE_LOG_SD = 0.13, 0.6
"""Heels and lips are rounded by a seventh of their half-width, give or take a factor of 1.8 (common practice, no
source)."""

TOUCHING = {True: (0.33, 0.4), False: (0.23, 0.45)}
"""The same for the plane that an end touches, bottom and top: a covered piece stands on the turn of its base, within
the heel by the covering's thickness and more (from 46 rendered pieces, of which round ones needed 0.28 in the median,
0.2 to 0.36), and lips are softer than the glass's own heel (from rendered pieces)."""

EDGE_SD_PX = 1.3
INDEPENDENT_POINTS = 9.0
"""The points of an end share their errors (rows of weave, what is no circle): they count as so many."""

REACH = {True: 0.9, False: 0.85}
"""Share of the half-width over which an end is compared: bottom and top."""

TAPER_FROM, TAPER_TO, LEAST_TRUST = 0.02, 0.1, 0.1
"""An end whose side is narrower by these shares a third of the way up is trusted wholly, and least."""

INWARD, STEEP = 0.2, 1.2
"""How far an end reaches inward, in half-widths, and how much more for each unit that it lies off the middle of sight:
a rim seen from above bulges so far."""

AROUND = np.pi * np.linspace(0.0, 1.0, 60)


def end_edge(x: ArrayLike, ring: FloatArray, rounding: FloatArray, drop: FloatArray, plan: Plan = ROUND) -> FloatArray:
    """
    Lower edge of the picture of a level rim with a round edge: the outline of a torus seen from the origin.

    Same frame as `camera.touched_circle`: the axis upright at distance 1, x right, y down.

    Parameters
    ----------
    x : array, shape (m,) or (n, m)
        Picture x from the axis, for all rims or for each.
    ring : array, shape (n,)
        Half-widths of the rings that touch the plane, in units of the distance; one rim each.
    rounding : array, shape (n,)
        Radii of the round edges.
    drop : array, shape (n,)
        Of the plane that touches the rim from below, beneath the eye; negative above it.
    plan : Plan
        What the rings are in plan. Default: circles.

    Returns
    -------
    array, shape (n, m)
        Picture y; nan where the rim does not reach.

    Examples
    --------
    A sharp rim below the eye appears at ``drop / (1 - radius)`` before the axis:

    >>> y = end_edge([0.0], np.array([0.1]), np.array([1e-6]), np.array([0.2]))
    >>> round(float(y[0, 0]), 4)
    0.2222
    """
    tube, low = np.asarray(rounding)[:, None], np.asarray(drop)[:, None]
    across = np.broadcast_to(np.abs(np.asarray(x, dtype=np.float64)), (len(tube), np.shape(x)[-1]))
    within, middle = np.asarray(ring)[:, None], low - tube
    beside, before, aside, ahead = plan.around(AROUND)
    toward = within * (beside * aside + before * ahead) - ahead  # the ring's own direction against the sight line
    length = np.hypot(toward, middle)
    # the edge lies where the tube's normal is square to the sight line: open by so much from the ring's own direction
    along = np.clip(-tube / length, -1.0, 1.0)
    aslant = np.copysign(np.sqrt(1.0 - along**2), toward)
    out = tube * (toward * along - middle * aslant) / length
    under = tube * (middle * along + toward * aslant) / length
    depth = 1.0 - within * before - out * ahead
    px, py = (within * beside + out * aside) / depth, (middle + under) / depth
    widest = np.argmax(px, axis=1)[:, None]
    index = np.arange(px.shape[1])
    near = _by_row(across, np.where(index <= widest, px, np.inf), py)
    far = _by_row(across, np.where(index >= widest, px, np.inf)[:, ::-1], py[:, ::-1])
    return np.asarray(np.fmax(near, far))


def _by_row(x: FloatArray, at: FloatArray, value: FloatArray) -> FloatArray:
    """Values at x, row by row; `at` rises to the last that is finite, and beyond it nothing is known."""
    finite = np.isfinite(at)
    last = np.max(np.where(finite, at, 0.0), axis=1, keepdims=True)
    apart = 2.0 * float(max(np.max(last), np.max(x))) + 1.0  # rows are laid end to end, so that one look-up does
    row = apart * np.arange(len(at))[:, None]
    found = np.interp((np.minimum(x, last) + row).ravel(), (at + row)[finite], value[finite]).reshape(x.shape)
    return np.where(x <= last, found, np.nan)


@dataclass(frozen=True, eq=False)
class End:
    """
    The bottom or top edge of a silhouette.

    Parameters
    ----------
    points_px : array, shape (n, 2)
        Its middle part, evenly spaced across.
    widest_px : array, shape (2, 2)
        Left and right edge where the end is widest.
    bottom : bool
    trust : float
        0 to 1: a foot that opens out has no width of its own, and tells little.
    """

    points_px: FloatArray
    widest_px: FloatArray
    bottom: bool
    trust: float


@dataclass(frozen=True, eq=False)
class EndFit:
    """
    A rounded rim fitted to an end, for one way of looking.

    Parameters
    ----------
    drop : float
        Of the plane that touches it (the standing plane, the top) beneath the eye, in units of the distance.
    within : float
        How far the ring that touches the plane lies within its half-width, as a share, averaged over what is likely.
    cost : float
        Minus twice the log likelihood, up to a constant.
    drop_sd : float
        How far `drop` is open, since the rounding is.
    """

    drop: float
    within: float
    cost: float
    drop_sd: float


def end_of(polygon_px: FloatArray, frame: Frame, *, bottom: bool) -> End:
    """Middle part of the bottom or top edge of a densely walked silhouette, without what the picture cuts off."""
    seen = frame.seen(polygon_px)
    left, right, level, taper = _widest(seen, bottom=bottom)
    trust = float(np.clip(1.0 - (taper - TAPER_FROM) / (TAPER_TO - TAPER_FROM), LEAST_TRUST, 1.0))
    ends = frame.back([[left, level], [right, level]])[:, 0]
    whole = [bool(flag[0]) for flag in whole_sides(ends[:1], ends[1:], round(2 * frame.centre_px[0] + 1))]
    half = (right - left) / 2 if all(whole) or not any(whole) else (-left if whole[0] else right)
    middle = (seen[:, 1].min() + seen[:, 1].max()) / 2
    x = np.linspace(-REACH[bottom], REACH[bottom], 61) * half
    turned = rows_of(seen[:, ::-1], 400)  # crossings of upright lines: rows of the picture laid on its side
    edge = np.interp(x, turned.y, turned.right if bottom else turned.left)
    keep = (edge > middle) if bottom else (edge < middle)
    points, widest = frame.back(np.column_stack([x, edge])[keep]), frame.back([[-half, level], [half, level]])
    inside = np.logical_and(*whole_sides(points[:, 0], points[:, 0], round(2 * frame.centre_px[0] + 1)))
    return End(points[inside], widest, bottom, trust)


def end_half_width(seen: FloatArray, *, bottom: bool) -> float:
    """Half-width just inside the bottom or top edge: the widest within reach of the rounding, as it is seen."""
    left, right, _, _ = _widest(seen, bottom=bottom)
    return (right - left) / 2


def _widest(seen: FloatArray, *, bottom: bool) -> tuple[float, float, float, float]:
    """Left and right edge and level of the widest row of an end, and by what share its side is narrower a third up."""
    rows = rows_of(seen, 400)
    half = (rows.right - rows.left) / 2
    order = slice(None, None, -1 if bottom else 1)
    y, half = rows.y[order], half[order]
    inward = np.abs(y - y[0])
    width = float(half[max(1, len(y) // 50)])
    at, reach = 0, INWARD + STEEP * abs(float(y[0]))
    for _ in range(4):
        at = int(np.argmax(np.where(inward <= max(reach * width, inward[2]), half, 0.0)))
        width = float(half[at])
    arc = STEEP * abs(float(y[0])) * width  # what is narrower there is the round of the rim itself, as it is seen
    side = float(np.interp(min(arc + INWARD * width / 3, inward[at]), inward, half))
    return float(rows.left[order][at]), float(rows.right[order][at]), float(y[at]), 1.0 - side / width


def fitted_end(end: End, frame: Frame, plan: Plan = ROUND) -> EndFit:
    """The rounded rim that an end of this plan would be, seen as `frame` looks; see `fitted_ends`."""
    return fitted_ends(end, [frame], plan)[0]


def fitted_ends(end: End, frames: Sequence[Frame], plan: Plan = ROUND) -> list[EndFit]:
    """
    The rounded rim that an end would be, for each way of looking, averaged over how far it may be rounded.

    The top is fitted as a bottom seen upside down.

    Parameters
    ----------
    end : End
    frames : sequence of Frame
        Ways of looking.
    plan : Plan
        Of the body.
    """
    down = 1.0 if end.bottom else -1.0
    seen = np.array([frame.seen(end.points_px) for frame in frames])
    appearing = np.array([np.ptp(frame.seen(end.widest_px)[:, 0]) for frame in frames]) / 2
    radius = plan.half_width(appearing)[:, None]
    rims = (len(frames), len(ROUNDED))
    ring, tube = (1.0 - RING_WITHIN) * radius, ROUNDED * radius
    middle = np.argsort(np.abs(seen[:, :, 0]), axis=1)[:, :7]
    lowest = np.median(np.take_along_axis(down * seen[:, :, 1], middle, axis=1), axis=1)[:, None]
    x, y = (np.repeat(part, rims[1], axis=0) for part in (seen[:, :, 0], down * seen[:, :, 1]))

    def off_edge(drop: FloatArray) -> FloatArray:
        return (y - end_edge(x, ring.ravel(), tube.ravel(), drop.ravel(), plan)).reshape(*rims, -1)

    drop = lowest * (1.0 - np.sign(lowest) * plan.depth * ring)
    drop = drop + np.nan_to_num(np.nanmean(off_edge(drop), axis=2))
    off = off_edge(drop)
    mean = np.nanmean(off, axis=2)
    drop = drop + mean
    focal = np.array([frame.focal_px for frame in frames])[:, None, None]
    misfit = INDEPENDENT_POINTS * np.log1p(np.nanmean(((off - mean[..., None]) * focal / EDGE_SD_PX) ** 2, axis=2))
    shares = np.array([1.0] * len(HEELS) + [max(HARDLY_DRAWN_IN, 1.0 - end.trust)] * len(DRAWN_IN))
    cost = end.trust * misfit - 2 * np.log(shares) + (np.log(RING_WITHIN / USUAL_SHARE) / SHARE_LOG_SD) ** 2
    touching, log_sd = TOUCHING[end.bottom]
    standing = misfit + (np.log(RING_WITHIN / touching) / log_sd) ** 2
    weight = np.exp(-(standing - standing.min(axis=1, keepdims=True)) / 2)
    weight /= weight.sum(axis=1, keepdims=True)
    least = cost.min(axis=1)
    mean_cost = least - 2 * np.log(np.mean(np.exp(-(cost - least[:, None]) / 2), axis=1))
    planes, within = np.sum(weight * drop, axis=1), np.sum(weight * RING_WITHIN, axis=1)
    open_by = np.sqrt(np.sum(weight * (drop - planes[:, None]) ** 2, axis=1))
    return [EndFit(*map(float, one)) for one in zip(down * planes, within, mean_cost, open_by, strict=True)]
