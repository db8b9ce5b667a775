"""
Close-ups of coverings with known gauge, for the benchmark: python tools/render/closeups.py SET FOLDER [FIRST LAST]

SET is `tuning`, `development` or `development-2` (from which the constants of `weave` were chosen) or `held-out`
(looked at only to be measured), all painted by `rasterise.py`, or `traced`: a smaller held-out set rendered by
Blender's path tracer, as a check on the painter. The sets share no random numbers. Writes FOLDER/NAME.jpg and
FOLDER/NAME.truth.json; what is there is kept.
Needs NumPy, SciPy, OpenCV and Pillow; `traced` needs Blender's Python module (the extra `render`) instead of OpenCV.

Rows are counted along the wall, stitches along a row on the outer face, between the edges of the picture.
"""

from __future__ import annotations

import dataclasses
import importlib
import json
import sys
from pathlib import Path
from typing import Any

import numpy as np
from designs import MOTIFS
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import gaussian_filter
from surface import AROUND, STEP, Surface
from sweep import Mesh, swept
from techniques import TECHNIQUES

FloatArray = NDArray[np.float64]
Recipe = dict[str, Any]
SETS = {"tuning": (20_000, 36), "development": (116_000, 48), "development-2": (131_000, 48), "held-out": (152_000, 56),
        "held-out-2": (173_000, 56), "traced": (93_000, 28)}  # fmt: skip
NONE_IN_SET = 8  # pictures at the end of a set that carry no count
KINDS = ("twined", "coiled", "wicker", "plaited", "hitched", "twined", "coiled")
WITHOUT = ("glass", "blurred", "small", "cloth", "wood", "smeared")
COLOURS = ("willow", "peeled", "bleached", "brown", "chestnut", "hemp", "rush", "white", "ochre")
DARK = ("black", "red", "indigo", "brown", "green")
MOTIFS["stripes"] = ["#."] * 400


