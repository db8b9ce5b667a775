"""How well outlines agree with each form under a covering: a linear model around the best placing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_triangular

from weftglass.inside.bank import STEPS, FormBank, looked_up, slopes, swollen
from weftglass.inside.bulges import Bulge, bulge_covariance
from weftglass.inside.cover import EVEN, ROWS_MM, CoverPrior, Surface
from weftglass.inside.nodes import Nodes, Stack
from weftglass.inside.small_systems import eliminate
from weftglass.inside.state import (
    ABOVE,
    BELOW,
    DEEPENING,
    STRETCH,
    THICKNESS,
    WIDENING,
    State,
)

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

MODEL_MM = 0.35  # sd of what no part of the model explains, mm; understating it is the quickest way to false certainty
SHAPE_MM = 30.0  # correlation length of a drawing's error along the wall, mm
SHAPE_CLASSES = (0.15, 0.3, 0.5, 0.8, 1.2, 1.8, 2.7, 4.0, 6.0, 9.0)  # mm; a form's shape_sd is rounded up into one
TURNS = {"front": 0.0, "side": 90.0}
TOP_MM = 0.4  # sd of a height read off an outline, mm
COVER_SHARED, SIDE_THICKNESS = 0.5, 0.15  # between two views: shared part of the thickness, offset as share of its mean
SHAPE_SHARED_ROUND, SHAPE_SHARED_FLAT = 0.95, 0.4  # between two views: shared part of a drawing's error


@dataclass(frozen=True, eq=False)
class Sheet:
    """
    One outline as `take_outlines` takes it.

    Attributes
    ----------
    nodes : Nodes
    view : str
        ``front``, ``side`` or ``turned``; a turned view is taken at each class's own turn.
    scale_index : int
        Which unknown is the scale of its photograph.
    offset_index : int or None
        Which unknown is the height of its lowest point; None where the base is seen.
    """

    nodes: Nodes
    view: str
    scale_index: int
    offset_index: int | None = None


@dataclass(frozen=True, eq=False)
class Placing:
    """Prediction for every form and node of one thickness class, and its change with each unknown."""

    predicted: FloatArray  # (F, n) half-width, mm
    change: FloatArray  # (F, n, p)


def shape_class(shape_sd_mm: FloatArray) -> FloatArray:
    """The class (mm) that each form's shape error is rounded up into; the last one holds everything above."""
    classes = np.array(SHAPE_CLASSES)
    return np.asarray(classes[np.minimum(np.searchsorted(classes, shape_sd_mm - 1e-9), len(classes) - 1)])


def edge_covariance(
    stack: Stack,
    thickness_mm: float,
    shape_sd_mm: float,
    *,
    surface: Surface = EVEN,
    is_round: bool = True,
    bulges: Sequence[Bulge] = (),
) -> FloatArray:
    """
    Covariance in mm² of horizontal edge readings once size, scale and mean thickness are known; shape (n, n).

    White part: the outline's own sd, the rows of the weave, the model's error. Smooth part: local thickness with an sd
    proportional to its mean, and the error of the drawn form; both Matern 3/2 along the wall, partly shared between
    the views of one piece. Bulges stand off by a further few millimetres.
    """
    thickness, drawn = smooth_parts(stack, thickness_mm, shape_sd_mm, surface=surface, is_round=is_round)
    result = thickness + drawn + np.diag(white_variance(stack))
    for bulge in bulges:
        result += bulge_covariance(stack, bulge)
    return result


def smooth_parts(
    stack: Stack, thickness_mm: float, shape_sd_mm: float, *, surface: Surface = EVEN, is_round: bool = True
) -> tuple[FloatArray, FloatArray]:
    """Covariances of the edge through local thickness and through the drawing's error, mm², (n, n) each."""
    n, covered = stack.normal, stack.covered * stack.normal
    gap = np.abs(stack.place_mm[:, None] - stack.place_mm[None, :])
    same = stack.outline[:, None] == stack.outline[None, :]
    local = surface.unevenness**2 * np.where(same, 1.0, COVER_SHARED) * matern(gap / surface.wandering_mm)
    if stack.outline[-1] > 0:
        local = local + SIDE_THICKNESS**2 * same
    shared = SHAPE_SHARED_ROUND if is_round else SHAPE_SHARED_FLAT
    drawn = shape_sd_mm**2 * np.outer(n, n) * np.where(same, 1.0, shared) * matern(gap / SHAPE_MM)
    return thickness_mm**2 * np.outer(covered, covered) * local, drawn


def white_variance(stack: Stack) -> FloatArray:
    """Variance of what differs from node to node, mm², (n,)."""
    rows = ROWS_MM * stack.covered
    return np.asarray((stack.sd_mm**2 + rows**2 + MODEL_MM**2) * stack.normal**2, dtype=np.float64)


