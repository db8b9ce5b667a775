"""From where a piece is seen and what it is in plan, told from its foot, its lip and the rows of its covering."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from weftglass.photos.frame import Frame
from weftglass.photos.heel import End, end_of, fitted_ends
from weftglass.photos.level_rows import NOT_LEVEL, Detail, levelness, log_likelihood
from weftglass.photos.plan import ROUND, Plan
from weftglass.photos.section import Depth
from weftglass.photos.tilt import (
    ENDS_TRIED_DEG,
    LIP_ALONE,
    NOT_ROUND,
    TILTS_DEG,
    TRIED_DEG,
    Tilt,
    straight_bottom,
    usual_tilts,
)

FloatArray = NDArray[np.float64]

FEWEST_POINTS = 15
"""An end of which fewer points are seen is no rim."""

LEAST_SD_DEG = 0.4

STRAIGHT = 4.0
"""How much likelier a box is where the bottom edge is straight over its whole width (working figure)."""

HARDLY = 1e-3
"""Tilts less usual than this, against the most usual, are not tried."""


@dataclass(frozen=True)
class Sight:
    """
    How a piece is seen.

    Parameters
    ----------
    tilt : Tilt
    plan : Plan
        The likeliest of its kind, boxy or not.
    depth : Depth or None
        Where the borders of a box stand before the axis; None for a round or oval piece.
    otherwise : float
        Probability that it is a box after all, or none.
    """

    tilt: Tilt
    plan: Plan
    depth: Depth | None
    otherwise: float


def sight_of(
    polygon_px: FloatArray,
    axis_px: tuple[tuple[float, float], tuple[float, float]],
    focal_px: float,
    centre_px: tuple[float, float],
    *,
    plans: Sequence[Plan] = (ROUND,),
    ends: tuple[bool, ...] = (True, False),
    detail: Detail | None = None,
) -> Sight:
    """
    Tilt and plan under which bottom, top and rows are the edges of level curves, weighed against a weak prior.

    Parameters
    ----------
    polygon_px : array, shape (n, 2)
        Densely walked silhouette.
    axis_px : two points (x, y), upper and lower
    focal_px : float
    centre_px : tuple (x, y)
    plans : sequence of Plan
        Those that are possible, each with its share.
    ends : tuple of bool
        Which ends are seen and level curves: True the bottom, False the top.
    detail : Detail, optional
        The fine contrast of the covering. Without it its rows tell nothing.

    Returns
    -------
    Sight
        Where nothing tells the tilt, the prior (4 ± 7 degrees) comes back.
    """
    start = Frame.facing(axis_px, 0.0, focal_px, centre_px)
    boxed = STRAIGHT if True in ends and straight_bottom(polygon_px, start) else 1.0
    share = np.array([plan.share * (boxed if plan.boxy else 1.0) for plan in plans])
    prior = share[:, None] / share.sum() * usual_tilts(polygon_px, start)
    found = [end for end in (end_of(polygon_px, start, bottom=b) for b in ends) if len(end.points_px) >= FEWEST_POINTS]
    weight = prior.copy()
    usual = prior.sum(axis=0) / prior.sum(axis=0).max()
    tried, frames = _likely(ENDS_TRIED_DEG, usual, axis_px, focal_px, centre_px)
    for end in found:
        told = _told_by_end(end, frames, plans) * (1.0 if found[0].bottom else LIP_ALONE)
        weight *= _unless(_between(tried, told), prior, NOT_ROUND)
    if detail is not None:
        tried, frames = _likely(TRIED_DEG, usual, axis_px, focal_px, centre_px)
        told = log_likelihood(levelness(detail, polygon_px, frames, plans))
        weight *= _unless(_between(tried, told), prior, NOT_LEVEL)
    return _summed_up(weight / weight.sum(), plans)


def _likely(
    tried: FloatArray,
    usual: FloatArray,
    axis_px: tuple[tuple[float, float], tuple[float, float]],
    focal_px: float,
    centre_px: tuple[float, float],
) -> tuple[FloatArray, list[Frame]]:
    """Those of the tilts that are not hardly usual, and how the camera would stand."""
    likely = tried[np.interp(tried, TILTS_DEG, usual) > HARDLY]
    return likely, [Frame.facing(axis_px, float(tilt), focal_px, centre_px) for tilt in likely]


def _between(tried: FloatArray, told: FloatArray) -> FloatArray:
    """What is told of `TILTS_DEG`, by that of the tilts tried; beyond those as at the nearest."""
    return np.asarray(CubicSpline(tried, told, axis=1)(np.clip(TILTS_DEG, tried[0], tried[-1])))


def _told_by_end(end: End, frames: Sequence[Frame], plans: Sequence[Plan]) -> FloatArray:
    """Log likelihood (plans, tilts tried) by the shape of an end; a lip is round whatever the body is."""
    shapes = plans if end.bottom else (ROUND,)
    told = np.array([[-0.5 * fit.cost for fit in fitted_ends(end, frames, plan)] for plan in shapes])
    return np.asarray(np.broadcast_to(told, (len(plans), len(frames))))


def _unless(told: FloatArray, prior: FloatArray, misled: float) -> FloatArray:
    """Likelihood (plans, tilts), of mean 1 under the prior, of a witness that may tell nothing."""
    likelihood = np.exp(told - told.max())
    return np.asarray((1.0 - misled) * likelihood / float(np.sum(prior * likelihood)) + misled)


def _summed_up(weight: FloatArray, plans: Sequence[Plan]) -> Sight:
    boxy = np.array([plan.boxy for plan in plans])
    is_box = float(weight[boxy].sum()) > 0.5
    kind = boxy == is_box
    by_plan, by_tilt = weight[kind].sum(axis=1), weight[kind].sum(axis=0)
    among = float(by_plan.sum())
    mean = float(np.sum(by_tilt * TILTS_DEG) / among)
    sd = float(np.sqrt(np.sum(by_tilt * (TILTS_DEG - mean) ** 2) / among))
    members = [plan for plan, mine in zip(plans, kind, strict=True) if mine]
    depths, corners = (np.array([value(plan) for plan in members]) for value in (_depth_of, _corner_of))
    plan = Plan(float(by_plan @ depths) / among, members[0].power)
    depth = None
    if is_box:
        corner = float(by_plan @ corners) / among
        depth = Depth(corner, float(np.sqrt(by_plan @ (corners - corner) ** 2 / among + CORNER_SD**2)))
    return Sight(Tilt(mean, max(LEAST_SD_DEG, sd)), plan, depth, 1.0 - among)


CORNER_SD = 0.1
"""How far the corners of two boxes of one plan differ, in half-widths (working figure)."""


def _depth_of(plan: Plan) -> float:
    return plan.depth


def _corner_of(plan: Plan) -> float:
    return plan.corner
