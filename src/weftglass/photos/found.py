"""One step from a photograph to a measured outline, for the command line and the workbench."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from weftglass.errors import InputError, UnusableFile
from weftglass.photos.bar_within import bar_within
from weftglass.photos.cut import Unseen
from weftglass.photos.decode import Photograph
from weftglass.photos.measure import MeasuredOutline, measure_outline, with_warnings
from weftglass.photos.outline import trace_outline
from weftglass.photos.scale import scale_from_bar
from weftglass.photos.section import SectionHint
from weftglass.photos.silhouette import Silhouette


class FoundOutline(NamedTuple):
    """What was found on a photograph: the silhouette, and the profile measured on it."""

    silhouette: Silhouette
    measured: MeasuredOutline


def outline_from_photograph(
    photo: Photograph,
    *,
    scale_bar: Sequence[float] | None = None,
    height_mm: float | None = None,
    box: Sequence[float] | None = None,
    section: SectionHint | None = None,
    unseen: Unseen | None = None,
    shape_only: bool = False,
    where: str = "photograph",
) -> FoundOutline:
    """
    Trace the piece and measure it.

    Parameters
    ----------
    photo : Photograph
    scale_bar : (x1, y1, x2, y2, mm), optional
        Two points in pixels and their true distance. This or the height is needed, unless only the shape is wanted;
        both may be given, are weighed by their certainty, and a warning says so when they disagree.
    height_mm : float, optional
        Known height of the piece.
    box : (x0, y0, x1, y1), optional
        Pixels within which the piece lies.
    section, unseen, shape_only
        As for `measure_outline`.
    where : str
        For messages.

    Returns
    -------
    FoundOutline

    Raises
    ------
    InputError
        If neither scale nor height is given, a number is out of range, or no piece stands out from the picture.
    """
    if scale_bar is None and height_mm is None and not shape_only:
        raise InputError(where, "scale", None, "a scale bar or a known height in mm")
    scale = None
    if scale_bar is not None:
        x1, y1, x2, y2, mm = scale_bar
        scale = scale_from_bar(x1, y1, x2, y2, mm, where=where)
    silhouette = trace_outline(photo, box=box)
    if not silhouette.found:
        expected = "a photograph in which the piece stands out, a box round it, or an outline drawn by hand"
        raise UnusableFile(where, "file", "no piece stands out in it", expected)
    measured = measure_outline(
        silhouette.polygon_px,
        scale=scale,
        height_mm=height_mm,
        focal_35mm=photo.focal_35mm,
        image_size=(photo.width_px, photo.height_px),
        section=section,
        unseen=unseen,
        shape_only=shape_only,
        pixels=photo.pixels,
        where=where,
    )
    of_ruler = bar_within(silhouette.polygon_px, scale)
    told = (*photo.warnings, *silhouette.warnings, *([of_ruler] if of_ruler else []))
    return FoundOutline(silhouette, with_warnings(measured, told))
