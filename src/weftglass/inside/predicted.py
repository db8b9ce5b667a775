"""The predicted unseen: what nobody has measured yet, as each candidate would have it, so that one can be checked."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from weftglass.evidence import Measurement
from weftglass.inside.answer import Candidate, Expected
from weftglass.inside.likelihood.measurement import COVERING_WEIGHT, GLASS_WEIGHT, Chain
from weftglass.inside.posterior import Posterior
from weftglass.inside.state import State

FloatArray = NDArray[np.float64]

NINETY = 1.6449  # standard deviations either side that hold nine cases of ten of a normal law
FORETOLD = (  # quantity, its unit
    ("capacity", "ml"),
    (GLASS_WEIGHT, "g"),
    (COVERING_WEIGHT, "g"),
    ("weight", "g"),
    ("tone", "Hz"),
    ("bore", "mm"),
)
THICKNESS_AT = (0.08, 0.25, 0.42, 0.58, 0.75, 0.92)  # shares of the covered height where the thickness is told


def foretold(found: Posterior, count: int) -> tuple[tuple[Expected, ...], ...]:
    """
    What a vessel of each of the first candidates would have, with all evidence taken in.

    Parameters
    ----------
    found : Posterior
    count : int
        How many candidates, most probable first.

    Returns
    -------
    tuple of tuples of Expected
        Capacity, mass of glass, of covering and of both, tone and bore. What was measured is not foretold.
    """
    chosen = np.arange(min(count, len(found.survivors)), dtype=np.int64)
    state, bank = found.exact.state.part(chosen), found.bank.part(found.survivors[chosen])
    measured = {measurement.what for measurement in found.case.evidence.measurements}
    chain = Chain.of(found.case.evidence.measurements, bank, found.case.setting)
    columns = [_column(what, unit, state, chain) for what, unit in FORETOLD if what not in measured]
    return tuple(tuple(column[i] for column in columns) for i in range(len(chosen)))


def _column(what: str, unit: str, state: State, chain: Chain) -> list[Expected]:
    """Mean and interval of one quantity for every form of a bank, thickness classes mixed by how probable they are."""
    residual, slope, variance = chain.after(Measurement(what, 0.0, 1e-6, None, False))
    mean = np.einsum("fkp,fkp->fk", slope, state.mean) - residual
    spread = np.einsum("fkp,fkpq,fkq->fk", slope, state.covariance, slope) + variance
    centre = (state.class_weight * mean).sum(axis=1)
    sds = np.sqrt(np.maximum((state.class_weight * (spread + mean**2)).sum(axis=1) - centre**2, 1e-12))
    return [
        Expected(what, max(value, 0.0), sd, max(value - NINETY * sd, 0.0), value + NINETY * sd, unit)
        for value, sd in zip(map(float, centre), map(float, sds), strict=True)
    ]


def with_foretold(found: Posterior, candidates: tuple[Candidate, ...]) -> tuple[Candidate, ...]:
    """The candidates, most probable first, with what is foretold of each and the thickness of its covering."""
    told = foretold(found, len(candidates))
    return tuple(
        replace(candidate, foretold=one, thickness=thickness_along(candidate, found))
        for candidate, one in zip(candidates, told, strict=True)
    )


def thickness_along(candidate: Candidate, found: Posterior) -> FloatArray:
    """
    Thickness of the covering at some heights, rows of (z, mean, sd) in mm; empty without an outline.

    Means of the clearances near each height where the piece is covered; never below nothing.
    """
    gaps = candidate.clearance
    if not len(gaps):
        return np.empty((0, 3))
    nodes = found.case.nodes[0]
    bare = np.interp(gaps[:, 0], nodes.z_mm, nodes.bare.astype(float)) > 0.5
    gaps = gaps[~bare]
    if len(gaps) < 3:
        return np.empty((0, 3))
    low, high = float(gaps[0, 0]), float(gaps[-1, 0])
    reach = 0.06 * (high - low)
    rows = []
    for share in THICKNESS_AT:
        z = low + share * (high - low)
        near = gaps[np.abs(gaps[:, 0] - z) <= reach, 1]
        if len(near):
            sd = float(np.hypot(candidate.cover.sd_mm, candidate.clearance_sd_mm / np.sqrt(len(near))))
            rows.append((z, max(float(near.mean()), 0.0), sd))
    return np.array(rows).reshape(-1, 3)
