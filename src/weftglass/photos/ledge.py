"""Bulges of an outline over something beside the piece: the picture has no edge where they begin or end."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter1d

from weftglass.photos.appearance import Map
from weftglass.photos.rows import rows_of, straight_middle

FloatArray = NDArray[np.float64]

ROWS = 600
REACH, LEAST_STEP = ROWS // 25, 0.015
"""A ledge is a step within so many rows by so many greatest widths."""

DENT = 3 * REACH
"""Where within so many rows the outline stands out again, it is dented and does not bulge."""

LONGEST, FIRST = 0.4, 0.08
"""A bulge is at most so many heights long; none begins so near the top, where a lip stands out."""

WIDE = 0.6
"""Nor where the piece is narrower than this share of its greatest half-width: glass collars have faint edges."""

LEAST_JUMP = 2.0
"""A ledge across which colours change by less (of 100 from black to white) is no edge of a covering: by 0.9 to 1.9
where two books beside a piece were taken in, by 6.4 at least where coverings bulge themselves."""

BLUR_PX = 1.0

ACROSS = np.linspace(0.25, 0.75, 9)
"""Where along a ledge colours are compared."""

WITHIN, LEAST_WITHIN_PX = 0.008, 3.0
"""How far within and beyond it, in heights."""


def without_false_bulges(polygon: FloatArray, lab: Map) -> FloatArray | None:
    """
    The outline with bulges that begin or end at no edge cut off straight, for its sides to be looked for there.

    Parameters
    ----------
    polygon : array, shape (n, 2)
        Closed and densely walked, in pixels of the picture.
    lab : array, shape (h, w, 3)
        Colours of the picture, in CIE L*a*b* units.

    Returns
    -------
    array, shape (n, 2), or None
        None where there is nothing to cut off.
    """
    rows = rows_of(polygon, ROWS)
    at_zero, lean = straight_middle(rows)
    axis = at_zero + lean * rows.y
    widest = float(np.max(rows.right - rows.left))
    sides = [(side, side * (edge - axis)) for side, edge in ((-1.0, rows.left), (1.0, rows.right))]
    bulges = [(side, out, bulge) for side, out in sides for bulge in _bulges(out, widest)]
    if not bulges:
        return None
    smooth = np.asarray(cv2.GaussianBlur(lab, (0, 0), BLUR_PX), dtype=np.float32)
    cut = polygon.copy()
    for side, out, (first, last) in bulges:
        ledges = slice(first, first + REACH + 1), slice(last, last - REACH - 1, -1)
        if min(_jump(smooth, rows.y[part], axis[part], side, out[part]) for part in ledges) >= LEAST_JUMP:
            continue
        was = side * (cut[:, 0] - at_zero - lean * cut[:, 1])
        own = (was > 0) & (cut[:, 1] >= rows.y[first]) & (cut[:, 1] <= rows.y[last])
        straight = np.interp(cut[:, 1], rows.y[[first, last]], out[[first, last]])
        cut[own, 0] -= side * np.maximum(was - straight, 0.0)[own]
    return None if np.array_equal(cut, polygon) else cut


def _bulges(out: FloatArray, widest: float) -> list[tuple[int, int]]:
    """Rows (first, last) between which a side, `out` from the axis, stands out from where it stands in them."""
    step = out[REACH:] - out[:-REACH]
    grows, shrinks = (_steepest(sign * step, LEAST_STEP * widest) for sign in (1.0, -1.0))
    found = []
    for first in grows:
        if first < FIRST * ROWS or out[first] < WIDE * widest / 2:
            continue
        for start in shrinks[(shrinks > first + 1) & (shrinks <= first + LONGEST * ROWS)]:
            last = int(start) + REACH
            among = out[first + REACH // 2 : last - REACH // 2]
            stands_out = np.median(among) - max(out[first], out[last]) >= LEAST_STEP * widest
            above, below = out[max(0, first - DENT) : first], out[last : last + DENT]
            dented = max(above.max() - out[first], below.max() - out[last])
            if stands_out and dented < 0.75 * LEAST_STEP * widest:
                found.append((int(first), last))
                break
    return found


def _steepest(step: FloatArray, least: float) -> NDArray[np.intp]:
    """Where a step is at least so high, and the highest as far as a ledge reaches."""
    return np.flatnonzero((step >= least) & (step == maximum_filter1d(step, 2 * REACH + 1, mode="nearest")))


def _jump(lab: Map, y: FloatArray, axis: FloatArray, side: float, out: FloatArray) -> float:
    """How far colours change across a ledge, walked towards the bulge, in the median over its width."""
    base, top = float(out[0]), float(out.max())
    away = base + ACROSS * (top - base)
    at = np.argmax(out[None, :] >= away[:, None], axis=1)
    x = np.clip(np.round(axis[at] + side * away).astype(int), 0, lab.shape[1] - 1)
    reach = np.copysign(max(LEAST_WITHIN_PX, WITHIN * ROWS * abs(y[1] - y[0])), y[1] - y[0])
    within, beyond = (np.clip(np.round(y[at] + r).astype(int), 0, lab.shape[0] - 1) for r in (reach, -reach))
    return float(np.median(np.linalg.norm(lab[within, x] - lab[beyond, x], axis=1)))
