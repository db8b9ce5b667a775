"""Why a form is probable: decibans by item, the vessel drawn inside the outline, and where it does not fit."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from weftglass.inside.answer import Candidate, Cover, Weight
from weftglass.inside.contour import Contour, contour_of
from weftglass.inside.fit import drawn_vessel, misfit_of
from weftglass.inside.posterior import Posterior
from weftglass.inside.state import THICKNESS

FloatArray = NDArray[np.float64]

DECIBANS = 10.0 / np.log(10.0)


def decibans_by_item(found: Posterior) -> FloatArray:
    """
    Weight of each item for each form, (items, F): ten log ten of its likelihood over the library's average so far.

    The average after each item is taken over the prior, so the weights of a form add up to ten log ten of how much all
    evidence together raised it.
    """
    joint = found.running + np.log(found.prior)[None, :]
    top = joint.max(axis=1, keepdims=True)
    average = top[:, 0] + np.log(np.exp(joint - top).sum(axis=1))
    return np.asarray(np.diff(found.running - average[:, None], axis=0) * DECIBANS)


def candidate_of(found: Posterior, place: int, decibans: FloatArray, even: float) -> Candidate:
    """
    The candidate at a place among the survivors (0 the most probable).

    Parameters
    ----------
    even : float
        Its probability with all forms equally common.
    """
    index = int(found.survivors[place])
    form = found.bank.forms[index]
    best = int(found.exact.state.log_weight[place].argmax())
    spread = np.sqrt(np.diag(found.exact.state.covariance[place, best]))
    drawn = drawn_vessel(found, place)
    misfit = misfit_of(found, place)
    contour = contour_of(found, place)
    vessel, clearance, sd = _believed(contour, drawn)
    weights = tuple(
        Weight(item, float(value)) for item, value in zip(found.case.items, decibans[:, index], strict=True)
    )
    return Candidate(
        form.id,
        form.name,
        form.size or "",
        form.family_name,
        float(found.probability[index]),
        even,
        misfit is None,
        misfit,
        _cover(found, place, contour, float(spread[THICKNESS])),
        weights,
        vessel,
        clearance,
        sd,
    )


def _believed(contour: Contour | None, drawn: FloatArray) -> tuple[FloatArray, FloatArray, float]:
    """The vessel moved as far as its drawing is believed to err, the clearances over it, and the sd of one."""
    if contour is None:
        return drawn, np.empty((0, 2)), 0.0
    vessel = drawn.copy()
    vessel[:, 1] = np.maximum(vessel[:, 1] + np.interp(drawn[:, 0], contour.z_mm, contour.shift_mm), 0.0)
    clearance = np.column_stack([contour.z_mm, contour.thickness_mm])
    within = (contour.z_mm >= vessel[0, 0]) & (contour.z_mm <= vessel[-1, 0])
    sds = contour.thickness_sd_mm[within & contour.covered]
    return vessel, clearance[within], float(np.median(sds)) if len(sds) else 0.0


def _cover(found: Posterior, place: int, contour: Contour | None, sd: float) -> Cover:
    """Thickness along the contour; without an outline from what is believed of the mean thickness."""
    if contour is not None and contour.covered.any():
        along = contour.thickness_mm[contour.covered]
        smooth = np.convolve(np.pad(along, 1, mode="edge"), np.ones(3) / 3, mode="valid")
        return Cover(contour.mean_mm, float(smooth.min()), float(smooth.max()), contour.mean_sd_mm)
    state, prior = found.exact.state, found.case.cover
    weight = state.class_weight[place]
    means = np.maximum(prior.mean_mm + state.mean[place, :, THICKNESS], 0.0)
    mean = float((weight * means).sum())
    spread = float(np.sqrt((weight * (means - mean) ** 2).sum() + sd**2))
    return Cover(mean, max(0.0, mean - 2 * spread), mean + 2 * spread, spread)
