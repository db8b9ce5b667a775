"""
Outline and profile on photographs whose truth is known: python benchmarks/outline_accuracy.py [FOLDER] [--told]
[--silhouettes] [--ends-only] [--box MARGIN] [--overlays OUT]

FOLDER holds NAME.jpg or NAME.heic with NAME.json or NAME.truth.json beside it, or a truth.json for all; default: the
demonstration's photographs. Prints, per photograph, the overlap with the true silhouette (intersection over union), the
errors of the greatest diameter and of the height, at which place the true form comes when only this outline with its
scale is asked about, and the seconds tracing took. Height is that of the whole piece, from the plane it stands on to
whatever is highest, lip or covering, as in the truth. With --told, the body's section (round, square, flat) is given as
a person who holds the piece would; with --silhouettes the true silhouette is measured instead of the traced one;
with --ends-only foot and lip alone tell the tilt, not the rows of the covering; with --box the piece is sought in a box
round it, larger on every side by so much of the piece's height (0.04 is drawn close, 0.15 loosely).
Outlines that call themselves doubtful are marked and summed apart as well: a
doubtful outline is one a person is asked to draw. Photographs without a scale bar in their truth are the seller's that
nobody can use: they are listed, and left out of the sums.
"""

from __future__ import annotations

import argparse
import json
import time
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from weftglass import Evidence, FormLibrary, identify
from weftglass.evidence import Outline
from weftglass.photos import (
    MeasuredOutline,
    SectionHint,
    measure_outline,
    read_photograph,
    scale_from_bar,
    trace_outline,
)

DEMO = Path(__file__).parents[1] / "src" / "weftglass" / "demo" / "data"
ROLES = ("front", "side")
SECTIONS = {"round": "round", "square": "square", "rectangle": "flat"}


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
    for picture in sorted([*folder.glob("*.jpg"), *folder.glob("*.heic")]):
        for file in (picture.with_suffix(".json"), picture.with_suffix(".truth.json")):
            if file.exists():
                alone[picture.stem] = json.loads(file.read_text())
    return alone


def picture_file(folder: Path, name: str) -> Path:
    """Where the photograph of that name is."""
    beside = [folder / f"{name}{ending}" for ending in (".jpg", ".heic")]
    return next((file for file in beside if file.exists()), folder / "photographs" / f"{name}.jpg")


def true_mask(truth: dict[str, Any], folder: Path, name: str, shape: tuple[int, int]) -> np.ndarray:
    """The true silhouette as a picture of 0 and 1."""
    if "polygon_px" in truth:
        mask = np.zeros(shape, np.uint8)
        cv2.fillPoly(mask, [np.round(np.array(truth["polygon_px"]) * 16).astype(np.int32)], 1, shift=4)
        return mask
    found = cv2.imread(str(folder / f"{name}-mask.png"), cv2.IMREAD_UNCHANGED)
    layer = found[..., -1] if found.ndim == 3 else found
    return (layer > 127).astype(np.uint8)


