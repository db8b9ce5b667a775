"""
Write the photographs that a recipe marks as HEIC the way a phone does: sharpened, strongly compressed, lens noted.

    python tools/render/phone.py RECIPES FOLDER

replaces FOLDER/<piece>-<view>.jpg by .heic where the recipe says ``"file": "heic"``. Runs in the project's
own environment.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pillow_heif
from PIL import Image, ImageFilter

QUALITY = 55
SHARPENED = ImageFilter.UnsharpMask(radius=1.5, percent=80, threshold=2)


def as_phone(jpg: Path) -> None:
    """One JPEG replaced by a HEIC file with the same notes."""
    with Image.open(jpg) as picture:
        pillow_heif.from_pillow(picture.filter(SHARPENED)).save(
            jpg.with_suffix(".heic"), quality=QUALITY, exif=picture.getexif().tobytes()
        )
    jpg.unlink()


def main(recipes: str, folder: str) -> None:
    """All photographs of the folder that are marked and not yet written so."""
    for piece in json.loads(Path(recipes).read_text())["pieces"]:
        for view in piece["views"]:
            jpg = Path(folder) / f"{piece['piece']}-{view['name']}.jpg"
            if view.get("file") == "heic" and jpg.exists():
                as_phone(jpg)


if __name__ == "__main__":
    main(*sys.argv[1:3])
