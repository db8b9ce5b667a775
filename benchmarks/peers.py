"""
How often does the engine name the wrong vessel, against general-purpose ways to match contours?

    python benchmarks/peers.py [--answers 400] [--seed 91011] [--jobs 2]

Broad library of 1,000 and 100 families of 10 near-twins; every method sees the same simulated outlines. Prints the
share of answers whose first place is wrong, for each peer in its better way of use, for the engine, and the ratio.
"""

from __future__ import annotations

import argparse
from concurrent.futures import ProcessPoolExecutor
from functools import partial

import numpy as np
from peer_methods import Contours, methods
from simulated import broad_library, covered, individual, twins_library

from weftglass.inside.bank import FormBank
from weftglass.inside.posterior import posterior
from weftglass.vessels import Form

OURS = "weftglass"
Errors = dict[str, list[list[bool]]]


def library_of(kind: str, count: int, rng: np.random.Generator) -> list[Form]:
    """``count`` forms sampled widely, or in families of ten near-twins."""
    return broad_library(count, rng) if kind == "broad" else twins_library(count // 10, 10, rng)


def run(kind: str, answers: int, count: int, seed: int) -> Errors:
    """Whether the first place was wrong: for each method, for each way of using it, for each answer."""
    library_rng, rng = np.random.default_rng(seed // 1000), np.random.default_rng(seed)
    forms = library_of(kind, count, library_rng)
    bank = FormBank.of(forms)
    peers = methods(Contours.of([np.asarray(form.profile.points) for form in forms]))
    wrong: Errors = {name: [[] for _ in ways] for name, ways in peers.items()} | {OURS: [[]]}
    for _ in range(answers):
        truth = int(rng.integers(len(forms)))
        case = covered(individual(forms[truth], rng), rng)
        outline = np.asarray(case.evidence.outlines[0].points)
        for name, ways in peers.items():
            for way, distance in enumerate(ways):
                wrong[name][way].append(int(np.argmin(distance(outline))) != truth)
        wrong[OURS][0].append(int(np.argmax(posterior(case.evidence, bank).probability)) != truth)
    return wrong


def merged(parts: list[Errors]) -> dict[str, tuple[float, int]]:
    """Share of wrong first places of each method in its better way of use, and the number of answers."""
    shares = {}
    for name in parts[0]:
        ways = [[w for part in parts for w in part[name][way]] for way in range(len(parts[0][name]))]
        shares[name] = (min(float(np.mean(way)) for way in ways), len(ways[0]))
    return shares


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
    wanted = parser.parse_args()
    each = -(-wanted.answers // wanted.jobs)
    seeds = [1000 * wanted.seed + i for i in range(wanted.jobs)]
    with ProcessPoolExecutor(wanted.jobs) as pool:
        for kind in ("twins", "broad"):
            parts = list(pool.map(partial(run, kind, each, wanted.forms), seeds))
            print("\n".join(report(kind, merged(parts))), flush=True)


if __name__ == "__main__":
    main()
