"""Whether what an outline ends in above is a thing behind the lip, and where it is: a book, a board."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.photos.appearance import Map, lab_of
from weftglass.photos.decode import Pixels
from weftglass.photos.patches import disc, filled, joined_to, largest, resized
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

SEEN_THROUGH = 8.0
"""What differs from the ground above it and on both sides by less may be clear glass: 5.4 at most on a clear neck
before white paper, and 12 at least at one border of a book or a gap."""

LEAST_SIDE, LIP = 0.02, 0.06
"""Beside the piece's own top, over so many heights, the thing is seen over so many greatest widths."""

LEAST_STEP = 1.0
"""A border across which colours change by less is none."""

FEWEST = 20
"""A band of fewer pixels tells nothing."""

THREAD = 0.01
"""Parts of the piece thinner than twice so many heights are no top of it."""

SOLID = 0.8
"""Share of the piece's own top that is unlike the thing."""


@dataclass(frozen=True, eq=False)
class _Upper:
    """
    The part of a picture that is looked at.

    Parameters
    ----------
    lab : array, shape (h, w, 3)
    within : array, shape (h, w), bool
        What lies within the outline.
    rows : Rows
        Of the outline.
    tall, low : float
        Height of the outline, and the row down to which is looked.
    """

    lab: Map
    within: BoolArray
    rows: Rows
    tall: float
    low: float

    @property
    def top(self) -> float:
        return float(self.rows.y[0])

    @property
    def y(self) -> NDArray[np.intp]:
        """Rows of the picture, (h, 1)."""
        return np.arange(self.within.shape[0])[:, None]

    @property
    def middle(self) -> FloatArray:
        """Column half-way between the outline's sides, (h, 1)."""
        between = (self.rows.left + self.rows.right) / 2
        return np.asarray(np.interp(self.y[:, 0], self.rows.y, between)[:, None], dtype=np.float64)

    @property
    def halves(self) -> tuple[BoolArray, BoolArray]:
        """What lies left and right of the middle, (h, w) each."""
        x = np.arange(self.within.shape[1])[None, :]
        return x < self.middle, x > self.middle


@dataclass(frozen=True, eq=False)
class _Borders:
    """The band within an outline along its top and down its sides, and those of the ground beyond its top and sides."""

    top: BoolArray
    sides: tuple[BoolArray, BoolArray]
    beyond: BoolArray
    beyond_sides: tuple[BoolArray, BoolArray]
    margin: int


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
    return resized(thing, pixels.shape[:2])


def _upper(polygon: FloatArray, copy: Pixels) -> _Upper | None:
    rows = rows_of(polygon, 400)
    width = rows.right - rows.left
    tall = float(np.ptp(rows.y))
    low = min(float(rows.y[int(np.argmax(width > BODY * width.max()))]), float(rows.y[0]) + UPPER * tall)
    if low - rows.y[0] < LEAST_UPPER * tall:
        return None
    lab = lab_of(np.asarray(cv2.GaussianBlur(copy, (0, 0), 1.0), dtype=np.uint8))
    lab[:, :, 0] *= LIGHTNESS
    return _Upper(lab, filled(polygon, lab.shape[:2]), rows, tall, low)


def _thing(upper: _Upper) -> BoolArray | None:
    """The thing behind, in the reduced picture."""
    borders = _borders(upper)
    if min(one.sum() for one in (borders.top, *borders.sides)) < FEWEST:
        return None
    colour = np.median(upper.lab[borders.top], axis=0)
    spread = 1.48 * float(np.linalg.norm(np.median(np.abs(upper.lab[borders.top] - colour), axis=0)))
    if spread > CALM:
        return None
    apart = np.linalg.norm(upper.lab - colour, axis=2)
    like = apart < max(LEAST_APART, SPREADS * spread)
    looked_at = upper.within & (upper.y < upper.low)
    thing = joined_to(looked_at & like, borders.top)
    own = largest(looked_at & ~thing, max(2, round(THREAD * upper.tall)))
    on_axis = own[upper.y[:, 0], np.clip(np.round(upper.middle[:, 0]).astype(int), 0, own.shape[1] - 1)]
    if not on_axis.any():
        return None
    first = int(np.argmax(on_axis))
    lip = (upper.y >= first) & (upper.y < first + LIP * upper.tall)
    beyond = apart[borders.beyond]
    endless = upper.top < borders.margin or not len(beyond) or float(np.median(beyond)) < LEAST_STEP
    drop = (ENDLESS_DROP if endless else LEAST_DROP) * upper.tall
    if first - upper.top < drop or float(np.mean(~like[own & lip])) < SOLID:
        return None
    if not endless and _seen_through(borders, apart):
        return None
    alike = any(np.linalg.norm(np.median(upper.lab[side], axis=0) - colour) < ALIKE for side in borders.sides)
    return thing if endless or (alike and _stands_beside(thing, first, upper)) else None


def _borders(upper: _Upper) -> _Borders:
    margin, band = (max(2, round(share * upper.tall)) for share in (MARGIN, BAND))
    within = upper.within.astype(np.uint8)
    inner, deeper = (cv2.erode(within, disc(by)) > 0 for by in (margin, margin + band))
    near, far = (cv2.dilate(within, disc(by)) > 0 for by in (margin, margin + band))
    top = inner & (upper.y < upper.top + margin + band)
    low = min(upper.top + NEAR_TOP * upper.tall, upper.low)
    beside = inner & ~deeper & ~top & (upper.y < low)
    left, right = upper.halves
    around, above = far & ~near, upper.y < upper.top
    ground = around & ~above & (upper.y < upper.top + NEAR_TOP * upper.tall)
    return _Borders(top, (beside & left, beside & right), around & above, (ground & left, ground & right), margin)


def _seen_through(borders: _Borders, apart: Map) -> bool:
    """Whether what is seen at the top hardly differs from the ground on all its sides, as through glass."""
    sides = [apart[part] for part in (borders.beyond, *borders.beyond_sides)]
    return all(len(side) > 0 and float(np.median(side)) < SEEN_THROUGH for side in sides)


def _stands_beside(thing: BoolArray, first: int, upper: _Upper) -> bool:
    """Whether a thing is seen left or right of the lip, which begins in the first row."""
    last = first + LIP * upper.tall
    at_lip = thing & (upper.y < last)
    wide = LEAST_SIDE * float(np.max(upper.rows.right - upper.rows.left))
    rows = slice(first, max(first + 1, round(last)))
    return any(float(np.median((at_lip & half).sum(axis=1)[rows])) > wide for half in upper.halves)
