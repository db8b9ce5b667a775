"""A close-up counted: the whole box, and its middle, which is taken where the edges could not be followed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from weftglass.errors import InputError
from weftglass.weave.gauge import NO_ROWS, TECHNIQUES, TOO_SMALL, Gauge, counted_in
from weftglass.weave.lattice import BONDS
from weftglass.weave.patch import LEAST_PX, Box, Pixels
from weftglass.weave.stance import Known

MIDDLE_SHARE = 0.7  # of the box's sides
LEAST_MIDDLE_ROWS = 7.0
APART_SD, APART_SHARE, APART_MOST = 2.5, 0.03, 0.5
"""By how much whole and middle have to differ before the whole is doubted: in their standard deviations, and of the
count itself (the work may be a little finer in one place); beyond the last the middle is another count altogether."""

MUCH_SURER = 0.6  # standard deviation of the middle over that of the whole
EDGES_LOST = "The rows could not be followed to the edges of the box; they are counted in its middle."


def gauge_of(
    pixels: Pixels,
    mm_per_px: float,
    *,
    technique: str | None = None,
    box: Box | None = None,
    scale_sd: float = 0.0,
    known: Known | None = None,
    where: str = "close-up",
) -> Gauge:
    """
    Count rows and stitches per centimetre on a close-up.

    Rows count up the height along the wall, stitches along a row on the outer face: twined, one visible slanted turn;
    coiled, one sewing stitch; wicker, one stake passed (a row shows only every second one in front); hitched, one
    loop; plaited on the bias, rows are levels of crossings and stitches diamonds across. The camera's angle, its
    nearness and the wall's curvature are found from how rows bend and stitches crowd, and taken out.

    Parameters
    ----------
    pixels : array, shape (height, width, 3), uint8
        The photograph as people see it, rows about level (within 25 degrees).
    mm_per_px : float
        At the covering's outer face in the middle of the box, square to the view.
    technique : str, optional
        One of `TECHNIQUES`. Default: taken from the picture, with a warning.
    box : tuple (x0, y0, x1, y1), optional
        Part of the picture that holds covering only, pixels. Default: all of it.
    scale_sd : float
        Relative standard deviation of the scale.
    known : Known, optional
        Radius, distance and taper of the wall where they are known.
    where : str
        For messages.

    Returns
    -------
    Gauge
        With None and a reason where the picture cannot carry a count.

    Raises
    ------
    InputError
        If the scale, the technique or the box is at fault.
    """
    if not (np.isfinite(mm_per_px) and 0 < mm_per_px <= 10):
        raise InputError(where, "scale", mm_per_px, "a number above 0 and at most 10, in mm a pixel")
    if technique is not None and technique not in TECHNIQUES:
        raise InputError(where, "technique", technique, "one of " + ", ".join(TECHNIQUES))
    if box is None and min(pixels.shape[:2]) < LEAST_PX:
        return Gauge(reason=TOO_SMALL, technique=technique, technique_given=technique is not None)
    known = known or Known()
    whole = counted_in(pixels, mm_per_px, technique, box, scale_sd, known, where)
    part = _middle(pixels, box)
    if part is None or (whole.rows_per_cm is None and whole.reason != NO_ROWS):
        return whole
    kind, repeat = technique or whole.technique, _repeat_px(whole, pixels, box)
    return settled(whole, counted_in(pixels, mm_per_px, kind, part, scale_sd, known, where, repeat_px=repeat))


def settled(whole: Gauge, middle: Gauge) -> Gauge:
    """
    The count of the whole, or of its middle where the whole has none, is doubted by the middle, or far less sure.

    Parameters
    ----------
    whole, middle : Gauge
        Of one technique.

    Returns
    -------
    Gauge
        Where the middle's rows are taken, stitches are still those of the whole if it has them: more are in sight.
    """
    if middle.rows_per_cm is None or middle.rows_sd is None or (middle.rows_counted or 0.0) < LEAST_MIDDLE_ROWS:
        return whole
    warned = replace(
        middle, technique_given=whole.technique_given, warnings=(EDGES_LOST, *_kept(whole, middle))
    )  # fmt: skip
    if whole.rows_per_cm is None or whole.rows_sd is None:
        return warned
    apart = abs(whole.rows_per_cm - middle.rows_per_cm)
    if apart > APART_MOST * whole.rows_per_cm:
        return whole
    doubted = apart > APART_SD * np.hypot(whole.rows_sd, middle.rows_sd) and apart > APART_SHARE * whole.rows_per_cm
    if not doubted and middle.rows_sd > MUCH_SURER * whole.rows_sd:
        return whole
    if whole.stitches_per_cm is None:
        return warned
    return replace(
        warned, stitches_per_cm=whole.stitches_per_cm, stitches_sd=whole.stitches_sd, lean=whole.lean,
        lean_sure=whole.lean_sure, stitches_counted=whole.stitches_counted, stitch_marks=whole.stitch_marks,
        reason=None,
    )  # fmt: skip


def _repeat_px(whole: Gauge, pixels: Pixels, box: Box | None) -> float | None:
    """How far apart the whole box has repeats down the picture; None where it counted none."""
    if not whole.rows_counted or whole.technique is None:
        return None
    tall = float(pixels.shape[0]) if box is None else abs(box[3] - box[1])
    return tall / whole.rows_counted * BONDS[whole.technique].levels


def _kept(whole: Gauge, middle: Gauge) -> tuple[str, ...]:
    """Warnings of both, each once; what is said of the technique belongs to the whole."""
    return tuple(dict.fromkeys((*whole.warnings, *(middle.warnings if whole.rows_per_cm is None else ()))))


def _middle(pixels: Pixels, box: Box | None) -> Box | None:
    """The middle of a box; None where it would be too small."""
    height, width = pixels.shape[:2]
    x0, y0, x1, y1 = (0.0, 0.0, float(width), float(height)) if box is None else box
    across, down = MIDDLE_SHARE * abs(x1 - x0) / 2, MIDDLE_SHARE * abs(y1 - y0) / 2
    if min(across, down) * 2 < 2 * LEAST_PX:
        return None
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    return x - across, y - down, x + across, y + down
