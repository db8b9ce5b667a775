"""
Invent recipes of covered pieces and photographs of them: other vessels, coverings, lenses and places for every seed.

    python tools/render/invent.py SEED PIECES RECIPES [--busy]

Each piece is photographed twice: lenses of 24 to 85 mm, 0.4 to 2 m away, looking down by up to 20 degrees, on paper,
cloth, a table, a shelf or a window sill, with things behind, soft or hard shadows, and every fourth photograph marked
to be written as a phone writes it (see `phone.py`). With --busy they stand on printed cloth, on a mat before a print,
before other woven wares, or on a slab in a lawn (see `busy.py`): the hardest places to tell a weave from. Needs NumPy
and the package itself.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import numpy as np

from weftglass.vessels import Form, FormLibrary

TALL_MM = (130.0, 480.0)
DISTANCE_MM = (400.0, 2000.0)
FILL = (0.42, 0.78)
PIECE_PX = 800.0  # height of the piece in the picture; `run.py` renders its share of the size given here
LENSES = (24, 26, 26, 28, 35, 50, 52, 60, 70, 77, 85)
PICTURE_35MM = 0.02889  # focal length in picture heights for each mm of lens, on a 3:4 picture held upright
HEIC_EVERY = 4
SAMPLES = 4

STRANDS = ("willow", "peeled", "bleached", "brown", "chestnut", "black", "red", "ochre", "indigo", "green", "rush")
CORDS = ("hemp", "tarred", "white", "sea", "ochre")
GLASS = ("colourless", "aqua", "pale green", "dark olive", "olive", "amber", "cobalt", "green")
PLACES = {
    "paper": ("grey", "white", "dark", "cream", "blue", "sage", "rose"),
    "cloth": ("linen", "slate", "wine", "white", "green"),
    "table": ("oak", "walnut", "pine", "grey"),
    "shelf": ("oak", "walnut", "pine", "grey"),
    "sill": ("stone",),
}
BUSY = {
    "print": ("checks", "stripes", "flowers", "flecks"),
    "mat": ("checks", "flowers"),
    "wares": ("checks", "stripes", "flowers", "flecks"),
    "slab": ("near", "far"),
}
WALLS = ("plaster", "blue", "green", "dark", "ochre")
MOTIFS = ("lozenge", "step", "wave", "gull", "boat", "fish", "house", "key", "checks")


def glass_of(form: Form, rng: np.random.Generator) -> str:
    """One of the form's own colours that the renderer knows."""
    known = [g for name in form.colours for g in GLASS if g in name or name in g]
    return str(rng.choice(known or ["aqua"]))


def design_of(rng: np.random.Generator, cords: bool) -> dict[str, Any]:
    """Colours, bands and motifs."""
    names = [str(name) for name in rng.choice(CORDS if cords else STRANDS, 3, replace=False)]
    design: dict[str, Any] = {"colours": names}
    if rng.uniform() < 0.6:
        low = sorted(rng.uniform(0.03, 0.9, 2))
        design["bands"] = [[float(a), float(a) + 0.03, int(rng.integers(1, 3))] for a in low]
    if not cords and rng.uniform() < 0.4:
        motif = {"motif": str(rng.choice(MOTIFS)), "at": float(rng.uniform(0.3, 0.7)), "colours": [1, 2], "repeats": 8}
        design["motifs"] = [motif]
    return design


def cover_of(form: Form, rng: np.random.Generator) -> dict[str, Any]:
    """A technique with its gauge; coarser on larger vessels."""
    big = float(np.clip(form.profile.height_mm / 250.0, 0.7, 1.9))
    coarse = big * float(rng.uniform(0.8, 1.25))
    kind = str(rng.choice(("twined", "twined", "wicker", "wicker", "coiled", "coiled", "plaited", "netted", "hitched")))
    girth = 2 * np.pi * float(form.profile.points[:, 1].max())
    lean = str(rng.choice(("left", "right")))
    parts: dict[str, dict[str, Any]] = {
        "twined": {"weft": 0.75 * coarse, "stake": 0.7 * coarse, "pitch": 2.3 * coarse, "spacing": 3.0 * coarse,
                   "lean": lean, "over": int(rng.integers(1, 3))},
        "wicker": {"weft": 1.1 * coarse, "stake": 1.3 * coarse, "pitch": 2.7 * coarse, "spacing": 7.5 * coarse},
        "coiled": {"pitch": 3.3 * coarse, "rod": 1.25 * coarse, "sew": 0.45, "spacing": 2.1 * coarse, "lean": lean},
        "plaited": {"strips": 2 * round(girth / 44), "levels": max(6, round(form.profile.height_mm / 30)),
                    "width": 3.7, "thick": 0.7},
        "netted": {"meshes": max(8, round(girth / 20)), "levels": max(6, round(form.profile.height_mm / 26)),
                   "cord": 1.1 * big},
        "hitched": {"pitch": 3.3 * coarse, "cord": 0.95 * coarse, "spacing": 4.5 * coarse},
    }  # fmt: skip
    slack = (0.1, 0.1) if kind in ("plaited", "netted", "hitched") else (0.3 * coarse, 0.25 * coarse)
    cover = {"technique": kind, "to": float(rng.uniform(0.58, 0.95)), "slack": slack, **parts[kind]}
    cover["design"] = design_of(rng, kind in ("netted", "hitched"))
    if kind in ("twined", "wicker", "coiled"):
        rim = cover["design"]["colours"][1]
        cover["borders"] = [{"at": at, "radius": 1.5 * coarse, "colour": rim} for at in (1, 0.004)]
    return cover


