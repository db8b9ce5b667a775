"""The vessel that nobody listed: its own density of the evidence, and odds calibrated on simulated unknowns."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from weftglass.inside.bank import FormBank
from weftglass.inside.surprise import Surprise
from weftglass.inside.weighing import Case, Weighed, weigh

FloatArray = NDArray[np.float64]

KERNELS = ((0.03, 0.015), (0.05, 0.03), (0.10, 0.06))  # relative sds of size, and shape error as share of half-width
PRIOR_UNLISTED = 0.10  # share of covered vessels that no library lists; working figure, no source
# Outlines: log odds at even prior, by benchmarks/fit_unlisted.py, of the log evidence ratio (drawn in by its inverse
# hyperbolic sine), and of how surprising the outline is under the best form in smooth directions and in all others.
CONSTANT, PER_RATIO, PER_SMOOTH, PER_WHITE = -0.11, 1.49, 0.13, 0.39
MEASURED = 0.5  # power on what measurements say against the library: their spreads are working figures
RATIO_LIMIT = 60.0  # log evidence ratios beyond this add nothing


def plain_look(plain: Case, fine: Case, weighed: Weighed) -> Case:
    """
    A coarse look at what is sure of an outline: for the densities of vessels listed and in general.

    Parameters
    ----------
    plain : Case
        With the plain classes of coverings.
    fine : Case
        With all habits, of which ``weighed`` are the laws. Bulges of the likeliest class are left out of the look, and
        hollows are bridged or not and ends reach out as in it.
    """
    if not plain.nodes:
        return plain
    best = int(weighed.total.argmax())
    habit = fine.cover.habit(int(weighed.state.log_weight[best].argmax()))
    nodes = list(plain.nodes)
    for bulge in fine.bulges[: habit.bulges]:
        nodes[bulge.outline] = nodes[bulge.outline].without(bulge.low_mm, bulge.high_mm)
    alike = [
        k
        for k in range(len(plain.cover))
        if (plain.cover.habit(k).bridged, plain.cover.habit(k).ends) == (habit.bridged, habit.ends)
    ]
    return replace(plain, nodes=tuple(nodes), cover=plain.cover.part(alike)).coarse()[0]


def evidence_ratio(library: FloatArray, general: FloatArray, item: int) -> float:
    """Log density of the first ``item`` items for a vessel in general over the library's average, cut at +-60."""
    return float(np.clip(general[item] - library[item], -RATIO_LIMIT, RATIO_LIMIT))


def unlisted_probability(library: FloatArray, general: FloatArray, surprise: Surprise, case: Case) -> float:
    """
    Probability that the vessel is none of the forms listed.

    Parameters
    ----------
    library, general : array (items + 1,)
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
    shape = evidence_ratio(library, general, outlines)
    size = evidence_ratio(library, general, measured) - shape
    seen = evidence_ratio(library, general, len(library) - 1) - shape - size
    if outlines:
        odds += float(np.array([CONSTANT, PER_RATIO, PER_SMOOTH, PER_WHITE]) @ features(shape, surprise))
    odds += MEASURED * size + seen
    return float(1.0 / (1.0 + np.exp(-np.clip(odds, -60.0, 60.0))))


def features(ratio: float, surprise: Surprise) -> FloatArray:
    """What the calibrated law weighs, (4,): one, the log evidence ratio drawn in at its ends, the two surprises."""
    return np.array([1.0, np.arcsinh(ratio), surprise.smooth, surprise.white])


def densities(look: Case, chosen: FormBank, prior: FloatArray) -> tuple[FloatArray, FloatArray]:
    """
    Log density of the first 0, 1, 2 … items averaged over the library, and for a vessel in general, (items + 1,) each.

    Parameters
    ----------
    look : Case
    chosen : FormBank
        Forms near the evidence; those further off add nothing.
    prior : array (F,)
        Of those forms.

    Notes
    -----
    A kernel density estimate of vessels: every form stands for its neighbourhood, narrow, middling and wide alike often
    (Silverman 1986, section 4.2), in size and in the shape of its contour. Sightings count by their average.
    """
    measured = len(look.evidence.outlines) + len(look.evidence.measurements)
    banks = [chosen, *(chosen.widened(size, size, shape) for size, shape in KERNELS)]
    together = replace(
        chosen.part(np.tile(np.arange(len(chosen)), len(banks))),
        height_sd=np.concatenate([bank.height_sd for bank in banks]),
        width_sd=np.concatenate([bank.width_sd for bank in banks]),
        shape_sd=np.concatenate([bank.shape_sd for bank in banks]),
    )
    weighed = weigh(look, together)
    library, *kernels = (_running_density(part, prior) for part in np.split(weighed.running, len(banks), axis=1))
    for density in kernels:
        density[measured + 1 :] = density[measured] + np.cumsum(weighed.average[measured:])
    return library, np.asarray(np.logaddexp.reduce(kernels, axis=0) - np.log(len(KERNELS)), dtype=np.float64)


def _running_density(running: FloatArray, prior: FloatArray) -> FloatArray:
    """Log likelihoods (items + 1, F) averaged over a prior of the forms."""
    joint = running + np.log(prior)[None, :]
    top = joint.max(axis=1)
    return np.asarray(top + np.log(np.exp(joint - top[:, None]).sum(axis=1)), dtype=np.float64)
