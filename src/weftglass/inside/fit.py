"""Whether a form fits: where its glass would stand out of the covering, and by how much."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from weftglass.inside.answer import Excluded
from weftglass.inside.bank import STEPS
from weftglass.inside.likelihood.edges import MODEL_MM
from weftglass.inside.posterior import Posterior
from weftglass.inside.state import BELOW, FIRST_SCALE, STRETCH, WIDENING

FloatArray = NDArray[np.float64]

OUTSIDE_SDS = 2.5  # glass this many standard deviations outside its covering does not fit
DRAWN_EVERY = 2  # table steps between drawn points
MOST_EXCLUDED = 4


def drawn_vessel(found: Posterior, place: int) -> FloatArray:
    """
    A survivor at its most probable size, in the frame of the first outline: rows of height and half-width, mm.

    Parameters
    ----------
    found : Posterior
    place : int
        Among the survivors, 0 the most probable.
    """
    index, best, unknowns = _most_probable(found, place)
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


def misfit_of(found: Posterior, place: int) -> tuple[float, float] | None:
    """
    Height and distance in mm by which a survivor's glass would stand out; None where it fits.

    By the first outline, along the normal; by the measured height and width where those alone rule it out.
    """
    gap, sd = _clearance(found, drawn_vessel(found, place), place)
    return _outside(gap, sd) or _outgrown(found, int(found.survivors[place]))


def excluded_of(found: Posterior) -> tuple[Excluded, ...]:
    """The likeliest survivors that can't fit, at most four; none of the leading three is looked at."""
    shut = []
    for place in range(3, len(found.survivors)):
        misfit = misfit_of(found, place)
        if misfit is not None:
            form = found.bank.forms[int(found.survivors[place])]
            shut.append(Excluded(form.id, form.name, form.size or "", *misfit))
        if len(shut) == MOST_EXCLUDED:
            break
    return tuple(shut)


def _most_probable(found: Posterior, place: int) -> tuple[int, int, FloatArray]:
    """Index of a survivor in the bank, its best thickness class, and the means of its unknowns there."""
    best = int(found.exact.state.log_weight[place].argmax())
    return int(found.survivors[place]), best, np.asarray(found.exact.state.mean[place, best])


def _clearance(found: Posterior, vessel: FloatArray, place: int) -> tuple[FloatArray, float]:
    """Distance along the normal from glass to outer edge at the nodes of the first outline, and the sd of one."""
    if not found.case.nodes:
        return np.empty((0, 2)), 0.0
    nodes, index = found.case.nodes[0], int(found.survivors[place])
    within = (nodes.z_mm >= vessel[0, 0]) & (nodes.z_mm <= vessel[-1, 0])
    glass = np.interp(nodes.z_mm, vessel[:, 0], vessel[:, 1])
    slope = np.gradient(vessel[:, 1], vessel[:, 0])
    steep = np.interp(nodes.z_mm, vessel[:, 0], np.abs(slope))
    normal = np.sqrt(1.0 + np.minimum(np.maximum(steep, np.abs(nodes.slope)), 12.0) ** 2)
    distance = (nodes.half_width_mm - glass) / normal
    sd = float(np.sqrt(np.median(nodes.sd_mm) ** 2 + MODEL_MM**2 + found.bank.shape_sd[index] ** 2))
    return np.column_stack([nodes.z_mm, distance])[within], sd


def _outside(clearance: FloatArray, sd: float) -> tuple[float, float] | None:
    """Where glass would stand furthest outside, if by more than the uncertainties allow over three heights running."""
    if len(clearance) < 3:
        return None
    smooth = np.convolve(clearance[:, 1], np.ones(3) / 3, mode="same")[1:-1]
    worst = int(smooth.argmin())
    if smooth[worst] >= -OUTSIDE_SDS * sd:
        return None
    return float(clearance[worst + 1, 0]), float(-smooth[worst])


def _outgrown(found: Posterior, index: int) -> tuple[float, float] | None:
    """Where glass is taller or wider than the whole piece was measured to be, by more than both uncertainties allow."""
    bank = found.bank
    for measurement in found.case.evidence.measurements:
        room = measurement.value + OUTSIDE_SDS * measurement.sd
        if measurement.what == "height":
            tall = float(bank.heights[index])
            if tall * (1.0 - OUTSIDE_SDS * float(bank.height_sd[index])) > room:
                return measurement.value, tall - measurement.value
        if measurement.what == "body_width":
            widest = int(bank.front[index].argmax())
            wide = 2.0 * float(bank.front[index, widest])
            least = wide * (1.0 - OUTSIDE_SDS * float(bank.width_sd[index])) - OUTSIDE_SDS * float(bank.shape_sd[index])
            if least > room:
                return widest / STEPS * float(bank.heights[index]), 0.5 * (wide - measurement.value)
    return None
