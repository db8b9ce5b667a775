"""Whether an outline that was found may be that of the ruler: the scale bar lies inside it."""

from __future__ import annotations

from collections.abc import Iterable

import cv2
import numpy as np
from numpy.typing import ArrayLike

from weftglass.photos.odd_shape import LONG
from weftglass.photos.scale import Scale

STEPS = 41
"""Points along the bar at which the outline is asked for."""

NEAR_PX, NEAR_SHARE = 2.0, 0.01
"""Points so far outside, in pixels and in lengths of the bar, still count as inside: ticks end at a ruler's edge."""

MOST_OF_IT = 0.7
"""A bar of more than this share of an outline's length makes up most of it."""

FULL = 0.9
"""A strip, however it lies, fills so much of the least rectangle round it."""

INSIDE = (
    "The bar lies inside the outline that was found: the outline may be of the ruler and not of the piece. "
    "Look, and draw it anew if so."
)
HARDLY_MORE = (
    "The outline that was found is hardly more than the bar: it is probably of the ruler and not of the piece. "
    "Look, and if so find the piece again in a box that leaves the ruler out, or draw its outline."
)

OF_RULER = (INSIDE, HARDLY_MORE)
"""What `bar_within` may say."""


def bar_within(polygon_px: ArrayLike, scale: Scale | None) -> str | None:
    """
    What to say of an outline in which its own scale bar lies; None where it does not, or there is no bar.

    A bar may well lie in front of the piece: this only asks somebody to look.

    Parameters
    ----------
    polygon_px : array, shape (n, 2), n >= 3
        An outline that was found, x right, y down.
    scale : Scale or None

    Examples
    --------
    >>> bar = Scale(1.0, 0.01, "bar of 80 mm", (10.0, 10.0, 10.0, 90.0), 80.0)
    >>> bar_within([[0, 0], [20, 0], [20, 100], [0, 100]], bar) == HARDLY_MORE
    True
    >>> bar_within([[30, 0], [90, 0], [90, 100], [30, 100]], bar) is None
    True
    """
    if scale is None or scale.ends_px is None:
        return None
    contour = np.asarray(polygon_px, dtype=np.float32).reshape(-1, 1, 2)
    x1, y1, x2, y2 = scale.ends_px
    length = float(np.hypot(x2 - x1, y2 - y1))
    near = max(NEAR_PX, NEAR_SHARE * length)
    along = zip(np.linspace(x1, x2, STEPS).tolist(), np.linspace(y1, y2, STEPS).tolist(), strict=True)
    if any(cv2.pointPolygonTest(contour, point, True) < -near for point in along):
        return None
    _, sides, _ = cv2.minAreaRect(contour)
    long, short = max(sides), min(sides)
    strip = long > LONG * short and cv2.contourArea(contour) > FULL * long * short
    return HARDLY_MORE if strip and length > MOST_OF_IT * long else INSIDE


def told_of_ruler(warnings: Iterable[str]) -> tuple[str, ...]:
    """
    Those of several outlines' warnings that `bar_within` gave, each once.

    Examples
    --------
    >>> told_of_ruler([INSIDE, "The outline is doubtful.", INSIDE]) == (INSIDE,)
    True
    """
    return tuple(dict.fromkeys(one for one in warnings if one in OF_RULER))
