"""How well an outline agrees with each form under a covering: a linear model around the best placing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_triangular

from weftglass.inside.bank import STEPS, FormBank, looked_up, slopes, swollen
from weftglass.inside.cover import ROWS_MM, UNEVENNESS, WANDERING_MM, CoverPrior
from weftglass.inside.nodes import Nodes
from weftglass.inside.state import ABOVE, BELOW, STRETCH, THICKNESS, WIDENING, State, log_determinant

FloatArray = NDArray[np.float64]

MODEL_MM = 0.35  # sd of what no part of the model explains, mm; understating it is the quickest way to false certainty
SHAPE_MM = 30.0  # correlation length of a drawing's error along the wall, mm
SHAPE_CLASSES = (0.15, 0.3, 0.5, 0.8, 1.2, 1.8, 2.7, 4.0, 6.0, 9.0)  # mm; a form's shape_sd is rounded up into one
TURNS = {"front": 0.0, "side": 90.0}
TOP_MM = 0.4  # sd of a height read off an outline, mm


@dataclass(frozen=True, eq=False)
class Placing:
    """Prediction for every form and node of one thickness class, and its change with each unknown."""

    predicted: FloatArray  # (F, n) half-width, mm
    change: FloatArray  # (F, n, p)


def shape_class(shape_sd_mm: FloatArray) -> FloatArray:
    """The class (mm) that each form's shape error is rounded up into; the last one holds everything above."""
    classes = np.array(SHAPE_CLASSES)
    return np.asarray(classes[np.minimum(np.searchsorted(classes, shape_sd_mm - 1e-9), len(classes) - 1)])


def edge_covariance(nodes: Nodes, thickness_mm: float, shape_sd_mm: float) -> FloatArray:
    """
    Covariance in mm² of horizontal edge readings once size, scale and mean thickness are known; shape (n, n).

    White part: the outline's own sd, the rows of the weave, the model's error. Smooth part: local thickness with an sd
    proportional to its mean, and the error of the drawn form; both Matern 3/2 along the wall.
    """
    n = nodes.normal
    along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(nodes.z_mm), np.diff(nodes.half_width_mm)))])
    gap = np.abs(along[:, None] - along[None, :])
    covered = np.where(nodes.bare, 0.0, n)
    local = (UNEVENNESS * thickness_mm) ** 2 * np.outer(covered, covered) * matern(gap / WANDERING_MM)
    drawn = shape_sd_mm**2 * np.outer(n, n) * matern(gap / SHAPE_MM)
    rows = np.where(nodes.bare, 0.0, ROWS_MM)
    white = (nodes.sd_mm**2 + rows**2 + MODEL_MM**2) * n**2
    return np.asarray(local + drawn + np.diag(white), dtype=np.float64)


def matern(distance: FloatArray) -> FloatArray:
    """Matern 3/2 correlation at a distance in correlation lengths (Rasmussen & Williams 2006, eq. 4.17)."""
    scaled = np.sqrt(3.0) * distance
    return np.asarray((1.0 + scaled) * np.exp(-scaled), dtype=np.float64)


def place(
    bank: FormBank,
    nodes: Nodes,
    turn: float,
    base_mm: float,
    thickness_mm: float,
    unknowns: FloatArray,
    scale_index: int,
    *,
    exact: bool,
) -> Placing:
    """
    Half-widths each form would show at the nodes, at given unknowns (F, p), with the slopes that linearise it there.

    With ``exact`` the covering is laid round the form point by point; without, it is added along the normal.
    """
    stretch, widening = np.exp(unknowns[:, STRETCH]), np.exp(unknowns[:, WIDENING])
    scale = np.exp(unknowns[:, scale_index])
    thickness = np.maximum(thickness_mm + unknowns[:, THICKNESS], 0.0)
    below = base_mm + unknowns[:, BELOW]
    table = bank.appearing(turn, nodes.distance_mm) * widening[:, None]
    height = bank.heights * stretch
    step = height / STEPS
    share = (nodes.z_mm[None, :] / scale[:, None] - below[:, None]) / height[:, None]
    glass_slope = slopes(table, step)
    glass = looked_up(table, share)
    slope = looked_up(glass_slope, share)
    normal = np.sqrt(1.0 + slope**2)
    covered = ~nodes.bare
    edge, edge_slope = glass, slope
    if covered.any():
        if exact:
            outer = swollen(table, step, thickness)
            over = looked_up(outer, share)
            over_slope = looked_up(slopes(outer, step), share)
        else:
            over, over_slope = glass + thickness[:, None] * np.minimum(normal, 4.0), slope
        edge = np.where(covered, over, glass)
        edge_slope = np.where(covered, over_slope, slope)
    change = np.zeros((*edge.shape, unknowns.shape[1]))
    reached = np.clip(share, 0.0, 1.0) * height[:, None]
    moving = edge_slope * ((share > 0.0) & (share < 1.0))
    change[..., STRETCH] = -moving * reached * scale[:, None]
    change[..., WIDENING] = glass * scale[:, None]
    change[..., BELOW] = -moving * scale[:, None]
    change[..., THICKNESS] = np.where(covered, np.sqrt(1.0 + edge_slope**2), 0.0)
    change[..., scale_index] = edge * scale[:, None] - moving * nodes.z_mm[None, :]
    return Placing(edge * scale[:, None], change)


