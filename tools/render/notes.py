"""
What the collector measured: numbers taken from the true pieces, with the errors of tape, callipers and kitchen balance.

    python tools/render/notes.py RECIPES DATA

reads which readings each piece of DATA/scenario.json should have (its ``readings``) and fills in ``measurements``.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import numpy as np
from lay import add_masses, form_of, outer_edge, piece_meshes


def measured(recipe: dict[str, Any], wanted: list[str], forms: Path) -> list[dict[str, Any]]:
    """The readings wanted, each with the unit and standard deviation a careful amateur would state."""
    rng = np.random.default_rng(recipe["seed"] + 5000)
    form = form_of(recipe, forms)
    vessel, glass, meshes, lift = piece_meshes(recipe, form)
    outer = outer_edge(np.concatenate([glass[0]] + [mesh.vertices for mesh in meshes]), 0.0)
    height = float(vessel.z[-1])
    covered = [(c.get("from", 0.0) * height + lift, c["to"] * height + lift) for c in recipe["covers"]]
    gap = outer[:, 1] - np.interp(outer[:, 0], vessel.z + lift, vessel.wide)
    under = (outer[:, 0] > covered[0][0] + lift + 6) & (outer[:, 0] < covered[0][1] - 3)
    truth: dict[str, Any] = {"cover_mm": {"mean": round(float(gap[under].mean()), 2)}}
    add_masses(truth, vessel, form, recipe)
    lip = 2 * float(vessel.wide[vessel.z > height - 12].max())
    readings = []
    for what in wanted:
        if what.startswith("girth@"):
            z = round(float(what[6:]) * height)
            half = float(np.interp(z, outer[:, 0], outer[:, 1])) - 0.3
            readings.append(
                {
                    "what": "girth",
                    "value": round(2 * np.pi * half + rng.normal(0, 2.5)),
                    "unit": "mm",
                    "sd": 3,
                    "z": z,
                    "how": "tape",
                }
            )
        elif what == "weight":
            readings.append(
                {
                    "what": what,
                    "value": round(truth["weight_g"] + rng.normal(0, 4)),
                    "unit": "g",
                    "sd": 5,
                    "how": "balance",
                }
            )
        elif what == "height":
            readings.append(
                {
                    "what": what,
                    "value": round(height + lift + rng.normal(0, 0.8)),
                    "unit": "mm",
                    "sd": 1,
                    "how": "ruler",
                }
            )
        elif what == "lip_diameter":
            readings.append(
                {"what": what, "value": round(lip + rng.normal(0, 0.3), 1), "unit": "mm", "sd": 0.4, "how": "calliper"}
            )
        else:
            raise SystemExit(f"{recipe['piece']}: reading {what!r} is not known")
    return readings


def main(recipes: str, data: str) -> None:
    """Fill in the measurements of all pieces."""
    place = Path(data) / "scenario.json"
    scenario = json.loads(place.read_text())
    recipe_of = {one["piece"]: one for one in json.loads(Path(recipes).read_text())["pieces"]}
    for piece in scenario["pieces"]:
        piece["measurements"] = measured(recipe_of[piece["id"]], piece.get("readings", []), Path(data) / "forms.jsonl")
    place.write_text(json.dumps(scenario, indent=1, ensure_ascii=False) + "\n")


if __name__ == "__main__":
    main(*sys.argv[1:3])
