"""The colour of the glass sampled on a photograph where light passes, and keeping it as a sighting."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from weftglass.desk.collection import Collection
from weftglass.desk.photographs import get_view, pixels_of
from weftglass.desk.sightings import record_sighting
from weftglass.desk.wording import photograph_words
from weftglass.errors import InputError, Unfit
from weftglass.inside.likelihood.colour import Lab, nearest_colours
from weftglass.records import SightingRecord
from weftglass.weave.colour import lab_of_srgb

LEAST_PIXELS = 20
MOST_RADIUS_PX = 400
BLOWN, DARK = 0.98, 0.02  # of full scale: beyond them a pixel tells no colour
SURE = 0.7  # what a camera's white balance leaves of a sampled colour; working figure, no source


@dataclass(frozen=True)
class ColourSample:
    """
    The colour of a spot.

    Parameters
    ----------
    lab : (L*, a*, b*)
        Median over the spot's pixels, CIELAB under D65.
    spread : float
        How far its pixels lie from it in the median, CIELAB units.
    nearest : tuple of (name, probability)
        Named glass colours, all alike common, most probable first; at most three.
    x, y, radius : float
        The spot, photograph pixels.
    """

    lab: Lab
    spread: float
    nearest: tuple[tuple[str, float], ...]
    x: float
    y: float
    radius: float

    @property
    def value(self) -> str:
        """As a sighting's value."""
        return "lab " + " ".join(f"{number:.0f}" for number in self.lab)


def sample_colour(collection: Collection, view_id: str, x: float, y: float, radius: float) -> ColourSample:
    """
    Read the colour of a round spot of a view.

    Parameters
    ----------
    view_id : str
    x, y : float
        Its middle, pixels of the upright photograph, origin at the upper left.
    radius : float
        1 to 400 pixels.

    Raises
    ------
    InputError
        A spot outside the photograph, too small, or overexposed or black so that no colour is left.
    """
    where = photograph_words(view_id)
    pixels = pixels_of(collection, get_view(collection, view_id).photo).pixels
    tall, wide = pixels.shape[:2]
    for name, value, most in (("x", x, wide), ("y", y, tall)):
        if not 0 <= value < most:
            raise InputError(where, name, value, f"a place on the photograph, 0 to {most - 1} pixels")
    if not 1 <= radius <= MOST_RADIUS_PX:
        raise InputError(where, "radius", radius, f"1 to {MOST_RADIUS_PX} pixels")
    low_x, low_y = max(int(x - radius), 0), max(int(y - radius), 0)
    part = np.asarray(pixels[low_y : int(y + radius) + 1, low_x : int(x + radius) + 1, :3], dtype=np.float64) / 255.0
    rows, columns = np.mgrid[0 : part.shape[0], 0 : part.shape[1]]
    spot = part[np.hypot(columns + low_x - x, rows + low_y - y) <= radius]
    if len(spot) < LEAST_PIXELS:
        raise InputError(where, "radius", radius, f"a spot of at least {LEAST_PIXELS} pixels on the photograph")
    told = spot[(spot.max(axis=1) < BLOWN) & (spot.max(axis=1) > DARK)]
    if len(told) < 0.5 * len(spot):
        expected = "a place where light passes and the photograph shows it"
        raise Unfit(where, "spot", "the spot is overexposed or black", expected)
    colours = lab_of_srgb(told)
    middle = np.median(colours, axis=0)
    spread = float(np.median(np.linalg.norm(colours - middle, axis=1)))
    lab = (float(middle[0]), float(middle[1]), float(middle[2]))
    return ColourSample(lab, spread, tuple(nearest_colours(lab)[:3]), x, y, radius)


def keep_colour(collection: Collection, view_id: str, x: float, y: float, radius: float, *, who: str) -> SightingRecord:
    """
    Keep the colour of a spot as a sighting of the piece; parameters as `sample_colour`.

    It counts as 70 % sure: a camera's white balance may have turned it.
    """
    sample = sample_colour(collection, view_id, x, y, radius)
    piece = get_view(collection, view_id).view.piece
    remark = f"sampled on view {view_id} at {x:.0f}, {y:.0f}, radius {radius:.0f} px; nearest {sample.nearest[0][0]}"
    return record_sighting(collection, piece, "colour", sample.value, who=who, sure=SURE, remark=remark)
