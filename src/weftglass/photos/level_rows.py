"""How far a camera looks down on a piece, told from the rows of its covering, which run level round it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.photos.camera import touched_circle
from weftglass.photos.decode import Pixels
from weftglass.photos.frame import Frame
from weftglass.photos.plan import Plan
from weftglass.photos.rows import rows_of

FloatArray = NDArray[np.float64]
Map = NDArray[np.float32]

TALL_PX = 450.0
"""Rows are looked for on a copy on which the piece is at most so tall."""

DETAIL_PX = 6.0
"""What is coarser than this, on that copy, is light and shade and no row."""

NOISE = 2.0
"""L* below which contrast is noise."""

ACROSS = np.linspace(-0.9, 0.9, 61)
"""Where a row is looked at, in half-widths."""

ALONG = 12.0
"""Over so many of these places (standard deviation) a row is followed: hand work does not run true all round."""

DOWN = 220
ENDS = 0.03
"""How many levels are looked at, and what share of the height is left out at either end."""

MARGIN_PX = 12

STEEPEST = 0.8
"""Slope of the side (width over height) beyond which a level is left out: a shoulder seen from above."""

PATCHES = 350.0
"""The pixels of a piece share their errors: they count as so many (chosen so that stated deviations hold)."""

NOT_LEVEL = 0.04
"""One covering in 25 has rows that mislead."""


@dataclass(frozen=True, eq=False)
class Detail:
    """
    The fine contrast of a covering.

    Parameters
    ----------
    contrast : array, shape (h, w)
        Lightness against its surroundings, of unit spread; 0 outside the piece.
    inside : array, shape (h, w)
        1 within the outline, 0 without.
    corner : (x, y)
        Pixel of the photograph at which they begin.
    factor : float
        Pixels of these for one of the photograph.
    """

    contrast: Map
    inside: Map
    corner: tuple[float, float]
    factor: float


def detail_of(pixels: Pixels, polygon_px: FloatArray) -> Detail:
    """
    The fine contrast inside an outline, what lies outside it not mixed in.

    Parameters
    ----------
    pixels : array, shape (height, width, 3), uint8
    polygon_px : array, shape (n, 2)
    """
    low = np.maximum(np.floor(polygon_px.min(axis=0)).astype(int) - MARGIN_PX, 0)
    high = np.ceil(polygon_px.max(axis=0)).astype(int) + MARGIN_PX
    part = pixels[low[1] : high[1], low[0] : high[0]]
    factor = min(1.0, TALL_PX / float(np.ptp(polygon_px[:, 1])))
    size = (max(8, round(part.shape[1] * factor)), max(8, round(part.shape[0] * factor)))
    small = part if factor == 1.0 else cv2.resize(part, size, interpolation=cv2.INTER_AREA)
    inside = np.zeros(small.shape[:2], dtype=np.uint8)
    corner = (float(low[0]), float(low[1]))
    cv2.fillPoly(inside, [np.round(_reduced(polygon_px, corner, factor) * 16).astype(np.int32)], 1, shift=4)
    within = cv2.erode(inside, np.ones((5, 5), np.uint8)).astype(np.float32)
    light = cv2.cvtColor(np.asarray(small, dtype=np.uint8), cv2.COLOR_RGB2LAB)[:, :, 0].astype(np.float32) / 2.55

    def smooth(values: Map, spread: float) -> Map:
        weight = cv2.GaussianBlur(within, (0, 0), spread)
        return np.asarray(
            cv2.GaussianBlur(values * within, (0, 0), spread) / np.maximum(weight, 1e-3), dtype=np.float32
        )

    fine = np.asarray((smooth(light, 0.7) - smooth(light, DETAIL_PX)) * within, dtype=np.float32)
    spread = np.sqrt(smooth(fine * fine, 3 * DETAIL_PX) + NOISE**2 / 6)
    return Detail(np.asarray(fine / spread * within, dtype=np.float32), within, corner, factor)


def _reduced(points_px: FloatArray, corner: tuple[float, float], factor: float) -> FloatArray:
    return np.asarray((points_px - np.array(corner) + 0.5) * factor - 0.5)


def levelness(detail: Detail, polygon_px: FloatArray, frames: Sequence[Frame], plans: Sequence[Plan]) -> FloatArray:
    """
    Share of the fine contrast that runs level round the piece, for each way of looking and each plan.

    Parameters
    ----------
    detail : Detail
    polygon_px : array, shape (n, 2)
        Densely walked silhouette.
    frames : sequence of Frame
        Ways of looking.
    plans : sequence of Plan

    Returns
    -------
    array, shape (len(plans), len(frames))
        From 0 to 1.

    Notes
    -----
    A level curve of half-width r whose front stands ``r g`` before the axis appears at ``y (1 - r g(0)) / (1 - r g)``
    where its middle appears at y: an arc. Rows of a covering lie along such arcs only where tilt and plan are right.
    Stitches that lean do so alike on both sides and favour no tilt.
    """
    found = np.zeros((len(plans), len(frames)))
    layers = np.dstack([detail.contrast, detail.inside])
    fronts = [np.asarray(plan.front(ACROSS), dtype=np.float32) for plan in plans]
    for k, frame in enumerate(frames):
        rows = rows_of(frame.seen(polygon_px), 300)
        half = np.maximum((rows.right - rows.left) / 2, 0.0)
        slope = np.gradient(half, rows.y)
        radius, drop = touched_circle(half, rows.y, np.clip(slope, -3.0, 3.0))
        order = np.argsort(drop)
        radius, drop = _evened(radius[order]), drop[order]
        tall = float(rows.y[-1] - rows.y[0])
        middle = np.linspace(rows.y[0] + ENDS * tall, rows.y[-1] - ENDS * tall, DOWN)
        middle = middle[np.abs(np.interp(middle, rows.y, _evened(slope))) < STEEPEST]
        to_pixels = _to_pixels(frame, detail)
        for j, plan in enumerate(plans):
            nearest = drop / (1.0 - plan.depth * radius)
            r = np.interp(middle, np.maximum.accumulate(nearest), radius)
            found[j, k] = _along(_unrolled(layers, to_pixels, r, middle * (1.0 - r * plan.depth), fronts[j]))
    return found


def _to_pixels(frame: Frame, detail: Detail) -> FloatArray:
    """From a point of the turned camera (x, y, 1), times any number, to one of the detail, times a number (3, 3)."""
    aim = (np.array(frame.centre_px) - np.array(detail.corner) + 0.5) * detail.factor - 0.5
    reduced = frame.focal_px * detail.factor
    camera = np.array([[reduced, 0.0, aim[0]], [0.0, reduced, aim[1]], [0.0, 0.0, 1.0]])
    return np.asarray(camera @ frame.turn.T)


def _unrolled(layers: Map, to_pixels: FloatArray, radius: FloatArray, drop: FloatArray, front: Map) -> Map:
    """
    Contrast and inside (levels, places, 2) along the level curves of these half-widths and drops.

    A curve's points are ``(r across, drop, 1 - r front)`` in the turned camera: each part of their picture is a number
    for the level and one for the place, times the half-width.
    """
    along = np.asarray(to_pixels[:, :1] * ACROSS - to_pixels[:, 2:] * front, dtype=np.float32)
    level = np.asarray(to_pixels[:, 1:2] * drop + to_pixels[:, 2:], dtype=np.float32)
    r = np.asarray(radius, dtype=np.float32)[:, None]
    x, y, away = (r * along[k] + level[k][:, None] for k in range(3))
    return np.asarray(cv2.remap(layers, x / away, y / away, cv2.INTER_LINEAR), dtype=np.float32)


def _evened(values: FloatArray, reach: int = 5) -> FloatArray:
    kernel = np.ones(2 * reach + 1) / (2 * reach + 1)
    return np.convolve(np.pad(values, reach, mode="edge"), kernel, mode="valid")


def _gathering() -> Map:
    """What each place (a column) takes from each other along a row: a bell curve, mirrored at both ends."""
    places = len(ACROSS)
    step = np.arange(-2 * places, 2 * places + 1)
    share = np.exp(-0.5 * (step / ALONG) ** 2) * (np.abs(step) <= 4 * ALONG)
    turning = 2 * (places - 1)
    taken = np.abs((step[:, None] + np.arange(places) + places - 1) % turning - (places - 1))
    found = np.zeros((places, places))
    np.add.at(
        found, (taken, np.broadcast_to(np.arange(places), taken.shape)), np.broadcast_to(share[:, None], taken.shape)
    )
    return np.asarray(found / share.sum(), dtype=np.float32)


GATHERING = _gathering()


def _along(layers: Map) -> float:
    """Share of the contrast that stays along the rows of (levels, places): contrast and inside."""
    if not len(layers):
        return 0.0
    contrast, inside = layers[..., 0], layers[..., 1]
    gathered, weight = (contrast * inside) @ GATHERING, inside @ GATHERING
    kept = gathered / np.maximum(weight, 0.05)
    return float(np.sum(inside * kept**2) / max(float(np.sum(inside * contrast**2)), 1e-6))


def log_likelihood(level: FloatArray) -> FloatArray:
    """Logarithm of the likelihood, up to a constant, from the share of contrast that runs level."""
    return np.asarray(-PATCHES / 2 * np.log1p(-np.clip(level, 0.0, 0.95)))
