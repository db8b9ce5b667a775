"""
Render the demo's photographs, one after another, and write their truth.

    python tools/render/run.py RECIPES FOLDER [PIECE ...]

Needs Blender's Python module (the optional extra `render`), NumPy, SciPy and Pillow.
Writes FOLDER/<piece>-<view>.jpg with the lens in its EXIF, .truth.json and -mask.png; what is there already is kept.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
from PIL import Image

HERE = Path(__file__).parent
SAMPLES = 8
SIZE_SHARE = 0.66  # of the recipe's picture size: 594 x 792 pixels unless it says otherwise
FOCAL_35MM_TAG, EXIF_IFD = 41989, 34665
NOISE = 2.2  # sd of the sensor's noise, of 255
MOST_BYTES = 250_000


def developed(png: Path, jpg: Path, focal_35mm: float, seed: int) -> None:
    """A JPEG as a camera would write it: a little noise, the lens noted, under 250 kB."""
    pixels = np.asarray(Image.open(png).convert("RGB"), dtype=np.float64)
    rng = np.random.default_rng(seed)
    coarse = rng.normal(0, NOISE, pixels.shape) + rng.normal(0, 0.6 * NOISE, (*pixels.shape[:2], 1))
    picture = Image.fromarray(np.clip(pixels + coarse, 0, 255).astype(np.uint8))
    exif = Image.Exif()
    exif.get_ifd(EXIF_IFD)[FOCAL_35MM_TAG] = round(focal_35mm)
    for quality in range(90, 50, -4):
        picture.save(jpg, "JPEG", quality=quality, exif=exif, optimize=True)
        if jpg.stat().st_size < MOST_BYTES:
            return


def photographed(recipes: str, piece: str, view: dict[str, object], seed: int, folder: Path) -> None:
    """Lay out, render and develop one photograph."""
    name = f"{piece}-{view['name']}"
    if (folder / f"{name}.jpg").exists():
        return
    subprocess.run([sys.executable, str(HERE / "lay.py"), recipes, piece, str(view["name"]), str(folder)], check=True)
    picture, mask = folder / f"{name}.png", folder / f"{name}-mask.png"
    shoot = [sys.executable, str(HERE / "shoot.py"), str(folder / f"{name}.npz"), str(picture), str(mask)]
    shoot.append(str(view.get("samples", SAMPLES)))
    subprocess.run(shoot, check=True, stdout=subprocess.DEVNULL)
    developed(picture, folder / f"{name}.jpg", float(str(view["focal"])), seed)
    picture.unlink()
    (folder / f"{name}.npz").unlink()


def main(recipes: str, folder: str, *wanted: str) -> None:
    """Render all pieces, or those named; front views first."""
    place = Path(folder).resolve()
    place.mkdir(parents=True, exist_ok=True)
    subprocess.run([sys.executable, str(HERE / "bar_print.py"), str(place / "bar.png")], check=True)
    pieces = json.loads(Path(recipes).read_text())["pieces"]
    for piece in pieces:
        for view in piece["views"]:
            view["size"] = [round(SIZE_SHARE * side) for side in view.get("size") or (900, 1200)]
    scaled = place / "recipes.json"
    scaled.write_text(json.dumps({"pieces": pieces}))
    chosen = [(piece, view) for piece in pieces for view in piece["views"] if not wanted or piece["piece"] in wanted]
    for piece, view in sorted(
        chosen, key=lambda one: ("front", "side").index(one[1]["name"]) if one[1]["name"] in ("front", "side") else 2
    ):
        try:
            photographed(str(scaled), piece["piece"], view, piece["seed"], place)
            print(f"{piece['piece']}-{view['name']} done", flush=True)
        except subprocess.CalledProcessError as fault:
            print(f"{piece['piece']}-{view['name']} failed: {fault}", file=sys.stderr, flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
