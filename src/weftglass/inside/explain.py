"""Why a form is probable: decibans by item, the vessel drawn inside the outline, and where it does not fit."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from weftglass.inside.answer import Candidate, Cover, Weight
from weftglass.inside.bank import STEPS
from weftglass.inside.likelihood.outline import MODEL_MM
from weftglass.inside.posterior import Posterior
from weftglass.inside.state import BELOW, FIRST_SCALE, STRETCH, THICKNESS, WIDENING

FloatArray = NDArray[np.float64]

DECIBANS = 10.0 / np.log(10.0)
OUTSIDE_SDS = 2.5  # glass this many standard deviations outside its covering does not fit
DRAWN_EVERY = 2  # table steps between drawn points


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
    unknowns = found.exact.state.mean[place, best]
    spread = np.sqrt(np.diag(found.exact.state.covariance[place, best]))
    vessel = _vessel(found, index, best, unknowns)
    clearance, sd = _clearance(found, vessel, index, unknowns)
    covered = _covered(found, clearance)
    misfit = _misfit(clearance, sd)
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
        _cover(found, place, covered, float(spread[THICKNESS])),
        weights,
        vessel,
        clearance,
        sd,
    )


def _vessel(found: Posterior, index: int, best: int, unknowns: FloatArray) -> FloatArray:
    """The form at its most probable size, in the frame of the first outline."""
    scale = np.exp(unknowns[FIRST_SCALE]) if found.case.nodes else 1.0
    base = 0.0 if found.case.base_bare else found.case.cover.mean_mm[best]
    height = found.bank.heights[index] * np.exp(unknowns[STRETCH])
    view = found.case.evidence.outlines[0].view if found.case.nodes else "front"
    turn = {"front": 0.0, "side": 90.0}.get(view, float(found.case.cover.turn[best]))
    distance = found.case.nodes[0].distance_mm if found.case.nodes else None
    table = found.bank.part(np.array([index])).appearing(turn, distance)[0]
    at = np.arange(0, STEPS + 1, DRAWN_EVERY)
    z = (base + unknowns[BELOW] + at / STEPS * height) * scale
    return np.column_stack([z, table[at] * np.exp(unknowns[WIDENING]) * scale])


def _clearance(found: Posterior, vessel: FloatArray, index: int, unknowns: FloatArray) -> tuple[FloatArray, float]:
    """Distance along the normal from glass to outer edge at the nodes of the first outline, and the sd of one."""
    if not found.case.nodes:
        return np.empty((0, 2)), 0.0
    nodes = found.case.nodes[0]
    within = (nodes.z_mm >= vessel[0, 0]) & (nodes.z_mm <= vessel[-1, 0])
    glass = np.interp(nodes.z_mm, vessel[:, 0], vessel[:, 1])
    slope = np.gradient(vessel[:, 1], vessel[:, 0])
    steep = np.interp(nodes.z_mm, vessel[:, 0], np.abs(slope))
    normal = np.sqrt(1.0 + np.minimum(np.maximum(steep, np.abs(nodes.slope)), 12.0) ** 2)
    distance = (nodes.half_width_mm - glass) / normal
    sd = float(np.sqrt(np.median(nodes.sd_mm) ** 2 + MODEL_MM**2 + found.bank.shape_sd[index] ** 2))
    return np.column_stack([nodes.z_mm, distance])[within], sd


def _covered(found: Posterior, clearance: FloatArray) -> FloatArray:
    """Clearances where there is a covering."""
    if not len(clearance):
        return clearance
    nodes = found.case.nodes[0]
    bare = np.interp(clearance[:, 0], nodes.z_mm, nodes.bare.astype(float)) > 0.5
    return np.asarray(clearance[~bare], dtype=np.float64)


def _cover(found: Posterior, place: int, covered: FloatArray, sd: float) -> Cover:
    """Thickness from the clearances; without an outline from what is believed of the mean thickness."""
    state, prior = found.exact.state, found.case.cover
    weight = state.class_weight[place]
    means = np.maximum(prior.mean_mm + state.mean[place, :, THICKNESS], 0.0)
    mean = float((weight * means).sum())
    spread = float(np.sqrt((weight * (means - mean) ** 2).sum() + sd**2))
    if not len(covered):
        return Cover(mean, max(0.0, mean - 2 * spread), mean + 2 * spread, spread)
    smooth = np.convolve(np.pad(covered[:, 1], 1, mode="edge"), np.ones(3) / 3, mode="valid")
    return Cover(float(smooth.mean()), float(smooth.min()), float(smooth.max()), spread)


def _misfit(clearance: FloatArray, sd: float) -> tuple[float, float] | None:
    """Where glass would stand furthest outside, if by more than the uncertainties allow over three heights running."""
    if len(clearance) < 3:
        return None
    smooth = np.convolve(clearance[:, 1], np.ones(3) / 3, mode="same")[1:-1]
    worst = int(smooth.argmin())
    if smooth[worst] >= -OUTSIDE_SDS * sd:
        return None
    return float(clearance[worst + 1, 0]), float(-smooth[worst])
