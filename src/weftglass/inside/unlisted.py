"""The vessel that nobody listed: its own density of the evidence, and odds calibrated on simulated unknowns."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from weftglass.inside.bank import FormBank
from weftglass.inside.weighing import Case, Weighed

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

VAGUE_FORMS = 120  # neighbourhoods that stand for vessels in general
VAGUE_HEIGHT, VAGUE_WIDTH, VAGUE_SHAPE = (
    0.10,
    0.10,
    0.06,
)  # relative sds of size, and shape error as share of half-width
PRIOR_UNLISTED = 0.10  # share of covered vessels that no library lists; working figure, no source
# log odds = A + B * (log density as unlisted - log density as listed); fitted by benchmarks/fit_unlisted.py
A, B = 0.0, 1.0


def vague_bank(bank: FormBank) -> FormBank:
    """At most 120 forms, evenly chosen by size, widened to neighbourhoods."""
    order = np.lexsort((bank.front.max(axis=1), bank.heights))
    if len(order) > VAGUE_FORMS:
        order = order[np.linspace(0, len(order) - 1, VAGUE_FORMS).round().astype(np.int64)]
    return bank.part(order).widened(VAGUE_HEIGHT, VAGUE_WIDTH, VAGUE_SHAPE)


def unlisted_log_odds(library: float, wide: Weighed, exact: Weighed, case: Case) -> float:
    """
    Log odds that the vessel is unlisted against listed.

    Parameters
    ----------
    library : float
        Log likelihood of the evidence averaged over the library's prior.
    wide : Weighed
        The same evidence against the vague bank.
    exact : Weighed
        Survivors.
    case : Case
    """
    prior = float(np.log(PRIOR_UNLISTED / (1.0 - PRIOR_UNLISTED)))
    return prior + A + B * (wide_log_density(wide, case) - library)


def wide_log_density(wide: Weighed, case: Case) -> float:
    """Log density of all evidence for a vessel in general: geometry by the vague bank, sightings by their average."""
    measured = len(case.evidence.outlines) + len(case.evidence.measurements)
    geometry = wide.running[measured]
    top = float(geometry.max())
    return top + float(np.log(np.exp(geometry - top).mean())) + float(wide.average[measured:].sum())
