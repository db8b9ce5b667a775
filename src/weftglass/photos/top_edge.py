"""Whether the top of an outline is the piece's: what stands just above a lip, or behind it, is easily taken for it."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.photos.aside import standing_aside
from weftglass.photos.decode import Pixels
from weftglass.photos.focus import out_of_focus
from weftglass.photos.rows import rows_of

FloatArray = NDArray[np.float64]

FLARE = 1.75
"""Above its narrowest place no vessel widens by more: of the starter library's 256 forms 1.57 at most, of 53 outlines
of covered pieces, stoppers included, 1.39; a book above a lip gave 3.2."""

TOP_PART, FIRST = 0.4, 0.02
"""Where, as shares of the height from the top, a narrowest place is looked for."""

NARROWEST, NECK = 0.085, (0.15, 0.6)
"""No neck is narrower than the first, of the greatest width, between these shares of the height from the top: of the
starter library's 256 forms 0.11 at least, of 380 outlines of covered pieces 0.11 there."""

LEAST_JUMP = 1.0
"""A top across which colours change by less (of 100 from black to white) is no edge: on 53 outlines of covered pieces
at least 1.7, and 0.3 where what was taken for the top ended at nothing."""

ACROSS, STEP, LEAST_STEP_PX, BLUR_PX = 0.7, 0.008, 3.0, 1.0
"""Over which share of the top's width colours are compared, and how far within and without, in heights."""


LESS_TALL = "Then the piece is less tall."


@dataclass(frozen=True)
class DoubtedTop:
    """
    A top that may not be the piece's.

    Parameters
    ----------
    why : str
        For a person.
    open_by : float
        How far down the piece's own top may lie, as a share of the outline's height.
    """

    why: str
    open_by: float


def doubted_top(polygon_px: FloatArray, pixels: Pixels | None) -> DoubtedTop | None:
    """
    Whether an outline's top is to be doubted: it widens or narrows as no vessel does, stands aside, ends at no edge.

    Parameters
    ----------
    polygon_px : array, shape (n, 2)
        Densely walked outline, x right, y down.
    pixels : array, shape (height, width, 3), uint8, or None
        The photograph; without it only the widths tell.

    Examples
    --------
    A bottle, and the same with a book above its lip:

    >>> half = np.r_[np.full(20, 7.0), np.full(20, 6.0), np.full(60, 20.0)]
    >>> y = np.arange(100.0)
    >>> doubted_top(np.vstack([np.column_stack([half, y]), np.column_stack([-half, y])[::-1]]), None) is None
    True
    >>> half[:20] = 15.0
    >>> doubted_top(np.vstack([np.column_stack([half, y]), np.column_stack([-half, y])[::-1]]), None).open_by
    0.2
    """
    rows = rows_of(polygon_px, 400)
    width = rows.right - rows.left
    last, first = round(TOP_PART * len(width)), round(FIRST * len(width))
    flare = (np.maximum.accumulate(width[:last]) / np.maximum(width[:last], 1e-9))[first:]
    narrowest = first + int(np.argmax(flare))
    open_by = round(narrowest / len(width), 2)
    if float(flare.max()) > FLARE:
        why = "Above its narrowest place the outline widens as no vessel does: is that a thing behind the lip?"
        return DoubtedTop(f"{why} {LESS_TALL}", open_by)
    high, low = (round(share * len(width)) for share in NECK)
    pinched = high + int(np.argmin(width[high:low]))
    if width[pinched] < NARROWEST * width.max():
        why = "The outline is narrower than any vessel's neck: is what rises above it a thing behind the piece?"
        return DoubtedTop(f"{why} {LESS_TALL}", round(pinched / len(width), 2))
    aside = standing_aside(polygon_px)
    if aside is not None:
        why = "A straight upper part stands aside of what is below it: is that a thing behind the lip?"
        return DoubtedTop(f"{why} {LESS_TALL}", round((aside - float(rows.y[0])) / float(np.ptp(rows.y)), 2))
    behind = None if pixels is None else out_of_focus(polygon_px, pixels)
    if behind is not None:
        why = "An upper part of the outline is out of focus while the body is sharp: is that a thing behind the piece?"
        return DoubtedTop(f"{why} {LESS_TALL}", round(behind, 2))
    if pixels is not None and _jump(polygon_px, pixels) < LEAST_JUMP:
        why = "The picture shows no edge where the outline ends at its top: look there, and draw it if it is not right."
        return DoubtedTop(why, open_by)
    return None


def _jump(polygon_px: FloatArray, pixels: Pixels) -> float:
    """How far colours change across the top edge, in the median over its width, in CIELAB."""
    tall = float(np.ptp(polygon_px[:, 1]))
    rows = rows_of(polygon_px, 400)
    middle, half = (rows.right[4] + rows.left[4]) / 2, ACROSS * (rows.right[4] - rows.left[4]) / 2
    step = max(LEAST_STEP_PX, STEP * tall)
    near = polygon_px[(np.abs(polygon_px[:, 0] - middle) <= half) & (polygon_px[:, 1] < rows.y[0] + 0.1 * tall)]
    if not len(near):
        return float("inf")
    across = np.linspace(middle - half, middle + half, 31)
    bins = np.clip(np.searchsorted(across, near[:, 0]), 0, len(across) - 1)
    edge = np.full(len(across), np.inf)
    np.minimum.at(edge, bins, near[:, 1])
    seen = np.isfinite(edge)
    across, edge = across[seen], edge[seen]
    margin = int(np.ceil(step + 4 * BLUR_PX))
    low = np.maximum([int(across.min()) - margin, int(edge.min()) - margin], 0)
    high = np.array([int(across.max()) + margin + 1, int(edge.max()) + margin + 1])
    part = np.asarray(pixels[low[1] : high[1], low[0] : high[0]])
    lab = cv2.cvtColor(part, cv2.COLOR_RGB2LAB).astype(np.float32) / 2.55
    lab = np.asarray(cv2.GaussianBlur(lab, (0, 0), BLUR_PX))
    x = np.clip(np.round(across - low[0]).astype(int), 0, lab.shape[1] - 1)
    inside, outside = (np.clip(np.round(edge + s - low[1]).astype(int), 0, lab.shape[0] - 1) for s in (step, -step))
    return float(np.median(np.linalg.norm(lab[inside, x] - lab[outside, x], axis=1)))
