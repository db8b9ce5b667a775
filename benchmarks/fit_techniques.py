"""
How plaited work is told from the rest: python benchmarks/fit_techniques.py FOLDER [FOLDER ...]

Each FOLDER holds close-ups with their truths, as `tools/render/closeups.py` writes them. Prints the weights that
`weave.kinds.WEIGHTS` holds (logistic regression with a weak ridge), and how well weights fitted on the other folders
tell the pictures of each: plaited or not where the program would say, and how often it would say nothing.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.special import expit

from weftglass.photos import read_photograph
from weftglass.weave.gauge import EVEN_REACH_SHARE
from weftglass.weave.kinds import LOOKED_FOR, SURE, WEIGHTS, signs
from weftglass.weave.lattice import guessed_in, spectrum_of
from weftglass.weave.patch import LEAST_PX, evened, patch_of

FloatArray = NDArray[np.float64]
RIDGE = 0.05


def signs_of(file: Path) -> FloatArray:
    """A constant and the signs of one close-up."""
    grey = patch_of(read_photograph(file.read_bytes(), file.name).pixels).grey
    spectrum = spectrum_of(evened(grey, EVEN_REACH_SHARE * min(grey.shape)))
    tried = {kind: guessed_in(spectrum, kind) for kind in LOOKED_FOR}
    best = max(tried[kind].share for kind in LOOKED_FOR if kind != "plaited")
    return np.concatenate([[1.0], signs(spectrum, grey, tried["plaited"], best - tried["plaited"].share)])


def fitted(rows: FloatArray, plaited: FloatArray) -> FloatArray:
    """Weights by penalised maximum likelihood; the gap is in tenths of a decade as heavy as the rest."""
    scale = np.array([1, 1, 1, 1, 5.0, 1, 1, 1])

    def cost(weights: FloatArray) -> float:
        return float(
            np.logaddexp(0, -(2 * plaited - 1) * (rows * scale @ weights)).sum() + RIDGE * weights[1:] @ weights[1:]
        )

    return np.asarray(minimize(cost, np.zeros(rows.shape[1])).x * scale)


def main() -> None:
    """Read, fit, and fit again without each folder."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folders", type=Path, nargs="+")
    rows, plaited, folder = [], [], []
    for k, place in enumerate(parser.parse_args().folders):
        for file in sorted(place.glob("*.jpg")):
            beside = file.with_suffix(".truth.json")
            truth = json.loads(beside.read_text()) if beside.exists() else {"without": "truth"}
            if truth["without"] or min(read_photograph(file.read_bytes(), file.name).pixels.shape[:2]) < LEAST_PX:
                continue
            rows.append(signs_of(file))
            plaited.append(float(truth["technique"] == "plaited"))
            folder.append(k)
    x, y, place_of = np.array(rows), np.array(plaited), np.array(folder)
    print(f"{len(y)} close-ups, {int(y.sum())} plaited")
    print("weights " + ", ".join(f"{value:.2f}" for value in fitted(x, y)))
    print("in use  " + ", ".join(f"{value:.2f}" for value in WEIGHTS))
    if len(np.unique(place_of)) > 1:
        chance = np.zeros(len(y))
        for k in np.unique(place_of):
            chance[place_of == k] = expit(x[place_of == k] @ fitted(x[place_of != k], y[place_of != k]))
        said = (chance >= SURE) | (chance <= 1 - SURE)
        wrong = said & ((chance >= SURE) != (y > 0.5))
        print(f"by weights of the other folders: {int(wrong.sum())} told wrong, {int((~said).sum())} not told")


if __name__ == "__main__":
    main()
