"""Whether what an outline ends in above is a thing behind the lip, and where it is: a book, a board."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.photos.appearance import Map
from weftglass.photos.decode import Pixels
from weftglass.photos.reduce import working_copy
from weftglass.photos.rows import Rows, rows_of

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

SIDE_PX = 1000
UPPER, BODY = 0.45, 0.85
"""A thing is looked for above a body that is so wide, of the greatest width, or in this share of the height."""

LEAST_UPPER = 0.08
MARGIN, BAND = 0.006, 0.012
"""Of the height: what is left out at a border, for colours mix there, and the band within it that is asked."""

NEAR_TOP = 0.12
"""How far down both sides of the band are asked, in heights."""

LIGHTNESS = 0.7
LEAST_APART, SPREADS = 3.0, 3.0
"""Colours (L*a*b*, lightness reduced) that differ by less than so much, or so many spreads, are one thing's."""

ALIKE, CALM = 3.5, 4.0
"""The colours above and on both sides differ by less, and spread by less, where they are of one thing."""

LEAST_DROP, ENDLESS_DROP = 0.03, 0.01
"""The piece's own top lies lower by so many heights; by so many where the outline ends at no edge."""

LEAST_SIDE, LIP = 0.02, 0.06
"""Beside the piece's own top, over so many heights, the thing is seen over so many greatest widths."""

LEAST_STEP = 1.0
"""A border across which colours change by less is none."""

SOLID = 0.8
"""Share of the piece's own top that is unlike the thing."""


@dataclass(frozen=True, eq=False)
class _Upper:
    """The part of a picture that is looked at, its colours, and what lies within the outline."""

    lab: Map
    within: BoolArray
    rows: Rows
    tall: float
    low: float

    @property
    def top(self) -> float:
        return float(self.rows.y[0])


def thing_behind(polygon_px: FloatArray, pixels: Pixels) -> BoolArray | None:
    """
    Where within an outline something stands that is not the piece but is seen behind its lip.

    Parameters
    ----------
    polygon_px : array, shape (n, 2)
        Outline, x right, y down.
    pixels : array, shape (height, width, 3), uint8

    Returns
    -------
    array, shape (height, width), bool, or None
        None where all may be the piece's.

    Notes
    -----
    Along the outline's top and down both sides lies a band of one calm colour, and lower and further in, with the same
    colour all round it, something else begins that goes on into the body: then the band is of a thing behind. Or the
    outline ends at no edge, within a thing of one colour or at the frame of the picture.
    """
    copy, factor = working_copy(pixels, SIDE_PX)
    upper = _upper((polygon_px + 0.5) * factor - 0.5, copy)
    if upper is None:
        return None
    thing = _thing(upper)
    if thing is None:
        return None
    size = (pixels.shape[1], pixels.shape[0])
    return np.asarray(cv2.resize(thing.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0)


def _upper(polygon: FloatArray, copy: Pixels) -> _Upper | None:
    rows = rows_of(polygon, 400)
    width = rows.right - rows.left
    tall = float(np.ptp(rows.y))
    low = min(float(rows.y[int(np.argmax(width > BODY * width.max()))]), float(rows.y[0]) + UPPER * tall)
    if low - rows.y[0] < LEAST_UPPER * tall:
        return None
    within = np.zeros(copy.shape[:2], dtype=np.uint8)
    cv2.fillPoly(within, [np.round(polygon).astype(np.int32)], 1)
    smooth = cv2.GaussianBlur(copy, (0, 0), 1.0).astype(np.float32) / 255.0
    lab = np.asarray(cv2.cvtColor(smooth, cv2.COLOR_RGB2LAB), dtype=np.float32)
    lab[:, :, 0] *= LIGHTNESS
    return _Upper(lab, within.astype(bool), rows, tall, low)


def _thing(upper: _Upper) -> BoolArray | None:
    """The thing behind, in the reduced picture."""
    margin, band = (max(2, round(share * upper.tall)) for share in (MARGIN, BAND))
    within = upper.within.astype(np.uint8)
    inner, deeper = cv2.erode(within, _disc(margin)) > 0, cv2.erode(within, _disc(margin + band)) > 0
    outside = (cv2.dilate(within, _disc(margin + band)) > 0) & ~(cv2.dilate(within, _disc(margin)) > 0)
    y, x = np.arange(within.shape[0])[:, None], np.arange(within.shape[1])[None, :]
    middle = np.interp(y[:, 0], upper.rows.y, (upper.rows.left + upper.rows.right) / 2)[:, None]
    top = inner & (y < upper.top + margin + band)
    sides = [inner & ~deeper & ~top & (y < upper.top + NEAR_TOP * upper.tall) & (y < upper.low) & one
             for one in (x < middle, x > middle)]  # fmt: skip
    if min(one.sum() for one in (top, *sides)) < 20:
        return None
    colour = np.median(upper.lab[top], axis=0)
    spread = 1.48 * float(np.linalg.norm(np.median(np.abs(upper.lab[top] - colour), axis=0)))
    if spread > CALM:
        return None
    apart = np.linalg.norm(upper.lab - colour, axis=2)
    limit = max(LEAST_APART, SPREADS * spread)
    thing = _joined(upper.within & (apart < limit) & (y < upper.low), top)
    own = _largest(upper.within & (y < upper.low) & ~thing, max(2, round(0.01 * upper.tall)))
    on_axis = own[y[:, 0], np.clip(np.round(middle[:, 0]).astype(int), 0, own.shape[1] - 1)]
    if not on_axis.any():
        return None
    first = int(np.argmax(on_axis))
    lip = (y >= first) & (y < first + LIP * upper.tall)
    beyond = apart[outside & (y < upper.top)]
    endless = upper.top < margin or not len(beyond) or float(np.median(beyond)) < LEAST_STEP
    drop = (ENDLESS_DROP if endless else LEAST_DROP) * upper.tall
    if first - upper.top < drop or float((apart[own & lip] > limit).mean()) < SOLID:
        return None
    wide = LEAST_SIDE * float(np.max(upper.rows.right - upper.rows.left))
    beside = [np.median((thing & lip & one).sum(axis=1)[first : max(first + 1, round(first + LIP * upper.tall))]) > wide
              for one in (x < middle, x > middle)]  # fmt: skip
    alike = any(np.linalg.norm(np.median(upper.lab[side], axis=0) - colour) < ALIKE for side in sides)
    return thing if endless or (any(beside) and alike) else None


def _joined(where: BoolArray, to: BoolArray) -> BoolArray:
    """The patch that holds most of a region."""
    count, labels = cv2.connectedComponents(where.astype(np.uint8))
    sizes = np.bincount(labels[to & where], minlength=count)
    sizes[0] = 0
    return np.asarray((labels == int(np.argmax(sizes))) & (sizes.max() > 0))


def _largest(where: BoolArray, thread: int) -> BoolArray:
    """The largest patch, thin threads cut."""
    opened = cv2.morphologyEx(where.astype(np.uint8), cv2.MORPH_OPEN, _disc(thread))
    _, labels, known, _ = cv2.connectedComponentsWithStats(opened)
    if len(known) < 2:
        return np.zeros(where.shape, dtype=bool)
    return np.asarray(labels == 1 + int(np.argmax(known[1:, cv2.CC_STAT_AREA])))


def _disc(radius: int) -> NDArray[np.uint8]:
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * radius + 1, 2 * radius + 1)), dtype=np.uint8)