def silhouette_px(mask: np.ndarray) -> np.ndarray:
    """Outline of a mask as a polygon, to a quarter of a pixel."""
    fine = cv2.resize(mask.astype(np.uint8) * 255, None, fx=4, fy=4, interpolation=cv2.INTER_LINEAR)
    curves, _ = cv2.findContours((fine > 127).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    return (max(curves, key=len)[:, 0].astype(np.float64) + 0.5) / 4 - 0.5


def box_about(mask: np.ndarray, margin: float) -> tuple[float, float, float, float]:
    """The box round a silhouette, larger on every side by a share of its height."""
    y, x = np.nonzero(mask)
    more = margin * float(np.ptp(y))
    return x.min() - more, y.min() - more, x.max() + more, y.max() + more


def place_of_truth(measured: MeasuredOutline, truth: dict[str, Any], forms: FormLibrary) -> float:
    """At which place the true form comes by this outline alone, its bare glass marked; nan where it is not listed."""
    if truth.get("form") not in forms:
        return float("nan")
    outline = Outline.of(
        measured.points,
        view=truth.get("role", "front"),
        sd_mm=measured.sd_mm,
        scale_sd=measured.scale_sd,
        bare=[tuple(pair) for pair in truth["bare"]],
        hidden=measured.hidden,
        distance_mm=measured.axis["distance_mm"],
    )
    listed = [one.form for one in identify(Evidence(piece=truth["piece"], outlines=(outline,)), forms).candidates]
    return float(listed.index(truth["form"]) + 1) if truth["form"] in listed else float(len(forms))


def section_told(truth: dict[str, Any], forms: FormLibrary) -> SectionHint | None:
    """What a person sees of the section of a listed form; None for one that has no word."""
    kind = forms[truth["form"]].section.kind if truth.get("form") in forms else ""
    return SectionHint(SECTIONS[kind]) if kind in SECTIONS else None


def judged(
    folder: Path, name: str, truth: dict[str, Any], wanted: argparse.Namespace, forms: FormLibrary
) -> dict[str, float]:
    """Trace and measure one photograph and compare it with the truth."""
    photo = read_photograph(picture_file(folder, name).read_bytes(), name)
    true = true_mask(truth, folder, name, photo.pixels.shape[:2]).astype(bool)
    box = None if wanted.box is None else box_about(true, wanted.box)
    begin = time.perf_counter()
    found = trace_outline(photo, box=box)
    seconds = time.perf_counter() - begin
    overlap = float((found.mask & true).sum() / max(1, (found.mask | true).sum()))
    result = {
        "iou": overlap,
        "sure": found.confidence,
        "doubtful": float(bool(found.warnings)),
        "seconds": seconds,
        "width": np.nan,
        "height": np.nan,
        "place": np.nan,
    }
    bar = truth.get("scale_bar")
    if bar and found.found:
        (x1, y1), (x2, y2) = bar["ends_px"]
        scale = scale_from_bar(x1, y1, x2, y2, bar["mm"])
        size = (photo.width_px, photo.height_px)
        section = section_told(truth, forms) if wanted.told else None
        polygon = silhouette_px(true) if wanted.silhouettes else found.polygon_px
        measured = measure_outline(
            polygon,
            scale=scale,
            focal_35mm=photo.focal_35mm,
            image_size=size,
            section=section,
            pixels=None if wanted.ends_only else photo.pixels,
        )
        outer = np.array(truth["outer_profile"])
        result["width"] = 100 * (measured.points[:, 1].max() / outer[:, 1].max() - 1)
        result["height"] = 100 * (measured.height_mm / truth["height_mm"] - 1)
        result["place"] = place_of_truth(measured, truth, forms)
        result["tilt_sd"] = measured.axis["tilt_sd_deg"]
        result["height_sd"] = 100 * measured.axis["height_sd_mm"] / measured.height_mm
        result["tilt"] = measured.axis["tilt_deg"] - truth["camera"]["tilt_down_deg"]
    if wanted.overlays is not None:
        wanted.overlays.mkdir(parents=True, exist_ok=True)
        drawn = photo.pixels[:, :, ::-1].copy()
        if found.found:
            cv2.polylines(drawn, [np.round(found.polygon_px).astype(np.int32)], True, (0, 0, 255), 2)
        cv2.imwrite(str(wanted.overlays / f"{name}.png"), drawn)
    return result


def main() -> None:
    """Print the table and what it sums up to."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path, nargs="?", default=DEMO)
    parser.add_argument("--overlays", type=Path, default=None)
    parser.add_argument("--told", action="store_true")
    parser.add_argument("--silhouettes", action="store_true")
    parser.add_argument("--ends-only", action="store_true")
    parser.add_argument("--box", type=float, default=None, metavar="MARGIN")
    wanted = parser.parse_args()
    known = {n: t for n, t in truths(wanted.folder).items() if t.get("role", "front") in ROLES}
    forms = FormLibrary.starter()
    print(
        f"{'photograph':20} {'overlap':>8} {'sure':>5} {'width':>8} {'height':>8} {'tilt':>6} {'place':>6} {'time':>7}"
    )
    results = []
    for name, truth in known.items():
        if not picture_file(wanted.folder, name).exists():
            continue
        one = judged(wanted.folder, name, truth, wanted, forms)
        if truth.get("scale_bar"):
            results.append(one)
        print(
            f"{name:20} {one['iou']:8.3f} {one['sure']:5.2f} {one['width']:+7.2f}% {one['height']:+7.2f}% "
            f"{one.get('tilt', np.nan):+6.1f} {one['place']:6.0f} {one['seconds']:5.2f} s"
            + (" doubtful" if one["doubtful"] else ""),
            flush=True,
        )
    if results:
        summed_up(results, f"of {len(results)} photographs with a scale bar:")
    sure = [one for one in results if not one["doubtful"]]
    if sure and len(sure) < len(results):
        summed_up(sure, f"of the {len(sure)} whose outline is not called doubtful:")


def summed_up(results: list[dict[str, float]], title: str) -> None:
    """Print medians and worsts over photographs that can be used."""
    keys = ("iou", "width", "height", "place", "tilt", "tilt_sd", "height_sd")
    overlap, width, height, place, tilt, tilt_sd, height_sd = (
        np.array([one.get(key, np.nan) for one in results]) for key in keys
    )
    width, height, place = np.abs(width), np.abs(height), place[np.isfinite(place)]
    print(title)
    at_least = f"at least 0.93 on {np.sum(overlap >= 0.93)}"
    print(f"overlap: median {np.median(overlap):.3f}, worst {overlap.min():.3f}, {at_least}")
    print(f"greatest diameter: median error {np.nanmedian(width):.2f} %, within 2 % on {np.sum(width <= 2)}")
    print(
        f"height: median error {np.nanmedian(height):.2f} %, within 1 % on {np.sum(height <= 1)}, "
        f"within twice its stated sd on {np.sum(height <= 2 * height_sd)}"
    )
    print(
        f"tilt: median error {np.nanmedian(np.abs(tilt)):.1f} degrees (signed {np.nanmedian(tilt):+.1f}), "
        f"within twice its stated sd on {np.sum(np.abs(tilt) <= 2 * tilt_sd)}"
    )
    if len(place):
        print(f"true form among the first three: {np.sum(place <= 3)} of {len(place)} whose form is listed")


if __name__ == "__main__":
    main()
