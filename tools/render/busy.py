"""Places full of fine detail, as at a market stall: printed cloth, a mat, other woven wares, a slab in a garden."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import bpy
import numpy as np
from materials import Nodes
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Colour = tuple[float, float, float]
Grid = Callable[[str, FloatArray, FloatArray, FloatArray, Any], Any]
INKS: tuple[Colour, ...] = (
    (0.45, 0.05, 0.06), (0.07, 0.14, 0.36), (0.10, 0.25, 0.11), (0.55, 0.40, 0.10), (0.05, 0.05, 0.06),
    (0.35, 0.13, 0.30), (0.50, 0.22, 0.07), (0.30, 0.42, 0.45),
)  # fmt: skip
GROUNDS: tuple[Colour, ...] = ((0.70, 0.68, 0.62), (0.55, 0.46, 0.30), (0.12, 0.15, 0.22), (0.40, 0.16, 0.13))
STRAW: tuple[Colour, ...] = ((0.42, 0.30, 0.14), (0.28, 0.17, 0.07), (0.50, 0.40, 0.22))


def _shaded(nodes: Nodes, colour: Any, roughness: float) -> Any:
    shader = nodes.add("ShaderNodeBsdfPrincipled", Roughness=roughness)
    shader.inputs["Specular IOR Level"].default_value = 0.25
    nodes.join(colour, shader.inputs["Base Color"])
    nodes.join(shader.outputs[0], nodes.out.inputs["Surface"])
    return shader


def _mixed(nodes: Nodes, share: Any, below: Any, above: Any) -> Any:
    """Colour `above` where a share is 1, `below` where it is 0; either may be a colour or a socket."""
    node = nodes.add("ShaderNodeMixRGB")
    nodes.join(share, node.inputs[0])
    for place, colour in ((1, below), (2, above)):
        if isinstance(colour, tuple):
            node.inputs[place].default_value = (*colour, 1)
        else:
            nodes.join(colour, node.inputs[place])
    return node.outputs[0]


def printed(pattern: str, rng: np.random.Generator) -> Any:
    """Cloth with checks of 8 to 30 mm, stripes, flowers or flecks; texture in units of 100 mm."""
    nodes = Nodes("print")
    where = nodes.add("ShaderNodeTexCoord").outputs["UV"]
    ground = GROUNDS[rng.integers(len(GROUNDS))]
    inks = [INKS[k] for k in rng.permutation(len(INKS))[:3]]
    step = float(rng.uniform(0.08, 0.30))
    if pattern in ("checks", "stripes"):
        apart = nodes.add("ShaderNodeSeparateXYZ")
        nodes.join(where, apart.inputs[0])
        colour: Any = ground
        for axis, ink in enumerate(inks[: 2 if pattern == "checks" else 1]):
            place = nodes.maths("FRACT", nodes.maths("MULTIPLY", apart.outputs[axis], 0.5 / step))
            band = nodes.maths("MULTIPLY", nodes.maths("GREATER_THAN", place, 0.5), 0.6)
            colour = _mixed(nodes, band, colour, ink)
    else:
        size = step * (1.0 if pattern == "flowers" else 0.35)
        cell = nodes.add("ShaderNodeTexVoronoi", Scale=1.0 / size, Randomness=0.8)
        nodes.join(where, cell.inputs["Vector"])
        petal = nodes.add("ShaderNodeTexNoise", Scale=5.0 / size, Detail=1.0)
        nodes.join(where, petal.inputs["Vector"])
        edge = nodes.maths("ADD", cell.outputs["Distance"], nodes.maths("MULTIPLY", petal.outputs[0], 0.35))
        choice = nodes.add("ShaderNodeSeparateXYZ")
        nodes.join(cell.outputs["Color"], choice.inputs[0])
        ink = _mixed(nodes, nodes.maths("GREATER_THAN", choice.outputs[0], 0.5), inks[0], inks[1])
        flower = _mixed(nodes, nodes.maths("LESS_THAN", edge, 0.52), ground, ink)
        colour = _mixed(nodes, nodes.maths("LESS_THAN", edge, 0.27), flower, inks[2])
    _shaded(nodes, colour, 0.9)
    return nodes.material


def woven(rng: np.random.Generator, size: float) -> Any:
    """Straw or rush in a plain weave, strands of a size in units of 100 mm; for mats and for other wares."""
    nodes = Nodes("woven")
    where = nodes.add("ShaderNodeTexCoord").outputs["UV"]
    brick = nodes.add("ShaderNodeTexBrick", offset=0.5, Scale=1.0)
    low, high = (STRAW[k] for k in rng.permutation(len(STRAW))[:2])
    brick.inputs["Color1"].default_value, brick.inputs["Color2"].default_value = (*low, 1), (*high, 1)
    brick.inputs["Mortar"].default_value = (0.03, 0.02, 0.01, 1)
    brick.inputs["Brick Width"].default_value, brick.inputs["Row Height"].default_value = 2.2 * size, size
    brick.inputs["Mortar Size"].default_value, brick.inputs["Mortar Smooth"].default_value = 0.16 * size, 0.6
    nodes.join(where, brick.inputs["Vector"])
    shader = _shaded(nodes, brick.outputs["Color"], 0.7)
    bump = nodes.add("ShaderNodeBump", Strength=0.6, Distance=0.02)
    nodes.join(nodes.maths("SUBTRACT", 1.0, brick.outputs["Fac"]), bump.inputs["Height"])
    nodes.join(bump.outputs[0], shader.inputs["Normal"])
    return nodes.material


def _leaf_material(name: str, colours: tuple[Colour, Colour]) -> Any:
    nodes = Nodes(name)
    shade = nodes.add("ShaderNodeAttribute", attribute_name="shade")
    _shaded(nodes, _mixed(nodes, shade.outputs["Fac"], *colours), 0.6)
    return nodes.material


def _leaves(name: str, corners: FloatArray, material: Any, rng: np.random.Generator) -> None:
    """Quads (m, 4, 3) as one mesh, each with a shade of its own."""
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata(corners.reshape(-1, 3).tolist(), [], np.arange(4 * len(corners)).reshape(-1, 4).tolist())
    shade = np.repeat(rng.uniform(0, 1, len(corners)), 4).astype(np.float32)
    mesh.attributes.new("shade", "FLOAT", "POINT").data.foreach_set("value", shade)
    thing = bpy.data.objects.new(name, mesh)
    thing.data.materials.append(material)
    bpy.context.scene.collection.objects.link(thing)


def lawn(rng: np.random.Generator, near: float, far: float, level: float, free: float) -> None:
    """Grass of 20 to 60 mm from y `near` to `far`, none where |x| and |y| are within `free`."""
    count = 90_000
    x, y = rng.uniform(-16, 16, count), rng.uniform(near, far, count)
    keep = (np.abs(x) > free) | (np.abs(y) > free)
    x, y = x[keep], y[keep]
    count = len(x)
    tall, turn = rng.uniform(0.2, 0.6, count), rng.uniform(0, 2 * np.pi, count)
    wide, lean = rng.uniform(0.015, 0.04, count), rng.normal(0, 0.25, (count, 2))
    foot = np.stack([x, y, np.full(count, level)], -1)
    tip = foot + np.stack([lean[:, 0] * tall, lean[:, 1] * tall, tall], -1)
    across = np.stack([np.cos(turn), np.sin(turn), np.zeros(count)], -1) * wide[:, None]
    _leaves(
        "grass",
        np.stack([foot - across, foot + across, tip + 0.2 * across, tip - 0.2 * across], 1),
        _leaf_material("grass", ((0.05, 0.11, 0.02), (0.22, 0.33, 0.08))),
        rng,
    )


def hedge(rng: np.random.Generator, y: float, level: float) -> None:
    """Leaves of 20 to 60 mm in a wall of foliage, with gaps."""
    count = 26_000
    corner, room = np.array([-22.0, y, level]), np.array([44.0, 3.0, 20.0])
    middle = corner + room * rng.uniform(0, 1, (3, count)).T
    middle[:, 1] += 0.8 * np.sin(1.3 * middle[:, 0]) * np.sin(0.9 * middle[:, 2])
    size = rng.uniform(0.2, 0.6, (count, 1))
    along = rng.normal(0, 1, (count, 3))
    along *= size / np.linalg.norm(along, axis=1, keepdims=True)
    across = np.cross(along, rng.normal(0, 1, (count, 3)))
    across *= 0.5 * size / np.linalg.norm(across, axis=1, keepdims=True)
    _leaves(
        "hedge",
        np.stack([middle - along, middle + across, middle + along, middle - across], 1),
        _leaf_material("leaf", ((0.02, 0.05, 0.015), (0.20, 0.30, 0.07))),
        rng,
    )


def wares(rng: np.random.Generator, y: float, level: float, grid: Grid) -> None:
    """Other woven things behind: baskets and covered jars, their weave as coarse as the piece's own."""
    x = -9.0
    t, angle = np.linspace(0, 1, 30), np.linspace(0, 2 * np.pi, 48)
    while x < 9.0:
        size = float(rng.uniform(0.6, 1.4))
        belly, foot = rng.uniform(0.1, 0.5), rng.uniform(0.5, 0.9)
        radius = size * (foot + belly * np.sin(np.pi * t * rng.uniform(0.6, 1.0)))
        tall = size * float(rng.uniform(1.2, 2.6))
        grid(
            "ware",
            x + radius.max() + radius[:, None] * np.cos(angle),
            y + radius.max() + radius[:, None] * np.sin(angle),
            level + np.repeat(tall * t[:, None], len(angle), 1),
            woven(rng, float(rng.uniform(0.03, 0.08))),
        )
        x += 2 * float(radius.max()) + float(rng.uniform(0.1, 1.2))
