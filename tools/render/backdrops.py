"""Where the piece stands and how it is lit: paper sweep, wooden table, cloth, shelf, window sill, busy places."""

from __future__ import annotations

from typing import Any

import bpy
import numpy as np
from busy import hedge, lawn, printed, wares, woven
from materials import cloth_material, glass_material, plain_material, wood_material

PAPER = {
    "grey": (0.42, 0.42, 0.42), "white": (0.74, 0.73, 0.71), "dark": (0.055, 0.058, 0.065), "cream": (0.62, 0.55, 0.43),
    "blue": (0.16, 0.22, 0.29), "sage": (0.26, 0.30, 0.23), "rose": (0.45, 0.30, 0.27),
}  # fmt: skip
CLOTH = {
    "linen": (0.50, 0.44, 0.34),
    "slate": (0.13, 0.15, 0.17),
    "wine": (0.16, 0.035, 0.04),
    "white": (0.70, 0.69, 0.66),
    "green": (0.08, 0.12, 0.08),
}
WOOD = {
    "oak": ((0.17, 0.085, 0.035), (0.42, 0.26, 0.13)),
    "walnut": ((0.035, 0.018, 0.010), (0.14, 0.075, 0.04)),
    "pine": ((0.38, 0.22, 0.10), (0.62, 0.43, 0.24)),
    "grey": ((0.14, 0.13, 0.12), (0.32, 0.30, 0.27)),
}
WALL = {
    "plaster": (0.55, 0.52, 0.47),
    "blue": (0.18, 0.25, 0.32),
    "green": (0.20, 0.26, 0.20),
    "dark": (0.06, 0.06, 0.065),
    "ochre": (0.46, 0.33, 0.17),
}


def _grid(name: str, x: np.ndarray, y: np.ndarray, z: np.ndarray, material: Any) -> Any:
    """A smooth sheet from 2-D arrays of x, y, z in Blender units, with UVs in units of 100 mm."""
    rows, cols = x.shape
    i, j = np.meshgrid(np.arange(rows - 1), np.arange(cols - 1), indexing="ij")
    quads = np.stack([i * cols + j, i * cols + j + 1, (i + 1) * cols + j + 1, (i + 1) * cols + j], -1).reshape(-1, 4)
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata(np.stack([x, y, z], -1).reshape(-1, 3).tolist(), [], quads.tolist())
    mesh.polygons.foreach_set("use_smooth", np.ones(len(quads), dtype=bool))
    run = np.concatenate([np.zeros((1, cols)), np.cumsum(np.hypot(np.diff(y, axis=0), np.diff(z, axis=0)), axis=0)])
    uv = np.stack([x, run], -1).reshape(-1, 2)[quads.ravel()]
    mesh.uv_layers.new(name="UVMap").data.foreach_set("uv", uv.astype(np.float32).ravel())
    thing = bpy.data.objects.new(name, mesh)
    thing.data.materials.append(material)
    bpy.context.scene.collection.objects.link(thing)
    return thing


def _sweep(material: Any, depth: float, bend: float, folds: np.random.Generator | None = None) -> None:
    """Paper or cloth that lies flat under the piece and rises behind it."""
    t = np.linspace(0, 1, 260)
    front, flat = -14.0, depth
    run = t * (flat - front + 1.57 * bend + 24)
    y = np.where(
        run < flat - front, front + run, flat + bend * np.sin(np.minimum((run - (flat - front)) / bend, np.pi / 2))
    )
    z = np.where(run < flat - front, 0.0, bend * (1 - np.cos(np.clip((run - (flat - front)) / bend, 0, np.pi / 2))))
    z = z + np.maximum(run - (flat - front) - 1.57 * bend, 0)
    x = np.linspace(-22, 22, 300)
    xx, yy, zz = np.broadcast_to(x, (260, 300)).copy(), np.repeat(y[:, None], 300, 1), np.repeat(z[:, None], 300, 1)
    if folds is not None:
        away = np.clip((yy - 1.6) / 2.0, 0, 1) + np.clip((np.abs(xx) - 2.8) / 3.0, 0, 1) * 0.35
        wave = np.zeros_like(xx)
        for _ in range(7):
            k, phase, lean = folds.uniform(0.35, 1.3), folds.uniform(0, 6.3), folds.uniform(-0.25, 0.25)
            wave += folds.uniform(0.3, 1) / k * np.sin(k * (xx + lean * run[:, None]) + phase) ** 3
        upright = np.clip((run[:, None] - (flat - front)) / (1.57 * bend), 0, 1)
        push = 0.20 * wave * np.clip(away, 0, 1)
        yy, zz = yy - push * upright * 1.6, zz + np.maximum(push, -0.02) * (1 - upright) * 0.35
        zz = np.where(away <= 0, 0.0, zz)
    _grid("sweep", xx, yy, zz, material)