def height_row(
    bank: FormBank, nodes: Nodes, base_mm: FloatArray, top_mm: FloatArray, size: int, scale_index: int
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Residual (F, K), slope (F, K, p) and variance (F, K) of the outline's own height, all unknowns 0."""
    whole = bank.heights[:, None] + base_mm[None, :] + top_mm[None, :]
    slope = np.zeros((*whole.shape, size))
    slope[..., STRETCH] = bank.heights[:, None]
    slope[..., BELOW] = 1.0
    slope[..., ABOVE] = 1.0
    slope[..., scale_index] = nodes.top_mm
    variance = np.full(whole.shape, TOP_MM**2 + float(np.median(nodes.sd_mm)) ** 2)
    return nodes.top_mm - whole, slope, variance


def take_outline(
    state: State,
    bank: FormBank,
    nodes: Nodes,
    cover: CoverPrior,
    scale_index: int,
    view: str,
    *,
    around: FloatArray | None = None,
) -> State:
    """
    The laws after taking in an outline.

    Parameters
    ----------
    state : State
        Laws before; not changed.
    view : str
        ``front``, ``side`` or ``turned``; a turned view is taken at each class's own turn.
    around : array (F, K, p), optional
        Unknowns to linearise at, with the covering laid on exactly. Default: the placing that the heights alone
        suggest, with the covering added along the normal (the fast first pass over a whole library).

    Notes
    -----
    Marginal likelihood of a linear model with normal unknowns (Rasmussen & Williams 2006, section 2.7), with one
    covariance of the readings for all forms of a shape class, so that a library costs a few matrix products.
    """
    size = state.shift.shape[-1]
    base = np.zeros_like(cover.mean_mm) if nodes.base_is_bare else cover.mean_mm
    top = np.zeros_like(cover.mean_mm) if nodes.top_is_bare else cover.mean_mm
    if nodes.top_is_seen:
        state = state.with_row(*height_row(bank, nodes, base, top, size, scale_index))
    if len(nodes.z_mm) == 0:
        return state
    exact = around is not None
    centre = state.mean if around is None else around
    classes = shape_class(bank.shape_sd)
    precision, shift, log_weight = state.precision.copy(), state.shift.copy(), state.log_weight.copy()
    squares = np.zeros_like(log_weight)
    for k, thickness in enumerate(cover.mean_mm):
        turn = TURNS.get(view, float(cover.turn[k]))
        placed = place(bank, nodes, turn, float(base[k]), float(thickness), centre[:, k], scale_index, exact=exact)
        reading = nodes.half_width_mm[None, :] - placed.predicted + np.einsum("fnp,fp->fn", placed.change, centre[:, k])
        stacked = np.concatenate([placed.change, reading[..., None]], axis=-1)
        for shape_sd in np.unique(classes):
            rows = np.flatnonzero(classes == shape_sd)
            root = np.linalg.cholesky(edge_covariance(nodes, float(thickness), float(shape_sd)))
            inverse = solve_triangular(root, np.eye(len(root)), lower=True)
            white = np.matmul(inverse, stacked[rows])
            slope, miss = white[..., :-1], white[..., -1]
            turned = slope.transpose(0, 2, 1)
            precision[rows, k] += turned @ slope
            shift[rows, k] += (turned @ miss[..., None])[..., 0]
            log_weight[rows, k] -= float(np.log(np.diag(root)).sum()) + 0.5 * len(root) * float(np.log(2 * np.pi))
            squares[rows, k] = (miss**2).sum(axis=1)
    squares -= _peak(precision, shift) - _peak(state.precision, state.shift)
    occam = log_determinant(precision) - log_determinant(state.precision)
    log_weight -= 0.5 * (squares + occam)
    return State(precision, shift, log_weight, state.squares + squares, state.count + len(nodes.z_mm))


def _peak(precision: FloatArray, shift: FloatArray) -> FloatArray:
    """Quadratic form of the shift at its best unknowns, (F, K)."""
    best = np.linalg.solve(precision, shift[..., None])[..., 0]
    return np.asarray((shift * best).sum(axis=-1), dtype=np.float64)


__all__ = ["Placing", "edge_covariance", "height_row", "matern", "place", "shape_class", "take_outline"]
