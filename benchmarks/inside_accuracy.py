"""
How often is the right vessel named first, and do the probabilities mean what they say?

    python benchmarks/inside_accuracy.py [--answers 600] [--seed 20261125] [--jobs 2]

Prints, for a broad library of 1,000 and for 100 families of 10 near-twins: share of right answers in first place, among
three, among ten, the calibration error of the first place over its sampling floor, and the log score. Only the outline
is used; vessels are drawn from the library, so 'none of these' is a wrong answer here.
"""

from __future__ import annotations

import argparse
from concurrent.futures import ProcessPoolExecutor
from functools import partial

import numpy as np
from scores import calibration_error, calibration_floor, log_score
from simulated import broad_library, covered, individual, twins_library

from weftglass.inside.bank import FormBank
from weftglass.inside.posterior import posterior
from weftglass.inside.unlisted import vague_bank
from weftglass.vessels import Form

Row = tuple[int, float, float, float]


def run(kind: str, answers: int, seed: int) -> list[Row]:
    """Rows of (rank of the truth from 1, probability of the first among the listed, of the truth, of unlisted)."""
    rng = np.random.default_rng(seed)
    forms: list[Form] = broad_library(1000, rng) if kind == "broad" else twins_library(100, 10, rng)
    bank = FormBank.of(forms)
    vague = vague_bank(bank)
    rows = []
    for _ in range(answers):
        truth = int(rng.integers(len(forms)))
        case = covered(individual(forms[truth], rng), rng)
        found = posterior(case.evidence, bank, vague)
        rank = 1 + int((found.probability > found.probability[truth]).sum())
        first = float(found.probability.max() / max(found.probability.sum(), 1e-300))
        rows.append((rank, first, float(found.probability[truth]), found.unlisted))
    return rows


def report(kind: str, rows: list[Row], seed: int) -> str:
    """One line of the table."""
    rank = np.array([row[0] for row in rows])
    first = np.array([row[1] for row in rows])
    truth = np.array([row[2] for row in rows])
    unlisted = np.array([row[3] for row in rows])
    right = rank == 1
    error = calibration_error(first, right)
    floor = calibration_floor(first, np.random.default_rng(seed))
    return (
        f"{kind:8s} {len(rows):6d} {right.mean():7.3f} {(rank <= 3).mean():7.3f} {(rank <= 10).mean():7.3f} "
        f"{error:7.3f} {floor:7.3f} {error - floor:+8.3f} {log_score(truth):8.3f} "
        f"{unlisted.mean():9.3f} {first.mean():8.3f}"
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("--answers", type=int, default=600)
    parser.add_argument("--seed", type=int, default=20261125)
    parser.add_argument("--jobs", type=int, default=2)
    wanted = parser.parse_args()
    print(
        f"{'library':8s} {'answers':>6s} {'first':>7s} {'three':>7s} {'ten':>7s} "
        f"{'cal.err':>7s} {'floor':>7s} {'excess':>8s} {'log2':>8s} {'unlisted':>9s} {'claimed':>8s}"
    )
    each = -(-wanted.answers // wanted.jobs)
    with ProcessPoolExecutor(wanted.jobs) as pool:
        for kind in ("broad", "twins"):
            seeds = [wanted.seed + i for i in range(wanted.jobs)]
            parts = pool.map(partial(run, kind, each), seeds)
            print(report(kind, [row for part in parts for row in part], wanted.seed), flush=True)


if __name__ == "__main__":
    main()