def _plane(material: Any, x: float, y0: float, y1: float, z: float) -> None:
    xx, yy = np.meshgrid([-x, x], [y0, y1])
    _grid("plane", xx, yy, np.full_like(xx, z), material)


def _box(low: tuple[float, float, float], high: tuple[float, float, float], material: Any) -> None:
    bpy.ops.mesh.primitive_cube_add(size=1, location=tuple((a + b) / 2 for a, b in zip(low, high, strict=True)))
    thing = bpy.context.object
    thing.scale = tuple(b - a for a, b in zip(low, high, strict=True))
    thing.data.materials.append(material)


def _wall(material: Any, y: float) -> None:
    xx, zz = np.meshgrid([-60.0, 60.0], [-20.0, 60.0])
    _grid("wall", xx, np.full_like(xx, y), zz, material)


def _pot(rng: np.random.Generator, x: float, y: float, z: float, size: float, material: Any) -> None:
    """A turned pot or jug for the background."""
    t = np.linspace(0, 1, 24)
    belly, neck = rng.uniform(0.35, 0.5), rng.uniform(0.14, 0.3)
    radius = (
        size
        * (0.22 + belly * np.sin(np.pi * np.clip(t * 1.15, 0, 1)) ** 1.2 * (1 - 0.3 * t))
        * np.where(t > 0.85, 1, 1)
    )
    radius = np.where(t > 0.78, size * (neck + 0.25 * (t - 0.78)), radius)
    radius = np.convolve(np.pad(radius, 2, mode="edge"), np.ones(5) / 5, "valid")
    angle = np.linspace(0, 2 * np.pi, 40)
    _grid(
        "pot",
        x + radius[:, None] * np.cos(angle),
        y + radius[:, None] * np.sin(angle),
        z + np.repeat(size * 1.5 * t[:, None], 40, 1),
        material,
    )


def _things_behind(rng: np.random.Generator, y: float, z: float, spread: float, number: int) -> None:
    """Books, boxes, pots and plain bottles, out of focus."""
    palette = [
        (0.30, 0.10, 0.06),
        (0.07, 0.12, 0.16),
        (0.40, 0.30, 0.16),
        (0.10, 0.16, 0.11),
        (0.45, 0.40, 0.33),
        (0.20, 0.13, 0.09),
        (0.12, 0.08, 0.14),
    ]
    x = -spread
    while x < spread and number:
        kind, colour = rng.integers(0, 4), palette[rng.integers(len(palette))]
        colour = tuple(float(c) for c in np.array(colour) * rng.uniform(0.7, 1.3))
        material = plain_material("thing", colour, rng.uniform(0.35, 0.8), 0.15, 8)
        if kind <= 1:
            for _ in range(rng.integers(2, 6)):
                thick, tall = rng.uniform(0.2, 0.5), rng.uniform(1.7, 2.7)
                shade = tuple(float(c) for c in np.array(palette[rng.integers(len(palette))]) * rng.uniform(0.6, 1.2))
                _box((x, y, z), (x + thick * 0.94, y + 1.6, z + tall), plain_material("book", shade, 0.6, 0.1, 10))
                x += thick
        else:
            size = rng.uniform(0.7, 1.3)
            glassy = kind == 3 and rng.uniform() < 0.5
            _pot(
                rng,
                x + size * 0.7,
                y + 0.8,
                z,
                size,
                glass_material(str(rng.choice(["aqua", "amber", "green"]))) if glassy else material,
            )
            x += size * 1.5
        x += rng.uniform(0.05, 0.7)
        number -= 1


