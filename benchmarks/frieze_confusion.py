"""
How often the symmetry of a woven band is told right: python benchmarks/frieze_confusion.py [--bands N] [--seed N]

Draws bands of each of the seven frieze groups, stitch by stitch, with irregular hand work: stitches of uneven size and
shade, some in the wrong colour, rows that run a little uphill, figures set a stitch off, light from one side. Each
goes the way of a rollout through `design_of`. Prints what was told of each group, then how much of what was told is
right. Figures that nearly have one more symmetry than their group are not drawn: nobody could tell them.
Seed 7001 is the one the thresholds of `weave.friezes` were set on; report on another.
"""

from __future__ import annotations

import argparse
from collections import Counter

import numpy as np
from numpy.typing import NDArray

from weftglass.weave.design import design_of
from weftglass.weave.friezes import GROUPS, Symmetry

Cells = NDArray[np.bool_]
PX_PER_MM = 3.0
NEARLY = 0.25  # of the figure: what an operation that is not the group's has to leave different
MARGIN_ROWS = 9
GENERATED_BY = {"p2mg": "vg", "p2mm": "vh"}  # the others by their own operations
TOLD_NOTHING = ("can't tell", "no repeat")


def strokes(tall: int, wide: int, rng: np.random.Generator) -> Cells:
    """A figure of a few stepped strokes on a grid of stitches."""
    figure = np.zeros((tall, wide), dtype=bool)
    for _ in range(int(rng.integers(1, 4))):
        row, column = int(rng.integers(0, tall)), int(rng.integers(0, max(wide // 2, 2)))
        down, right = (int(v) for v in rng.choice([(0, 1), (1, 1), (-1, 1), (1, 0), (1, -1)]))
        for _ in range(int(rng.integers(4, tall + 4))):
            for r, c in ((row, column), (row, column + 1)):
                if 0 <= r < tall and 0 <= c < wide:
                    figure[r, c] = True
            if rng.uniform() < 0.2:
                down, right = (int(v) for v in rng.choice([(0, 1), (1, 1), (-1, 1), (1, 0), (-1, 0)]))
            row, column = row + down, column + right
    return figure


def moved(figure: Cells, operation: str, shift: int) -> Cells:
    """The image of a repeat: v upright mirror, h level mirror, r half-turn, g glide."""
    if operation == "g":
        return np.roll(figure[::-1], figure.shape[1] // 2, axis=1)
    image = {"v": figure[:, ::-1], "h": figure[::-1], "r": figure[::-1, ::-1]}[operation]
    return image if operation == "h" else np.roll(image, shift, axis=1)


def differs(figure: Cells, operation: str) -> float:
    """Share of the figure that an operation leaves different, at its best axis."""
    shifts = range(figure.shape[1]) if operation in "vr" else (0,)
    return min(float((figure ^ moved(figure, operation, s)).sum()) for s in shifts) / (2 * figure.sum())


def motif_of(group: str, rng: np.random.Generator) -> Cells:
    """One repeat that has the operations of its group and no other, nor comes again within itself."""
    has = GROUPS[group][0]
    while True:
        tall, wide = int(rng.integers(7, 14)), 2 * int(rng.integers(5, 12))
        figure = strokes(tall, wide, rng)
        for operation in GENERATED_BY.get(group, has) * 2:  # twice: closed under all of them together
            figure = figure | moved(figure, operation, 0)
        filled = figure.mean()
        if not 0.12 < filled < 0.6 or not (figure.any(axis=1)[[0, -1]]).all():
            continue
        own = min((differs(figure, o) for o in "vhrg" if o not in has), default=1.0)
        again = min(float((figure ^ np.roll(figure, s, 1)).sum()) / (2 * figure.sum()) for s in range(2, wide - 1))
        if own > NEARLY and again > NEARLY and max((differs(figure, o) for o in has), default=0.0) == 0:
            return figure


def drawn(figure: Cells, rng: np.random.Generator) -> tuple[NDArray[np.uint8], float, float]:
    """A rollout whose only figured band repeats the figure; its girth in mm, and stitches per cm."""
    tall, wide = figure.shape
    stitch, row = rng.uniform(1.6, 3.0), rng.uniform(1.4, 2.6)
    repeats = max(3, round(rng.uniform(190, 330) / (wide * stitch)))
    girth = repeats * wide * stitch
    rows = tall + 2 * MARGIN_ROWS
    count = repeats * wide
    colour = np.zeros((rows, count), dtype=bool)
    for k in range(repeats):
        off = int(rng.choice([-1, 0, 1], p=[0.06, 0.88, 0.06]))
        colour[MARGIN_ROWS : MARGIN_ROWS + tall, (np.arange(wide) + k * wide + off) % count] = figure
    wrong = rng.uniform(size=colour.shape) < rng.uniform(0.002, 0.015)
    wrong[:MARGIN_ROWS], wrong[MARGIN_ROWS + tall :] = False, False
    colour ^= wrong
    edges = np.concatenate([[0.0], np.cumsum(row * rng.normal(1, 0.05, rows).clip(0.8, 1.2))])
    y, x = np.mgrid[: int(edges[-1] * PX_PER_MM), : int(girth * PX_PER_MM)] / PX_PER_MM
    climb = rng.uniform(0, 0.5) * row * np.sin(2 * np.pi * x / girth + rng.uniform(0, 6.3))
    at_row = np.clip(np.searchsorted(edges, y + climb, side="right") - 1, 0, rows - 1)
    lead = np.cumsum(rng.normal(0, 0.10, rows)) + 0.5 * (np.arange(rows) % 2) * (rng.uniform() < 0.5)
    sway = 0.12 * np.sin(2 * np.pi * x / girth * rng.integers(2, 6) + rng.uniform(0, 6.3))
    place = x / stitch + lead[at_row] + sway
    at_stitch = np.floor(place).astype(int) % count
    inks = np.array([rng.uniform((170, 140, 90), (225, 200, 160)), rng.uniform((30, 20, 10), (110, 60, 50))])
    shade = 1 + rng.normal(0, 0.06, colour.shape)
    light = 1 + 0.12 * np.cos(2 * np.pi * x / girth + rng.uniform(0, 6.3))
    groove = 1 - 0.25 * (np.abs(place % 1 - 0.5) > 0.42) - 0.2 * ((y + climb - edges[at_row]) < 0.15 * row)
    face = inks[colour[at_row, at_stitch].astype(int)] * (shade[at_row, at_stitch] * light * groove)[..., None]
    picture = np.clip(face + rng.normal(0, 3, face.shape), 0, 255).astype(np.uint8)
    return picture, girth, 10 / stitch


def told_of(figure: Cells, rng: np.random.Generator) -> Symmetry | None:
    """What the design study says of the band's symmetry; None where it found no repeat."""
    picture, girth, stitches = drawn(figure, rng)
    height = np.linspace(len(picture) / PX_PER_MM, 0, len(picture))
    study = design_of(
        picture, np.ones(picture.shape[:2], dtype=bool), px_per_mm=PX_PER_MM, height_mm=height,
        girth_at_mm=np.full(len(picture), girth), stitches_per_cm=(stitches, 0.05 * stitches),
    )  # fmt: skip
    figured = [band for band in study.bands if band.symmetry is not None]
    return max(figured, key=lambda band: band.tall_mm).symmetry if figured else None


def main() -> None:
    """Draw, study, count."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--bands", type=int, default=30)
    parser.add_argument("--seed", type=int, default=7002)
    asked = parser.parse_args()
    columns = (*GROUPS, *TOLD_NOTHING)
    print("drawn \\ told " + "".join(f"{name:>11}" for name in columns))
    right = told = nothing = 0
    for number, group in enumerate(GROUPS):
        rng = np.random.default_rng([asked.seed, number])
        counts: Counter[str] = Counter()
        for _ in range(asked.bands):
            symmetry = told_of(motif_of(group, rng), rng)
            counts["no repeat" if symmetry is None else symmetry.group or "can't tell"] += 1
        print(f"{group:12} " + "".join(f"{counts[name] or '.':>11}" for name in columns), flush=True)
        right += counts[group]
        nothing += counts["can't tell"] + counts["no repeat"]
        told += asked.bands - counts["can't tell"] - counts["no repeat"]
    print(f"told {told} of {told + nothing} bands, {right} of them right ({100 * right / max(told, 1):.0f} %)")


if __name__ == "__main__":
    main()
