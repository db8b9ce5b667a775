"""What an answer hangs on: the one item without which it would change, and what would put the runner-up ahead."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from weftglass.evidence import Evidence, Measurement, Sighting
from weftglass.inside.answer import Hinge, Tip
from weftglass.inside.bank import FormBank
from weftglass.inside.likelihood.measurement import measured_rows
from weftglass.inside.likelihood.sighting import listed_values, sighting_likelihood
from weftglass.inside.posterior import Posterior
from weftglass.inside.state import State
from weftglass.inside.weighing import weigh

FloatArray = NDArray[np.float64]

TRIED = 801  # readings tried for a tip
REACH_SDS = 8.0  # how far from the reading taken, in standard deviations of what either form would show
LEAST_LEAD = 0.02  # a runner-up below this probability is not worth tipping to


def hinge_of(found: Posterior) -> Hinge | None:
    """
    The item without which the answer would be least sure, or another.

    Parameters
    ----------
    found : Posterior

    Returns
    -------
    Hinge or None
        None with fewer than two items, or where none of the forms leads.

    Notes
    -----
    An item's likelihood given the items before it is taken out of the sum; what later items would say without it is
    taken to be the same.
    """
    steps = np.diff(found.running, axis=0)
    leader = int(found.survivors[0])
    if len(steps) < 2 or found.unlisted > found.probability[leader]:
        return None
    listed = 1.0 - found.unlisted
    without = found.running[-1][None, :] - steps + np.log(found.prior)[None, :]
    chance = np.exp(without - without.max(axis=1, keepdims=True))
    chance *= listed / chance.sum(axis=1, keepdims=True)
    item = int(chance[:, leader].argmin())
    other = int(chance[item].argmax())
    return Hinge(
        found.case.items[item],
        float(found.probability[leader]),
        float(chance[item, leader]),
        found.bank.forms[other].id,
        float(chance[item, other]),
    )


def tips_of(found: Posterior) -> tuple[Tip, ...]:
    """
    For each reading and sighting, what it would have to be for the second form to lead the first.

    Parameters
    ----------
    found : Posterior

    Returns
    -------
    tuple of Tip
        Only items that could tip the answer within what either form would ever show; empty without a runner-up of at
        least 2 %.
    """
    if len(found.survivors) < 2 or found.probability[found.survivors[1]] < LEAST_LEAD:
        return ()
    case, pair = found.case, np.array([0, 1])
    bank = found.bank.part(found.survivors[pair])
    plain = replace(case, evidence=replace(case.evidence, measurements=(), sightings=()))
    start = weigh(plain, bank, around=found.exact.state.part(pair)).state
    prior = np.log(found.prior[found.survivors[pair]])
    return (*_tipped_readings(case.evidence, found, bank, start, prior), *_tipped_sightings(found, bank))


def _tipped_readings(
    evidence: Evidence, found: Posterior, bank: FormBank, start: State, prior: FloatArray
) -> Iterator[Tip]:
    """Each measurement moved until the odds are even, all else as it is."""
    runner_up = bank.forms[1].id
    seen = prior + sum((np.log(sighting_likelihood(s, bank.forms)[0]) for s in evidence.sightings), np.zeros(2))
    for i, measurement in enumerate(evidence.measurements):
        others = (*evidence.measurements[:i], *evidence.measurements[i + 1 :])
        blank = replace(measurement, value=0.0)
        state = start
        *rows, last = measured_rows([*others, blank], bank, found.case.setting)
        for row in rows:
            state = state.with_row(*row)
        residual, slope, variance = last
        mean = np.einsum("fkp,fkp->fk", slope, state.mean) - residual
        sd = np.sqrt(np.einsum("fkp,fkpq,fkq->fk", slope, state.covariance, slope) + variance)
        log_weight = state.log_weight - np.log(sd)
        value = _even_point(measurement, mean, sd, log_weight, seen)
        if value is not None:
            yield Tip(measurement.item, runner_up, measurement.value, value, measurement.unit, "")


def _even_point(
    measurement: Measurement, mean: FloatArray, sd: FloatArray, log_weight: FloatArray, seen: FloatArray
) -> float | None:
    """The reading nearest the one taken at which the second form is as probable as the first; None where none is."""
    far = REACH_SDS * float(sd.max())
    tried = np.linspace(max(measurement.value - far, 0.0), measurement.value + far, TRIED)
    log_density = log_weight[..., None] - 0.5 * ((tried[None, None, :] - mean[..., None]) / sd[..., None]) ** 2
    top = log_density.max(axis=1)
    total = top + np.log(np.exp(log_density - top[:, None, :]).sum(axis=1)) + seen[:, None]
    ahead = total[1] > total[0]
    shown = np.abs(tried[None, None, :] - mean[..., None]) < 4.0 * sd[..., None]  # what either form would ever show
    fine = tried[ahead & shown.any(axis=(0, 1))]
    if not len(fine):
        return None
    return float(fine[np.abs(fine - measurement.value).argmin()])


def _tipped_sightings(found: Posterior, bank: FormBank) -> Iterator[Tip]:
    """Each sighting swapped for what the runner-up lists, where that alone would put it ahead."""
    first, second = (int(i) for i in found.survivors[:2])
    lead = found.running[-1, first] - found.running[-1, second] + np.log(found.prior[first] / found.prior[second])
    for sighting in found.case.evidence.sightings:
        now = np.log(sighting_likelihood(sighting, bank.forms)[0])
        for value in listed_values(bank.forms[1], sighting.feature):
            swapped = np.log(sighting_likelihood(Sighting(sighting.feature, value, sighting.sure), bank.forms)[0])
            if lead - (now[0] - now[1]) + (swapped[0] - swapped[1]) < 0:
                yield Tip(sighting.item, bank.forms[1].id, None, None, "", value)
                break
