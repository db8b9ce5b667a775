"""Where on a close-up the work is finer and where coarser: the gauge in overlapping windows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weftglass.weave.rows import Rows
from weftglass.weave.stitches import Stitches
from weftglass.weave.wall import Wall

FloatArray = NDArray[np.float64]

WINDOW_ROWS, WINDOW_STITCHES = 4.0, 4.0  # half-sides of a window are half of these
MOST_WINDOWS = 7  # each way
LEAST_READINGS = 12


@dataclass(frozen=True)
class Window:
    """
    The gauge in one window of the close-up.

    Parameters
    ----------
    x, y : float
        Its middle, pixels of the patch.
    wide_px, tall_px : float
        Its size.
    rows_per_mm, stitches_per_mm : float or None
        Repeats of the pattern; None where too little is seen.
    """

    x: float
    y: float
    wide_px: float
    tall_px: float
    rows_per_mm: float | None
    stitches_per_mm: float | None


def windows_of(rows: Rows, stitches: Stitches | None, wall: Wall, row_px: float) -> tuple[Window, ...]:
    """
    The gauge in windows about four rows tall and four stitches wide, laid over the patch.

    Parameters
    ----------
    rows : Rows
    stitches : Stitches or None
    wall : Wall
        Takes perspective and curvature out.
    row_px : float
        Distance of rows in the picture.
    """
    height, width = rows.size
    stitch_px = row_px if stitches is None else 1 / stitches.frequency
    tall, wide = min(height, WINDOW_ROWS * row_px), min(width, max(WINDOW_STITCHES * stitch_px, WINDOW_ROWS * row_px))
    down, _, _ = wall.place(rows.x, rows.y)
    sound = np.isfinite(down) & (np.abs(rows.miss()) < 0.35) & (rows.weight > 0.3 * np.median(rows.weight))
    run = None
    if stitches is not None:
        _, turn, radius = wall.place(stitches.x, stitches.y)
        run = turn * radius
    found = []
    for y in _middles(height, tall):
        for x in _middles(width, wide):
            near = sound & (np.abs(rows.x - x) < wide / 2) & (np.abs(rows.y - y) < tall / 2)
            per_row = _rate(down[near], rows.seen[near], np.zeros(int(near.sum()), dtype=np.int64))
            per_stitch = None
            if stitches is not None and run is not None:
                close = np.isfinite(run) & (np.abs(stitches.x - x) < wide / 2) & (np.abs(stitches.y - y) < tall / 2)
                per_stitch = _rate(run[close], stitches.seen[close], stitches.row[close])
            found.append(Window(x, y, wide, tall, per_row, per_stitch))
    return tuple(found)


def _middles(length: float, window: float) -> FloatArray:
    count = int(np.clip(2 * length // window - 1, 1, MOST_WINDOWS))
    if count == 1:
        return np.array([length / 2])
    return np.linspace(window / 2, length - window / 2, count)


def _rate(place: FloatArray, seen: FloatArray, group: NDArray[np.int64]) -> float | None:
    """Slope of what was seen against the place, each group from a start of its own."""
    if len(place) < LEAST_READINGS:
        return None
    _, group = np.unique(group, return_inverse=True)
    count = np.bincount(group)
    away = place - (np.bincount(group, place) / count)[group]
    more = seen - (np.bincount(group, seen) / count)[group]
    spread = float((away * away).sum())
    slope = float((away * more).sum()) / spread if spread > 0 else 0.0
    return slope if slope > 0 else None
