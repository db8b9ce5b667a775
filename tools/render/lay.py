"""
Lay out one photograph: the piece's meshes, the scale bar, the camera, and everything that is true about them.

    python tools/render/lay.py RECIPES PIECE VIEW FOLDER

writes FOLDER/<piece>-<view>.npz (for shoot.py) and FOLDER/<piece>-<view>.truth.json. Lengths mm, z upward from the
plane the piece stands on, the front towards -y; pixels x right, y down, (0, 0) the centre of the top left pixel.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from surface import Surface, surface_of
from sweep import Mesh, Strands, swept
from techniques import TECHNIQUES, rope
from vessel import Vessel, glass_mesh, individual

from weftglass.vessels import Form, FormLibrary, Profile, outer_volume_ml

FloatArray = NDArray[np.float64]
DIAGONAL_35MM = 43.2666  # diagonal of the 24 x 36 mm frame, to which a 35 mm equivalent refers (CIPA DCG-001)
BAR_MM = 100.0
BAR_FROM = 12.0  # where the bar begins on its card
CARD = (26.0, 134.0)


def form_of(recipe: dict[str, Any], demo_forms: Path) -> Form:
    """The recipe's form: from the starter library, from the scenario's own, or given in the recipe itself."""
    if isinstance(recipe["form"], dict):
        return Form.from_record(recipe["form"], "recipe")
    starter = FormLibrary.starter()
    if recipe["form"] in starter:
        return starter[recipe["form"]]
    return FormLibrary.read(demo_forms)[recipe["form"]]


def covering(vessel: Vessel, cover: dict[str, Any], rng: np.random.Generator) -> tuple[Surface, list[Strands]]:
    """One zone of covering with its borders."""
    height = float(vessel.z[-1])
    low, top = cover.get("from", 0.0) * height, cover["to"] * height
    slack, uneven = cover.get("slack", (0.3, 0.25))
    surface = surface_of(vessel, low, top, rng, slack, uneven)
    strands = TECHNIQUES[cover["technique"]](surface, cover, rng)
    for border in cover.get("borders", ()):
        s = surface.length * border["at"] if border["at"] in (0, 1) else surface.s_at_height(border["at"] * height)
        strands += rope(
            surface, s, border["radius"], border["colour"], rng, border.get("depth", 0.0), border.get("plies", 2)
        )
    return surface, strands


def base_coil(vessel: Vessel, thick: float, colour: str, rng: np.random.Generator) -> list[Strands]:
    """The start under the base: a flat coil from the middle to the heel."""
    turns = max(3, int(0.93 * min(vessel.wide[0], vessel.deep[0]) / thick))
    along = np.linspace(0.15, turns, turns * 60)
    ring = vessel.section.edge_points(float(vessel.wide[0]), float(vessel.deep[0]), 360)
    at = (along % 1.0) * 360
    edge = np.stack([np.interp(at, np.arange(361), np.append(ring[:, i], ring[0, i])) for i in range(2)], -1)
    points = np.concatenate([edge * (0.93 * along / turns)[:, None], np.full((len(along), 1), -thick * 0.5)], axis=1)
    normals = np.broadcast_to([0.0, 0.0, -1.0], points.shape)
    from designs import tinted  # noqa: PLC0415 - only the base needs it here

    tint = np.broadcast_to(tinted([colour], np.zeros((1, 1), dtype=np.int64), rng), (1, len(along), 3))
    return [Strands(points[None], normals[None], np.full((1, len(along), 2), thick * 0.5), tint, 8, "cord")]


def piece_meshes(
    recipe: dict[str, Any], form: Form
) -> tuple[Vessel, tuple[FloatArray, NDArray[np.int32]], list[Mesh], float]:
    """Glass and strands in mm with the lowest point on z = 0, and how far the glass stands above it."""
    rng = np.random.default_rng(recipe["seed"])
    vessel = individual(form, rng, recipe.get("share", 0.7))
    glass = glass_mesh(vessel, recipe.get("wall", 3.5), tuple(recipe.get("letters", ())))
    strands: list[Strands] = []
    for cover in recipe["covers"]:
        strands += covering(vessel, cover, rng)[1]
    if recipe.get("base", True):
        base = recipe["base"] if isinstance(recipe.get("base"), dict) else {}
        strands += base_coil(
            vessel, base.get("thick", 2.2), base.get("colour", recipe["covers"][0]["design"]["colours"][0]), rng
        )
    meshes = [swept(one, rng) for one in strands]
    lift = -min([float(glass[0][:, 2].min())] + [float(mesh.vertices[:, 2].min()) for mesh in meshes])
    glass[0][:, 2] += lift
    for mesh in meshes:
        mesh.vertices[:, 2] += lift
    return vessel, glass, meshes, lift


def outer_edge(points: FloatArray, turn_deg: float, step: float = 0.5) -> FloatArray:
    """Half of the width seen from far away at each height: rows of (z, half-width), mm."""
    turn = np.deg2rad(turn_deg)
    across = points[:, 0] * np.cos(turn) + points[:, 1] * np.sin(turn)
    level = np.floor(points[:, 2] / step).astype(int)
    right, left = np.full(level.max() + 1, -np.inf), np.full(level.max() + 1, -np.inf)
    np.maximum.at(right, level, across)
    np.maximum.at(left, level, -across)
    half = (right + left) / 2
    z = (np.arange(len(half)) + 0.5) * step
    good = np.isfinite(half)
    half = np.interp(z, z[good], half[good])
    padded = np.pad(half, 2, mode="edge")
    return np.column_stack([z, np.max([padded[i : i + len(half)] for i in range(5)], axis=0)])


def camera_of(view: dict[str, Any], top: FloatArray, size: tuple[int, int]) -> dict[str, Any]:
    """Place the camera so that the piece fills the wanted share of the picture."""
    width, height = size
    focal_px = view["focal"] * float(np.hypot(*size)) / DIAGONAL_35MM
    tall, half = float(top[0]), float(top[1])
    fill = view.get("fill", 0.70)
    distance = focal_px * max(tall / (fill * height), (2 * half + view.get("room", 70)) / (fill * 1.22 * width))
    target = np.array([view.get("aim_x", 0.0), 0.0, tall * view.get("aim", 0.47)])
    place = np.array([view.get("from_x", 0.0), -distance, tall * view.get("camera_height", 0.62)])
    forward = (target - place) / np.linalg.norm(target - place)
    right = np.cross(forward, [0.0, 0.0, 1.0])
    right /= np.linalg.norm(right)
    up = np.cross(right, forward)
    roll = np.deg2rad(view.get("roll", 0.0))
    right, up = right * np.cos(roll) + up * np.sin(roll), up * np.cos(roll) - right * np.sin(roll)
    return {
        "place": place, "right": right, "up": up, "forward": forward, "focal_px": focal_px, "size": size,
        "distance": distance, "tilt_deg": float(np.rad2deg(np.arcsin(-forward[2]))),
    }  # fmt: skip


def project(camera: dict[str, Any], points: FloatArray) -> FloatArray:
    """Pixel positions of points, (n, 2)."""
    ray = points - camera["place"]
    depth = ray @ camera["forward"]
    width, height = camera["size"]
    x = width / 2 - 0.5 + camera["focal_px"] * (ray @ camera["right"]) / depth
    y = height / 2 - 0.5 - camera["focal_px"] * (ray @ camera["up"]) / depth
    return np.column_stack([x, y])


def bar_of(view: dict[str, Any], half: float, height: float) -> dict[str, Any] | None:
    """The scale bar's card: its lower left corner, directions along and across, in the piece's axis plane."""
    bar = view.get("bar", {})
    if bar is None:
        return None
    side = 1 if bar.get("side", "right") == "right" else -1
    gap, off = bar.get("gap", 22.0), bar.get("off_plane", 0.0)
    if bar.get("lying"):
        corner = [side * (half + gap) - (CARD[1] if side < 0 else 0), off, CARD[0] + 1.0 + bar.get("lift", 0.0)]
        return {"corner": corner, "along": [1.0, 0.0, 0.0], "across": [0.0, 0.0, -1.0], "card": list(CARD)}
    corner = [side * (half + gap) - (CARD[0] if side < 0 else 0), off, 1.0 + bar.get("lift", 0.0)]
    return {"corner": corner, "along": [0.0, 0.0, 1.0], "across": [1.0, 0.0, 0.0], "card": list(CARD)}


def bar_ends(bar: dict[str, Any]) -> FloatArray:
    """The two ends of the printed 100 mm, on the card's front."""
    corner, along, across = (np.asarray(bar[k], dtype=np.float64) for k in ("corner", "along", "across"))
    middle = corner + across * 8.0
    return np.stack([middle + along * BAR_FROM, middle + along * (BAR_FROM + BAR_MM)])


