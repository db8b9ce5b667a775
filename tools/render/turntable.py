"""
Photograph a piece on a turntable, evenly turned but for a hand's error, in one Blender session.

    python tools/render/turntable.py RECIPES FOLDER PIECE [COUNT] [ERROR_DEG] [SHARE] [MOTIF=REPEATS ...]

Writes FOLDER/<piece>-turn-01.jpg and so on with the lens in their EXIF, and FOLDER/<piece>-turntable.json: the camera,
the scale bar, the true turns, the girth of the covering at each height and which motif was woven in how often. SHARE is
the picture size as a share of 900 x 1200 pixels; MOTIF=REPEATS changes how often a motif of the recipe goes round.
Needs Blender's Python module, NumPy, SciPy and Pillow.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import bpy
import numpy as np
from backdrops import lights, surroundings
from lay import form_of, lay, piece_meshes
from run import developed
from shoot import piece_objects, scale_card, set_camera, settings, write

HERE = Path(__file__).parent
UNIT = 0.01
SAMPLES = 6


def front_view(recipe: dict[str, Any], share: float) -> dict[str, Any]:
    """The recipe's front view before a paper sweep, the bar beside the piece."""
    front = next(view for view in recipe["views"] if view["name"] == "front")
    base = {**front, "place": ["paper", "grey"], "size": [round(share * side) for side in (900, 1200)]}
    base |= {"focal": 70, "fill": 0.74, "bar": {"side": "right", "off_plane": 0.0, "gap": 12.0}}
    for drop in ("things", "wall", "key"):
        base.pop(drop, None)
    return {**base, "name": "turn", "role": "front", "turn": 0.0}


def woven_truth(recipe: dict[str, Any], forms: Path) -> dict[str, Any]:
    """Girth of the covering's outer face by height, and which motif repeats how often at which share of the rows."""
    _, glass, meshes, lift = piece_meshes(recipe, form_of(recipe, forms))
    cloud = np.concatenate([glass[0]] + [mesh.vertices for mesh in meshes])
    level, away = np.floor(cloud[:, 2]).astype(int), np.hypot(cloud[:, 0], cloud[:, 1])
    reach = [float(np.quantile(away[level == k], 0.98)) if np.any(level == k) else 0.0 for k in range(level.max())]
    cover = recipe["covers"][0]
    motifs = [
        {"motif": item.get("motif") or item.get("text"), "repeats": item.get("repeats"), "at_share": item["at"]}
        for item in cover["design"].get("motifs", ())
    ]
    girth = [[k + 0.5, round(2 * np.pi * r, 2)] for k, r in enumerate(reach)]
    return {"piece": recipe["piece"], "motifs": motifs, "girth_mm": girth, "lift_mm": lift, "to": cover["to"]}


def shoot_round(layout: Path, turns: np.ndarray, folder: Path, piece: str, focal: float, seed: int) -> None:
    """Render the layout at every turn; meshes are made once."""
    bpy.ops.wm.read_factory_settings(use_empty=True)
    with np.load(layout) as content:
        arrays = dict(content)
    scene = json.loads(str(arrays["scene"]))
    parts = piece_objects(arrays, scene)
    if scene["bar"] is not None:
        scale_card(scene["bar"], folder)
    surroundings(scene, UNIT)
    lights(scene, UNIT)
    set_camera(scene)
    settings(scene, SAMPLES)
    bpy.context.scene.render.use_persistent_data = True
    for k, turn in enumerate(turns):
        name = f"{piece}-turn-{k + 1:02d}"
        if (folder / f"{name}.jpg").exists():
            continue
        for part in parts:
            part.rotation_euler[2] = -float(np.deg2rad(turn))
        picture = folder / f"{name}.png"
        write(picture, "16", "RGB")
        developed(picture, folder / f"{name}.jpg", focal, seed + k)
        picture.unlink()
        print(f"{name} done", flush=True)


def main(
    recipes: str, folder: str, piece: str, count: str = "12", error_deg: str = "1", share: str = "0.55", *changes: str
) -> None:
    """Render one piece all round."""
    place, forms = Path(folder).resolve(), HERE.parents[1] / "src/weftglass/demo/data/forms.jsonl"
    place.mkdir(parents=True, exist_ok=True)
    subprocess.run([sys.executable, str(HERE / "bar_print.py"), str(place / "bar.png")], check=True)
    recipe = next(one for one in json.loads(Path(recipes).read_text())["pieces"] if one["piece"] == piece)
    again = dict(change.split("=") for change in changes)
    for item in recipe["covers"][0]["design"].get("motifs", ()):
        item["repeats"] = int(again.get(item.get("motif", ""), item.get("repeats") or 1))
    rng, number = np.random.default_rng(recipe["seed"] + 7), int(count)
    off = np.concatenate([[0.0], float(error_deg) * np.clip(rng.standard_normal(number - 1), -2, 2)])
    turns, view = 360.0 * np.arange(number) / number + off, front_view(recipe, float(share))
    lay(recipe, view, place, forms)
    own = json.loads((place / f"{piece}-turn.truth.json").read_text())
    truth = woven_truth(recipe, forms) | {"turns_deg": turns.round(3).tolist()}
    truth |= {key: own[key] for key in ("camera", "scale_bar", "outer_profile", "height_mm", "gauge")}
    (place / f"{piece}-turntable.json").write_text(json.dumps(truth, indent=1))
    shoot_round(place / f"{piece}-turn.npz", turns, place, piece, view["focal"], recipe["seed"])
    (place / f"{piece}-turn.npz").unlink()


if __name__ == "__main__":
    main(*sys.argv[1:])
