"""How many millimetres a pixel is, from two points of known distance or from a known height, and how sure that is."""

from __future__ import annotations

import math
from dataclasses import dataclass

from weftglass.errors import InputError, Unfit

CLICK_SD_PX = 1.0
"""How well a person sets one end of a bar, in pixels (common practice, no source)."""

BAR_SD = 0.002
"""Relative error of a printed bar or ruler itself (common practice, no source)."""

PLACEMENT_SD = 0.01
"""Extra relative error unless the bar is said to stand in the plane of the axis: a bar a hundredth of the camera's
distance before or behind the axis is wrong by a hundredth (pinhole camera)."""


@dataclass(frozen=True)
class Scale:
    """
    Scale of a photograph at the distance of the vessel's axis.

    Parameters
    ----------
    mm_per_px : float
        Millimetres a pixel, above 0.
    rel_sd : float
        Its relative standard deviation.
    how : str
        How it was found, in words: "bar of 100 mm".
    ends_px : tuple (x1, y1, x2, y2) or None
        The two points, where it was found from two.
    length_mm : float or None
        Their distance, or the known height.
    """

    mm_per_px: float
    rel_sd: float
    how: str
    ends_px: tuple[float, float, float, float] | None = None
    length_mm: float | None = None


def scale_from_bar(
    x1: float,
    y1: float,
    x2: float,
    y2: float,
    mm: float,
    *,
    in_axis_plane: bool = False,
    click_sd_px: float = CLICK_SD_PX,
    where: str = "scale bar",
) -> Scale:
    """
    Scale from two points of a known distance (ruler, printed bar, coin).

    Parameters
    ----------
    x1, y1, x2, y2 : float
        The two points in pixels, x to the right, y down.
    mm : float
        Their true distance in mm, above 0.
    in_axis_plane : bool
        Whether the bar stands as far from the camera as the vessel's axis. If not said, 1 % is added.
    click_sd_px : float
        Standard deviation of each point along the bar, in pixels.
    where : str
        For messages.

    Returns
    -------
    Scale

    Raises
    ------
    InputError
        If the points are less than 8 pixels apart, or a number is not finite or not above 0.

    Examples
    --------
    >>> scale = scale_from_bar(10, 50, 10, 450, 100, in_axis_plane=True)
    >>> scale.mm_per_px, round(scale.rel_sd, 4)
    (0.25, 0.0041)
    """
    if not all(math.isfinite(value) for value in (x1, y1, x2, y2)):
        raise InputError(where, "points", f"{x1}, {y1}, {x2}, {y2}", "four finite numbers, in pixels")
    if not (math.isfinite(mm) and 0 < mm <= 5000):
        raise InputError(where, "length", mm, "a number above 0 and at most 5000, in mm")
    length_px = math.hypot(x2 - x1, y2 - y1)
    if length_px < 8:
        wrong = f"the two points are {length_px:.1f} pixels apart"
        raise Unfit(where, "points", wrong, "two points at least 8 pixels apart")
    clicking = math.sqrt(2) * click_sd_px / length_px
    placement = 0.0 if in_axis_plane else PLACEMENT_SD
    rel_sd = math.sqrt(clicking**2 + BAR_SD**2 + placement**2)
    return Scale(mm / length_px, rel_sd, f"bar of {mm:g} mm", (x1, y1, x2, y2), mm)


def scale_from_height(
    height_mm: float, height_px: float, *, sd_mm: float = 1.0, edge_sd_px: float = 1.5, where: str = "height"
) -> Scale:
    """
    Scale from the known height of the piece, standing plane to top.

    `measure_outline` refines this, since seen from near or from above the outline is taller than the piece.

    Parameters
    ----------
    height_mm : float
        True height in mm, above 0.
    height_px : float
        Height of its outline in pixels.
    sd_mm : float
        Standard deviation of the height, in mm.
    edge_sd_px : float
        Standard deviation of the outline's ends together, in pixels.
    where : str
        For messages.

    Returns
    -------
    Scale

    Raises
    ------
    InputError
        If the height is not between 5 and 3000 mm or the outline is less than 8 pixels tall.

    Examples
    --------
    >>> scale_from_height(300, 1200).mm_per_px
    0.25
    """
    if not (math.isfinite(height_mm) and 5 <= height_mm <= 3000):
        raise InputError(where, "height", height_mm, "a number from 5 to 3000, in mm")
    if not (math.isfinite(height_px) and height_px >= 8):
        raise Unfit(where, "outline", f"the outline is {height_px:g} pixels tall", "an outline at least 8 pixels tall")
    rel_sd = math.hypot(sd_mm / height_mm, edge_sd_px / height_px)
    return Scale(height_mm / height_px, rel_sd, f"height of {height_mm:g} mm", None, height_mm)
