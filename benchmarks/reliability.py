"""
From kept answers to the table and the picture of how far probabilities can be believed.

    python benchmarks/inside_accuracy.py --keep FOLDER ...
    python benchmarks/reliability.py FOLDER [--seed 20261125]

Reads the answers that `inside_accuracy.py` kept, each counting alike, and writes
`src/weftglass/inside/data/reliability.json` and `docs/pictures/reliability.svg`.
"""

from __future__ import annotations

import argparse
import json
from itertools import pairwise
from pathlib import Path

import numpy as np
from conditions import CONDITIONS
from inside_accuracy import Row, kept_rows
from numpy.typing import NDArray

from weftglass.inside.identify import ENGINE_VERSION

FloatArray = NDArray[np.float64]
ROOT = Path(__file__).resolve().parent.parent
EDGES = (0.0, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.99, 1.0)
SIZE, MARGIN = 420, 56


def table(rows: list[Row]) -> list[dict[str, float | int]]:
    """Classes with at least one answer, the least sure first."""
    first = np.array([row.first for row in rows])
    right = np.array([row.rank == 1 for row in rows])
    found: list[dict[str, float | int]] = []
    for low, high in pairwise(EDGES):
        own = (first >= low) & ((first < high) | (high == EDGES[-1]))
        if own.any():
            claimed = round(float(first[own].mean()), 4)
            row = {
                "low": low,
                "high": high,
                "claimed": claimed,
                "right": int(right[own].sum()),
                "answers": int(own.sum()),
            }
            found.append(row)
    return found


def interval(right: int, answers: int) -> tuple[float, float]:
    """95 % interval of a share (Wilson 1927)."""
    z, share = 1.96, right / answers
    middle = (share + z * z / (2 * answers)) / (1 + z * z / answers)
    half = z * np.sqrt(share * (1 - share) / answers + z * z / (4 * answers**2)) / (1 + z * z / answers)
    return float(middle - half), float(middle + half)


def picture(classes: list[dict[str, float | int]], conditions: int) -> str:
    """The reliability picture as SVG, readable on light and dark."""

    def at(x: float, y: float) -> tuple[float, float]:
        return MARGIN + x * (SIZE - 1.5 * MARGIN), SIZE - MARGIN - y * (SIZE - 1.5 * MARGIN)

    answers = sum(int(row["answers"]) for row in classes)
    (x0, y0), (x1, y1) = at(0, 0), at(1, 1)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {SIZE} {SIZE}" role="img" '
        'aria-labelledby="t d" font-family="sans-serif" font-size="12">',
        '<title id="t">Claimed and true share of right answers</title>',
        f'<desc id="d">{answers} simulated answers under {conditions} conditions. Points on the slanting line: '
        "probabilities mean what they say. Bars are 95 % intervals.</desc>",
        "<style>svg{background:#fff;color:#222}"
        "@media (prefers-color-scheme:dark){svg{background:#1b1a18;color:#e8e4da}}"
        "line,path{stroke:currentColor}text,circle{fill:currentColor}</style>",
        f'<path d="M{x0} {y1}V{y0}H{x1}" fill="none"/>',
        f'<line x1="{x0}" y1="{y0}" x2="{x1}" y2="{y1}" stroke-dasharray="4 4" opacity="0.6"/>',
    ]
    for tick in (0.0, 0.25, 0.5, 0.75, 1.0):
        x, _ = at(tick, 0)
        _, y = at(0, tick)
        parts.append(f'<text x="{x:.1f}" y="{y0 + 18:.1f}" text-anchor="middle">{100 * tick:.0f} %</text>')
        parts.append(f'<text x="{x0 - 8:.1f}" y="{y + 4:.1f}" text-anchor="end">{100 * tick:.0f} %</text>')
    for row in classes:
        x, y = at(float(row["claimed"]), int(row["right"]) / int(row["answers"]))
        low, high = interval(int(row["right"]), int(row["answers"]))
        parts.append(f'<line x1="{x:.1f}" y1="{at(0, low)[1]:.1f}" x2="{x:.1f}" y2="{at(0, high)[1]:.1f}"/>')
        parts.append(
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4"><title>{row["right"]} of {row["answers"]}</title></circle>'
        )
    middle = at(0.5, 0)[0]
    parts.append(f'<text x="{middle}" y="{SIZE - 14}" text-anchor="middle">probability given to the first form</text>')
    parts.append(f'<text x="{x0 + 8}" y="{y1 - 8}">share of such answers that were right</text>')
    return "\n".join([*parts, "</svg>", ""])


def main() -> None:
    """Write the table and the picture."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seed", type=int, default=20261125)
    wanted = parser.parse_args()
    every = {name: kept_rows(wanted.folder / f"{name}-{wanted.seed}.jsonl") for name in CONDITIONS}
    every = {name: rows for name, rows in every.items() if rows}
    rows = [row for part in every.values() for row in part]
    classes = table(rows)
    made = {
        "command": f"benchmarks/inside_accuracy.py --seed {wanted.seed} --keep F; benchmarks/reliability.py F",
        "seed": wanted.seed,
        "engine_version": ENGINE_VERSION,
        "answers": {name: len(part) for name, part in every.items()},
        "words": "Simulated pieces whose vessel is in the library; probabilities are among the forms listed.",
    }
    target = ROOT / "src/weftglass/inside/data/reliability.json"
    target.write_text(json.dumps({"made": made, "classes": classes}, indent=1) + "\n", encoding="utf-8")
    drawn = ROOT / "docs/pictures/reliability.svg"
    drawn.write_text(picture(classes, len(every)), encoding="utf-8")
    for row in classes:
        share = f"claimed {row['claimed']:.3f}, right {row['right']} of {row['answers']}"
        print(f"{row['low']:.2f} to {row['high']:.2f}: {share}")


if __name__ == "__main__":
    main()