def turned(points: FloatArray, view: dict[str, Any], half: float) -> FloatArray:
    """The piece as it stands, turned, or lying with its base to the camera."""
    turn = np.deg2rad(-view.get("turn", 0.0))
    out = points.copy()
    out[:, 0] = points[:, 0] * np.cos(turn) - points[:, 1] * np.sin(turn)
    out[:, 1] = points[:, 0] * np.sin(turn) + points[:, 1] * np.cos(turn)
    if view["role"] == "base":
        out = np.column_stack([out[:, 0], out[:, 2], half - out[:, 1]])
        out[:, 2] -= out[:, 2].min()
    return out


def truth_of(
    recipe: dict[str, Any],
    view: dict[str, Any],
    form: Form,
    vessel: Vessel,
    lift: float,
    cloud: FloatArray,
    camera: dict[str, Any],
    bar: dict[str, Any] | None,
) -> dict[str, Any]:
    """Everything that is true of the picture and the piece, for the truth file."""
    turn = view.get("turn", 0.0)
    inner = vessel.section.silhouette_half_width(vessel.wide, vessel.deep, turn)
    outer = outer_edge(cloud, turn)
    height = float(vessel.z[-1])
    covered = [(max(0.0, c.get("from", 0.0) * height), c["to"] * height + lift) for c in recipe["covers"]]
    top = max(high for _, high in covered)
    gap = outer[:, 1] - np.interp(outer[:, 0], vessel.z + lift, inner)
    under = (outer[:, 0] > lift + 6) & np.any(
        [(outer[:, 0] > a + lift + 2) & (outer[:, 0] < b - 3) for a, b in covered], axis=0
    )
    truth = {
        "piece": recipe["piece"], "view": view["name"], "role": view["role"], "turn_deg": turn,
        "form": None if isinstance(recipe["form"], dict) or recipe.get("unlisted") else form.id,
        "drawn_from": form.id,
        "glass": recipe["glass"],
        "image_size": list(camera["size"]),
        "camera": {
            "focal_35mm": view["focal"], "focal_px": camera["focal_px"], "distance_mm": camera["distance"],
            "height_mm": float(camera["place"][2]), "tilt_down_deg": camera["tilt_deg"],
            "roll_deg": view.get("roll", 0.0),
        },
        "vessel_profile": np.column_stack([vessel.z + lift, inner]).round(2).tolist(),
        "glass_stands_at_mm": round(lift, 2),
        "outer_profile": outer.round(2).tolist(),
        "cover_mm": {"mean": round(float(gap[under].mean()), 2), "sd": round(float(gap[under].std()), 2)},
        "bare": [] if top >= height + lift - 3 else [[round(top + 2, 1), round(height + lift, 1)]],
        "height_mm": round(float(outer[-1, 0] + 0.25), 1),
        "weight_g": None, "capacity_ml": None,
        "library_profile": form.silhouette(turn).points.round(2).tolist(),
    }  # fmt: skip
    if bar is not None and view["role"] != "none":
        ends = project(camera, bar_ends(bar))
        truth["scale_bar"] = {"ends_px": ends.round(2).tolist(), "mm": BAR_MM, "off_plane_mm": float(bar["corner"][1])}
    truth["gauge"] = gauge_of(recipe["covers"][0], float(max(inner)), truth["cover_mm"]["mean"], surface_girth(vessel))
    return truth


