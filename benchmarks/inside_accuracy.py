"""
How often is the right vessel named first, and do the probabilities mean what they say?

    python benchmarks/inside_accuracy.py [--conditions twins,thick] [--answers 600] [--seed 20261125] [--jobs 2]
                                         [--keep FOLDER] [--minutes 8]

Prints, for each condition of `conditions.py`: share of right answers in first place, among three, among ten, the
calibration error of the first place over its sampling floor, and the log score. Pieces are drawn from the library, so
'none of these' is a wrong answer here; probabilities are among the listed forms. With --keep every answer is written as
it is given and a further run goes on where the last one stopped; each answer has its own seed, so neither the number of
jobs nor a stop changes any of them.
"""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path

import numpy as np
from conditions import CONDITIONS, World
from scores import calibration_error, calibration_floor, log_score

from weftglass.inside.posterior import posterior

LIBRARIES = 10  # libraries a condition is tried on, so that no luck of one library decides
HEAD = (
    f"{'condition':10s} {'answers':>7s} {'first':>7s} {'three':>7s} {'ten':>7s} {'cal.err':>8s} {'floor':>7s} "
    f"{'excess':>8s} {'log2':>7s} {'family':>7s} {'unlisted':>9s}"
)


@dataclass(frozen=True)
class Row:
    """
    One answer.

    Attributes
    ----------
    number : int
    rank : int
        Of the truth among the listed forms, from 1.
    first, truth, family, unlisted : float
        Probability of the first form and of the truth among the listed, of the true family, of none of these.
    family_right : bool
        Whether the most probable family is the true one.
    """

    number: int
    rank: int
    first: float
    truth: float
    family: float
    family_right: bool
    unlisted: float


def run(name: str, seed: int, numbers: list[int], stop: float) -> Iterator[Row]:
    """Answers with these numbers, until a time."""
    worlds: dict[int, World] = {}
    for number in numbers:
        if time.time() > stop:
            return
        which = number % LIBRARIES
        if which not in worlds:
            worlds[which] = World.of(CONDITIONS[name], seed * 1000 + which)
        world = worlds[which]
        rng = np.random.default_rng([seed, 2, number])
        truth = int(rng.integers(len(world.true)))
        found = posterior(world.evidence(world.true[truth], rng), world.bank)
        listed = max(1.0 - found.unlisted, 1e-12)
        share = found.probability / listed
        names = [form.family_name for form in world.bank.forms]
        families: dict[str, float] = {}
        for family, value in zip(names, share, strict=True):
            families[family] = families.get(family, 0.0) + float(value)
        yield Row(
            number,
            1 + int((share > share[truth]).sum()),
            float(share.max()),
            float(share[truth]),
            families[names[truth]],
            max(families, key=lambda one: families[one]) == names[truth],
            found.unlisted,
        )


def run_part(name: str, seed: int, keep: Path | None, stop: float, numbers: list[int]) -> list[Row]:
    """As `run`, written to a file of its own as it goes."""
    rows = []
    for row in run(name, seed, numbers, stop):
        rows.append(row)
        if keep is not None:
            with keep.open("a", encoding="utf-8") as file:
                file.write(json.dumps(asdict(row)) + "\n")
    return rows


def kept_rows(keep: Path | None) -> list[Row]:
    """Answers of earlier runs."""
    if keep is None or not keep.is_file():
        return []
    return [Row(**json.loads(line)) for line in keep.read_text(encoding="utf-8").splitlines()]


def report(name: str, rows: list[Row], seed: int) -> str:
    """One line of the table."""
    rank = np.array([row.rank for row in rows])
    first = np.array([row.first for row in rows])
    error = calibration_error(first, rank == 1)
    floor = calibration_floor(first, np.random.default_rng(seed))
    score = log_score(np.array([row.truth for row in rows]))
    family = np.mean([row.family_right for row in rows])
    unlisted = np.mean([row.unlisted for row in rows])
    return (
        f"{name:10s} {len(rows):7d} {np.mean(rank == 1):7.3f} {np.mean(rank <= 3):7.3f} {np.mean(rank <= 10):7.3f} "
        f"{error:8.3f} {floor:7.3f} {error - floor:+8.3f} {score:7.3f} {family:7.3f} {unlisted:9.3f}"
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("--conditions", default=",".join(CONDITIONS))
    parser.add_argument("--answers", type=int, default=600)
    parser.add_argument("--seed", type=int, default=20261125)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--minutes", type=float, default=600.0)
    wanted = parser.parse_args()
    stop = time.time() + 60 * wanted.minutes
    if wanted.keep is not None:
        wanted.keep.mkdir(parents=True, exist_ok=True)
    print(HEAD, flush=True)
    for name in wanted.conditions.split(","):
        keep = None if wanted.keep is None else wanted.keep / f"{name}-{wanted.seed}.jsonl"
        rows = [row for row in kept_rows(keep) if row.number < wanted.answers]
        done = {row.number for row in rows}
        left = [number for number in range(wanted.answers) if number not in done]
        if left and wanted.jobs > 1:
            with ProcessPoolExecutor(wanted.jobs) as pool:
                parts = [left[i :: wanted.jobs] for i in range(wanted.jobs)]
                for part in pool.map(partial(run_part, name, wanted.seed, keep, stop), parts):
                    rows += part
        elif left:
            rows += run_part(name, wanted.seed, keep, stop, left)
        if rows:
            print(report(name, rows, wanted.seed), flush=True)


if __name__ == "__main__":
    main()
