"""An outline as the engine reads it: a few dozen heights, how sure each edge is, and what stands there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weftglass.evidence import Outline
from weftglass.inside.bank import SLOPE_CAP

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

MOST_NODES = 97
CLOSEST_MM = 1.3  # closer than this, neighbouring edge errors are not independent
MARGIN_MM = 1.5  # around the end of a covering neither glass nor covering is the edge


@dataclass(frozen=True, eq=False)
class Nodes:
    """
    Heights of one outline that take part in the fit.

    Attributes
    ----------
    z_mm, half_width_mm, sd_mm, slope : array (n,)
        Height over the standing plane, half-width, sd of the edge along its normal, d half-width / d height.
    bare : array (n,) of bool
        Where glass is the edge.
    top_mm : float
        Height of the whole outline.
    top_is_bare, top_is_seen, base_is_bare : bool
        Whether glass ends the outline at the top, the top is the piece's own, and glass stands on the table.
    """

    z_mm: FloatArray
    half_width_mm: FloatArray
    sd_mm: FloatArray
    slope: FloatArray
    bare: BoolArray
    top_mm: float
    top_is_bare: bool
    top_is_seen: bool
    base_is_bare: bool
    distance_mm: float | None = None

    @property
    def normal(self) -> FloatArray:
        """Horizontal length of a unit step along the outward normal, 1 on an upright wall; capped; (n,)."""
        return np.sqrt(1.0 + self.slope**2)

    @classmethod
    def of(cls, outline: Outline) -> Nodes:
        """Choose the heights: at most 97, no closer than 1.3 mm, none in a hidden range or at an end of a covering."""
        z, r = outline.points[:, 0], outline.points[:, 1]
        low, high = float(z[0]), float(z[-1])
        count = int(np.clip((high - low) / CLOSEST_MM, 16, MOST_NODES))
        step = (high - low) / count
        at = np.asarray(low + step * (np.arange(count) + 0.5), dtype=np.float64)
        bare = _within(at, outline.bare)
        keep = ~_within(at, outline.hidden)
        for start, end in outline.bare:
            for edge in (start, end):
                if low + MARGIN_MM < edge < high - MARGIN_MM:
                    keep &= np.abs(at - edge) > MARGIN_MM
        slope = _smoothed_slope(z, r, at, [edge for pair in outline.bare for edge in pair])
        ends = np.array([low, high])
        seen = ~_within(ends, outline.hidden)
        bare_ends = _within(ends, [(a - 2.0, b + 2.0) for a, b in outline.bare])
        return cls(
            at[keep],
            np.interp(at, z, r)[keep],
            np.interp(at, z, outline.sd_mm)[keep],
            slope[keep],
            bare[keep],
            high,
            bool(bare_ends[1]),
            bool(seen[1]),
            bool(bare_ends[0]),
            outline.distance_mm,
        )


def _within(at: FloatArray, ranges: tuple[tuple[float, float], ...] | list[tuple[float, float]]) -> BoolArray:
    inside = np.zeros(at.shape, dtype=bool)
    for start, end in ranges:
        inside |= (at >= start) & (at <= end)
    return inside


def _smoothed_slope(z: FloatArray, r: FloatArray, at: FloatArray, ends: list[float]) -> FloatArray:
    """Chord slope over 3 mm to each side, of the outline itself, never across an end of a covering; capped."""
    reach = min(3.0, 0.02 * float(z[-1] - z[0]) + 0.5)
    stops = np.array([-np.inf, *sorted(ends), np.inf])
    zone = np.searchsorted(stops, at, side="right")
    floor = np.maximum(stops[zone - 1] + MARGIN_MM, z[0])
    ceiling = np.minimum(stops[np.minimum(zone, len(stops) - 1)] - MARGIN_MM, z[-1])
    above = np.maximum(np.minimum(at + reach, ceiling), at)
    below = np.minimum(np.maximum(at - reach, floor), at)
    rise = np.interp(above, z, r) - np.interp(below, z, r)
    return np.asarray(np.clip(rise / np.maximum(above - below, 1e-6), -SLOPE_CAP, SLOPE_CAP), dtype=np.float64)