@dataclasses.dataclass(frozen=True, eq=False)
class Wall(Surface):
    """A wall on which the hand of the maker wandered: the work is a little finer here and coarser there."""

    wander: tuple[float, float, float] = (0.0, 40.0, 0.0)  # share of the pitch, wave length in mm, phase

    def worked(self, s: FloatArray) -> FloatArray:
        """Where on the wall work planned for s came to lie, mm."""
        share, wave, phase = self.wander
        return s + share * wave / (2 * np.pi) * np.sin(2 * np.pi * s / wave + phase)

    def place(self, s: FloatArray, u: FloatArray, d: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Points and normals for work planned for s, u, d."""
        return super().place(self.worked(np.asarray(s)), u, d)


def recipe_of(kind: str, rng: np.random.Generator) -> Recipe:
    """Sizes and colours of one covering; lengths in mm."""
    ground = [str(name) for name in rng.choice(COLOURS, 2, replace=False)]
    if kind == "twined":
        pitch = 10 / np.exp(rng.uniform(np.log(2.6), np.log(12.0)))
        over = int(rng.choice([1, 1, 1, 2]))
        spacing = pitch * rng.uniform(1.05, 1.6) / (1.25 if over == 2 else 1.0)
        recipe = {"pitch": pitch, "spacing": spacing, "weft": 0.32 * pitch, "stake": 0.29 * pitch, "over": over,
                  "out": 2 * 0.29 * pitch + 3.05 * 0.32 * pitch,
                  "lean": str(rng.choice(["left", "right"]))}  # fmt: skip
    elif kind == "coiled":
        pitch = 10 / np.exp(rng.uniform(np.log(2.0), np.log(5.0)))
        spacing, rod = pitch * rng.uniform(0.5, 0.9), 0.39 * pitch
        recipe = {"pitch": pitch, "spacing": spacing, "rod": rod, "sew": 0.13 * pitch, "out": 2 * rod + 0.3 * pitch,
                  "lean": str(rng.choice(["left", "right"])), "slant": rng.uniform(0.3, 0.6)}  # fmt: skip
    elif kind == "wicker":
        pitch = 10 / np.exp(rng.uniform(np.log(2.0), np.log(5.5)))
        weft, stake = 0.40 * pitch, 0.43 * pitch
        recipe = {"pitch": pitch, "spacing": pitch * rng.uniform(2.0, 3.0), "weft": weft, "stake": stake,
                  "out": 1.9 * stake + 2.6 * weft}  # fmt: skip
    elif kind == "plaited":
        pitch = 10 / np.exp(rng.uniform(np.log(2.0), np.log(5.0)))
        recipe = {"pitch": pitch, "spacing": pitch * rng.uniform(1.3, 2.6), "thick": 0.16 * pitch, "out": 0.5 * pitch,
                  "open": rng.uniform(0.72, 0.97)}  # fmt: skip
    else:
        pitch = 10 / np.exp(rng.uniform(np.log(2.0), np.log(5.0)))
        cord = 0.30 * pitch
        recipe = {"pitch": pitch, "spacing": pitch * rng.uniform(1.25, 1.5), "cord": cord, "out": 3.1 * cord}
        ground = ["hemp", "tarred"] if rng.uniform() < 0.8 else ["white", "tarred"]
    design: dict[str, Any] = {"colours": [ground[0], str(rng.choice(DARK)), ground[1]]}
    dress = rng.uniform()
    if kind in ("twined", "coiled", "wicker") and dress < 0.25:
        low = rng.uniform(0.35, 0.5)
        design["bands"] = [[low, low + 0.06, 1], [low + 0.16, low + 0.2, 2]]
    elif kind in ("twined", "coiled") and dress < 0.5:
        design["motifs"] = [{"motif": str(rng.choice(["lozenge", "wave", "checks", "step"])), "at": 0.5,
                             "colours": [1, 2], "repeats": int(rng.integers(6, 14))}]  # fmt: skip
    elif kind == "twined" and dress < 0.6:
        design["stripes"] = True
    elif kind == "plaited":
        design["colours"] = ground
    return recipe | {"technique": kind, "design": design}


def scene_of(seed: int, number: int) -> Recipe:
    """Everything about one picture, from its number in its set."""
    rng = np.random.default_rng([seed, number])
    total = next(count for start, count in SETS.values() if start == seed)
    without = number - (total - NONE_IN_SET)
    kind = KINDS[number % len(KINDS)]
    recipe = recipe_of(kind, rng)
    across = recipe["spacing"] * (2 if kind == "wicker" or recipe.get("over") == 2 else 1)
    tall = max(rng.uniform(9, 26) * recipe["pitch"], 18.0, 9 * across)
    radius = max(rng.uniform(28, 65), 0.72 * tall)
    oblique, way = rng.uniform(0, 20), rng.uniform(0, 2 * np.pi)
    return {
        "seed": [seed, number], "without": WITHOUT[without % len(WITHOUT)] if without >= 0 else None, "recipe": recipe,
        "radius": radius,
        "taper": np.tan(np.deg2rad(rng.uniform(-4, 4))), "barrel": rng.choice([0.0, 1 / 400, 1 / 200]),
        "wander": (rng.uniform(0.0, 0.05), rng.uniform(0.7, 1.6) * tall, rng.uniform(0, 6.3)),
        "yaw": oblique * np.cos(way), "lift": oblique * np.sin(way), "roll": rng.uniform(-12, 12) * rng.integers(0, 2),
        "tall": tall, "distance": max(rng.uniform(140, 420), 2.2 * tall), "size": (int(rng.integers(540, 640)), 720),
        "light": (rng.choice([-1, 1]) * rng.uniform(25, 70), rng.uniform(15, 60)), "exposure": rng.uniform(-0.5, 0.6),
        "soft": rng.uniform(0.4, 1.1), "noise": rng.uniform(1.5, 4.0), "quality": int(rng.integers(78, 93)),
    }  # fmt: skip


def wall_of(scene: Recipe, rng: np.random.Generator) -> Wall:
    """The patch of wall, its middle at z = 0 at the front, the outer face of the work at the scene's radius there."""
    length = 1.9 * scene["tall"]
    s = np.arange(0, length, STEP)
    run = s - length / 2
    half = scene["radius"] - scene["recipe"]["out"] + scene["taper"] * run - scene["barrel"] * run**2 / 2
    slope = scene["taper"] - scene["barrel"] * run
    z = run - np.cumsum(1 - 1 / np.hypot(1, slope)) * STEP
    z -= np.interp(0.0, run, z)
    angle = 2 * np.pi * np.arange(AROUND) / AROUND
    out = np.stack([-np.sin(angle), np.cos(angle)], -1)  # u 0 at the back (+y), 0.25 at the left, 0.5 at the front
    points = np.concatenate(
        [half[:, None, None] * out[None], np.broadcast_to(z[:, None, None], (len(s), AROUND, 1))], -1
    )
    lean = 1 / np.hypot(1, slope)
    up = np.broadcast_to((-slope * lean)[:, None, None], (len(s), AROUND, 1))
    normals = np.concatenate([out[None] * lean[:, None, None], up], -1)
    waves = np.cos(2 * np.pi * (3 * angle / (2 * np.pi))[None] + rng.uniform(0, 6)) * np.cos(s / 9)[:, None]
    slack = 0.03 * scene["recipe"]["pitch"] * (1 + waves)
    return Wall(points, normals, slack, float(length), 2 * np.pi * half, z, scene["wander"])


def dressed(scene: Recipe, wall: Wall) -> Recipe:
    """The recipe with what depends on the wall filled in."""
    recipe = dict(scene["recipe"])
    girth = float(np.interp(wall.length / 2, np.linspace(0, wall.length, len(wall.girth)), wall.girth))
    if recipe["technique"] == "plaited":
        recipe["strips"] = max(6, round(girth / recipe["spacing"]))
        recipe["levels"] = round(wall.length / recipe["pitch"])
        steep = np.hypot(recipe["strips"] / girth, recipe["levels"] / wall.length / 2)
        recipe["width"] = recipe["open"] / steep
    if recipe["design"].get("stripes"):
        stripes = {"motif": "stripes", "at": 0.5, "colours": [1, 1], "repeats": round(girth / recipe["spacing"] / 2)}
        recipe["design"] = recipe["design"] | {"motifs": [stripes]}
    return recipe


def camera_of(scene: Recipe) -> dict[str, Any]:
    """Camera towards the middle of the patch's outer face, from aside and from above or below."""
    yaw, lift, roll = (np.deg2rad(scene[key]) for key in ("yaw", "lift", "roll"))
    target = np.array([0.0, -scene["radius"], 0.0])
    away = np.array([np.sin(yaw) * np.cos(lift), -np.cos(yaw) * np.cos(lift), np.sin(lift)])
    right = np.cross(-away, [0.0, 0.0, 1.0])
    right /= np.linalg.norm(right)
    up = np.cross(right, -away)
    right, up = right * np.cos(roll) + up * np.sin(roll), up * np.cos(roll) - right * np.sin(roll)
    return {
        "place": target + scene["distance"] * away, "right": right, "up": up, "forward": -away,
        "focal_px": scene["distance"] * scene["size"][1] / scene["tall"],
    }  # fmt: skip


def seen(camera: dict[str, Any], points: FloatArray, size: tuple[int, int]) -> FloatArray:
    """Pixels of points, (n, 2)."""
    ray = points - camera["place"]
    depth = ray @ camera["forward"]
    x = size[0] / 2 - 0.5 + camera["focal_px"] * (ray @ camera["right"]) / depth
    y = size[1] / 2 - 0.5 - camera["focal_px"] * (ray @ camera["up"]) / depth
    return np.column_stack([x, y])


def cut(mesh: Mesh, camera: dict[str, Any], size: tuple[int, int]) -> Mesh | None:
    """The part of a mesh that the picture can show or that throws a shadow into it."""
    at = seen(camera, mesh.vertices, size)
    room = 0.25 * max(size)
    keep = (mesh.vertices[:, 1] < 0) & (at > -room).all(1) & (at < np.array(size) + room).all(1)
    quads = mesh.quads[keep[mesh.quads].all(1)]
    if not len(quads):
        return None
    used, inverse = np.unique(quads, return_inverse=True)
    return Mesh(
        mesh.vertices[used],
        inverse.reshape(-1, 4).astype(np.int32),
        mesh.uv[used],
        mesh.colours[used],
        mesh.finish,
    )


def truth_of(scene: Recipe, recipe: Recipe, wall: Wall, camera: dict[str, Any]) -> dict[str, Any]:
    """What a person counts on the piece itself, between the upper and lower edge of the picture."""
    plan = np.linspace(0, wall.length, 2000)
    points, _ = super(Wall, wall).place(wall.worked(plan), np.full(2000, 0.5), np.full(2000, recipe["out"]))
    y = seen(camera, points, scene["size"])[:, 1]
    inside = plan[(y >= 0) & (y <= scene["size"][1])]
    low, high = float(inside.min()), float(inside.max())
    along = float(wall.worked(np.array(high)) - wall.worked(np.array(low)))
    kind, levels = recipe["technique"], np.arange(low, high, recipe["pitch"])
    pitch = wall.length / recipe["levels"] if kind == "plaited" else recipe["pitch"]
    girths = np.array([wall.girth_at(s) for s in levels])
    outer = girths + 2 * np.pi * recipe["out"]
    full = round(max(wall.girth) / recipe["spacing"])
    if kind == "twined":
        round_ = np.full(len(levels), (full + (full % 4 and 4 - full % 4)) / recipe["over"])
    elif kind == "wicker":
        round_ = np.full(len(levels), full + (full % 2 == 0))
    elif kind == "plaited":
        round_ = np.full(len(levels), recipe["strips"])
    else:
        round_ = np.round(girths / recipe["spacing"])
    lean = f"up to the {recipe['lean']}" if "lean" in recipe else None
    return {
        "technique": kind, "twill": recipe.get("over") == 2, "rows_per_cm": 10 * (high - low) / pitch / along,
        "stitches_per_cm": float(np.mean(10 * round_ / outer)), "lean": lean,
    }  # fmt: skip


def developed(scene: Recipe, png: Path, jpg: Path) -> float:
    """Write the JPEG with lens blur and sensor noise; the share by which it was reduced."""
    rng = np.random.default_rng([*scene["seed"], 9])
    pixels = np.asarray(Image.open(png).convert("RGB"), dtype=np.float64)
    row_px = scene["recipe"]["pitch"] / scene["tall"] * scene["size"][1]
    reduced = 1.0
    if scene["without"] == "small":
        reduced = 2.2 / row_px
        small = (round(scene["size"][0] * reduced), round(scene["size"][1] * reduced))
        pixels = np.asarray(Image.fromarray(pixels.astype(np.uint8)).resize(small, Image.Resampling.BOX), np.float64)
    blur = {"blurred": (0.9 * row_px, 0.9 * row_px), "smeared": (1.1 * row_px, 1.1 * row_px)}
    vertical, level = blur.get(str(scene["without"]), (scene["soft"], scene["soft"]))
    pixels = gaussian_filter(pixels, (vertical, level, 0))
    if scene["without"] == "smeared":
        shift = np.arange(-round(row_px), round(row_px) + 1)
        pixels = np.mean([np.roll(pixels, (k, 2 * k), (0, 1)) for k in shift], axis=0)
    pixels += rng.normal(0, scene["noise"], pixels.shape)
    Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8)).save(jpg, "JPEG", quality=scene["quality"])
    return reduced


