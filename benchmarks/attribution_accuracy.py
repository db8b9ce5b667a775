"""
How well are invented communities told apart, and do the probabilities mean what they say?

    python benchmarks/attribution_accuracy.py [--worlds 8] [--seed 20261125]

Invented communities have habits of their own that borrow from their neighbours'; each documented piece shows some of
them, and two traits only repeat the technique. The rules learn from the documented pieces and then attribute 300 new
ones, a fifth of which come from communities nobody documented. Prints for each size of collection and both rules: share
right among pieces of documented communities, calibration error of the first place over its sampling floor, log score,
and how well 'another community' tells the undocumented ones apart (area under the curve, 0.5 is chance). The control is
the textbook rule on the same pieces.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass

import numpy as np
from scores import calibration_error, calibration_floor

from weftglass.weave.attribution import BASELINE, Documented, Rule, probabilities
from weftglass.weave.judging import SHRUNK, fitted
from weftglass.weave.traits import Traits

SIZES = {"technique": 5, "lean": 3, "start": 6, "rim": 6, "material": 8, "design": 10, "dye": 4}
COLLECTIONS = ((20, 3), (30, 4), (60, 5), (120, 6))
NEW_PIECES, STRANGERS = 300, 0.2
SHOWN = 0.75  # share of traits that can be seen on a piece
APART = 0.35  # the smaller, the more a community keeps to habits of its own


@dataclass(frozen=True)
class World:
    """Habits of some communities: trait to a law over its values."""

    habits: tuple[dict[str, np.ndarray], ...]

    @classmethod
    def of(cls, communities: int, rng: np.random.Generator) -> World:
        base = {trait: rng.dirichlet(np.ones(n)) for trait, n in SIZES.items()}
        return cls(
            tuple(
                {trait: rng.dirichlet(base[trait] * n * APART + 1e-3) for trait, n in SIZES.items()}
                for _ in range(communities)
            )
        )

    def piece(self, who: int, rng: np.random.Generator) -> Traits:
        values = {
            trait: f"{trait} {rng.choice(n, p=self.habits[who][trait])}"
            for trait, n in SIZES.items()
            if rng.random() < SHOWN
        }
        if "technique" in values:
            values |= {"foundation": values["technique"], "splice": values["technique"]}
        return Traits.of("piece", values)


def trial(pieces: int, communities: int, rng: np.random.Generator) -> dict[str, tuple[np.ndarray, ...]]:
    """One collection and the pieces attributed with it; by rule: right, stated, log score, strange, another."""
    world = World.of(communities + 2, rng)
    makers = rng.integers(communities, size=pieces)
    learned = Documented.of([world.piece(int(who), rng) for who in makers], [f"c{who:02d}" for who in makers])
    known = [int(name[1:]) for name in learned.communities]
    strange = rng.random(NEW_PIECES) < STRANGERS
    who = np.where(strange, communities + rng.integers(2, size=NEW_PIECES), rng.choice(known, size=NEW_PIECES))
    rows = learned.layout.rows([world.piece(int(one), rng) for one in who])
    truth = np.array([len(known) if odd else known.index(int(one)) for one, odd in zip(who, strange, strict=True)])
    rules: dict[str, Rule] = {"textbook": BASELINE, "shrunk": fitted(learned, SHRUNK)}
    found = {}
    for name, rule in rules.items():
        chance, _ = probabilities(learned, rows, rule)
        right = chance.argmax(axis=1) == truth
        logs = np.log2(np.maximum(chance[np.arange(NEW_PIECES), truth], 1e-12))
        found[name] = (right, chance.max(axis=1), logs, strange, chance[:, -1])
    return found


def area_under_curve(score: np.ndarray, positive: np.ndarray) -> float:
    """Chance that a positive scores above a negative."""
    above = score[positive][:, None] - score[~positive][None, :]
    return float(np.mean(np.where(above > 0, 1.0, np.where(above == 0, 0.5, 0.0))))


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--worlds", type=int, default=8, help="collections a size")
    parser.add_argument("--seed", type=int, default=20261125)
    asked = parser.parse_args()
    rng = np.random.default_rng(asked.seed)
    print(f"{'pieces':>7s} {'communities':>11s} {'rule':>9s} {'right':>7s} {'cal.err':>8s} {'floor':>7s} {'log2':>7s} "
          f"{'another':>8s}")  # fmt: skip
    for pieces, communities in COLLECTIONS:
        trials = [trial(pieces, communities, rng) for _ in range(asked.worlds)]
        for name in ("textbook", "shrunk"):
            right, stated, logs, strange, another = (np.concatenate([one[name][i] for one in trials]) for i in range(5))
            print(
                f"{pieces:7d} {communities:11d} {name:>9s} {right[~strange].mean():7.3f} "
                f"{calibration_error(stated, right):8.3f} {calibration_floor(stated, rng):7.3f} {logs.mean():7.2f} "
                f"{area_under_curve(another, strange):8.2f}"
            )


if __name__ == "__main__":
    main()
