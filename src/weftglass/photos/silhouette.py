"""The outline of a piece as found on a photograph, and how sure it is."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.photos.appearance import Map
from weftglass.photos.decode import Photograph
from weftglass.photos.odd_shape import is_strip, steps_inward
from weftglass.photos.patches import filled
from weftglass.photos.rows import rows_of, straight_middle
from weftglass.photos.slit import without_slits

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

LOW_CONFIDENCE = 0.47

SURE_ENOUGH = 0.55
"""An outline of this confidence is not sought in another way."""

ODD_SHAPE = 0.4
"""Most confidence in an outline that looks like a ruler, like a piece with something behind both its sides, or as if
it ended above the piece."""

ONE_SIDED = 0.4
"""Where less than this share of what lies just beyond one side of an outline is unlike the piece, that side is no edge
of it: 0.32 at most where half a piece was taken for the whole, 0.46 at least on 17 outlines that were right."""

ENDS = 0.05
"""How much of the height at either end, where outlines have no sides, is not asked."""

DOUBTFUL = "The outline is doubtful: compare it with the photograph; draw a box round the piece, or correct it by hand."

NOTHING_FOUND = "No piece stands out from what is behind it: draw a box round it, or its outline by hand."

CROOKED = 40.0
"""How fast confidence falls with the middle's distance from a straight line, in widths of the piece."""


@dataclass(frozen=True, eq=False)
class Silhouette:
    """
    The outline of a piece as found on a photograph.

    Parameters
    ----------
    polygon_px : array, shape (n, 2)
        Closed (the last point joins the first), x right, y down, pixels of the whole photograph; (0, 2) if none.
    mask : array, shape (height, width), bool
        The pixels within.
    confidence : float
        0 to 1; below 0.47 the outline should be drawn by hand.
    warnings : tuple of str
    odd : bool
        Whether no vessel has such a shape: a ruler, or a piece with something behind both its sides.
    """

    polygon_px: FloatArray
    mask: BoolArray
    confidence: float
    warnings: tuple[str, ...] = ()
    odd: bool = False

    @property
    def found(self) -> bool:
        """Whether there is an outline at all."""
        return len(self.polygon_px) >= 3


def trust(found: Silhouette) -> tuple[bool, float]:
    """What the better of two outlines has more of: the shape of a vessel, then confidence."""
    return found.found and not found.odd, found.confidence


def judged(photo: Photograph, polygon: FloatArray, odds: Map) -> Silhouette:
    """
    An outline with its confidence.

    Parameters
    ----------
    photo : Photograph
    polygon : array, shape (n, 2)
        Pixels of the photograph.
    odds : array, shape (h, w)
        Log odds of a reduced picture that a pixel belongs to the piece, learnt from this outline.

    Returns
    -------
    Silhouette
    """
    limit = np.array([photo.width_px - 1, photo.height_px - 1], dtype=np.float64)
    polygon = np.clip(polygon, 0.0, limit)
    mask = filled(polygon, (photo.height_px, photo.width_px))
    small = cv2.resize(mask.astype(np.uint8), (odds.shape[1], odds.shape[0]), interpolation=cv2.INTER_AREA) > 0
    beyond = _just_beyond(small)
    confidence = _confidence(polygon, small, beyond, odds)
    odd = is_strip(polygon) or steps_inward(polygon)
    if odd or _is_half(small, beyond, odds):
        confidence = min(confidence, ODD_SHAPE)
    warnings = []
    if confidence < LOW_CONFIDENCE:
        warnings.append(DOUBTFUL)
    closed = without_slits(polygon)  # at last, for slits tell that an outline is odd
    if closed is not polygon:
        polygon, mask = closed, filled(closed, mask.shape)
    polygon.setflags(write=False)
    mask.setflags(write=False)
    return Silhouette(polygon, mask, confidence, tuple(warnings), odd)


def _confidence(polygon: FloatArray, mask: BoolArray, beyond: BoolArray, odds: Map) -> float:
    """
    Colours told apart by the outline, wherever they are, and how straight its middle is.

    The odds are not those that found the outline, so that they can doubt it.
    """
    within = float(np.mean(odds[mask] > 0)) if mask.any() else 0.0
    without = float(np.mean(odds[beyond] < 0)) if beyond.any() else 0.0
    rows = rows_of(polygon, 200)
    at_zero, lean = straight_middle(rows)
    off = np.median(np.abs(rows.middle - at_zero - lean * rows.y)) / max(1.0, float(np.ptp(polygon[:, 0])))
    return float(np.clip(within * without * np.exp(-CROOKED * off), 0.0, 1.0))


def _is_half(mask: BoolArray, beyond: BoolArray, odds: Map) -> bool:
    """Whether the piece seems to go on beyond the left or the right side of an outline."""
    rows = np.flatnonzero(mask.any(axis=1))
    if len(rows) < 20:
        return False
    middle = (np.argmax(mask, axis=1) + mask.shape[1] - 1 - np.argmax(mask[:, ::-1], axis=1)) / 2
    cut = round(ENDS * len(rows))
    y, x = np.nonzero(beyond)
    asked = (y >= rows[cut]) & (y <= rows[-1 - cut])
    unlike, left = odds[y, x] < 0, x < middle[y]
    sides = [unlike[asked & side] for side in (left, ~left)]
    return any(len(side) > 0 and float(side.mean()) < ONE_SIDED for side in sides)


def _just_beyond(mask: BoolArray) -> BoolArray:
    """The ring of pixels just outside a mask."""
    return np.asarray(cv2.dilate(mask.astype(np.uint8), np.ones((25, 25), np.uint8)).astype(bool) & ~mask)


def redrawn(found: Silhouette, polygon: FloatArray) -> Silhouette:
    """The same with another polygon, (n, 2)."""
    mask = filled(polygon, found.mask.shape)
    polygon.setflags(write=False)
    mask.setflags(write=False)
    return replace(found, polygon_px=polygon, mask=mask)


def nothing(photo: Photograph, why: str) -> Silhouette:
    """No outline, and why."""
    mask = np.zeros((photo.height_px, photo.width_px), dtype=bool)
    return Silhouette(np.zeros((0, 2)), mask, 0.0, (why,))