def matern(distance: FloatArray) -> FloatArray:
    """Matern 3/2 correlation at a distance in correlation lengths (Rasmussen & Williams 2006, eq. 4.17)."""
    scaled = np.sqrt(3.0) * distance
    return np.asarray((1.0 + scaled) * np.exp(-scaled), dtype=np.float64)


def place(
    bank: FormBank,
    sheet: Sheet,
    turn: float,
    base_mm: float,
    thickness_mm: float,
    unknowns: FloatArray,
    *,
    exact: bool,
) -> Placing:
    """
    Half-widths each form would show at the nodes, at given unknowns (F, p), with the slopes that linearise it there.

    With ``exact`` the covering is laid round the form point by point; without, it is added along the normal.
    """
    nodes, scale_index, offset_index = sheet.nodes, sheet.scale_index, sheet.offset_index
    stretch, scale = np.exp(unknowns[:, STRETCH]), np.exp(unknowns[:, scale_index])
    deep = np.sin(np.deg2rad(turn)) ** 2
    wide = np.exp(unknowns[:, WIDENING] + deep * unknowns[:, DEEPENING])
    thickness = np.maximum(thickness_mm + unknowns[:, THICKNESS], 0.0)
    below = base_mm + unknowns[:, BELOW]
    if offset_index is not None:
        below = below - unknowns[:, offset_index]
    table = bank.appearing(turn, nodes.distance_mm) * wide[:, None]
    height = bank.heights * stretch
    step = height / STEPS
    share = (nodes.z_mm[None, :] / scale[:, None] - below[:, None]) / height[:, None]
    glass = looked_up(table, share)
    slope = looked_up(slopes(table, step), share)
    covered = ~nodes.bare
    edge, edge_slope = glass, slope
    if covered.any():
        if exact:
            outer = swollen(table, step, thickness)
            over = looked_up(outer, share)
            over_slope = looked_up(slopes(outer, step), share)
        else:
            over, over_slope = glass + thickness[:, None] * np.minimum(np.sqrt(1.0 + slope**2), 4.0), slope
        edge = np.where(covered, over, glass)
        edge_slope = np.where(covered, over_slope, slope)
    change = np.zeros((*edge.shape, unknowns.shape[1]))
    reached = np.clip(share, 0.0, 1.0) * height[:, None]
    moving = edge_slope * ((share > 0.0) & (share < 1.0))
    change[..., STRETCH] = -moving * reached * scale[:, None]
    change[..., WIDENING] = glass * scale[:, None]
    change[..., DEEPENING] = deep * change[..., WIDENING]
    change[..., BELOW] = -moving * scale[:, None]
    change[..., THICKNESS] = np.where(covered, np.sqrt(1.0 + edge_slope**2), 0.0)
    change[..., scale_index] = edge * scale[:, None] - moving * nodes.z_mm[None, :]
    if offset_index is not None:
        change[..., offset_index] = -change[..., BELOW]
    return Placing(edge * scale[:, None], change)


def take_height(state: State, bank: FormBank, sheet: Sheet, base_mm: FloatArray, top_mm: FloatArray) -> State:
    """
    The laws after taking in an outline's own height, linearised at the laws' means.

    Parameters
    ----------
    base_mm, top_mm : array (K,)
        Mean covering below the base and above the lip.

    Notes
    -----
    Compared in logs, so that a scale that is hardly known enters exactly; with an unseen base in mm.
    """
    nodes, at = sheet.nodes, state.mean
    glass = bank.heights[:, None] * np.exp(at[..., STRETCH])
    whole = glass + base_mm[None, :] + top_mm[None, :] + at[..., BELOW] + at[..., ABOVE]
    slope = np.zeros((*whole.shape, state.shift.shape[-1]))
    slope[..., STRETCH], slope[..., BELOW], slope[..., ABOVE] = glass, 1.0, 1.0
    variance = TOP_MM**2 + float(np.median(nodes.sd_mm)) ** 2 if len(nodes.sd_mm) else 1.0
    scale = at[..., sheet.scale_index]
    if sheet.offset_index is None:
        seen = np.maximum(whole, 1.0)
        slope /= seen[..., None]
        slope[..., sheet.scale_index] = 1.0
        miss = float(np.log(nodes.top_mm)) - np.log(seen) - scale
        noise = np.full(whole.shape, variance / nodes.top_mm**2)
        state = state.with_row(miss + np.einsum("fkp,fkp->fk", slope, at), slope, noise)
        shift = float(np.log(nodes.top_mm))
        return State(state.precision, state.shift, state.log_weight - shift, state.squares, state.count)
    slope[..., sheet.offset_index] = -1.0
    seen = whole - at[..., sheet.offset_index]
    slope *= np.exp(scale)[..., None]
    slope[..., sheet.scale_index] = nodes.top_mm
    miss = nodes.top_mm - seen * np.exp(scale)
    return state.with_row(miss + np.einsum("fkp,fkp->fk", slope, at), slope, np.full(whole.shape, variance))


