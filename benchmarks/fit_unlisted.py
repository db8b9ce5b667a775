"""
Fit and try the constants that say when a vessel is in no library (`inside/unlisted.py`).

    python benchmarks/fit_unlisted.py [--answers 1000] [--seed 11] [--jobs 2] [--keep FOLDER] [--try] [--minutes 8]
                                      [--conditions twins,broad]

A third of the simulated vessels come from the library, a third are new, a third are siblings of a listed family that
the library lacks; circumstances are those of `conditions.py`, libraries hold 400 forms. The fit is a logistic
regression on the listed and the new at even prior odds; the program adds its own prior. The new ones are never among
the forms that stand for vessels in general.

With --try (and a fresh seed) nothing is fitted: the figures of the constants in force are printed, for each condition
and all together. "sibling" is the share of unlisted siblings whose family is named first, "told" the share that are
reported as that family rather than as none of these.
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
from conditions import CONDITIONS, World
from numpy.typing import NDArray
from scipy.optimize import minimize
from scores import calibration_error, calibration_floor
from simulated import any_shape, drawn, form_of

from weftglass.inside.posterior import posterior
from weftglass.inside.unlisted import PRIOR_UNLISTED, evidence_ratio, features

FloatArray = NDArray[np.float64]
TRIED = ("twins", "broad", "thick", "strap", "bands", "bridged", "scale", "drawings", "partial", "shape")
RIDGE = 1e-3
FAMILIES = 40  # of ten forms each, so that an answer takes little time


@dataclass(frozen=True)
class Row:
    """One vessel: what it was, the features, the probability given to none of these, and its family's fate."""

    number: int
    condition: str
    kind: str
    features: list[float]
    unlisted: float
    family: float
    family_first: bool


