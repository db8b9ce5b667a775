"""How well outlines agree with each form under a covering: a linear model around the best placing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weftglass.inside.bank import STEPS, FormBank, looked_up, slopes_at, swollen
from weftglass.inside.bridging import stood_off
from weftglass.inside.bulges import Bulge
from weftglass.inside.cover import CoverPrior, Habit
from weftglass.inside.likelihood.edges import EdgeErrors, Kind, shape_class
from weftglass.inside.nodes import Nodes
from weftglass.inside.state import (
    ABOVE,
    BELOW,
    BRIDGING,
    DEEPENING,
    STRETCH,
    THICKNESS,
    WIDENING,
    State,
)

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

OFFSET_STEP_MM = 6.0  # between heights tried for an outline of which neither end is seen
TURNS = {"front": 0.0, "side": 90.0}
TOP_MM = 0.4  # sd of a height read off an outline, mm
HEEL_MM = 4.0  # of the glass next to a foot or a rise whose edge the covering hides, mm
REACH_STEP_MM, MOST_STEPS = 10.0, 7  # forms whose coverings reach alike far beyond the glass are weighed together


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
    change: FloatArray  # (F, p, n)


def place(
    bank: FormBank,
    sheet: Sheet,
    turn: float,
    base_mm: float,
    thickness_mm: float,
    unknowns: FloatArray,
    *,
    exact: bool,
    bridged: bool,
) -> Placing:
    """
    Half-widths each form would show at the nodes, at given unknowns (F, p), with the slopes that linearise it there.

    With ``exact`` the covering is laid round the form point by point; without, it is added along the normal. Without
    ``bridged`` it follows every hollow.
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
    covered = ~nodes.bare
    slope = glass if exact and covered.all() else slopes_at(table, step, share)  # of bare glass
    edge, edge_slope, bridge = glass, slope, None
    if covered.any():
        if exact:
            outer = swollen(table, step, thickness)
            over = looked_up(outer, share)
            over_slope = slopes_at(outer, step, share)
        else:
            outer = table + thickness[:, None]
            over, over_slope = glass + thickness[:, None] * np.minimum(np.sqrt(1.0 + slope**2), 4.0), slope
        if bridged:
            reach = (nodes.covered_to_mm / scale - below) / height
            bridge = np.where(covered, looked_up(stood_off(outer, height, reach), share), 0.0)
            over = over + np.maximum(unknowns[:, BRIDGING], 0.0)[:, None] * bridge
        edge = np.where(covered, over, glass)
        edge_slope = np.where(covered, over_slope, slope)
    moving = edge_slope * ((share > 0.0) & (share < 1.0)) * scale[:, None]
    predicted = edge * scale[:, None]
    change = np.zeros((len(bank), unknowns.shape[1], len(nodes.z_mm)))
    np.multiply(moving, np.clip(share, 0.0, 1.0) * -height[:, None], out=change[:, STRETCH])
    np.multiply(glass, scale[:, None], out=change[:, WIDENING])
    if deep > 0.0:
        np.multiply(change[:, WIDENING], deep, out=change[:, DEEPENING])
    np.negative(moving, out=change[:, BELOW])
    change[:, THICKNESS] = np.where(covered, np.sqrt(1.0 + edge_slope**2), 0.0)
    np.subtract(predicted, moving * (nodes.z_mm[None, :] / scale[:, None]), out=change[:, scale_index])
    if bridge is not None:
        np.multiply(bridge, scale[:, None], out=change[:, BRIDGING])
    if offset_index is not None:
        change[:, offset_index] = moving
    return Placing(predicted, change)


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
    keys = [
        (float(mean), float(turn), habit.trust, habit.ends)
        for mean, turn, habit in ((cover.mean_mm[k], cover.turn[k], cover.habit(k)) for k in range(len(cover)))
    ]
    for key in dict.fromkeys(keys):
        yield np.flatnonzero([one == key for one in keys]), key[0], key[1]


def centres(state: State, members: IntArray) -> FloatArray:
    """Unknowns of each form's weightiest class among some, (F, p)."""
    best = members[state.log_weight[:, members].argmax(axis=1)]
    return np.asarray(np.take_along_axis(state.mean, best[:, None, None], axis=1)[:, 0])


