"""
Rollouts of pieces photographed on a turntable whose truth is known: python benchmarks/rollout_accuracy.py FOLDER [OUT]

FOLDER holds what tools/render/turntable.py writes. Prints, for each piece, the error of the turns found, of the girth,
of each band's repeats and their width, what the turns closed to, and how much the seams show (1: no more than any other
line). With OUT the marked rollouts are written there.
"""

from __future__ import annotations

import json
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np

from weftglass.desk.rolling import RolloutChoice, marks_of, roll_out_photographs, study_rollout
from weftglass.photos import Rollout, picture_bytes, read_photograph, ruled_picture
from weftglass.weave.design import Band


def true_girth(truth: dict[str, Any], z: float) -> float:
    """Girth of the covering's outer face near a height: where tight work stands out most within 4 mm, on average."""
    rows = np.array(truth["girth_mm"])
    near = rows[np.abs(rows[:, 0] - z) <= 4, 1]
    return float(np.mean(near))


def judged(folder: Path, truth: dict[str, Any], out: Path | None) -> None:
    """Roll one piece out and print how it compares with its truth."""
    piece, turns = truth["piece"], np.array(truth["turns_deg"])
    files = [folder / f"{piece}-turn-{k + 1:02d}.jpg" for k in range(len(turns))]
    photos = [read_photograph(file.read_bytes(), file.name) for file in files]
    (x1, y1), (x2, y2) = truth["scale_bar"]["ends_px"]
    top = truth["to"] * (truth["height_mm"] - truth["lift_mm"]) + truth["lift_mm"]
    choice = RolloutChoice(heights_mm=(5.0, top - 4), stitches_per_cm=truth["gauge"]["stitches_per_cm"])
    begin = time.perf_counter()
    rolled = roll_out_photographs(photos, choice, scale_bar=(x1, y1, x2, y2, truth["scale_bar"]["mm"]))
    study = study_rollout(rolled, choice)
    off = rolled.turn_deg - turns
    rows = np.array(truth["girth_mm"])
    widest = float(rolled.height_mm[int(np.argmax(rolled.girth_at_mm))])
    girth_off = 100 * (rolled.girth_mm / true_girth(truth, widest) - 1)
    even = 360.0 * np.arange(len(turns)) / len(turns) - turns
    print(f"{piece}: {len(turns)} photographs, {rolled.px_per_mm:g} pixels per mm, {time.perf_counter() - begin:.0f} s")
    print(f"  turns: {np.abs(off).max():.2f} deg off at most, {np.sqrt(np.mean(off**2)):.2f} rms "
          f"(taken as even: {np.abs(even).max():.2f}, {np.sqrt(np.mean(even**2)):.2f})")  # fmt: skip
    print(f"  girth {rolled.girth_mm:.1f} ± {rolled.girth_sd_mm:.1f} mm, {girth_off:+.2f} % off; "
          f"turns closed to {100 * (rolled.closing or 0):+.2f} %")  # fmt: skip
    print(f"  seams: {rolled.seam_ratio:.2f} of the colour steps elsewhere; "
          f"{100 * (rolled.seam_rank or 0):.0f} % of other lines show more")  # fmt: skip
    figured = [band for band in study.bands if band.figured]
    for item in sorted(truth["motifs"], key=lambda one: one["at_share"]):
        _band_line(item, figured, rolled, truth, (float(rows[0, 0]), top))
    if out is not None:
        out.mkdir(parents=True, exist_ok=True)
        (out / f"{piece}-rollout.png").write_bytes(picture_bytes(ruled_picture(rolled, marks_of(rolled, study))))
        (out / f"{piece}-plain.png").write_bytes(picture_bytes(ruled_picture(rolled)))


def _band_line(
    item: dict[str, Any], figured: list[Band], rolled: Rollout, truth: dict[str, Any], cover: tuple[float, float]
) -> None:
    """The found band nearest to where a motif was woven, against its truth."""
    at = cover[0] + item["at_share"] * (cover[1] - cover[0])
    name = f"  {item['motif']} woven {item['repeats']} times at about {at:.0f} mm:"
    if not figured:
        print(f"{name} no figured band found")
        return
    band = min(figured, key=lambda one: abs((one.low_mm + one.high_mm) / 2 - at))
    if item["repeats"] == 1 and not band.low_mm - 10 < at < band.high_mm + 10:
        print(f"{name} too little of its rows to be a band (right)")
        return
    place = f"band {band.low_mm:.0f} to {band.high_mm:.0f} mm"
    if item["repeats"] == 1:
        said = "no repeat" if band.repeats_range is None else f"{band.repeats} repeats"
        print(f"{name} {place}, {said} ({'right' if band.repeats_range is None else 'WRONG'})")
        return
    if band.repeats is None or band.width_mm is None:
        print(f"{name} {place}, no repeats found (WRONG)")
        return
    width = true_girth(truth, (band.low_mm + band.high_mm) / 2) / item["repeats"]
    right = "right" if band.repeats == item["repeats"] else "WRONG"
    symmetry = "" if band.symmetry is None else f"; symmetry {band.symmetry.group or band.symmetry.words}"
    print(f"{name} {place}, {band.repeats} repeats ({right}), width {band.width_mm:.1f} ± {band.width_sd_mm:.1f} mm, "
          f"{100 * (band.width_mm / width - 1):+.2f} % off, one to the next ± {band.uneven_mm:.1f} mm, "
          f"chance {band.chance:.3f}{symmetry}")  # fmt: skip


def main(folder: str, out: str | None = None) -> None:
    """Judge every piece of a folder."""
    for file in sorted(Path(folder).glob("*-turntable.json")):
        judged(Path(folder), json.loads(file.read_text()), None if out is None else Path(out))


if __name__ == "__main__":
    main(*sys.argv[1:])