def run(seed: int, tried: tuple[str, ...], keep: Path | None, stop: float, numbers: list[int]) -> list[Row]:
    """Rows of these numbers, until a time; written as they come."""
    rows: list[Row] = []
    worlds: dict[str, World] = {}
    for number in numbers:
        if time.time() > stop:
            break
        name = tried[number % len(tried)]
        if name not in worlds:
            worlds[name] = World.of(CONDITIONS[name], seed * 1000 + len(name), families=FAMILIES)
        rows.append(_row(number, name, number // len(tried), worlds[name], np.random.default_rng([seed, 3, number])))
        if keep is not None:
            with keep.open("a", encoding="utf-8") as file:
                file.write(json.dumps(asdict(rows[-1])) + "\n")
    return rows


def _row(number: int, name: str, turn: int, world: World, rng: np.random.Generator) -> Row:
    kind = ("listed", "new", "sibling")[turn % 3]
    if kind == "sibling" and not world.siblings:  # as many new as listed, so that even odds are what they are tried at
        kind = ("new", "listed")[turn // 3 % 2]
    if kind == "new":
        form = form_of("new", "new", drawn(any_shape(rng)), shape_sd_mm=0.15, hand=bool(rng.random() < 0.5))
    else:
        forms = world.true if kind == "listed" else world.siblings
        form = forms[int(rng.integers(len(forms)))]
    found = posterior(world.evidence(form, rng), world.bank)
    families: dict[str, float] = {}
    for listed, value in zip(world.bank.forms, found.probability, strict=True):
        families[listed.family_name] = families.get(listed.family_name, 0.0) + float(value)
    ratio = evidence_ratio(found.library_density, found.general_density, 1)
    return Row(
        number,
        name,
        kind,
        features(ratio, found.surprise).tolist(),
        found.unlisted,
        families.get(form.family_name, 0.0),
        max(families, key=lambda one: families[one]) == form.family_name,
    )


def fit(rows: list[Row]) -> FloatArray:
    """The constants by maximum likelihood."""
    own = [row for row in rows if row.kind != "sibling"]
    design = np.array([row.features for row in own])
    new = np.array([row.kind == "new" for row in own])
    weight = np.where(new, 0.5 / new.mean(), 0.5 / (1 - new.mean()))

    def loss(w: FloatArray) -> float:
        odds = design @ w
        return float(np.mean(weight * (np.logaddexp(0, odds) - new * odds)) + RIDGE * (w[1:] ** 2).sum())

    return np.asarray(minimize(loss, np.zeros(design.shape[1]), method="BFGS").x)


def at_even(unlisted: FloatArray) -> FloatArray:
    """Probability of none of these had listed and new been alike probable beforehand."""
    odds = np.log(np.clip(unlisted, 1e-15, None) / np.clip(1 - unlisted, 1e-15, None))
    odds -= np.log(PRIOR_UNLISTED / (1 - PRIOR_UNLISTED))
    return np.asarray(1 / (1 + np.exp(-odds)))


def figures(name: str, rows: list[Row], unlisted: FloatArray, seed: int) -> str:
    """One line: area under the curve and calibration error of listed against new at even odds, siblings' families."""
    new = np.array([row.kind == "new" for row in rows])
    own = np.array([row.kind != "sibling" for row in rows])
    score = at_even(unlisted)
    area = float((score[new][:, None] > score[own & ~new][None, :]).mean())
    error = calibration_error(score[own], new[own])
    floor = calibration_floor(score[own], np.random.default_rng(seed))
    siblings = [(row, value) for row, value in zip(rows, unlisted, strict=True) if row.kind == "sibling"]
    first = np.mean([row.family_first for row, _ in siblings]) if siblings else float("nan")
    told = np.mean([row.family_first and row.family > value for row, value in siblings]) if siblings else float("nan")
    return (
        f"{name:10s} {own.sum():7d} {area:7.3f} {error:8.3f} {floor:7.3f} {error - floor:+8.3f} "
        f"{len(siblings):9d} {first:8.3f} {told:7.3f}"
    )


def main() -> None:
    """Fit or try."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("--conditions", default=",".join(TRIED))
    parser.add_argument("--answers", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=11)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--try", dest="tried", action="store_true")
    parser.add_argument("--minutes", type=float, default=600.0)
    wanted = parser.parse_args()
    stop = time.time() + 60 * wanted.minutes
    keep = None
    rows: list[Row] = []
    if wanted.keep is not None:
        wanted.keep.mkdir(parents=True, exist_ok=True)
        keep = wanted.keep / f"unlisted-{wanted.seed}.jsonl"
        if keep.is_file():
            rows = [Row(**json.loads(line)) for line in keep.read_text(encoding="utf-8").splitlines()]
    left = sorted(set(range(wanted.answers)) - {row.number for row in rows})
    with ProcessPoolExecutor(wanted.jobs) as pool:
        parts = [left[i :: wanted.jobs] for i in range(wanted.jobs)]
        for part in pool.map(partial(run, wanted.seed, tuple(wanted.conditions.split(",")), keep, stop), parts):
            rows += part
    unlisted = np.array([row.unlisted for row in rows])
    if not wanted.tried:
        best = fit(rows)
        print("CONSTANT, PER_RATIO, PER_SMOOTH, PER_WHITE = " + ", ".join(f"{value:.3f}" for value in best))
        odds = np.array([row.features for row in rows]) @ best + np.log(PRIOR_UNLISTED / (1 - PRIOR_UNLISTED))
        unlisted = 1 / (1 + np.exp(-odds))
    print(f"{'condition':10s} {'vessels':>7s} {'area':>7s} {'cal.err':>8s} {'floor':>7s} {'excess':>8s} ", end="")
    print(f"{'siblings':>9s} {'sibling':>8s} {'told':>7s}")
    for name in (*wanted.conditions.split(","), "all"):
        chosen = [i for i, row in enumerate(rows) if name in (row.condition, "all")]
        if len({rows[i].kind for i in chosen} - {"sibling"}) == 2:
            print(figures(name, [rows[i] for i in chosen], unlisted[chosen], wanted.seed), flush=True)


if __name__ == "__main__":
    main()
