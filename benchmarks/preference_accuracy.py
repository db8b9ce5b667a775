"""
Whether planted preferences are found at the stated false discovery rate, and none is invented on shuffled data.

    python benchmarks/preference_accuracy.py [--repeats 200] [--seed 20261125]

A simulated collection has 20 communities, 40 forms and 300 pieces; some are commoner than others. Eight
communities favour one form each, which takes half of their pieces. Preferences are reported at q <= 0.05.
"""

from __future__ import annotations

import argparse

import numpy as np

from weftglass.holdings import Holding, cross, preferences

COMMUNITIES, FORMS, PIECES, PLANTED, LIKING, RATE = 20, 40, 300, 8, 0.5, 0.05


def collection(rng: np.random.Generator) -> tuple[list[Holding], set[tuple[str, str]]]:
    """Pieces and the pairs planted among them."""
    makers, forms = rng.dirichlet(np.full(COMMUNITIES, 3.0)), rng.dirichlet(np.full(FORMS, 2.0))
    liked = dict(
        zip(rng.choice(COMMUNITIES, PLANTED, False).tolist(), rng.choice(FORMS, PLANTED, False).tolist(), strict=True)
    )
    held = []
    for i in range(PIECES):
        maker = int(rng.choice(COMMUNITIES, p=makers))
        form = liked[maker] if maker in liked and rng.random() < LIKING else int(rng.choice(FORMS, p=forms))
        held.append(Holding(f"p-{i}", {"community": f"c-{maker}", "form": f"f-{form}"}))
    return held, {(f"c-{maker}", f"f-{form}") for maker, form in liked.items()}


def shuffled(held: list[Holding], rng: np.random.Generator) -> list[Holding]:
    """The same pieces with their forms dealt out anew."""
    forms = rng.permutation([one.terms["form"] for one in held]).tolist()
    return [
        Holding(one.piece, {"community": one.terms["community"], "form": form})
        for one, form in zip(held, forms, strict=True)
    ]


def reported(held: list[Holding]) -> list[tuple[str, str]]:
    """Pairs reported as favoured."""
    found = preferences(cross(held, "community", "form"))
    return [(one.row, one.column) for one in found if one.favoured and one.q <= RATE]


def main() -> None:
    """Run and print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--repeats", type=int, default=200)
    asked.add_argument("--seed", type=int, default=20261125)
    given = asked.parse_args()
    rng = np.random.default_rng(given.seed)
    hits = truths = 0
    false_shares, invented = [], 0
    for _ in range(given.repeats):
        held, planted = collection(rng)
        found = reported(held)
        right = sum(pair in planted for pair in found)
        hits, truths = hits + right, truths + len(planted)
        false_shares.append((len(found) - right) / max(len(found), 1))
        invented += bool(reported(shuffled(held, rng)))
    error = np.std(false_shares) / np.sqrt(given.repeats)
    print(f"planted preferences found: {hits} of {truths} ({hits / truths:.1%})")
    print(f"false discovery rate: {np.mean(false_shares):.3f} +- {error:.3f} (stated {RATE})")
    print(
        f"shuffled collections with any preference reported: {invented} of {given.repeats} (at most {RATE:.0%} stated)"
    )


if __name__ == "__main__":
    main()
