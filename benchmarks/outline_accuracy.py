"""
Outline and profile on photographs whose truth is known: python benchmarks/outline_accuracy.py [FOLDER] [--overlays OUT]

FOLDER holds NAME.jpg with NAME.json or NAME.truth.json beside it, or a truth.json for all; default: the demonstration's
photographs. Prints, per photograph, the overlap with the true silhouette (intersection over union), the error of the
greatest diameter and of the height, and the seconds it took.
"""

from __future__ import annotations

import argparse
import json
import time
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from weftglass.photos import measure_outline, read_photograph, scale_from_bar, trace_outline

DEMO = Path(__file__).parents[1] / "src" / "weftglass" / "demo" / "data"
ROLES = ("front", "side")


def truths(folder: Path) -> dict[str, dict[str, Any]]:
    """Truth by the name of the photograph, from one file for all or one beside each."""
    together = folder / "truth.json"
    if together.exists():
        found = json.loads(together.read_text())
        listed = found.get("photographs", found) if isinstance(found, dict) else found
        if isinstance(listed, dict):
            return dict(listed)
        return {f"{one['piece']}-{one['view']}": one for one in listed}
    alone: dict[str, dict[str, Any]] = {}
    for picture in sorted(folder.glob("*.jpg")):
        for file in (picture.with_suffix(".json"), picture.with_suffix(".truth.json")):
            if file.exists():
                alone[picture.stem] = json.loads(file.read_text())
    return alone


def picture_file(folder: Path, name: str) -> Path:
    """Where the photograph of that name is."""
    beside = folder / f"{name}.jpg"
    return beside if beside.exists() else folder / "photographs" / f"{name}.jpg"


def true_mask(truth: dict[str, Any], folder: Path, name: str, shape: tuple[int, int]) -> np.ndarray:
    """The true silhouette as a picture of 0 and 1."""
    if "polygon_px" in truth:
        mask = np.zeros(shape, np.uint8)
        cv2.fillPoly(mask, [np.round(np.array(truth["polygon_px"]) * 16).astype(np.int32)], 1, shift=4)
        return mask
    found = cv2.imread(str(folder / f"{name}-mask.png"), cv2.IMREAD_UNCHANGED)
    layer = found[..., -1] if found.ndim == 3 else found
    return (layer > 127).astype(np.uint8)


def judged(folder: Path, name: str, truth: dict[str, Any], overlays: Path | None) -> dict[str, float]:
    """Trace and measure one photograph and compare it with the truth."""
    photo = read_photograph(picture_file(folder, name).read_bytes(), name)
    begin = time.perf_counter()
    found = trace_outline(photo)
    seconds = time.perf_counter() - begin
    true = true_mask(truth, folder, name, photo.pixels.shape[:2]).astype(bool)
    overlap = float((found.mask & true).sum() / max(1, (found.mask | true).sum()))
    result = {"iou": overlap, "sure": found.confidence, "seconds": seconds, "width": np.nan, "height": np.nan}
    bar = truth.get("scale_bar")
    if bar and found.found:
        (x1, y1), (x2, y2) = bar["ends_px"]
        scale = scale_from_bar(x1, y1, x2, y2, bar["mm"])
        size = (photo.width_px, photo.height_px)
        measured = measure_outline(found.polygon_px, scale=scale, focal_35mm=photo.focal_35mm, image_size=size)
        outer = np.array(truth["outer_profile"])
        result["width"] = 100 * (measured.points[:, 1].max() / outer[:, 1].max() - 1)
        result["height"] = measured.height_mm - truth["height_mm"]
        result["tilt"] = measured.axis["tilt_deg"] - truth["camera"]["tilt_down_deg"]
    if overlays is not None:
        overlays.mkdir(parents=True, exist_ok=True)
        drawn = photo.pixels[:, :, ::-1].copy()
        if found.found:
            cv2.polylines(drawn, [np.round(found.polygon_px).astype(np.int32)], True, (0, 0, 255), 2)
        cv2.imwrite(str(overlays / f"{name}.png"), drawn)
    return result


def main() -> None:
    """Print the table and what it sums up to."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path, nargs="?", default=DEMO)
    parser.add_argument("--overlays", type=Path, default=None)
    wanted = parser.parse_args()
    known = {n: t for n, t in truths(wanted.folder).items() if t.get("role", "front") in ROLES}
    print(f"{'photograph':24} {'overlap':>8} {'sure':>5} {'width':>8} {'height':>9} {'tilt':>6} {'time':>7}")
    results = []
    for name, truth in known.items():
        one = judged(wanted.folder, name, truth, wanted.overlays)
        results.append(one)
        print(
            f"{name:24} {one['iou']:8.3f} {one['sure']:5.2f} {one['width']:+7.2f}% {one['height']:+6.1f} mm "
            f"{one.get('tilt', np.nan):+6.1f} {one['seconds']:5.2f} s"
        )
    if results:
        overlap = np.array([one["iou"] for one in results])
        width = np.abs([one["width"] for one in results])
        print(f"overlap: median {np.median(overlap):.3f}, worst {overlap.min():.3f}, of {len(results)}")
        print(f"greatest diameter within 2 %: {np.sum(width <= 2)} of {np.sum(np.isfinite(width))}")


if __name__ == "__main__":
    main()
