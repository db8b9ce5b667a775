"""
From Blender's picture to a photograph: sensor noise, a little softness and vignetting, JPEG with the lens in its EXIF.

    python tools/render/finish.py FOLDER NAME OUT

reads FOLDER/NAME.png, -mask.png and .truth.json; writes OUT/NAME.jpg, OUT/NAME-mask.png and OUT/NAME.json (the truth
with the mask's outline as a polygon). No name, place or serial number goes into the EXIF.
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

LARGEST = 245_000  # bytes
TAKEN = "2024:05:{day:02d} 10:{minute:02d}:00"


def developed(pixels: NDArray[np.uint16], look: dict[str, Any], rng: np.random.Generator) -> NDArray[np.uint8]:
    """Softness, vignetting and noise as of a small camera, 8 bits."""
    image = pixels.astype(np.float64) / 65535
    height, width, _ = image.shape
    image = cv2.GaussianBlur(image, (0, 0), look.get("soft", 0.55))
    y, x = np.mgrid[0:height, 0:width]
    away = np.hypot((x - width / 2) / (width / 2), (y - height / 2) / (height / 2))
    image *= (1 - look.get("vignette", 0.10) * (away / 1.41) ** 2.5)[..., None]
    linear = image**2.2
    noise = look.get("noise", 1.0)
    grain = rng.standard_normal(image.shape) * np.sqrt(linear * 0.00022 + 0.000004) * noise
    blotch = (
        cv2.GaussianBlur(rng.standard_normal(image.shape), (0, 0), 1.4)
        * 2.4
        * np.sqrt(linear * 0.00006 + 0.000002)
        * noise
    )
    noisy = np.clip(linear + grain + blotch, 0, 1) ** (1 / 2.2)
    if look.get("shake"):
        noisy = cv2.filter2D(noisy, -1, _shake(look["shake"]))
    return np.round(noisy * 255).astype(np.uint8)


def _shake(length: int) -> NDArray[np.float64]:
    """The blur of a hand that moved."""
    kernel = np.zeros((length, length))
    cv2.line(kernel, (0, length // 3), (length - 1, length * 2 // 3), 1.0, 1)
    return kernel / kernel.sum()


def jpeg(pixels: NDArray[np.uint8], focal_35mm: float, day: int) -> bytes:
    """The best JPEG that stays below the size limit."""
    image = Image.fromarray(pixels)
    exif = Image.Exif()
    lens = exif.get_ifd(0x8769)
    lens[0x920A] = round(focal_35mm / 1.5, 1)  # focal length of a camera whose frame is 1.5 times smaller
    lens[0xA405] = round(focal_35mm)
    lens[0x9003] = TAKEN.format(day=day % 28 + 1, minute=day * 7 % 60)
    for quality in range(93, 40, -3):
        place = io.BytesIO()
        image.save(place, "JPEG", quality=quality, optimize=True, progressive=True, exif=exif)
        if place.tell() <= LARGEST:
            return place.getvalue()
    raise SystemExit("the picture cannot be made small enough")


def outline_of(mask: NDArray[np.uint8]) -> list[list[float]]:
    """The outer edge of the mask in pixels, to about half a pixel."""
    smooth = cv2.GaussianBlur(mask, (0, 0), 0.6)
    curves, _ = cv2.findContours((smooth > 127).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    longest = max(curves, key=cv2.contourArea)
    return [[float(x), float(y)] for x, y in cv2.approxPolyDP(longest, 0.6, True)[:, 0]]


def main(folder: str, name: str, out: str) -> None:
    """Finish one picture."""
    source, target = Path(folder), Path(out)
    target.mkdir(parents=True, exist_ok=True)
    with np.load(source / f"{name}.npz") as content:
        scene = json.loads(str(content["scene"]))
    view, seed = scene["view"], scene["seed"]
    picture = cv2.imread(str(source / f"{name}.png"), cv2.IMREAD_UNCHANGED)
    mask = cv2.imread(str(source / f"{name}-mask.png"), cv2.IMREAD_UNCHANGED)[..., 3]
    if picture is None or picture.dtype != np.uint16:
        raise SystemExit(f"{name}.png: 16 bits wanted")
    truth = json.loads((source / f"{name}.truth.json").read_text())
    truth["polygon_px"] = outline_of(mask)
    pixels = developed(
        np.ascontiguousarray(picture[..., ::-1]), view.get("look", {}), np.random.default_rng(seed * 31 + len(name))
    )
    crop = view.get("crop")
    if crop:
        left, top, right, bottom = crop
        pixels, mask = pixels[top:bottom, left:right], mask[top:bottom, left:right]
        truth["polygon_px"] = outline_of(mask)
        truth["image_size"] = [right - left, bottom - top]
        for end in truth.get("scale_bar", {}).get("ends_px", []):
            end[0], end[1] = end[0] - left, end[1] - top
    (target / f"{name}.jpg").write_bytes(jpeg(pixels, view["focal"], seed))
    Image.fromarray(np.where(mask > 127, 255, 0).astype(np.uint8)).save(target / f"{name}-mask.png", optimize=True)
    (target / f"{name}.json").write_text(json.dumps(truth))


if __name__ == "__main__":
    main(*sys.argv[1:4])