def surface_girth(vessel: Vessel) -> float:
    """Girth of the glass at its widest, mm."""
    widest = int(np.argmax(vessel.wide))
    return float(vessel.section.perimeter_mm(vessel.wide[widest], vessel.deep[widest]))


def gauge_of(cover: dict[str, Any], half: float, thickness: float, girth: float) -> dict[str, Any]:
    """Rows and stitches per cm on the outer face at the widest place, as the trade counts them."""
    outside = girth + 2 * np.pi * thickness
    kind = cover["technique"]
    result: dict[str, Any] = {"technique": kind, "lean": None, "rows_per_cm": None, "stitches_per_cm": None}
    if kind in ("twined", "wicker", "coiled", "hitched"):
        result["rows_per_cm"] = round(10 / cover["pitch"], 3)
        result["stitches_per_cm"] = round(10 * girth / cover["spacing"] / outside / cover.get("over", 1), 3)
    if kind == "twined":
        result["lean"] = "up to the " + cover.get("lean", "right")
    return result


def merged(meshes: list[Mesh], finish: str) -> dict[str, NDArray[Any]] | None:
    """All meshes of one finish as one."""
    some = [mesh for mesh in meshes if mesh.finish == finish]
    if not some:
        return None
    start = np.cumsum([0] + [len(mesh.vertices) for mesh in some])
    angle = 2 * np.pi * np.concatenate([mesh.uv[:, 1] for mesh in some])
    along = np.concatenate([mesh.uv[:, 0] for mesh in some])
    return {
        "vertices": np.concatenate([mesh.vertices for mesh in some]).astype(np.float32),
        "quads": np.concatenate([mesh.quads + shift for mesh, shift in zip(some, start[:-1], strict=True)]).astype(
            np.int32
        ),
        "strand": np.column_stack([along, np.cos(angle), np.sin(angle)]).astype(np.float32),
        "colours": np.concatenate([mesh.colours for mesh in some]).astype(np.float32),
    }