def take_outlines(
    state: State,
    bank: FormBank,
    sheets: Sequence[Sheet],
    cover: CoverPrior,
    *,
    around: State | None = None,
    bulges: Sequence[Bulge] = (),
    errors: EdgeErrors | None = None,
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
    errors : EdgeErrors, optional
        Of these outlines' nodes, where covariances are kept from call to call.

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
    known = EdgeErrors(tuple(sheet.nodes for sheet in sheets)) if errors is None else errors
    told = _Told.nothing(known, bank, state)
    for members, thickness, turn in groups_of(cover):
        at = centres(heights[-1] if around is None else around, members)
        if around is None:
            at = _with_offsets(bank, sheets, thickness, turn, at)
        habits = [cover.habit(k) for k in members]
        bridged = any(habit.bridged for habit in habits)
        stacked = _placed(bank, sheets, thickness, turn, at, exact=around is not None, bridged=bridged)
        faces = [(habit.surface, habit.bulges) for habit in habits]
        lots = list(zip(told.errs, reach_of(sheets, habits[0], thickness, at, alike=around is None), strict=True))
        for lot in dict.fromkeys(lots):
            rows = np.flatnonzero([one == lot for one in lots])
            chosen = stacked if len(rows) == len(stacked) else stacked[rows]
            for face in dict.fromkeys(faces):
                same = members[[one == face for one in faces]]
                (shape_sd, is_round), reach = lot
                kind = Kind(thickness, shape_sd, face[0], is_round, tuple(bulges[: face[1]]), *reach)
                told.take(kind, chosen, rows, same)
    return [told.after(i, before) for i, before in enumerate(heights[1:])]


def reach_of(
    sheets: Sequence[Sheet], habit: Habit, thickness: float, at: FloatArray, *, alike: bool = False
) -> list[tuple[float, float]]:
    """
    How far each form's covering reaches below and above the glass at some unknowns (F, p), in steps of 10 mm.

    With ``alike`` all forms count as the usual one of that habit: for a look that is coarse anyhow.
    """
    ends, reach = habit.ends, np.zeros((len(at), 2))
    for side, unknown, usual, bare in (
        (0, BELOW, ends.foot_mm, any(sheet.nodes.base_is_bare for sheet in sheets)),
        (1, ABOVE, ends.rise_mm, any(sheet.nodes.top_is_bare for sheet in sheets)),
    ):
        if usual > 0.0 and not bare:
            own, scale = (usual, 1.0) if alike else (at[:, unknown], np.exp(at[:, sheets[0].scale_index]))
            beyond = np.maximum(thickness + own + HEEL_MM, 0.0) * scale
            reach[:, side] = REACH_STEP_MM * np.clip(np.round(beyond / REACH_STEP_MM), 0.0, MOST_STEPS)
    return [(below, above) for below, above in reach.tolist()]


def _with_offsets(bank: FormBank, sheets: Sequence[Sheet], thickness: float, turn: float, at: FloatArray) -> FloatArray:
    """Unknowns (F, p) with the heights of lowest points found by trying, where neither base nor top is seen."""
    for sheet in sheets:
        if sheet.offset_index is None or sheet.nodes.top_is_seen or not len(sheet.nodes.z_mm):
            continue
        tried = np.arange(0.0, float(bank.heights.max()), OFFSET_STEP_MM)
        missed = np.empty((len(tried), len(bank)))
        for i, offset in enumerate(tried):
            here = at.copy()
            here[:, sheet.offset_index] = offset
            own = TURNS.get(sheet.view, turn)
            placed = place(bank, sheet, own, thickness, thickness, here, exact=False, bridged=False)
            off = (placed.predicted - sheet.nodes.half_width_mm) / sheet.nodes.normal
            missed[i] = (off**2).sum(axis=1)
        at = at.copy()
        at[:, sheet.offset_index] = tried[missed.argmin(axis=0)]
    return at


def _placed(
    bank: FormBank,
    sheets: Sequence[Sheet],
    thickness: float,
    turn: float,
    at: FloatArray,
    *,
    exact: bool,
    bridged: bool,
) -> FloatArray:
    """Slopes and readings of all nodes with unknowns counted from 0, (F, p + 1, n)."""
    parts = []
    for sheet in sheets:
        own = TURNS.get(sheet.view, turn)
        base = 0.0 if sheet.nodes.base_is_bare else thickness
        placed = place(bank, sheet, own, base, thickness, at, exact=exact, bridged=bridged)
        reading = np.matmul(at[:, None, :], placed.change)
        reading += sheet.nodes.half_width_mm[None, None, :] - placed.predicted[:, None, :]
        parts.append(np.concatenate([placed.change, reading], axis=1))
    return parts[0] if len(parts) == 1 else np.concatenate(parts, axis=2)


def placed_reading(
    one: FormBank, sheets: Sequence[Sheet], thickness: float, turn: float, at: FloatArray, *, bridged: bool
) -> tuple[FloatArray, FloatArray]:
    """Slopes (n, p) and readings (n,), unknowns counted from 0, of a bank of one form placed exactly at some (1, p)."""
    stacked = _placed(one, sheets, thickness, turn, at, exact=True, bridged=bridged)[0]
    return stacked[:-1].T, stacked[-1]


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
    one: FormBank,
    sheets: Sequence[Sheet],
    habit: Habit,
    thickness: float,
    turn: float,
    prior: tuple[FloatArray, FloatArray],
    at: FloatArray,
    errors: EdgeErrors,
    bulges: Sequence[Bulge] = (),
) -> Foretold:
    """
    What one form leaves of the readings, and how large that may be.

    Parameters
    ----------
    one : FormBank
        Of one form.
    habit, thickness, turn : Habit, float, float
        The class of coverings taken, mm, degrees.
    prior : (array (p,), array (p, p))
        Means and covariance of the unknowns before the outlines.
    at : array (p,)
        Unknowns at which to place the form.
    errors : EdgeErrors
        Of these outlines' nodes.
    bulges : sequence of Bulge
        As found; the habit says how many of them count.
    """
    change, reading = placed_reading(one, sheets, thickness, turn, at[None], bridged=habit.bridged)
    shape_sd = float(shape_class(one.shape_sd)[0])
    reach = reach_of(sheets, habit, thickness, at[None])[0]
    kind = Kind(thickness, shape_sd, habit.surface, bool(one.is_round[0]), tuple(bulges[: habit.bulges]), *reach)
    smooth = errors.smooth(kind) + change @ prior[1] @ change.T
    return Foretold(reading - change @ prior[0], smooth, errors.white_variance)


