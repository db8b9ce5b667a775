"""
Photograph a piece on a turntable, evenly turned but for a hand's error.

    python tools/render/turntable.py RECIPES FOLDER PIECE [COUNT] [ERROR_DEG] [MOTIF=REPEATS ...]

Writes FOLDER/<piece>-turn-01.jpg and so on beside their truths, as run.py does, and FOLDER/<piece>-turntable.json: what
was woven in (motif, repeats, height), the true turns and the girth of the covering. MOTIF=REPEATS changes how often a
motif of the recipe goes round.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
from lay import form_of, piece_meshes
from run import SIZE_SHARE, photographed

HERE = Path(__file__).parent


def turned_views(recipe: dict[str, Any], count: int, error_deg: float) -> list[dict[str, Any]]:
    """One view a turn; all of them as the front view of the recipe, before a paper sweep, the bar beside the piece."""
    rng = np.random.default_rng(recipe["seed"] + 7)
    front = next(view for view in recipe["views"] if view["name"] == "front")
    off = np.concatenate([[0.0], error_deg * np.clip(rng.standard_normal(count - 1), -2, 2)])
    base = {**front, "place": ["paper", "grey"], "size": [round(SIZE_SHARE * side) for side in (900, 1200)]}
    base |= {"focal": 70, "fill": 0.74, "bar": {"side": "right", "off_plane": 0.0, "gap": 12.0}}
    for drop in ("things", "wall", "key"):
        base.pop(drop, None)
    return [
        {
            **base,
            "name": f"turn-{k + 1:02d}",
            "role": f"turn {k + 1:02d}/{count:02d}",
            "turn": 360.0 * k / count + off[k],
        }
        for k in range(count)
    ]


def band_truth(recipe: dict[str, Any], demo_forms: Path) -> dict[str, Any]:
    """Girth of the covering's outer face and which motif repeats how often at what height, mm above the ground."""
    _, glass, meshes, lift = piece_meshes(recipe, form_of(recipe, demo_forms))
    cloud = np.concatenate([glass[0]] + [mesh.vertices for mesh in meshes])
    level = np.floor(cloud[:, 2]).astype(int)
    away = np.hypot(cloud[:, 0], cloud[:, 1])
    reach = np.array([np.quantile(away[level == k], 0.98) if np.any(level == k) else 0.0 for k in range(level.max())])
    cover = recipe["covers"][0]
    motifs = [
        {"motif": item.get("motif") or item.get("text"), "repeats": item.get("repeats"), "at_share": item["at"]}
        for item in cover["design"].get("motifs", ())
    ]
    rows = [[k + 0.5, round(float(2 * np.pi * r), 2)] for k, r in enumerate(reach)]
    return {"piece": recipe["piece"], "motifs": motifs, "girth_mm": rows, "lift_mm": lift, "to": cover["to"]}


def main(recipes: str, folder: str, piece: str, count: str = "12", error_deg: str = "1.0", *changes: str) -> None:
    """Render one piece all round."""
    place = Path(folder).resolve()
    place.mkdir(parents=True, exist_ok=True)
    subprocess.run([sys.executable, str(HERE / "bar_print.py"), str(place / "bar.png")], check=True)
    recipe = next(one for one in json.loads(Path(recipes).read_text())["pieces"] if one["piece"] == piece)
    again = dict(change.split("=") for change in changes)
    for item in recipe["covers"][0]["design"].get("motifs", ()):
        item["repeats"] = int(again.get(item.get("motif", ""), item.get("repeats") or 1))
    views = turned_views(recipe, int(count), float(error_deg))
    scaled = place / f"{piece}-recipes.json"
    scaled.write_text(json.dumps({"pieces": [{**recipe, "views": views}]}))
    forms = HERE.parents[1] / "src/weftglass/demo/data/forms.jsonl"
    truth = band_truth(recipe, forms) | {"turns_deg": [round(view["turn"], 3) for view in views]}
    (place / f"{piece}-turntable.json").write_text(json.dumps(truth, indent=1))
    for view in views:
        photographed(str(scaled), piece, view, recipe["seed"], place)
        print(f"{piece}-{view['name']} done", flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