def lay(recipe: dict[str, Any], view: dict[str, Any], folder: Path, demo_forms: Path) -> None:
    """Write the layout and the truth of one photograph."""
    form = form_of(recipe, demo_forms)
    vessel, glass, meshes, lift = piece_meshes(recipe, form)
    cloud = np.concatenate([glass[0]] + [mesh.vertices for mesh in meshes])
    turn = view.get("turn", 0.0)
    outer = outer_edge(cloud, turn)
    size = tuple(view.get("size", (900, 1200)))
    half = float(outer[:, 1].max())
    tall = 2 * half if view["role"] == "base" else float(outer[-1, 0])
    camera = camera_of(view, np.array([tall, half]), size)
    bar = bar_of(view, half, tall)
    truth = truth_of(recipe, view, form, vessel, lift, cloud, camera, bar)
    add_masses(truth, vessel, form, recipe)
    if view["role"] == "base":
        for key in ("outer_profile", "vessel_profile", "library_profile"):
            truth.pop(key)
    name = f"{recipe['piece']}-{view['name']}"
    arrays: dict[str, NDArray[Any]] = {
        "glass.vertices": turned(glass[0], view, half).astype(np.float32),
        "glass.quads": glass[1],
    }
    for finish in ("fibre", "cord", "strip"):
        one = merged(meshes, finish)
        if one is not None:
            one["vertices"] = turned(one["vertices"].astype(np.float64), view, half).astype(np.float32)
            arrays |= {f"{finish}.{key}": value for key, value in one.items()}
    matrix = np.eye(4)
    matrix[:3] = np.column_stack([camera["right"], camera["up"], -camera["forward"], camera["place"]])
    scene = {
        "glass": recipe["glass"], "view": view, "size": size, "focal_px": camera["focal_px"], "matrix": matrix.tolist(),
        "bar": bar, "tall": tall, "half": half, "seed": recipe["seed"], "focus": camera["distance"],
    }  # fmt: skip
    folder.mkdir(parents=True, exist_ok=True)
    np.savez(folder / f"{name}.npz", scene=np.array(json.dumps(scene)), **arrays)
    (folder / f"{name}.truth.json").write_text(json.dumps(truth))


def add_masses(truth: dict[str, Any], vessel: Vessel, form: Form, recipe: dict[str, Any]) -> None:
    """Mass of the piece and capacity of the vessel, as its owner would find them on a balance and with water."""
    rng = np.random.default_rng(recipe["seed"] + 1000)
    grams = float(rng.uniform(*form.weight_g)) if form.weight_g else 500.0
    truth["glass_g"] = round(grams, 1)
    truth["covering_g"] = round(surface_girth(vessel) * float(vessel.z[-1]) * truth["cover_mm"]["mean"] * 0.35e-3, 1)
    truth["weight_g"] = round(truth["glass_g"] + truth["covering_g"], 1)
    side = None if form.side_profile is None else Profile.of(np.column_stack([vessel.z, vessel.deep]))
    outer = outer_volume_ml(
        Profile.of(np.column_stack([vessel.z, vessel.wide])), section=vessel.section, side_profile=side
    )
    truth["capacity_ml"] = round(outer - grams / 2.52, 1)


def main(recipes: str, piece: str, view: str, folder: str) -> None:
    """Lay out one photograph of the recipes."""
    content = json.loads(Path(recipes).read_text())
    recipe = next(one for one in content["pieces"] if one["piece"] == piece)
    chosen = next(one for one in recipe["views"] if one["name"] == view)
    demo_forms = Path(__file__).resolve().parents[2] / "src/weftglass/demo/data/forms.jsonl"
    lay(recipe, chosen, Path(folder), demo_forms)


if __name__ == "__main__":
    main(*sys.argv[1:5])
