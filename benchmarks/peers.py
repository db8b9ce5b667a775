"""
How often does the engine name the wrong vessel, against general-purpose ways to match contours?

    python benchmarks/peers.py [--answers 400] [--seed 91011] [--jobs 2] [--kinds twins,broad] [--keep FOLDER]
                               [--minutes 600]

Broad library of 1,000 and 100 families of 10 near-twins; every method sees the same simulated outlines. Prints the
share of answers whose first place is wrong, for each peer in its better way of use, for the engine, and the ratio.
With --keep answers are written down as they come and the next run of the same seed goes on from there.
"""

from __future__ import annotations

import argparse
import json
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path

import numpy as np
from peer_methods import Contours, methods
from simulated import broad_library, covered, individual, twins_library

from weftglass.inside.bank import FormBank
from weftglass.inside.posterior import posterior
from weftglass.vessels import Form

OURS = "weftglass"


@dataclass(frozen=True)
class Row:
    """One answer: whether each method's first place was wrong, in each way of using it."""

    number: int
    wrong: dict[str, list[bool]]


def library_of(kind: str, count: int, rng: np.random.Generator) -> list[Form]:
    """``count`` forms sampled widely, or in families of ten near-twins."""
    return broad_library(count, rng) if kind == "broad" else twins_library(count // 10, 10, rng)


def run(kind: str, count: int, seed: int, keep: Path | None, stop: float, numbers: list[int]) -> list[Row]:
    """Answers with these numbers, until a time; written as they come."""
    forms = library_of(kind, count, np.random.default_rng(seed))
    bank = FormBank.of(forms)
    peers = methods(Contours.of([np.asarray(form.profile.points) for form in forms]))
    rows: list[Row] = []
    for number in numbers:
        if time.time() > stop:
            break
        rng = np.random.default_rng([seed, number])
        truth = int(rng.integers(len(forms)))
        case = covered(individual(forms[truth], rng), rng)
        outline = np.asarray(case.evidence.outlines[0].points)
        wrong = {
            name: [int(np.argmin(distance(outline))) != truth for distance in ways] for name, ways in peers.items()
        }
        wrong[OURS] = [int(np.argmax(posterior(case.evidence, bank).probability)) != truth]
        rows.append(Row(number, wrong))
        if keep is not None:
            with keep.open("a", encoding="utf-8") as file:
                file.write(json.dumps(asdict(rows[-1])) + "\n")
    return rows


def kept_rows(keep: Path | None) -> list[Row]:
    """Answers of earlier runs."""
    if keep is None or not keep.is_file():
        return []
    return [Row(**json.loads(line)) for line in keep.read_text(encoding="utf-8").splitlines()]


def merged(rows: list[Row]) -> dict[str, tuple[float, int]]:
    """Share of wrong first places of each method in its better way of use, and the number of answers."""
    return {
        name: (float(np.mean([row.wrong[name] for row in rows], axis=0).min()), len(rows)) for name in rows[0].wrong
    }


def report(kind: str, shares: dict[str, tuple[float, int]]) -> list[str]:
    """Lines of the table, best peer last, and the ratio that matters."""
    ours, count = shares[OURS]
    peers = sorted(((share, name) for name, (share, _) in shares.items() if name != OURS), reverse=True)
    best, best_name = peers[-1]
    lines = [f"{kind} library, {count} answers: share of wrong first places"]
    lines += [f"  {name:40s} {share:6.3f}" for share, name in peers]
    sd = float(np.sqrt(ours * (1 - ours) / count))
    lines.append(f"  {OURS:40s} {ours:6.3f} +- {sd:.3f}")
    lines.append(f"  errors over the best peer's ({best_name}): {ours / max(best, 1e-9):.2f}")
    return lines


def main() -> None:
    """Print both tables."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("--answers", type=int, default=400)
    parser.add_argument("--forms", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=91011)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--kinds", default="twins,broad")
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--minutes", type=float, default=600.0)
    wanted = parser.parse_args()
    stop = time.time() + 60.0 * wanted.minutes
    with ProcessPoolExecutor(wanted.jobs) as pool:
        for kind in wanted.kinds.split(","):
            keep = None if wanted.keep is None else wanted.keep / f"peers-{kind}-{wanted.forms}-{wanted.seed}.jsonl"
            rows = kept_rows(keep)
            known = {row.number for row in rows}
            left = [number for number in range(wanted.answers) if number not in known]
            parts = [left[job :: wanted.jobs] for job in range(wanted.jobs)]
            for part in pool.map(partial(run, kind, wanted.forms, wanted.seed, keep, stop), parts):
                rows += part
            print("\n".join(report(kind, merged(rows))) if rows else f"{kind} library: no answer yet", flush=True)


if __name__ == "__main__":
    main()