def groups_of(cover: CoverPrior) -> Iterator[tuple[IntArray, float, float]]:
    """Classes that are placed alike: indices, thickness in mm, turn in degrees."""
    keys = [(float(m), float(t), trust) for m, t, trust in zip(cover.mean_mm, cover.turn, cover.trusts, strict=True)]
    for key in dict.fromkeys(keys):
        yield np.flatnonzero([one == key for one in keys]), key[0], key[1]


def centres(state: State, members: IntArray) -> FloatArray:
    """Unknowns of each form's weightiest class among some, (F, p)."""
    best = members[state.log_weight[:, members].argmax(axis=1)]
    part = State(
        np.take_along_axis(state.precision, best[:, None, None, None], axis=1),
        np.take_along_axis(state.shift, best[:, None, None], axis=1),
        state.log_weight[:, :1],
        state.squares[:, :1],
        state.count,
    )
    return np.asarray(part.mean[:, 0])


def take_outlines(
    state: State,
    bank: FormBank,
    sheets: Sequence[Sheet],
    cover: CoverPrior,
    *,
    around: State | None = None,
    bulges: Sequence[Bulge] = (),
) -> list[State]:
    """
    The laws after the first outline, after two … after all.

    Parameters
    ----------
    state : State
        Laws before; not changed.
    around : State, optional
        Laws (of the same forms and classes) at whose means to linearise, the covering laid on exactly. Default: the
        placing that the heights alone suggest, the covering added along the normal (the fast first pass).
    bulges : sequence of Bulge
        Places that classes with bulges leave free, the surest first.

    Notes
    -----
    Marginal likelihood of a linear model with normal unknowns (Rasmussen & Williams 2006, section 2.7), with one
    covariance of the readings for all forms of a shape class, so that a library costs a few matrix products. The
    outlines of one piece share covering and drawing error: one joint law, taken in block by block.
    """
    zero = np.zeros_like(cover.mean_mm)
    heights = [state]
    for sheet in sheets:
        low = zero if sheet.nodes.base_is_bare else cover.mean_mm
        high = zero if sheet.nodes.top_is_bare else cover.mean_mm
        last = heights[-1]
        heights.append(take_height(last, bank, sheet, low, high) if sheet.nodes.top_is_seen else last)
    stack = Stack.of(tuple(sheet.nodes for sheet in sheets))
    blocks = [np.flatnonzero(stack.outline == i) for i in range(len(sheets))]
    told = _Told.nothing(len(sheets), state)
    for members, thickness, turn in groups_of(cover):
        at = centres(heights[-1] if around is None else around, members)
        stacked = _placed(bank, sheets, thickness, turn, at, exact=around is not None)
        faces = [(cover.habit(k).surface, cover.habit(k).bulges) for k in members]
        for face in dict.fromkeys(faces):
            same = members[[one == face for one in faces]]
            told.take(stack, blocks, bank, stacked, thickness, face[0], bulges[: face[1]], same)
    return [told.after(i, heights[i + 1], len(np.concatenate(blocks[: i + 1]))) for i in range(len(sheets))]


def _placed(
    bank: FormBank, sheets: Sequence[Sheet], thickness: float, turn: float, at: FloatArray, *, exact: bool
) -> FloatArray:
    """Slopes and readings of all nodes with unknowns counted from 0, (F, n, p + 1)."""
    parts = []
    for sheet in sheets:
        own = TURNS.get(sheet.view, turn)
        base = 0.0 if sheet.nodes.base_is_bare else thickness
        placed = place(bank, sheet, own, base, thickness, at, exact=exact)
        reading = sheet.nodes.half_width_mm[None, :] - placed.predicted
        reading = reading + np.einsum("fnp,fp->fn", placed.change, at)
        parts.append(np.concatenate([placed.change, reading[..., None]], axis=-1))
    return np.concatenate(parts, axis=1)


