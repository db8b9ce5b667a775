"""Why a form is probable: decibans by item, the vessel drawn inside the outline, and where it does not fit."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from weftglass.inside.answer import Candidate, Cover, Weight
from weftglass.inside.bank import STEPS
from weftglass.inside.contour import Contour, contour_of
from weftglass.inside.likelihood.edges import MODEL_MM
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
    drawn = _vessel(found, index, best, unknowns)
    misfit = _misfit(*_clearance(found, drawn, index, unknowns))
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


def _misfit(clearance: FloatArray, sd: float) -> tuple[float, float] | None:
    """Where glass would stand furthest outside, if by more than the uncertainties allow over three heights running."""
    if len(clearance) < 3:
        return None
    smooth = np.convolve(clearance[:, 1], np.ones(3) / 3, mode="same")[1:-1]
    worst = int(smooth.argmin())
    if smooth[worst] >= -OUTSIDE_SDS * sd:
        return None
    return float(clearance[worst + 1, 0]), float(-smooth[worst])
