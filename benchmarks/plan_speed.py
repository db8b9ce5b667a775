"""
The best set of 500 offers for a sum and the next three: listed from its bound, against HiGHS over the same offers.

    python benchmarks/plan_speed.py [--offers 500] [--seed 5]

Offers cost 20 to 400, fill one of 300 gaps (or none, a third of them) that are worth 0 to 1 each, and are worth 0.02 by
themselves. HiGHS is asked through the same function: an offer that fills two gaps of next to no worth keeps the rest
from being taken for groups. CPU seconds of this process; both must find the same worth.
"""

from __future__ import annotations

import argparse
import time
from dataclasses import replace

import numpy as np

from weftglass.holdings import Choice, Plan, Step, best_plan, next_sum

GAPS, ITSELF, LEAST = 300, 0.02, 1e-9


def shelf(offers: int, rng: np.random.Generator) -> tuple[list[Choice], dict[str, float]]:
    """Offers and gaps."""
    gaps = {f"gap {i}": float(worth) for i, worth in enumerate(rng.random(GAPS) ** 2)}
    choices = [
        Choice(
            str(i), float(rng.integers(20, 400)), ITSELF, (f"gap {rng.integers(GAPS)}",) if rng.random() < 2 / 3 else ()
        )
        for i in range(offers)
    ]
    return choices, gaps


def timed(choices: list[Choice], budget: float, gaps: dict[str, float]) -> tuple[Plan, tuple[Step, ...], float]:
    """The plan, the next three sums, and the CPU seconds it all took."""
    start = time.process_time()
    plan = best_plan(choices, budget, gaps)
    steps = next_sum(choices, budget, gaps, least_gain=0.1, now=plan)
    return plan, steps, time.process_time() - start


def main() -> None:
    """Print one line a sum."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("--offers", type=int, default=500)
    parser.add_argument("--seed", type=int, default=5)
    wanted = parser.parse_args()
    choices, gaps = shelf(wanted.offers, np.random.default_rng(wanted.seed))
    tangled = [replace(choices[0], fills=(*choices[0].fills, "this", "that")), *choices[1:]]
    tangled[1] = replace(choices[1], fills=(*choices[1].fills, "that"))
    for budget in (200, 500, 1000, 2000, 5000, 10_000, 20_000):
        listed, steps, own = timed(choices, budget, gaps)
        branched, others, highs = timed(tangled, budget, {**gaps, "this": LEAST, "that": LEAST})
        worths = [plan.worth for plan in (listed, *(step.plan for step in steps))]
        same = np.allclose(worths, [plan.worth for plan in (branched, *(step.plan for step in others))], atol=1e-4)
        print(
            f"sum {budget:6d}: worth {listed.worth:8.4f} of {len(listed.chosen):3d} offers; listed {own:5.2f} s, "
            f"HiGHS {highs:6.2f} s, {highs / max(own, 1e-3):5.0f} times; {'the same worths' if same else 'DIFFERENT'}"
        )


if __name__ == "__main__":
    main()
