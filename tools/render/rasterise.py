"""
A quick picture of strands without Blender: quads painted far to near, shaded pixel by pixel, with soft shadows.

Slower machines make hundreds of close-ups with it in the time a path tracer makes ten; `closeups.py` uses both.
"""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from sweep import Mesh

FloatArray = NDArray[np.float64]
FINER = 2  # pixels painted for one of the picture, each way
SHIFT = 4  # bits of a pixel's fraction in OpenCV's painting
SHADOW_SIDE = 1000
SUNS = 3


def painted(
    meshes: list[Mesh],
    camera: dict[str, Any],
    size: tuple[int, int],
    light: tuple[float, float],
    pitch: float,
    seed: int,
) -> FloatArray:
    """
    The picture, (height, width, 3), 0 to 1.

    Parameters
    ----------
    meshes : list of Mesh
        Strands and what lies behind them, mm.
    camera : dict
        place, right, up, forward and focal_px.
    size : (width, height)
    light : (aside, above)
        Direction of the lamp in degrees from the direction of the front.
    pitch : float
        Distance of rows, mm: how far a hollow is from the light of the room.
    seed : int
        Of the streaks in the strands.
    """
    rng = np.random.default_rng([seed, 77])
    scene = _joined(meshes)
    wide, tall = (FINER * side for side in size)
    ray = scene["points"] - camera["place"]
    depth = ray @ camera["forward"]
    x = wide / 2 - 0.5 + FINER * camera["focal_px"] * (ray @ camera["right"]) / depth
    y = tall / 2 - 0.5 - FINER * camera["focal_px"] * (ray @ camera["up"]) / depth
    flat = np.column_stack([x, y])
    number = _visible(flat, depth, scene["quads"], (wide, tall))
    hit = number >= 0
    corners = scene["quads"][np.where(hit, number, 0)]
    at = np.stack(np.meshgrid(np.arange(wide), np.arange(tall)), -1)
    near = 1 / (((flat[corners] - at[:, :, None]) ** 2).sum(-1) + 0.5)
    near /= near.sum(-1, keepdims=True)
    where, normal, colour = (
        np.einsum("hwk,hwkc->hwc", near, scene[key][corners]) for key in ("points", "normals", "colours")
    )
    normal /= np.maximum(np.linalg.norm(normal, axis=-1, keepdims=True), 1e-9)
    grain = np.einsum("hwk,hwk->hw", near, scene["streak"][corners])
    colour = colour * (1 + 0.22 * _streaks(grain, rng))[..., None]
    far = (where - camera["place"]) @ camera["forward"]
    hollow = np.maximum(far - cv2.GaussianBlur(far, (0, 0), FINER * pitch / depth.mean() * camera["focal_px"] / 3), 0)
    open_sky = np.exp(-3.0 * hollow / pitch)
    shine = (0.30 * open_sky)[..., None] * colour
    for k in range(SUNS):
        sun = _direction(light[0] + 5 * (k - 1), light[1] + 4 * ((k * 2) % 3 - 1))
        lit = np.maximum(normal @ sun, 0) * _reached(scene, where, sun)
        gloss = np.maximum(normal @ _halfway(sun, camera), 0) ** 24 * (lit > 0)
        shine += (lit[..., None] * colour * 2.2 + 0.10 * gloss[..., None]) / SUNS
    fill = np.maximum(normal @ _direction(-0.7 * light[0], 15.0), 0) * open_sky
    shine += 0.35 * fill[..., None] * colour
    shine[~hit] = 0.02
    toned = (shine / (shine + 0.55)) ** (1 / 2.2)
    return np.asarray(cv2.resize(np.clip(toned, 0, 1), size, interpolation=cv2.INTER_AREA))


def _joined(meshes: list[Mesh]) -> dict[str, Any]:
    start = np.cumsum([0] + [len(mesh.vertices) for mesh in meshes])
    points = np.concatenate([mesh.vertices for mesh in meshes])
    quads = np.concatenate([mesh.quads + shift for mesh, shift in zip(meshes, start[:-1], strict=True)])
    a, b, c, d = (points[quads[:, k]] for k in range(4))
    face = np.cross(c - a, d - b)
    normals = np.zeros_like(points)
    for k in range(4):
        np.add.at(normals, quads[:, k], face)
    normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-12)
    streak = np.concatenate([mesh.uv[:, 1] * 7.0 + 0.02 * mesh.uv[:, 0] for mesh in meshes])
    return {"points": points, "quads": quads, "normals": normals, "streak": streak,
            "colours": np.concatenate([mesh.colours for mesh in meshes])}  # fmt: skip


def _visible(flat: FloatArray, depth: FloatArray, quads: NDArray[Any], size: tuple[int, int]) -> NDArray[np.int32]:
    """Number of the quad nearest to the eye at each pixel, -1 where there is none."""
    corner = flat[quads]
    inside = ((corner > -40) & (corner < np.array(size) + 40)).all((1, 2))
    chosen = np.flatnonzero(inside)
    order = chosen[np.argsort(-depth[quads[chosen]].mean(1))]
    fixed = np.round(corner * (1 << SHIFT)).astype(np.int32)
    canvas = np.full((size[1], size[0]), -1, np.int32)
    for k in order:
        cv2.fillConvexPoly(canvas, fixed[k], int(k), lineType=8, shift=SHIFT)
    return canvas


def _reached(scene: dict[str, Any], where: FloatArray, sun: FloatArray) -> FloatArray:
    """1 where the lamp reaches a point, 0 where a strand is before it; a little blurred."""
    side = np.cross(sun, [0.0, 0.0, 1.0])
    side /= np.linalg.norm(side)
    up = np.cross(side, sun)
    points = scene["points"]
    flat = np.column_stack([points @ side, points @ up])
    low, high = flat.min(0), flat.max(0)
    scale = (SHADOW_SIDE - 1) / (high - low).max()
    depth = -points @ sun
    number = _visible((flat - low) * scale, depth, scene["quads"], (SHADOW_SIDE, SHADOW_SIDE))
    nearest = np.where(number >= 0, depth[scene["quads"][np.maximum(number, 0)]].mean(-1), np.inf)
    at = np.stack([where @ side, where @ up], -1)
    column, row = (np.clip((at - low) * scale, 0, SHADOW_SIDE - 1).round().astype(int)[..., k] for k in range(2))
    step = np.linalg.norm(points[scene["quads"][:, 0]] - points[scene["quads"][:, 2]], axis=1)
    behind = -where @ sun - nearest[row, column] > 0.8 * float(np.median(step))
    return np.asarray(cv2.GaussianBlur(1.0 - behind.astype(np.float64), (0, 0), 1.5))


def _direction(aside: float, above: float) -> FloatArray:
    a, b = np.deg2rad(aside), np.deg2rad(above)
    return np.array([np.sin(a) * np.cos(b), -np.cos(a) * np.cos(b), np.sin(b)])


def _halfway(sun: FloatArray, camera: dict[str, Any]) -> FloatArray:
    half = sun - camera["forward"]
    return np.asarray(half / np.linalg.norm(half))


def _streaks(at: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Smooth random streaks by a coordinate, mean 0, about unit range."""
    table = rng.standard_normal(4096)
    return np.asarray(0.6 * np.interp(np.mod(at * 1.7, 4095), np.arange(4096), table)
                      + 0.4 * np.interp(np.mod(at * 5.3, 4095), np.arange(4096), table[::-1]))  # fmt: skip