def painting(scene: Recipe, meshes: list[Mesh], wall: Wall, camera: dict[str, Any], png: Path) -> None:
    """Paint the patch, or a bare thing that has no work on it."""
    rng = np.random.default_rng([*scene["seed"], 5])
    if scene["without"] in ("glass", "cloth", "wood"):
        picture = bare(scene["without"], scene["size"], rng)
    else:
        behind = Mesh(
            wall.points.reshape(-1, 3),
            grid_quads(*wall.points.shape[:2]),
            np.zeros((wall.points[..., 0].size, 2)),
            np.full((wall.points[..., 0].size, 3), (0.03, 0.05, 0.02)),
        )
        back = cut(behind, camera, scene["size"])
        parts = meshes if back is None else [*meshes, back]
        number = scene["seed"][1]
        picture = importlib.import_module("rasterise").painted(
            parts, camera, scene["size"], scene["light"], scene["recipe"]["pitch"], number
        )
        picture = picture * 2 ** (0.5 * scene["exposure"])
    Image.fromarray((np.clip(picture, 0, 1) * 255).astype(np.uint8)).save(png)


def grid_quads(rows: int, columns: int) -> NDArray[np.int32]:
    """Quads of a grid of points whose outside is up and clockwise."""
    index = np.arange(rows * columns, dtype=np.int32).reshape(rows, columns)
    return np.stack([index[:-1, :-1], index[:-1, 1:], index[1:, 1:], index[1:, :-1]], -1).reshape(-1, 4)


