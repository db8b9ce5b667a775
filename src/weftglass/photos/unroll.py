"""One photograph laid flat: what it shows of the wall, metrically right both ways, and nothing of what it does not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.photos.standing import Standing
from weftglass.photos.wall import Wall

FloatArray = NDArray[np.float64]
Colours = NDArray[np.float32]

WIDEST_DEG = 60.0
"""Beyond this angle between the wall and the line of sight a picture is squeezed to less than half: left blank."""


@dataclass(frozen=True, eq=False)
class Strip:
    """
    What one photograph shows of a wall, on the wall's grid (row 0 lowest).

    Parameters
    ----------
    colours : array, shape (rows, columns, 3), float32
        As in the picture, 0 to 1 of its own values; 0 where nothing is seen.
    facing : array, shape (rows, columns), float32
        Cosine of the angle between the wall and the line of sight; 0 where nothing is seen or it is not trusted.
    px_per_mm : array, shape (rows, columns), float32
        Pixels of the photograph per mm of wall, across or along, whichever is fewer; 0 where nothing is seen.
    turn_deg : float
        Turn of the piece it was unrolled for.
    """

    colours: Colours
    facing: Colours
    px_per_mm: Colours
    turn_deg: float

    @property
    def seen(self) -> NDArray[np.bool_]:
        """Where the photograph shows the wall."""
        return self.facing > 0


def unroll(
    pixels: NDArray[np.uint8],
    standing: Standing,
    wall: Wall,
    *,
    turn_deg: float = 0.0,
    rise_mm: float = 0.0,
    widest_deg: float = WIDEST_DEG,
) -> Strip:
    """
    Lay the seen part of a wall flat.

    Parameters
    ----------
    pixels : array, shape (height, width, 3), uint8
        The upright photograph.
    standing : Standing
    wall : Wall
    turn_deg : float
        Turn of the piece in this photograph.
    rise_mm : float
        How much higher it stands here than where its outline was measured.
    widest_deg : float
        Greatest angle between the wall and the line of sight that is trusted, degrees, above 0 and below 90.

    Returns
    -------
    Strip

    Notes
    -----
    Each grid point is projected through the pinhole camera of `standing` and the photograph read there (cubic); where
    the photograph is finer than the grid it is smoothed first, so that no false pattern arises.
    """
    places, outward = wall.points(turn_deg, rise_mm)
    facing = np.sum(outward * standing.towards_eye(places), axis=2)
    at = standing.pixels(places)
    height, width = pixels.shape[:2]
    inside = (at[..., 0] >= 0) & (at[..., 0] <= width - 1) & (at[..., 1] >= 0) & (at[..., 1] <= height - 1)
    seen = inside & (facing > np.cos(np.deg2rad(widest_deg)))
    fineness = _pixels_per_mm(at, wall)
    finest = float(np.quantile(fineness[seen], 0.95)) if np.any(seen) else 0.0
    source: NDArray[Any] = pixels.astype(np.float32) / np.float32(255)
    over = finest / wall.px_per_mm
    if over > 1.3:
        source = cv2.GaussianBlur(source, (0, 0), 0.45 * float(np.sqrt(over**2 - 1)))
    colours = cv2.remap(
        source,
        at[..., 0].astype(np.float32),
        at[..., 1].astype(np.float32),
        cv2.INTER_CUBIC,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return Strip(
        np.asarray(np.where(seen[..., None], np.clip(colours, 0, 1), 0), dtype=np.float32),
        np.asarray(np.where(seen, facing, 0), dtype=np.float32),
        np.asarray(np.where(seen, fineness, 0), dtype=np.float32),
        turn_deg,
    )


def place_sd_mm(strip: Strip, wall: Wall, *, scale_sd: float, edge_sd_mm: float, axis_sd_px: float = 0.7) -> FloatArray:
    """
    How far a place on one unrolled photograph may be off along the girth, measured from the line that faces the camera.

    Parameters
    ----------
    scale_sd : float
        Relative standard deviation of the scale.
    edge_sd_mm : float
        Standard deviation of the half-width: an error dr of it moves a place seen at angle t by dr tan t.
    axis_sd_px : float
        Standard deviation of the axis in the photograph; it moves a place by its own mm / cos t.

    Returns
    -------
    array, shape (rows, columns)
        In mm; nan where nothing is seen.
    """
    rows, columns = wall.shape
    across = (np.arange(columns) + 0.5) / columns * wall.girth_mm - wall.girth_mm / 2
    centre = strip.turn_deg / 360 * wall.girth_mm
    away = np.mod(across - centre + wall.girth_mm / 2, wall.girth_mm) - wall.girth_mm / 2
    cosine = np.where(strip.seen, strip.facing, np.nan)
    tangent = np.sqrt(1 - np.minimum(cosine, 1.0) ** 2) / cosine
    own_mm = axis_sd_px / np.where(strip.seen, strip.px_per_mm, np.nan)
    spread = (away * scale_sd)[None, :] ** 2 + (edge_sd_mm * tangent) ** 2 + own_mm**2
    return np.asarray(np.sqrt(spread), dtype=np.float64).reshape(rows, columns)


def _pixels_per_mm(at: FloatArray, wall: Wall) -> FloatArray:
    """The fewer of pixels per mm along the wall and along the girth, at each grid point."""
    up = np.hypot(*np.moveaxis(np.gradient(at, axis=0), -1, 0)) * wall.px_per_mm
    step = np.hypot(*np.moveaxis(np.roll(at, -1, axis=1) - np.roll(at, 1, axis=1), -1, 0)) / 2
    columns_per_mm = wall.shape[1] / wall.girth_at_mm[:, None]
    return np.asarray(np.minimum(up, step * columns_per_mm))
