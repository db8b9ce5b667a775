"""Strands swept into tubes: centre lines with a half-width, a half-thickness and a colour become one quad mesh."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Strands:
    """
    Strands of one material with equally many points each.

    points, normals : (m, n, 3) mm; half : (m, n, 2) half-width along the surface and half-thickness across it, mm;
    colours : (m, n, 3) linear RGB; sides : corners of the cross-section; finish : fibre, cord or strip.
    """

    points: FloatArray
    normals: FloatArray
    half: FloatArray
    colours: FloatArray
    sides: int = 6
    finish: str = "fibre"


@dataclass(eq=False)
class Mesh:
    """Vertices (mm), quads, and per vertex a texture position and a colour."""

    vertices: FloatArray
    quads: NDArray[np.int32]
    uv: FloatArray
    colours: FloatArray
    finish: str = field(default="fibre")


def swept(strands: Strands, rng: np.random.Generator) -> Mesh:
    """The tube mesh of all strands, ends capped by closing their rings."""
    path, normal = strands.points, strands.normals
    m, n, _ = path.shape
    forward = np.gradient(path, axis=1)
    forward /= np.maximum(np.linalg.norm(forward, axis=-1, keepdims=True), 1e-9)
    across = np.cross(normal, forward)
    across /= np.maximum(np.linalg.norm(across, axis=-1, keepdims=True), 1e-9)
    up = np.cross(forward, across)
    turn = 2 * np.pi * np.arange(strands.sides) / strands.sides
    half = strands.half.copy()
    half[:, [0, -1]] *= 0.15
    a = half[..., 0, None] * np.cos(turn)
    b = half[..., 1, None] * np.sin(turn)
    rings = path[:, :, None] + across[:, :, None] * a[..., None] + up[:, :, None] * b[..., None]
    step = np.linalg.norm(np.diff(path, axis=1, prepend=path[:, :1]), axis=-1)
    along = np.cumsum(step, axis=1) + rng.uniform(0, 500, (m, 1))
    u = np.broadcast_to(along[..., None], (m, n, strands.sides))
    v = np.broadcast_to(np.arange(strands.sides) / strands.sides, (m, n, strands.sides)) + rng.uniform(
        0, 50, (m, 1, 1)
    ).round(2)
    colour = np.broadcast_to(strands.colours[:, :, None], (m, n, strands.sides, 3))
    return Mesh(
        rings.reshape(-1, 3),
        _quads(m, n, strands.sides),
        np.stack([u, v], -1).reshape(-1, 2),
        colour.reshape(-1, 3),
        strands.finish,
    )


def _quads(m: int, n: int, sides: int) -> NDArray[np.int32]:
    strand, ring, corner = np.meshgrid(np.arange(m), np.arange(n - 1), np.arange(sides), indexing="ij")
    nxt = (corner + 1) % sides
    base = strand * n * sides
    quad = [
        base + ring * sides + corner,
        base + ring * sides + nxt,
        base + (ring + 1) * sides + nxt,
        base + (ring + 1) * sides + corner,
    ]
    return np.stack(quad, -1).reshape(-1, 4).astype(np.int32)
