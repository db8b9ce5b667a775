"""Where the glass stands within an outline, and how thick the covering is along it: the law after all evidence."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve
from scipy.special import log_ndtr

from weftglass.inside.bulges import bulge_covariance
from weftglass.inside.likelihood.edges import Kind, shape_class
from weftglass.inside.likelihood.outline import placed_reading
from weftglass.inside.posterior import Posterior
from weftglass.inside.state import BRIDGING, THICKNESS

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Contour:
    """
    Covering and glass along the first outline under one candidate.

    Attributes
    ----------
    z_mm : array (n,)
        Heights of the outline's nodes.
    covered : array (n,) of bool
        Where there is a covering.
    thickness_mm, thickness_sd_mm : array (n,)
        Of the covering along the normal, never below 0; 0 where glass is bare.
    shift_mm : array (n,)
        How far the glass is believed to stand outside its drawing, horizontally.
    mean_mm, mean_sd_mm : float
        Mean thickness over the covered nodes, and how well it is known.
    """

    z_mm: FloatArray
    covered: NDArray[np.bool_]
    thickness_mm: FloatArray
    thickness_sd_mm: FloatArray
    shift_mm: FloatArray
    mean_mm: float
    mean_sd_mm: float


def contour_of(found: Posterior, place: int) -> Contour | None:
    """
    The contour under the candidate at a place among the survivors; None without an outline.

    Notes
    -----
    Given size, scale and mean thickness the edge is the sum of independent normal parts: local thickness, bulges, the
    drawing's error, what differs from node to node. Each part's law follows by conditioning on the sum (Rasmussen &
    Williams 2006, section 2.2), spread over what is still unknown of size and scale. A drawing that is millimetres off
    so takes up the misses that are its own, and the covering keeps the thickness that coverings have. Thickness is cut
    off at nothing, height by height.
    """
    case, state = found.case, found.exact.state
    if not case.nodes or not len(case.nodes[0].z_mm):
        return None
    k = int(state.log_weight[place].argmax())
    thickness, habit = float(case.cover.mean_mm[k]), case.cover.habit(k)
    one = found.bank.part(found.survivors[[place]])
    turn, mean = float(case.cover.turn[k]), state.mean[place, k]
    change, reading = placed_reading(one, case.sheets, thickness, turn, mean[None], bridged=habit.bridged)
    errors, stack = case.errors, case.errors.stack
    shape_sd = float(shape_class(one.shape_sd)[0])
    cover, drawn = errors.smooth_parts(Kind(thickness, shape_sd, habit.surface, bool(one.is_round[0])))
    for bulge in case.bulges[: habit.bulges]:
        cover = cover + bulge_covariance(stack, bulge)
    root = cho_factor(cover + drawn + np.diag(errors.white_variance), lower=True)
    miss = reading - change @ mean
    solved = cho_solve(root, miss)
    gain = cho_solve(root, cover).T
    towards = -gain @ change
    towards[:, THICKNESS] += stack.normal
    towards[:, BRIDGING] += change[:, BRIDGING]
    spread = cover - gain @ cover + towards @ state.covariance[place, k] @ towards.T
    own = np.flatnonzero((stack.outline == 0) & (stack.covered > 0))
    normal = stack.normal[own]
    off = cover @ solved + change[:, BRIDGING] * mean[BRIDGING]
    local = thickness + mean[THICKNESS] + off[own] / normal
    law = spread[np.ix_(own, own)] / np.outer(normal, normal)
    first = case.nodes[0]
    along, sd = np.zeros(len(first.z_mm)), np.zeros(len(first.z_mm))
    along[own], sd[own] = cut_off(local, np.sqrt(np.maximum(np.diag(law), 1e-6)))
    share = state.class_weight[place]
    means = np.maximum(case.cover.mean_mm + state.mean[place, :, THICKNESS], 0.0)
    between = float(share @ (means - float(share @ means)) ** 2)
    whole = (float(along[own].mean()), float(np.sqrt(max(law.mean(), 0.0) + between))) if len(own) else (0.0, 0.0)
    shift = (drawn @ solved)[stack.outline == 0]
    return Contour(first.z_mm, ~first.bare, along, sd, shift, *whole)


def cut_off(mean: FloatArray, sd: FloatArray) -> tuple[FloatArray, FloatArray]:
    """
    Mean and sd of normal laws of which only what is above 0 counts (Johnson, Kotz & Balakrishnan 1994, section 13.10).

    Examples
    --------
    >>> mean, sd = cut_off(np.array([5.0, 0.0]), np.array([1.0, 1.0]))
    >>> mean.round(3).tolist(), sd.round(3).tolist()
    ([5.0, 0.798], [1.0, 0.603])
    """
    at = np.maximum(mean / sd, -25.0)
    ratio = np.exp(-0.5 * at**2 - 0.5 * np.log(2 * np.pi) - log_ndtr(at))
    return mean + sd * ratio + sd * (at - mean / sd), sd * np.sqrt(np.maximum(1 - ratio * (at + ratio), 0.0))
