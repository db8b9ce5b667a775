"""The vessel that nobody listed: its own density of the evidence, and odds calibrated on simulated unknowns."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from weftglass.inside.bank import FormBank
from weftglass.inside.surprise import Surprise
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
# Outlines: log odds at even prior, by benchmarks/fit_unlisted.py, of the log evidence ratio, and of how surprising the
# outline is under the best form in smooth directions and in all others.
CONSTANT, PER_RATIO, PER_SMOOTH, PER_WHITE = 0.0, 0.15, 3.0, 1.0
MEASURED = 0.5  # power on what measurements say against the library: their spreads are working figures
RATIO_LIMIT = 60.0  # log evidence ratios beyond this add nothing


def vague_bank(bank: FormBank) -> FormBank:
    """At most 120 forms, evenly chosen by size, widened to neighbourhoods."""
    order = np.lexsort((bank.front.max(axis=1), bank.heights))
    if len(order) > VAGUE_FORMS:
        order = order[np.linspace(0, len(order) - 1, VAGUE_FORMS).round().astype(np.int64)]
    return bank.part(order).widened(VAGUE_HEIGHT, VAGUE_WIDTH, VAGUE_SHAPE)


def evidence_ratio(library: FloatArray, vague: FloatArray, item: int) -> float:
    """Log density of the first ``item`` items for a vessel in general over the library's average, cut at +-60."""
    return float(np.clip(vague[item] - library[item], -RATIO_LIMIT, RATIO_LIMIT))


def unlisted_probability(library: FloatArray, vague: FloatArray, surprise: Surprise, case: Case) -> float:
    """
    Probability that the vessel is none of the forms listed.

    Parameters
    ----------
    library, vague : array (items + 1,)
        Log density of the first 0, 1, 2 … items averaged over the library's prior, and for a vessel in general.
    surprise : Surprise
        Of the outlines under the likeliest form.

    Notes
    -----
    Outlines speak through the calibrated law, measurements through half their log ratio, sightings through all of it.
    """
    outlines = len(case.evidence.outlines)
    measured = outlines + len(case.evidence.measurements)
    odds = float(np.log(PRIOR_UNLISTED / (1.0 - PRIOR_UNLISTED)))
    shape = evidence_ratio(library, vague, outlines)
    size = evidence_ratio(library, vague, measured) - shape
    seen = evidence_ratio(library, vague, len(library) - 1) - shape - size
    if outlines:
        odds += float(np.array([CONSTANT, PER_RATIO, PER_SMOOTH, PER_WHITE]) @ features(shape, surprise))
    odds += MEASURED * size + seen
    return float(1.0 / (1.0 + np.exp(-np.clip(odds, -60.0, 60.0))))


def features(ratio: float, surprise: Surprise) -> FloatArray:
    """What the calibrated law weighs, (4,): one, the log evidence ratio, the two surprises."""
    return np.array([1.0, ratio, surprise.smooth, surprise.white])


def running_density(weighed: Weighed, prior: FloatArray) -> FloatArray:
    """Log density of the first 0, 1, 2 … items averaged over a prior of the forms, (items + 1,)."""
    joint = weighed.running + np.log(prior)[None, :]
    top = joint.max(axis=1)
    return np.asarray(top + np.log(np.exp(joint - top[:, None]).sum(axis=1)), dtype=np.float64)


def vague_density(vague: Weighed, case: Case) -> FloatArray:
    """The same for a vessel in general: geometry by the vague bank, sightings by their average, (items + 1,)."""
    measured = len(case.evidence.outlines) + len(case.evidence.measurements)
    forms = vague.running.shape[1]
    density = running_density(vague, np.full(forms, 1.0 / forms))
    density[measured + 1 :] = density[measured] + np.cumsum(vague.average[measured:])
    return density
