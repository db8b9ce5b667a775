"""
How many questions to a seller until nothing more can be told: the recommended ones against a fixed order.

    python benchmarks/offer_questions.py [--offers 300] [--seed 20261127] [--jobs 2]

Offers are round vessels of the starter library under coverings of 1.5 to 5 mm, traced from a poor photograph: five
times the usual noise, a scale in half of them only, and that off by 6 %. A seller reads a tape twice as loosely as an
owner. Only questions a stranger may be asked count. An offer is done once one form stands at 95 %, or once the forms
that make up 95 % are as few as they are when everything was asked. The fixed order asks for sizes first.
"""

from __future__ import annotations

import argparse
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from next_looks_accuracy import ASKS, ORDERS, SIZES_FIRST, Order, Piece, Standing
from simulated import covered, individual

from weftglass.evidence import Evidence, Measurement, Outline
from weftglass.inside.bank import FormBank
from weftglass.inside.posterior import Posterior, posterior
from weftglass.vessels import Form, FormLibrary

SURE, LOOSER, ROUGHER, UNSURE = 0.95, 2.0, 5.0, 0.7
SELLER = [kind for kind in SIZES_FIRST if ASKS[kind].seller]


@dataclass(frozen=True)
class Done:
    """Questions asked until nothing more could be told, and whether the truth stood among what was left."""

    questions: int
    right: bool


def offered(form: Form, rng: np.random.Generator) -> Piece:
    """A piece as a seller photographs it."""
    piece = Piece.of(form, rng)
    given = {"shape_only": True} if rng.random() < 0.5 else {"scale_error": 0.06}
    case = covered(individual(form, rng), rng, **given)
    (outline,) = case.evidence.outlines
    points = np.array(outline.points)
    sd = np.asarray(outline.sd_mm) * np.ones(len(points))
    points[:, 1] = np.maximum(points[:, 1] + sd * np.sqrt(ROUGHER**2 - 1) * rng.standard_normal(len(points)), 0.5)
    rough = Outline.of(points, sd_mm=ROUGHER * float(sd.mean()), scale_sd=outline.scale_sd, bare=outline.bare)
    case = replace(case, evidence=Evidence(piece="offer", outlines=(rough,)))
    return replace(piece, case=case, mean_cover_mm=case.mean_cover_mm)


def smallest_group(found: Posterior) -> frozenset[int]:
    """The fewest forms that make up 95 %."""
    order = np.argsort(-found.probability)
    reached = np.cumsum(found.probability[order]) >= SURE * found.probability.sum()
    return frozenset(int(i) for i in order[: int(np.argmax(reached)) + 1])


def replies(piece: Piece, standing: Standing, seed: int) -> dict[str, object]:
    """What this seller would answer to every question, each at a usual height."""
    told: dict[str, object] = {}
    for kind in SELLER:
        rng = np.random.default_rng([seed, SIZES_FIRST.index(kind)])
        z = 5.0 * round(0.4 * piece.case.height_mm / 5) if ASKS[kind].shares else None
        reply = piece.answer(kind, z, rng)
        if isinstance(reply, Measurement):
            shaken = reply.value + np.sqrt(LOOSER**2 - 1) * reply.sd * rng.standard_normal()
            reply = replace(reply, value=max(float(shaken), 0.1), sd=LOOSER * reply.sd)
        else:
            reply = replace(reply, sure=UNSURE)
        told[kind] = reply
    return told


def asked(
    order: Order, told: dict[str, object], standing: Standing, evidence: Evidence, least: int
) -> tuple[int, Posterior]:
    """Ask in one order until 95 % stand on as few forms as can be."""
    rng, left, count = np.random.default_rng(7), list(SELLER), 0
    while True:
        found = standing.after(evidence)
        if len(smallest_group(found)) <= least or not left:
            return count, found
        kind = order(found, left, rng)
        reply = told[kind]
        left.remove(kind)
        count += 1
        if isinstance(reply, Measurement):
            evidence = replace(evidence, measurements=(*evidence.measurements, reply))
        else:
            evidence = replace(evidence, sightings=(*evidence.sightings, reply))


def run(offers: int, seed: int) -> list[dict[str, Done]]:
    """All orders on the same offers."""
    rng = np.random.default_rng(seed)
    library = [form for form in FormLibrary.starter() if form.section.kind == "round"]
    every = FormBank.of(tuple(FormLibrary.starter()))
    done = []
    for number in range(offers):
        form = library[int(rng.integers(len(library)))]
        piece = offered(form, rng)
        first = posterior(piece.case.evidence, every)
        standing = Standing(first, first.bank.part(first.survivors))
        told = replies(piece, standing, seed + number)
        _, last = asked(ORDERS["sizes first"], told, standing, piece.case.evidence, 0)
        least = max(len(smallest_group(last)), 1)
        row = {}
        for name in ("advised", "sizes first"):
            count, found = asked(ORDERS[name], told, standing, piece.case.evidence, least)
            names = {first.bank.forms[i].id for i in smallest_group(found)}
            row[name] = Done(count, form.id in names)
        done.append(row)
    return done


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("--offers", type=int, default=300)
    parser.add_argument("--seed", type=int, default=20261127)
    parser.add_argument("--jobs", type=int, default=2)
    wanted = parser.parse_args()
    each = -(-wanted.offers // wanted.jobs)
    with ProcessPoolExecutor(wanted.jobs) as pool:
        parts = list(pool.map(partial(run, each), [wanted.seed + 10_000 * job for job in range(wanted.jobs)]))
    rows = [row for part in parts for row in part]
    means = {name: float(np.mean([row[name].questions for row in rows])) for name in ("advised", "sizes first")}
    for name, mean in means.items():
        right = np.mean([row[name].right for row in rows])
        print(f"{name:12s} {mean:6.2f} questions an offer; the true form stands in the group in {right:.1%}")
    saved = 1 - means["advised"] / max(means["sizes first"], 1e-9)
    print(f"{len(rows)} offers: {100 * saved:.0f} % fewer questions than sizes first, the fixed order (wanted: 30 %)")


if __name__ == "__main__":
    main()
