"""A coarse outline moved to the edges of a finer picture."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.photos.appearance import Features, Map, log_odds, sharp_edges
from weftglass.photos.backdrop import Backdrop, backdrop_of
from weftglass.photos.decode import Pixels
from weftglass.photos.foot import stood
from weftglass.photos.ground import unlike_ground
from weftglass.photos.learning import relearnt, row_by_row, unlearnt
from weftglass.photos.ledge import without_false_bulges
from weftglass.photos.patches import disc, filled
from weftglass.photos.reduce import working_copy
from weftglass.photos.rows import rows_of
from weftglass.photos.snap import snapped
from weftglass.photos.stage import (
    Reduced,
    Stage,
    axis_and_half,
    barred,
    carried,
    polygon_of,
)
from weftglass.photos.thread import without_thread

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

FINE_SIDE_PX = 1400

MIRRORED = 0.7
"""How much each side listens to the other (see `snapped`)."""


def to_the_edges(pixels: Pixels, reduced: Reduced, coarse: Stage) -> tuple[FloatArray, Map]:
    """The outline moved to the edges of a finer picture, in pixels of the photograph, and log odds learnt anywhere."""
    features, small, factor = reduced
    ratio = factor / coarse.factor
    polygon = (polygon_of(coarse) + 0.5) * ratio - 0.5
    size = (features.shape[1], features.shape[0])
    guess = np.asarray(cv2.resize(coarse.guess, size, interpolation=cv2.INTER_LINEAR), dtype=np.float32)
    stage = replace(carried(coarse, features, guess, factor), by_edges=coarse.by_edges)
    learnt = relearnt(stage, small)
    odds = row_by_row(unlearnt(learnt, small) if stage.by_edges else learnt, small).odds
    axis, half = axis_and_half(stage)
    backdrop = backdrop_of(features, axis, half, stage.outline.rows)
    odds = backdrop.kept(odds)
    reach, near_by = _reaches(ratio)
    moved = snapped(polygon, odds, features.edge, reach_px=reach, mirrored=MIRRORED)
    sharp = _sharp(features)

    def moved_nearby(outline: FloatArray, reach_px: int) -> FloatArray:
        near = barred(_told_nearby(features, outline, backdrop), small)
        return snapped(outline, near, sharp, reach_px=reach_px, mirrored=MIRRORED)

    moved = moved_nearby(moved_nearby(moved, reach), near_by)
    cut = without_false_bulges(moved, features.lab)
    if cut is not None:
        moved = moved_nearby(cut, near_by)
    moved = without_thread(stood(moved, working_copy(pixels, FINE_SIDE_PX)[0]))
    return (moved + 0.5) / factor - 0.5, learnt.odds


def cut_to_the_edges(reduced: Reduced, coarse: Stage) -> tuple[FloatArray, Map]:
    """The same for an outline that a graph cut gave: what it tells stays, colours learnt close to it only help."""
    features, small, factor = reduced
    ratio = factor / coarse.factor
    size = (features.shape[1], features.shape[0])
    odds = np.asarray(cv2.resize(coarse.odds, size, interpolation=cv2.INTER_LINEAR), dtype=np.float32)
    reach, near_by = _reaches(ratio)
    polygon = (polygon_of(coarse) + 0.5) * ratio - 0.5
    moved = snapped(polygon, odds, features.edge, reach_px=reach, mirrored=MIRRORED)
    near = np.asarray(0.5 * _colours_nearby(features, moved) + 0.5 * odds, dtype=np.float32)
    moved = snapped(moved, barred(near, small), _sharp(features), reach_px=near_by, mirrored=MIRRORED)
    return (moved + 0.5) / factor - 0.5, relearnt(carried(coarse, features, odds, factor), small).odds


def _reaches(ratio: float) -> tuple[int, int]:
    """How far points may move at first and at last, for a picture that is so many times finer."""
    reach = max(4, round(2.5 * ratio) + 3)
    return reach, max(3, reach // 2)


def _sharp(features: Features) -> Map:
    return np.asarray(0.6 * sharp_edges(features) + 0.4 * features.edge, dtype=np.float32)


def _told_nearby(features: Features, polygon: FloatArray, backdrop: Backdrop) -> Map:
    """Log odds by the colours and the ground close to the outline, and by what stands behind its neck."""
    near, ground = _colours_nearby(features, polygon), _ground_nearby(features, polygon)
    return np.asarray(0.5 * backdrop.kept(near) + backdrop.told_by(ground), dtype=np.float32)


def _ground_nearby(features: Features, polygon: FloatArray) -> Map:
    """Log odds by the ground just outside the outline, at each row and side."""
    rows = rows_of(polygon, 300)
    y = np.arange(features.shape[0])
    left, right = np.interp(y, rows.y, rows.left), np.interp(y, rows.y, rows.right)
    wide = float(np.max(right - left))
    foot = (rows.y[0] + 0.6 * (rows.y[-1] - rows.y[0])) / len(y)
    return unlike_ground(features, left, right, gap_px=5.0, strip_px=max(10.0, 0.12 * wide), shaded_from=foot)


def _colours_nearby(features: Features, polygon: FloatArray) -> Map:
    """Log odds by colour alone, the ground learnt close to the outline, where the shadow at the foot is."""
    mask = filled(polygon, features.shape).astype(np.uint8)
    size = int(np.sqrt(mask.sum()))
    near, far = disc(4), disc(max(12, size // 12))
    piece = cv2.erode(mask, near).astype(bool)
    ground = cv2.dilate(mask, far).astype(bool) & ~cv2.dilate(mask, near).astype(bool)
    return log_odds(features, piece, ground, by_roughness=False)
