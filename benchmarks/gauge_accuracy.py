"""
Gauge on close-ups whose truth is known: python benchmarks/gauge_accuracy.py FOLDER [--technique no] [--radius yes]

FOLDER holds NAME.jpg with NAME.truth.json beside it, as `tools/render/closeups.py` writes them. Prints every count
against the truth, then the median and 95th percentile of the errors, counts off by a whole harmonic, how often the
truth lies within two standard deviations, leans, and pictures that carry no count but were given one. With
``--technique no`` the technique is left to the program, with ``--radius yes`` the covering's radius is given to it.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

import numpy as np

from weftglass.photos import read_photograph
from weftglass.weave import Gauge, Known, gauge_of

HARMONIC = 0.25  # an error beyond this is a wrong multiple, not a wrong reading


def judged(file: Path, truth: dict[str, Any], technique: bool, radius: bool) -> Gauge:
    """Count one close-up."""
    photo = read_photograph(file.read_bytes(), file.name)
    known = Known(radius_mm=truth["radius_mm"]) if radius else None
    kind = truth["technique"] if technique else None
    return gauge_of(photo.pixels, truth["mm_per_px"], technique=kind, known=known, where=file.name)


def line_of(name: str, truth: dict[str, Any], gauge: Gauge) -> str:
    """One picture's counts beside the truth."""
    cells = [f"{name:14} {truth['technique']:8}"]
    for what in ("rows", "stitches"):
        value, sd = getattr(gauge, f"{what}_per_cm"), getattr(gauge, f"{what}_sd")
        true = truth[f"{what}_per_cm"]
        cells.append(f"{what} {true:6.3f} " + ("none" if value is None else f"{value:6.3f} ± {sd:.3f}"))
    cells.append(f"lean {truth['lean'] or 'none'} / {gauge.lean or 'none'}")
    return "  ".join(cells) + (f"  ({gauge.reason})" if gauge.reason else "")


def summed(errors: list[float], within: list[bool], what: str) -> None:
    """The figures of the criterion for one kind of count."""
    if not errors:
        return
    size = np.abs(errors)
    print(
        f"{what}: {len(errors)} counts, median error {100 * np.median(size):.2f} %, 95 % within "
        f"{100 * np.percentile(size, 95):.2f} %, largest {100 * size.max():.1f} %, mean {100 * np.mean(errors):+.2f} %,"
        f" off by a harmonic {int((size > HARMONIC).sum())}, truth within two sd {100 * np.mean(within):.0f} %"
    )


def main() -> None:
    """Judge every close-up of a folder."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--technique", choices=("yes", "no"), default="yes")
    parser.add_argument("--radius", choices=("yes", "no"), default="no")
    asked = parser.parse_args()
    errors: dict[str, list[float]] = {"rows": [], "stitches": []}
    within: dict[str, list[bool]] = {"rows": [], "stitches": []}
    missing = {"rows": 0, "stitches": 0}
    leans = {"right": 0, "wrong": 0, "none": 0, "invented": 0}
    empty = {"refused": 0, "counted": 0}
    for file in sorted(asked.folder.glob("*.jpg")):
        beside = file.with_suffix(".truth.json")
        if not beside.exists():
            continue
        truth = json.loads(beside.read_text())
        gauge = judged(file, truth, asked.technique == "yes", asked.radius == "yes")
        if truth["without"]:
            counted = gauge.rows_per_cm is not None or gauge.stitches_per_cm is not None
            empty["counted" if counted else "refused"] += 1
            print(f"{file.stem:14} {truth['without']}: {'COUNTED' if counted else gauge.reason}", flush=True)
            continue
        print(line_of(file.stem, truth, gauge), flush=True)
        for what, kept in errors.items():
            value, sd = getattr(gauge, f"{what}_per_cm"), getattr(gauge, f"{what}_sd")
            if value is None:
                missing[what] += 1
                continue
            kept.append(value / truth[f"{what}_per_cm"] - 1)
            within[what].append(abs(value - truth[f"{what}_per_cm"]) <= 2 * sd)
        if truth["lean"] is None:
            leans["invented"] += gauge.lean is not None
        else:
            leans["none" if gauge.lean is None else "right" if gauge.lean == truth["lean"] else "wrong"] += 1
    for what in errors:
        summed(errors[what], within[what], what)
    summed(errors["rows"] + errors["stitches"], within["rows"] + within["stitches"], "both")
    print(f"not counted though it could be: {missing['rows']} rows, {missing['stitches']} stitches")
    print(
        f"lean: {leans['right']} right, {leans['wrong']} wrong, {leans['none']} not told, {leans['invented']} invented"
    )
    print(f"pictures that carry no count: {empty['refused']} refused, {empty['counted']} given a number")


if __name__ == "__main__":
    main()