def bare(kind: str, size: tuple[int, int], rng: np.random.Generator) -> FloatArray:
    """Glass with the room in it, the grain of a board, or felted cloth: (height, width, 3), 0 to 1."""
    wide, tall = size
    x = np.mgrid[:tall, :wide][1] / wide
    if kind == "glass":
        tone = 0.18 + 0.1 * x + 0.5 * np.exp(-(((x - rng.uniform(0.2, 0.8)) / 0.05) ** 2))
        tone = tone + gaussian_filter(rng.standard_normal((tall, wide)), 40) * 2
        return tone[..., None] * np.array([0.6, 0.9, 0.5])
    if kind == "wood":
        bend = gaussian_filter(rng.standard_normal((tall, wide)), (25, 90)) * 40
        rings = np.sin(2 * np.pi * (np.cumsum(rng.uniform(4, 40, tall))[:, None] / 200 + bend))
        pores = gaussian_filter(rng.standard_normal((tall, wide)), (0.8, 14)) * 0.5
        return (0.45 + 0.08 * rings + pores)[..., None] * np.array([1.0, 0.72, 0.45])
    felt = gaussian_filter(rng.standard_normal((tall, wide)), 1.5) * 0.5 + gaussian_filter(
        rng.standard_normal((tall, wide)), 9
    )
    return (0.5 + 0.2 * felt + 0.1 * x)[..., None] * np.array([0.95, 0.9, 0.8])


