"""The woven body in a photograph: full of fine detail, as no wall, no book and hardly a table is."""

from __future__ import annotations

from collections.abc import Iterator

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.photos.appearance import Map
from weftglass.photos.decode import Pixels
from weftglass.photos.fine_detail import edges_against_light, gathered
from weftglass.photos.patches import disc, filled, resized
from weftglass.photos.rows import rows_within

BoolArray = NDArray[np.bool_]

GATHERED, THICK = 2.5, 13
"""Over how far edges are gathered, and how thick what they leave is (see `fine_detail.gathered`)."""

BODY_SIDE_PX = 400
BETWEEN = (0.2, 0.35, 0.5)
"""Where between the richest places (97 in 100) and the picture's median, on a scale of ratios, a body begins."""

GAPS = (5, 13, 21)
"""Gaps that a net leaves, in pixels of the smaller picture: several are tried, for wide ones join a body to a ruler."""

LEAST_AREA, LEAST_SHARE = 0.01, 0.2
"""A body takes up so much of the picture, and holds so much of its detail."""

LEAST_DETAIL = 0.06
"""A body has so much detail in the median, of at most 1: 0.1 at least in 49 pictures of coverings, the finest of them
light and even; 0.03 where there was nothing but edges and grain."""

LONGEST, WIDEST = 6.0, 2.5

FULL = 0.75
"""A body is rich in detail over so much of what lies between its sides: edges about something bare are none."""

MIRRORED = 0.6
"""Least overlap of a body with its mirror image."""

CORE = 0.1
"""How much of its width a body is cut back by for what is surely within the piece."""


def woven_body(pixels: Pixels, inside: BoolArray) -> BoolArray | None:
    """
    Where in a reduced picture (h, w) the woven body of the piece is, by its fine detail alone; None if it is not clear.

    Parameters
    ----------
    pixels : array, shape (height, width, 3), uint8
    inside : array, shape (height, width), bool
        Where the piece may be.
    """
    rich = gathered(edges_against_light(pixels), GATHERED, THICK)
    factor = BODY_SIDE_PX / max(rich.shape)
    size = (max(1, round(rich.shape[1] * factor)), max(1, round(rich.shape[0] * factor)))
    rich = np.asarray(cv2.resize(rich, size, interpolation=cv2.INTER_AREA), dtype=np.float32)
    rich = np.where(resized(inside, rich.shape[:2]), rich, np.float32(0.0))
    if not rich.any():
        return None
    total = float(rich.sum())
    best: tuple[float, BoolArray | None] = (0.0, None)
    for body in _bodies(rich):
        share = float(rich[body].sum()) / total
        if body.mean() < LEAST_AREA or share < LEAST_SHARE or float(np.median(rich[body])) < LEAST_DETAIL:
            continue
        alike = _mirrored(body)
        if alike > MIRRORED and alike**2 * share > best[0]:
            best = (alike**2 * share, body)
    return best[1]


def _bodies(rich: Map) -> Iterator[BoolArray]:
    """Regions rich in detail (h, w) by several levels and gaps, small holes filled; no strips, none at the frame."""
    usual, most = float(np.median(rich[rich > 0])), float(np.percentile(rich[rich > 0], 97))
    for between in BETWEEN:
        level = usual**between * most ** (1.0 - between)
        for gap in GAPS:
            joined = cv2.morphologyEx((rich > level).astype(np.uint8), cv2.MORPH_CLOSE, disc(gap // 2))
            joined = cv2.morphologyEx(joined, cv2.MORPH_OPEN, np.ones((9, 9), np.uint8))
            contours, _ = cv2.findContours(joined, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
            for contour in contours:
                x, _, wide, tall = cv2.boundingRect(contour)
                if tall < LONGEST * wide and wide < WIDEST * tall and x > 0 and x + wide < rich.shape[1]:
                    body = filled(contour[:, 0].astype(np.float64), rich.shape)
                    rows = rows_within(body)
                    if (body & (joined > 0)).sum() > FULL * float(np.sum(rows.right - rows.left + 1)):
                        yield body


def _mirrored(body: BoolArray) -> float:
    """Overlap of a region with its mirror image about the upright line half-way between its sides."""
    twice = int(np.median(2 * rows_within(body).middle))
    y, x = np.nonzero(body)
    there = twice - x
    within = (there >= 0) & (there < body.shape[1])
    both = int(body[y[within], there[within]].sum())
    return both / max(1, 2 * len(x) - both)


def core_of(body: BoolArray) -> BoolArray:
    """What is surely within the piece whose woven body this is."""
    if not body.any():
        return body
    wide = int(np.median(body.sum(axis=1)[body.any(axis=1)]))
    return cv2.erode(body.astype(np.uint8), disc(max(2, round(CORE * wide))), borderValue=0).astype(bool)
