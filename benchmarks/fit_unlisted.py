"""
Fit the constants that turn evidence ratios into the odds that a vessel is in no library (`inside/unlisted.py`).

    python benchmarks/fit_unlisted.py [--answers 1200] [--seed 11] [--jobs 2]

Half the simulated vessels come from the library, half are new; libraries are broad or full of near-twins, well known or
drawn from catalogue dimensions (profiles 1.5 mm wrong), coverings thin to thick, scale good to poor. The fit is a
logistic regression at even prior odds; the program adds its own prior. The vague neighbourhoods never see the new ones.
"""

from __future__ import annotations

import argparse
from concurrent.futures import ProcessPoolExecutor
from functools import partial

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scores import calibration_error
from simulated import any_shape, broad_library, covered, drawn, form_of, individual, smooth_noise, twins_library

from weftglass.inside.bank import FormBank
from weftglass.inside.posterior import posterior
from weftglass.inside.unlisted import evidence_ratio, vague_bank

FloatArray = NDArray[np.float64]
CONDITIONS = [  # library, profile error in mm, thickness in mm, scale error
    ("broad", 0.15, (1.5, 5.0), 0.015),
    ("twins", 0.15, (1.5, 5.0), 0.015),
    ("broad", 1.5, (1.5, 5.0), 0.015),
    ("twins", 1.5, (3.0, 10.0), 0.015),
    ("broad", 1.5, (1.5, 5.0), 0.04),
]


def run(answers: int, seed: int) -> list[tuple[float, float, float]]:
    """Rows of (1 when unlisted, log evidence ratio, log misfit)."""
    rng = np.random.default_rng(seed)
    rows = []
    for kind, error, cover, scale in CONDITIONS:
        forms = broad_library(300, rng) if kind == "broad" else twins_library(60, 5, rng)
        forms = [
            form_of(f.id, f.family_name, np.asarray(f.profile.points), shape_sd_mm=error, hand=True) for f in forms
        ]
        bank = FormBank.of(forms)
        vague = vague_bank(bank)
        for _ in range(answers // len(CONDITIONS)):
            new = bool(rng.random() < 0.5)
            form = (
                form_of("new", "new", drawn(any_shape(rng)), shape_sd_mm=error, hand=True)
                if new
                else forms[int(rng.integers(len(forms)))]
            )
            glass = individual(form, rng)
            glass[:, 1] = np.maximum(glass[:, 1] + error * smooth_noise(glass[:, 0], 30.0, rng), 3.0)
            piece = covered(glass, rng, cover_mm=cover, scale_error=scale)
            found = posterior(piece.evidence, bank, vague)
            rows.append(
                (
                    float(new),
                    evidence_ratio(found.library_density, found.vague_density, 1),
                    float(np.log(found.exact.state.misfit()[0])),
                )
            )
    return rows


def fit(rows: FloatArray) -> FloatArray:
    """Constants A, B, C by maximum likelihood."""
    design = np.column_stack([np.ones(len(rows)), rows[:, 1], rows[:, 2]])

    def loss(w: FloatArray) -> float:
        odds = design @ w
        return float(np.mean(np.logaddexp(0, odds) - rows[:, 0] * odds))

    return np.asarray(minimize(loss, np.zeros(3), method="BFGS").x)


def main() -> None:
    """Print the constants, the area under the curve and the calibration error."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--answers", type=int, default=1200)
    parser.add_argument("--seed", type=int, default=11)
    parser.add_argument("--jobs", type=int, default=2)
    wanted = parser.parse_args()
    with ProcessPoolExecutor(wanted.jobs) as pool:
        parts = pool.map(partial(run, wanted.answers // wanted.jobs), [wanted.seed + i for i in range(wanted.jobs)])
        rows = np.array([row for part in parts for row in part])
    best = fit(rows)
    odds = best[0] + best[1] * rows[:, 1] + best[2] * rows[:, 2]
    new = rows[:, 0] == 1
    area = float((odds[new][:, None] > odds[~new][None, :]).mean())
    error = calibration_error(1 / (1 + np.exp(-odds)), new)
    print(f"A, B, C = {best[0]:.2f}, {best[1]:.3f}, {best[2]:.2f}")
    print(f"{len(rows)} vessels: area under the curve {area:.3f}, calibration error {error:.3f} at even prior")


if __name__ == "__main__":
    main()
