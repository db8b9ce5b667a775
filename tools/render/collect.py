"""
Gather finished pictures into the project: photographs, and one truth file.

    python tools/render/collect.py RENDERS RECIPES DATA

copies RENDERS/<piece>-<view>.jpg to DATA/photographs/, takes the outline of each mask and writes DATA/truth.json.
The two pieces that cannot be identified yet are cropped and shaken here, as their recipes say.
"""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image


def _shake(length: int) -> NDArray[np.float64]:
    """The blur of a hand that moved."""
    kernel = np.zeros((length, length))
    cv2.line(kernel, (0, length // 3), (length - 1, length * 2 // 3), 1.0, 1)
    return kernel / kernel.sum()


def outline_of(mask: NDArray[np.uint8]) -> list[list[float]]:
    """The outer edge of the mask in pixels, to about half a pixel."""
    smooth = cv2.GaussianBlur(mask, (0, 0), 0.6)
    curves, _ = cv2.findContours((smooth > 127).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    longest = max(curves, key=cv2.contourArea)
    return [[float(x), float(y)] for x, y in cv2.approxPolyDP(longest, 0.6, True)[:, 0]]


def _thinned(rows: list[list[float]], step: float) -> list[list[float]]:
    """Rows of (z, half-width) at even heights, for a smaller file."""
    points = np.array(rows)
    z = np.unique(np.append(np.arange(points[0, 0], points[-1, 0], step), points[-1, 0]))
    return [
        [round(float(a), 1), round(float(b), 2)]
        for a, b in zip(z, np.interp(z, points[:, 0], points[:, 1]), strict=True)
    ]


def _cut(jpeg: bytes, box: list[int], look: dict[str, Any]) -> bytes:
    """A badly cropped, shaken picture; its EXIF stays."""
    picture = Image.open(io.BytesIO(jpeg))
    pixels = np.asarray(picture)[box[1] : box[3], box[0] : box[2]]
    if look.get("shake"):
        pixels = cv2.filter2D(pixels, -1, _shake(look["shake"]))
    place = io.BytesIO()
    Image.fromarray(pixels).save(place, "JPEG", quality=80, exif=picture.getexif())
    return place.getvalue()


def collected(renders: Path, name: str, view: dict[str, Any]) -> tuple[bytes, dict[str, Any]]:
    """The JPEG and the truth of one picture."""
    jpeg = (renders / f"{name}.jpg").read_bytes()
    truth = json.loads((renders / f"{name}.truth.json").read_text())
    image = cv2.imread(str(renders / f"{name}-mask.png"), cv2.IMREAD_UNCHANGED)
    mask = image[..., 3] if image.ndim == 3 else image
    if view.get("crop"):
        share = truth["image_size"][0] / (view.get("size") or (900, 1200))[0]
        box = [round(side * share) for side in view["crop"]]
        mask = mask[box[1] : box[3], box[0] : box[2]]
        jpeg = _cut(jpeg, box, view.get("look", {}))
        truth["image_size"] = [mask.shape[1], mask.shape[0]]
    truth["polygon_px"] = outline_of(np.ascontiguousarray(mask))
    for key in ("outer_profile", "vessel_profile"):
        if key in truth:
            truth[key] = _thinned(truth[key], 1.0)
    truth.pop("library_profile", None)
    for key, value in truth["camera"].items():
        truth["camera"][key] = round(value, 3)
    return jpeg, truth


def main(renders: str, recipes: str, data: str) -> None:
    """Gather all that is there."""
    folder = Path(data)
    (folder / "photographs").mkdir(parents=True, exist_ok=True)
    truths: dict[str, Any] = {}
    for piece in json.loads(Path(recipes).read_text())["pieces"]:
        for view in piece["views"]:
            name = f"{piece['piece']}-{view['name']}"
            source = Path(renders)
            if (
                not (source / f"{name}.jpg").exists()
                or (source / f"{name}.png").exists()
                or (source / f"{name}.npz").exists()
            ):
                continue
            jpeg, truths[name] = collected(source, name, view)
            (folder / "photographs" / f"{name}.jpg").write_bytes(jpeg)
    lines = ",\n".join(
        f"{json.dumps(name)}: {json.dumps(truth, separators=(',', ':'))}" for name, truth in truths.items()
    )
    (folder / "truth.json").write_text("{\n" + lines + "\n}\n")
    print(f"{len(truths)} photographs, {(folder / 'truth.json').stat().st_size / 1e6:.2f} MB of truth")


if __name__ == "__main__":
    main(*sys.argv[1:4])