def photographed(scene: Recipe, name: str, folder: Path, traced: bool) -> None:
    """One picture and its truth."""
    rng = np.random.default_rng([*scene["seed"], 1])
    wall = wall_of(scene, rng)
    recipe, camera = dressed(scene, wall), camera_of(scene)
    bare = scene["without"] in ("glass", "cloth", "wood")
    parts = [] if bare else [swept(one, rng) for one in TECHNIQUES[recipe["technique"]](wall, recipe, rng)]
    meshes = [one for one in (cut(mesh, camera, scene["size"]) for mesh in parts) if one is not None]
    png = folder / f"{name}.png"
    picture = importlib.import_module("trace_closeup").traced if traced else painting
    picture(scene, meshes, wall, camera, png)
    reduced = developed(scene, png, folder / f"{name}.jpg")
    png.unlink()
    truth = truth_of(scene, recipe, wall, camera) | {
        "mm_per_px": scene["tall"] / scene["size"][1] / reduced, "radius_mm": scene["radius"],
        "distance_mm": scene["distance"], "yaw_deg": scene["yaw"], "lift_deg": scene["lift"],
        "roll_deg": scene["roll"], "without": scene["without"],
    }  # fmt: skip
    (folder / f"{name}.truth.json").write_text(json.dumps(truth, default=float))


def main(which: str, folder: str, first: int, last: int | None) -> None:
    """Photograph a set."""
    place = Path(folder).resolve()
    place.mkdir(parents=True, exist_ok=True)
    seed, count = SETS[which]
    for number in range(first, count if last is None else last):
        name = f"{which}-{number:02d}"
        if not (place / f"{name}.truth.json").exists():
            photographed(scene_of(seed, number), name, place, which == "traced")
            print(name, "done", flush=True)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], int(sys.argv[3]) if len(sys.argv) > 3 else 0,
         int(sys.argv[4]) if len(sys.argv) > 4 else None)  # fmt: skip
