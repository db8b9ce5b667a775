"""The surface a covering lies on, as (s along the wall from the base, u once round, d outward) -> x, y, z."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d, map_coordinates, maximum_filter1d, minimum_filter1d
from vessel import Vessel

FloatArray = NDArray[np.float64]
AROUND = 720
STEP = 0.8  # mm along the wall


@dataclass(frozen=True, eq=False)
class Surface:
    """
    A wall to weave on; u = 0 at the back, 0.5 at the front, rising to the right as the front is seen.

    ``slack`` is how far the covering stands off beyond its own strands, a smooth field on the same grid, mm.
    """

    points: FloatArray  # (ns, AROUND, 3)
    normals: FloatArray
    slack: FloatArray  # (ns, AROUND)
    length: float
    girth: FloatArray  # (ns,) mm
    height: FloatArray  # (ns,) mm

    def girth_at(self, s: float) -> float:
        """Girth of the glass (no covering) at s, mm."""
        return float(np.interp(s, np.linspace(0, self.length, len(self.girth)), self.girth))

    def s_at_height(self, z: float) -> float:
        """Distance along the wall at a height above the glass's standing plane, mm."""
        return float(np.interp(z, self.height, np.linspace(0, self.length, len(self.height))))

    def _sample(self, field: FloatArray, s: FloatArray, u: FloatArray) -> FloatArray:
        rows = np.clip(s / self.length, 0, 1) * (len(self.girth) - 1)
        at = np.stack([rows, np.mod(u, 1.0) * AROUND])
        wrapped = np.concatenate([field, field[:, :2]], axis=1)
        return map_coordinates(wrapped, at, order=1, mode="nearest")

    def place(self, s: FloatArray, u: FloatArray, d: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Points and outward normals for arrays of s, u, d (any one shape)."""
        s, u, d = np.broadcast_arrays(s, u, d)
        flat = s.ravel(), u.ravel()
        point = np.stack([self._sample(self.points[..., i], *flat) for i in range(3)], -1)
        normal = np.stack([self._sample(self.normals[..., i], *flat) for i in range(3)], -1)
        normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
        off = d.ravel() + self._sample(self.slack, *flat)
        over = s.ravel() - np.clip(s.ravel(), 0, self.length)
        out = point + normal * off[:, None]
        out[:, 2] += np.where(over > 0, over, 0.0)
        return out.reshape(*s.shape, 3), normal.reshape(*s.shape, 3)


def surface_of(
    vessel: Vessel, low: float, top: float, rng: np.random.Generator, slack: float, unevenness: float
) -> Surface:
    """
    The wall from a height, or from inside the heel, up to another height.

    Parameters
    ----------
    low, top : float
        Heights where the covering begins and ends, mm above the glass's standing plane; low 0 starts under the base.
    slack, unevenness : float
        Mean and standard deviation (mm) of the gap that the strands leave beyond their own thickness.
    """
    keep = (vessel.z <= top + 15) & (vessel.z >= low)
    under = 6 if low <= 0 else 0
    z = np.concatenate([np.full(under, 0.0), vessel.z[keep]])
    shrink = np.concatenate([np.linspace(0.70, 0.98, under), np.ones(keep.sum())])
    wide = np.concatenate([np.full(under, vessel.wide[0]), vessel.wide[keep]]) * shrink
    deep = np.concatenate([np.full(under, vessel.deep[0]), vessel.deep[keep]]) * shrink
    run = np.concatenate([[0], np.cumsum(np.hypot(np.diff(z), np.diff(wide)))])
    fine = np.arange(0, run[-1], STEP)
    z, wide, deep = (np.interp(fine, run, v) for v in (z, wide, deep))
    wide, deep = (_bridged(v, z) for v in (wide, deep))
    z, wide, deep = (gaussian_filter1d(v, 2.2, mode="nearest") for v in (z, wide, deep))
    last = min(len(z) - 1, int(np.searchsorted(z, top)))
    rows = np.linspace(0, last, max(24, int(last)))
    z, wide, deep = (np.interp(rows, np.arange(len(z)), v) for v in (z, wide, deep))
    points = np.stack([_even_ring(vessel, w, d, h) for h, w, d in zip(z, wide, deep, strict=True)])
    normals = _normals(points)
    length = float(np.hypot(np.diff(z), np.diff(wide)).sum())
    girth = np.linalg.norm(np.diff(points, axis=1, append=points[:, :1]), axis=-1).sum(axis=1)
    return Surface(points, normals, _slack(rng, points.shape[:2], slack, unevenness), length, girth, z)


def _bridged(half: FloatArray, z: FloatArray) -> FloatArray:
    """Narrow valleys filled, as a covering spans them."""
    size = int(9 / STEP) | 1
    closed = minimum_filter1d(maximum_filter1d(half, size, mode="nearest"), size, mode="nearest")
    return np.where(z > 8, closed, half) if len(z) > 3 else half


def _even_ring(vessel: Vessel, wide: float, deep: float, z: float) -> FloatArray:
    edge = vessel.section.edge_points(float(wide), float(deep), AROUND)
    edge = np.roll(edge, -AROUND // 4, axis=0)
    closed = np.concatenate([edge, edge[:1]])
    run = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    at = np.linspace(0, run[-1], AROUND, endpoint=False)
    return np.column_stack([np.interp(at, run, closed[:, 0]), np.interp(at, run, closed[:, 1]), np.full(AROUND, z)])


def _normals(points: FloatArray) -> FloatArray:
    along = np.gradient(points, axis=0)
    padded = np.concatenate([points[:, -1:], points, points[:, :1]], axis=1)
    round_ = padded[:, 2:] - padded[:, :-2]
    normal = np.cross(round_, along)
    normal /= np.maximum(np.linalg.norm(normal, axis=-1, keepdims=True), 1e-9)
    normal = gaussian_filter1d(normal, 2.0, axis=0, mode="nearest")
    normal = gaussian_filter1d(normal, 3.0, axis=1, mode="wrap")
    return normal / np.linalg.norm(normal, axis=-1, keepdims=True)


def _slack(rng: np.random.Generator, shape: tuple[int, int], mean: float, sd: float) -> FloatArray:
    rows, cols = np.arange(shape[0])[:, None] / shape[0], np.arange(shape[1])[None, :] / shape[1]
    field = np.zeros(shape)
    for up in range(4):
        for turn in range(4):
            strength = rng.standard_normal() / (1 + 0.5 * up + 0.6 * turn)
            field += (
                strength
                * np.cos(2 * np.pi * turn * cols + rng.uniform(0, 6.3))
                * np.cos(np.pi * up * rows + rng.uniform(0, 3.1))
            )
    return np.maximum(mean + sd * field / max(float(field.std()), 1e-9), 0.0)
