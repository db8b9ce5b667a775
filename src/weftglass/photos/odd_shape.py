"""Outlines that no covered vessel has: a strip like a ruler, a body that steps inward on its way down, no neck."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from weftglass.photos.rows import rows_of

FloatArray = NDArray[np.float64]

LONG = 3.0
"""A strip is so many times as long as wide."""

EVEN, SQUARE = 0.25, 0.1
"""The width of a strip varies by less than this share (a ruler, and a book that goes on above it, by 0.2), and its
corners are not rounded by more than the second."""

NECKLESS, LONG_NECKLESS = 0.35, 4.2
"""Whatever its corners, what is so even and so many times as long as wide is a strip: of the starter library's forms
that are as long, the most even varies by 0.46."""

OVERLONG = 8.0
"""No vessel is so many times as tall as wide: of the starter library's 256 forms 5.8 at most, from the front or from
the side; a covering takes from that."""

STEP, WITHIN = 0.1, 0.025
"""A step takes more than this share of the greatest half-width within this share of the height."""

BODY = (0.3, 0.9)
"""Where, from the top down, a body is asked for steps: lips overhang, feet are cut in, and a base seen from above is
round (of 105 outlines of covered pieces the steepest lost 0.067 there, and 0.097 a little lower down)."""

NECK, NECK_WIDE = (0.01, 0.2), 0.88
"""Between these shares of the height from the top every vessel is narrower than the second, of its greatest width: of
the starter library's 256 forms 0.82 at most, of 105 outlines of covered pieces 0.66. A covering that ends below bare
glass has no neck."""

OVERHANG_BODY, OVERHANG_WITHIN = (0.2, 0.85), 0.08
"""The same for what hangs over a narrower place close below it, and within which share of the height it does."""


def is_strip(polygon_px: FloatArray) -> bool:
    """
    Whether an outline is a long rectangle, or longer than any vessel: a ruler, a scale bar on its card.

    Examples
    --------
    >>> is_strip(np.array([[0.0, 0.0], [20.0, 0.0], [20.0, 100.0], [0.0, 100.0]]))
    True
    >>> is_strip(np.array([[8.0, 0.0], [12.0, 0.0], [20.0, 60.0], [20.0, 100.0], [0.0, 100.0], [0.0, 60.0]]))
    False
    """
    rows = rows_of(polygon_px, 200)
    width = rows.right - rows.left
    usual = float(np.median(width))
    varies = float(np.ptp(width[10:-10])) / usual
    even = varies < EVEN
    square = min(width[3], width[-4]) > (1.0 - SQUARE) * usual
    tall = float(np.ptp(rows.y))
    neckless = varies < NECKLESS and tall > LONG_NECKLESS * usual
    return bool(neckless or (even and square and tall > LONG * usual) or tall > OVERLONG * float(np.max(width)))


def steps_inward(polygon_px: FloatArray) -> bool:
    """
    Whether a body grows narrower at once on its way down, as where things that stand behind both its sides end.

    Examples
    --------
    >>> half = np.r_[np.full(40, 8.0), np.full(30, 24.0), np.full(30, 16.0)]
    >>> y = np.arange(100.0)
    >>> steps_inward(np.vstack([np.column_stack([half, y]), np.column_stack([-half, y])[::-1]]))
    True
    """
    rows = rows_of(polygon_px, 200)
    half = (rows.right - rows.left) / 2
    reach = max(1, round(WITHIN * len(half)))
    loss = (half[:-reach] - half[reach:]) / float(np.max(half))
    first, last = (round(share * len(half)) for share in BODY)
    return bool(np.any(loss[first : last - reach] > STEP))


def is_neckless(polygon_px: FloatArray) -> bool:
    """
    Whether an outline is as wide near its top as anywhere: a basket's, or a covering's without the glass above it.

    Examples
    --------
    >>> half = np.r_[np.full(30, 8.0), np.full(70, 20.0)]
    >>> y = np.arange(100.0)
    >>> bottle = np.vstack([np.column_stack([half, y]), np.column_stack([-half, y])[::-1]])
    >>> is_neckless(bottle), is_neckless(bottle[31:-31])
    (False, True)
    """
    rows = rows_of(polygon_px, 400)
    width = rows.right - rows.left
    first, last = (round(share * len(width)) for share in NECK)
    return bool(width[first:last].min() > NECK_WIDE * width.max())


def overhang(polygon_px: FloatArray) -> float:
    """
    By how much the widest place close above a narrower one is wider, as a share of the narrower: a lip not counted.

    Examples
    --------
    >>> half = np.r_[np.full(40, 12.0), np.full(10, 10.0), np.full(50, 24.0)]
    >>> y = np.arange(100.0)
    >>> book = np.vstack([np.column_stack([half, y]), np.column_stack([-half, y])[::-1]])
    >>> round(overhang(book), 2)
    0.2
    """
    rows = rows_of(polygon_px, 200)
    half = (rows.right - rows.left) / 2
    first, last = (round(share * len(half)) for share in OVERHANG_BODY)
    reach = round(OVERHANG_WITHIN * len(half))
    above = np.lib.stride_tricks.sliding_window_view(half[first:last], reach).max(axis=1)
    return float(np.max(above / np.maximum(half[first + reach - 1 : last], 1e-9))) - 1.0