def view_of(name: str, form: Form, turn: float, rng: np.random.Generator, *, busy: bool = False) -> dict[str, Any]:
    """Camera, place and light of one photograph."""
    tall, wide = form.profile.height_mm, 2 * float(form.profile.points[:, 1].max())
    need = max(tall, (wide + 70) / (1.22 * 0.75))  # as `lay.py` places its camera
    while True:
        lens = int(rng.choice(LENSES))
        distance = float(np.exp(rng.uniform(*np.log(DISTANCE_MM))))
        fill = lens * PICTURE_35MM * need / distance
        if FILL[0] < fill < FILL[1]:
            break
    tilt = float(np.clip(rng.normal(6, 5), -2, 20))
    aim = float(rng.uniform(0.42, 0.54))
    kind = str(rng.choice(tuple(BUSY)) if busy else rng.choice(tuple(PLACES), p=(0.22, 0.2, 0.26, 0.16, 0.16)))
    rows = float(np.clip(PIECE_PX / fill * need / tall, 1120, 1600)) / 0.66
    return {
        "name": name, "samples": SAMPLES, "role": "side" if turn == 90 else "front", "turn": turn, "focal": lens,
        "place": [kind, str(rng.choice((BUSY if busy else PLACES)[kind]))], "fill": fill,
        "bar": {"side": str(rng.choice(("left", "right"))), "gap": float(rng.uniform(12, 34)),
                "off_plane": float(rng.normal(0, 2.5)), "lying": bool(rng.uniform() < 0.15)},
        "size": [round(0.75 * rows), round(rows)], "aim": aim,
        "camera_height": aim + float(np.tan(np.radians(tilt))) * distance / tall,
        "roll": float(rng.normal(0, 1.2)), "aim_x": float(rng.normal(0, 0.06 * tall)),
        "wall": str(rng.choice(WALLS)), "things": int(rng.integers(0, 11)), "key": str(rng.choice(("left", "right"))),
        "warm": float(max(0.0, rng.uniform(-0.6, 0.9))), "light": float(rng.uniform(0.65, 1.25)),
        "fill_light": float(rng.uniform(0.3, 1.3)), "hard": float(max(0.0, rng.uniform(-0.7, 0.9))),
    }  # fmt: skip


def invented(seed: int, pieces: int, *, busy: bool = False) -> list[dict[str, Any]]:
    """Recipes of so many pieces on different forms."""
    rng = np.random.default_rng(seed)
    fit = [form for form in FormLibrary.starter() if TALL_MM[0] <= form.profile.height_mm <= TALL_MM[1]]
    recipes = []
    for k, pick in enumerate(rng.permutation(len(fit))[:pieces]):
        form = fit[pick]
        second = 90.0 if form.side_profile is not None else float(rng.uniform(100, 260))
        turns = (("front", 0.0), ("side" if second == 90 else "again", second))
        views = [view_of(name, form, turn, rng, busy=busy) for name, turn in turns]
        for j, view in enumerate(views):
            view["file"] = "heic" if (k + j) % HEIC_EVERY == 3 else "jpeg"
        piece = {
            "piece": f"s{seed}-{k + 1:02d}", "seed": seed * 1000 + k, "form": form.id, "glass": glass_of(form, rng),
            "wall": float(rng.uniform(3.0, 4.5)), "covers": [cover_of(form, rng)], "views": views,
        }  # fmt: skip
        recipes.append(piece)
    return recipes


if __name__ == "__main__":
    recipes = invented(int(sys.argv[1]), int(sys.argv[2]), busy="--busy" in sys.argv)
    Path(sys.argv[3]).write_text(json.dumps({"pieces": recipes}, indent=1))
