"""How far people look down on an upright vessel, and whether its bottom edge is that of a box."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weftglass.photos.camera import rim_edge
from weftglass.photos.frame import Frame
from weftglass.photos.heel import REACH, end_of
from weftglass.photos.rows import rows_of

FloatArray = NDArray[np.float64]

PRIOR_DEG = 4.0
PRIOR_SD_DEG = 7.0
"""People look a little down at a bottle on a table (common practice, no source)."""

TRIED_DEG = np.arange(-20.0, 40.01, 2.0)
ENDS_TRIED_DEG = np.arange(-20.0, 40.01, 4.0)
"""Tilts at which rows and ends are looked at; between them their likelihood is smooth."""

TILTS_DEG = np.arange(-20.0, 40.01, 0.25)

NOT_ROUND = 0.15
"""An end may be no level circle (a square base, a torn lip, a stopper), one time in seven: then it tells nothing."""

LIP_ALONE = 0.25
"""A lip alone is small, worked by hand or half hidden, and tells a quarter of what it seems to: on the demonstration's
coffin flask it gave 3.9 degrees too much, and gives 1.8 so."""

STRAIGHT_SHARE = 0.4
MIDDLE = 0.8
"""Share of the half-width over which a bottom edge is asked whether it is straight."""

SQUARE_FOOT_SHARE = 0.92

USUAL_EYE_SHARE, EYE_SHARE_SD = 0.45, 0.15
"""Few people hold a camera lower than nearly half the height of the piece (common practice, no source)."""


@dataclass(frozen=True)
class Tilt:
    """Tilt in degrees, positive when the camera looks down, with its standard deviation."""

    degrees: float
    sd: float


def straight_bottom(polygon_px: FloatArray, start: Frame) -> bool:
    """
    Whether the bottom edge is too straight for a round base: a square or flat piece seen square-on.

    A camera held at nearly half the height of the piece or above would see a round base bulge down; this says whether
    the edge bulges by less than 0.4 of that. Where the sides open out from the foot, nothing is taken for square.
    """
    arc = end_of(polygon_px, start, bottom=True)
    if len(arc.points_px) < 15:
        return False
    seen = start.seen(arc.points_px)
    seen = seen[np.abs(seen[:, 0]) <= MIDDLE * float(np.max(np.abs(seen[:, 0]))) / REACH[True]]
    low, high = np.arctan(frame_ends(start.seen(polygon_px)))
    eye = np.tan(USUAL_EYE_SHARE * (high - low))
    radius = float(np.max(np.abs(seen[:, 0]))) / MIDDLE
    middle, side = rim_edge(np.array([0.0, MIDDLE * radius]), radius, float(eye * (1 - radius)), front=True)
    expected_px = float(middle - side) * start.focal_px
    bulge_px = -float(np.polyfit(seen[:, 0], seen[:, 1], 2)[0]) * (MIDDLE * radius) ** 2 * start.focal_px
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


def usual_tilts(polygon_px: FloatArray, start: Frame) -> FloatArray:
    """How usual each of `TILTS_DEG` is before anything is measured, summing to 1."""
    cost = ((TILTS_DEG - PRIOR_DEG) / PRIOR_SD_DEG) ** 2 + _too_low(polygon_px, start)
    weight = np.exp(-(cost - cost.min()) / 2)
    return np.asarray(weight / weight.sum())
