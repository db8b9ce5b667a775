"""Outlines as the engine reads them: a few dozen heights, how sure each edge is, and what stands there."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from weftglass.evidence import Outline
from weftglass.inside.bank import SLOPE_CAP

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]

MOST_NODES = (97, 72, 56)  # heights an outline: of one outline, of two, of three and more
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
    top_is_bare, top_is_seen, base_is_bare, base_is_seen : bool
        Whether glass ends the outline at the top, the top is the piece's own, glass stands on the table, and height 0
        is the piece's own base; where it is not, heights count from the lowest that is seen.
    distance_mm : float or None
        From camera to axis.
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
    base_is_seen: bool = True

    @property
    def normal(self) -> FloatArray:
        """Horizontal length of a unit step along the outward normal, 1 on an upright wall; capped; (n,)."""
        return np.sqrt(1.0 + self.slope**2)

    @property
    def covered_to_mm(self) -> float:
        """Height up to which the piece is covered when looked at from below: the first bare node above covered ones."""
        bare = self.z_mm[self.bare & (self.z_mm > self.z_mm[~self.bare].min(initial=np.inf))]
        return float(bare.min()) if len(bare) else np.inf

    @property
    def along_mm(self) -> FloatArray:
        """Way along the wall from the first node, mm, (n,)."""
        steps = np.hypot(np.diff(self.z_mm), np.diff(self.half_width_mm))
        return np.concatenate([[0.0], np.cumsum(steps)]) if len(self.z_mm) else np.empty(0)

    @classmethod
    def of(cls, outline: Outline, *, most: int = MOST_NODES[0]) -> Nodes:
        """Choose the heights: ``most``, no closer than 1.3 mm, none in a hidden range or at an end of a covering."""
        z, r = outline.points[:, 0], outline.points[:, 1]
        low, high = float(z[0]), float(z[-1])
        count = int(np.clip((high - low) / CLOSEST_MM, min(16, most), most))
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
            bool(bare_ends[1]) and not outline.top_unseen,
            bool(seen[1]) and not outline.top_unseen,
            bool(bare_ends[0]) and not outline.base_unseen,
            outline.distance_mm,
            not outline.base_unseen,
        )

    def every(self, step: int) -> Nodes:
        """Every step-th height only: a coarse look."""
        return self._only(np.arange(step // 2, len(self.z_mm), step))

    def without(self, low_mm: float, high_mm: float) -> Nodes:
        """The heights outside a range."""
        return self._only(np.flatnonzero((self.z_mm < low_mm) | (self.z_mm > high_mm)))

    def _only(self, index: IntArray) -> Nodes:
        return replace(
            self,
            z_mm=self.z_mm[index],
            half_width_mm=self.half_width_mm[index],
            sd_mm=self.sd_mm[index],
            slope=self.slope[index],
            bare=self.bare[index],
        )


@dataclass(frozen=True, eq=False)
class Stack:
    """
    The nodes of all outlines of a piece one after another; every array is (n,).

    Attributes
    ----------
    half_width_mm, sd_mm, normal : array
        As in `Nodes`.
    covered : array of float
        1 where there is a covering, 0 where glass is bare.
    outline : array of int
        Which outline a node belongs to.
    z_mm, place_mm : array
        Height in the outline's own frame, and a place along the wall that outlines of one piece share.
    """

    half_width_mm: FloatArray
    sd_mm: FloatArray
    normal: FloatArray
    covered: FloatArray
    outline: IntArray
    z_mm: FloatArray
    place_mm: FloatArray

    @classmethod
    def of(cls, nodes: tuple[Nodes, ...]) -> Stack:
        """Stack outlines; the same share of the height counts as the same place of the wall."""
        first = nodes[0]
        way, whole = first.along_mm, max(first.top_mm, 1e-6)
        places = []
        for one in nodes:
            share = one.z_mm * (whole / max(one.top_mm, 1e-6)) if one is not first else one.z_mm
            if len(way) > 1:
                beyond = np.maximum(share - first.z_mm[-1], 0.0) + np.minimum(share - first.z_mm[0], 0.0)
                places.append(np.interp(share, first.z_mm, way) + beyond)
            else:
                places.append(share)
        return cls(
            np.concatenate([one.half_width_mm for one in nodes]),
            np.concatenate([one.sd_mm for one in nodes]),
            np.concatenate([one.normal for one in nodes]),
            np.concatenate([np.where(one.bare, 0.0, 1.0) for one in nodes]),
            np.repeat(np.arange(len(nodes)), [len(one.z_mm) for one in nodes]),
            np.concatenate([one.z_mm for one in nodes]),
            np.concatenate(places),
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