def placed_reading(
    one: FormBank, sheets: Sequence[Sheet], thickness: float, turn: float, at: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Slopes (n, p) and readings (n,), unknowns counted from 0, of a bank of one form placed exactly at some (1, p)."""
    stacked = _placed(one, sheets, thickness, turn, at, exact=True)[0]
    return stacked[:, :-1], stacked[:, -1]


@dataclass(frozen=True, eq=False)
class Foretold:
    """
    The readings as one form in its weightiest class foretells them, before its size is known.

    Attributes
    ----------
    miss : array (n,)
        Seen less foretold half-width, mm, n nodes of all outlines.
    smooth : array (n, n)
        Covariance of that through size, scale, thickness and drawing, mm².
    white : array (n,)
        Variance of what differs from node to node, mm².
    """

    miss: FloatArray
    smooth: FloatArray
    white: FloatArray


def foretold(
    bank: FormBank,
    sheets: Sequence[Sheet],
    cover: CoverPrior,
    prior: State,
    state: State,
    form: int,
    *,
    bulges: Sequence[Bulge] = (),
    loose: bool = False,
) -> Foretold:
    """
    What one form leaves of the readings, and how large that may be.

    Parameters
    ----------
    prior, state : State
        Laws before the outlines, and the laws at whose means to place the form.
    form : int
        Which form of the bank.
    bulges : sequence of Bulge
        As found; the weightiest class says how many of them count.
    loose : bool
        Leave the mean thickness freer than its class.
    """
    k = int(state.log_weight[form].argmax())
    habit, thickness = cover.habit(k), float(cover.mean_mm[k])
    one = bank.part(np.array([form]))
    change, reading = placed_reading(one, sheets, thickness, float(cover.turn[k]), state.mean[[form], k])
    spread = np.linalg.inv(prior.precision[form, k])
    if loose:
        spread[THICKNESS, THICKNESS] += (0.4 * thickness + 0.5) ** 2
    stack = Stack.of(tuple(sheet.nodes for sheet in sheets))
    shape_sd = float(shape_class(bank.shape_sd[[form]])[0])
    local, drawn = smooth_parts(stack, thickness, shape_sd, surface=habit.surface, is_round=bool(bank.is_round[form]))
    smooth = local + drawn + change @ spread @ change.T
    for bulge in bulges[: habit.bulges]:
        smooth += bulge_covariance(stack, bulge)
    return Foretold(reading - change @ prior.mean[form, k], smooth, white_variance(stack))


@dataclass(frozen=True, eq=False)
class _Told:
    """What the readings of each block add to the laws: arrays (blocks, F, K, …), filled class by class."""

    precision: FloatArray
    shift: FloatArray
    log_norm: FloatArray
    squares: FloatArray

    @classmethod
    def nothing(cls, blocks: int, state: State) -> _Told:
        return cls(
            np.zeros((blocks, *state.precision.shape)),
            np.zeros((blocks, *state.shift.shape)),
            np.zeros((blocks, *state.log_weight.shape)),
            np.zeros((blocks, *state.log_weight.shape)),
        )

    def take(
        self,
        stack: Stack,
        blocks: list[IntArray],
        bank: FormBank,
        stacked: FloatArray,
        thickness: float,
        surface: Surface,
        bulges: Sequence[Bulge],
        members: IntArray,
    ) -> None:
        """Add the readings of all blocks for classes that see the same edge."""
        classes = shape_class(bank.shape_sd)
        several = len(blocks) > 1
        alike = bank.is_round | (not several)  # one view: what two views share makes no difference
        for shape_sd, is_round in sorted(set(zip(classes.tolist(), alike.tolist(), strict=True))):
            rows = np.flatnonzero((classes == shape_sd) & (alike == is_round))
            covariance = edge_covariance(stack, thickness, shape_sd, surface=surface, is_round=is_round, bulges=bulges)
            root = np.linalg.cholesky(covariance)
            inverse = solve_triangular(root, np.eye(len(root)), lower=True)
            white = np.matmul(inverse, stacked[rows])
            diagonal = np.log(np.diag(root)) + 0.5 * float(np.log(2 * np.pi))
            for b, block in enumerate(blocks):
                slope, miss = white[:, block, :-1], white[:, block, -1]
                turned = slope.transpose(0, 2, 1)
                at = np.ix_(rows, members)
                self.precision[b][at] = (turned @ slope)[:, None]
                self.shift[b][at] = (turned @ miss[..., None])[:, None, :, 0]
                self.log_norm[b][at] = -float(diagonal[block].sum())
                self.squares[b][at] = (miss**2).sum(axis=1)[:, None]

    def after(self, last: int, before: State, count: int) -> State:
        """The laws after blocks 0 … last, taken in on top of laws that hold the heights."""
        precision = before.precision + self.precision[: last + 1].sum(axis=0)
        shift = before.shift + self.shift[: last + 1].sum(axis=0)
        now = eliminate(precision, shift[..., None])
        then = eliminate(before.precision, before.shift[..., None])
        squares = self.squares[: last + 1].sum(axis=0) - (now.quadratic - then.quadratic)
        occam = now.log_determinant - then.log_determinant
        log_weight = before.log_weight + self.log_norm[: last + 1].sum(axis=0) - 0.5 * (squares + occam)
        return State(precision, shift, log_weight, before.squares + squares, before.count + count)