def surroundings(scene: dict[str, Any], unit: float) -> None:
    """Build the place named by the view: kind, colour."""
    view, rng = scene["view"], np.random.default_rng(scene["seed"] + len(scene["view"]["name"]))
    kind, colour = view["place"]
    size = max(scene["tall"], scene["half"] * 2) * unit
    if kind == "paper":
        _sweep(plain_material("paper", PAPER[colour], 0.85, 0.05, 40), 0.8 * size + 2.0, 3.0)
    elif kind == "cloth":
        _sweep(cloth_material(CLOTH[colour]), 0.6 * size + 1.2, 2.0, rng)
    elif kind == "table":
        _plane(wood_material(*WOOD[colour], rng.uniform(-0.15, 0.15)), 30, -20, 9, 0.0)
        _wall(plain_material("wall", WALL[view.get("wall", "plaster")], 0.9, 0.10, 6), 13.0)
        _things_behind(rng, 7.0, 0.0, 9.0, view.get("things", 0))
    elif kind == "shelf":
        wood = wood_material(*WOOD[colour], 0.0)
        _box((-30, -2.2, -0.3), (30, 4.2, 0.0), wood)
        _box((-30, -0.6, size * 1.45), (30, 4.2, size * 1.45 + 0.25), wood)
        _wall(plain_material("wall", WALL[view.get("wall", "dark")], 0.9, 0.15, 6), 4.2)
        _things_behind(rng, 2.3, 0.0, 8.0, 14)
    elif kind == "sill":
        _box((-30, -2.6, -0.6), (30, 5.0, 0.0), plain_material("stone", (0.46, 0.44, 0.40), 0.85, 0.25, 14))
        _wall(plain_material("limewash", WALL[view.get("wall", "plaster")], 0.95, 0.22, 5), 4.5)
    elif kind == "print":
        _sweep(printed(colour, rng), 0.6 * size + 1.2, 2.0, rng)
    elif kind == "mat":
        _plane(woven(rng, 0.06), 30, -20, 9, 0.0)
        _wall(printed(colour, rng), 9.0)
    elif kind == "wares":
        _plane(printed(colour, rng), 30, -20, 9, 0.0)
        _wall(plain_material("wall", WALL[view.get("wall", "plaster")], 0.9, 0.10, 6), 13.0)
        wares(rng, 2.6, 0.0, _grid)
    elif kind == "slab":
        _plane(plain_material("stone", (0.40, 0.38, 0.35), 0.9, 0.35, 14), 4.5, -4.5, 4.5, 0.0)
        _plane(plain_material("earth", (0.10, 0.07, 0.04), 0.95, 0.4, 12), 60, 4.6, 60, -0.3)
        lawn(rng, -16, 14, -0.3, 4.6)
        hedge(rng, 12.0 if colour == "far" else 6.0, -0.3)
    else:
        raise SystemExit(f"place {kind!r} is not known")


def _lamp(
    name: str,
    place: tuple[float, float, float],
    target: tuple[float, float, float],
    size: tuple[float, float],
    watts: float,
    colour: tuple[float, float, float],
) -> None:
    data = bpy.data.lights.new(name, "AREA")
    data.shape, data.size, data.size_y, data.energy, data.color = "RECTANGLE", *size, watts, colour
    thing = bpy.data.objects.new(name, data)
    direction = np.array(target) - np.array(place)
    from mathutils import Vector  # noqa: PLC0415 - comes with Blender's module

    thing.rotation_euler = Vector(direction).to_track_quat("-Z", "Y").to_euler()
    thing.location = place
    bpy.context.scene.collection.objects.link(thing)


def lights(scene: dict[str, Any], unit: float) -> None:
    """A soft key from one side, a weak fill from the other, a little light from the room."""
    view = scene["view"]
    size = max(scene["tall"], 2 * scene["half"]) * unit
    side = 1 if view.get("key", "left") == "right" else -1
    far, warm = size * 1.2 + 3.0, view.get("warm", 0.0)
    tone = (1.0, 0.95 - 0.10 * warm, 0.88 - 0.25 * warm)
    reach = far**2
    middle = (0.0, 0.0, size * 0.45)
    power, soft = view.get("light", 1.0), 1.0 - view.get("hard", 0.0)
    _lamp(
        "key",
        (side * far * 0.85, -far * 0.55, size * 0.6 + far * 0.75),
        middle,
        (far * 0.55 * soft, far * 0.8 * soft),
        42 * reach * power,
        tone,
    )
    _lamp(
        "fill",
        (-side * far * 1.1, -far * 0.8, size * 0.7),
        middle,
        (far * 0.9, far * 1.1),
        9 * reach * power * view.get("fill_light", 1.0),
        (0.88, 0.94, 1.0),
    )
    _lamp(
        "back",
        (-side * far * 0.5, far * 0.7, size + far * 0.7),
        middle,
        (far * 0.5, far * 0.4),
        8 * reach * power,
        (1, 1, 1),
    )
    world = bpy.data.worlds.new("room")
    bpy.context.scene.world = world
    world.use_nodes = True
    shade = world.node_tree.nodes["Background"]
    shade.inputs[0].default_value = (0.80, 0.88, 1.0, 1) if not warm else (1.0, 0.92, 0.80, 1)
    shade.inputs[1].default_value = 0.16 * power