@dataclass(frozen=True, eq=False)
class _Told:
    """What the readings of each block add to the laws: arrays (blocks, F, K, …), filled class by class."""

    errors: EdgeErrors
    errs: list[tuple[float, bool]]  # how each form's drawing errs: shape class, roundness
    precision: FloatArray
    shift: FloatArray
    log_norm: FloatArray
    squares: FloatArray

    @classmethod
    def nothing(cls, errors: EdgeErrors, bank: FormBank, state: State) -> _Told:
        classes = shape_class(bank.shape_sd)
        blocks = len(errors.blocks)
        roundness = bank.is_round | (blocks == 1)  # one view: what two views share makes no difference
        return cls(
            errors,
            list(zip(classes.tolist(), roundness.tolist(), strict=True)),
            np.zeros((blocks, *state.precision.shape)),
            np.zeros((blocks, *state.shift.shape)),
            np.zeros((blocks, *state.log_weight.shape)),
            np.zeros((blocks, *state.log_weight.shape)),
        )

    def take(self, kind: Kind, stacked: FloatArray, forms: IntArray, members: IntArray) -> None:
        """Add the readings (forms, p + 1, n) of all blocks by some forms, for classes that see the same edge."""
        whitening = self.errors.whitening(kind)
        white = whitening.white(stacked)
        at = (forms[:, None], members)
        for b, block in enumerate(self.errors.blocks):
            own = white[..., block[0] : block[-1] + 1]
            product = np.matmul(own, own.transpose(0, 2, 1))[:, None]
            self.precision[b][at] = product[..., :-1, :-1]
            self.shift[b][at] = product[..., :-1, -1]
            self.squares[b][at] = product[..., -1, -1]
            self.log_norm[b][at] = float(whitening.log_norm[block].sum())

    def after(self, last: int, before: State) -> State:
        """The laws after blocks 0 … last, taken in on top of laws that hold the heights."""
        upto = slice(last + 1)
        count = sum(len(block) for block in self.errors.blocks[upto])
        now = before.moved(self.precision[upto].sum(axis=0), self.shift[upto].sum(axis=0))
        squares = self.squares[upto].sum(axis=0) - (now.reduced.quadratic - before.reduced.quadratic)
        occam = now.reduced.log_determinant - before.reduced.log_determinant
        log_weight = before.log_weight + self.log_norm[upto].sum(axis=0) - 0.5 * (squares + occam)
        return now.reweighed(log_weight, before.squares + squares, before.count + count)
