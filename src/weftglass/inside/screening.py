"""Which forms of a large library are worth weighing: one sweep over its brief, then a closer look at the best of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_triangular

from weftglass.inside.bank import FormBank
from weftglass.inside.brief import CENTRES, HEIGHTS, Brief
from weftglass.inside.cover import BRIDGED, CLOSE, ROWS_MM, UNEVENNESS, WANDERING_MM, CoverPrior, Ends
from weftglass.inside.likelihood.edges import MODEL_MM, SHAPE_MM, matern
from weftglass.inside.likelihood.outline import TOP_MM, TURNS
from weftglass.inside.nodes import Nodes
from weftglass.inside.state import OFF_SCALE_SD
from weftglass.inside.weighing import Case

FloatArray = NDArray[np.float64]
FloatArray32 = NDArray[np.float32]
IntArray = NDArray[np.int64]

SWEPT = 2048  # forms that the sweep hands on to the closer look
FEWEST = 96  # libraries up to this size are weighed whole
LOST = 0.005  # chance that a larger library's right form is left behind: 3 of 600 of 100,000 (benchmarks/speed.py)
NORMAL_CAP = 4.0  # beyond this steepness more covering does not show as more width
SCALE_STEP = 0.04  # log scales tried by the sweep where a scale is hardly known
HALVES, HALF_SD = (-0.8, 0.8), 0.6  # a normal law as two narrower ones: their means and sds in its own sds
BEND_MM, TIGHT_MM = 14.0, 330.0  # span over which a bend is read, and the radius below which it may be bridged
SPAN_MM, SPAN_SD_MM = 5.0, 7.0  # how far a bridging covering stands off there
OPEN = 30.0  # log likelihood behind the best at which a wanted glass explains no form
LEAST_SHARE = 0.01  # thickness classes less probable than this are not looked at


@dataclass(frozen=True, eq=False)
class Screened:
    """
    The forms that a screen did not leave behind.

    Attributes
    ----------
    index : array of int (M,)
        Rising.
    log_likelihood : array (M,)
        Of the whole outlines, up to a constant.
    open : set of (float, Ends)
        Mean thicknesses in mm, of neighbouring classes together, and reaches that may explain some outline.
    unexplained : float
        Log likelihood that the best is short of one that explains an outline: what the screen does not know of, such as
        a strap or a bridged shoulder, may turn the order by as much.
    """

    index: IntArray
    log_likelihood: FloatArray
    open: frozenset[tuple[float, Ends]]
    unexplained: float


def can_screen(case: Case, bank: FormBank) -> bool:
    """Whether a library is large enough to screen, and an outline shows base and top so that heights compare."""
    return len(bank) > FEWEST and any(_whole(one) for one in case.nodes)


def screen(case: Case, bank: FormBank) -> Screened:
    """
    Log likelihood of a case's whole outlines, good enough to say which forms are worth weighing.

    Parameters
    ----------
    case : Case
        At least one of its outlines shows base and top.
    bank : FormBank
        F forms.

    Notes
    -----
    The outline less each class's covering is a wanted glass over shares of its own height. Directions in which size,
    scale, thickness and ends move it come from the outline itself, so one covariance serves all forms, and forms are
    compared by their coordinates on a basis of 23 directions. The sweep uses one measure for all outlines (one matrix
    product at the speed of memory), the closer look the outline's own for every class of thickness.
    """
    sheets = [(one, outline.view) for one, outline in zip(case.nodes, case.evidence.outlines, strict=True)]
    sheets = [pair for pair in sheets if _whole(pair[0])]
    looks = [(_glasses(case, nodes), _turns(case, view)) for nodes, view in sheets]
    chosen = _swept(bank, *looks[0])
    total = np.zeros(len(chosen))
    open_still: set[tuple[float, Ends]] = set()
    unexplained = 0.0
    for glasses, turns in looks:
        found = [_looked_closer(glasses, bank, turn, chosen) for turn in turns]
        scores = np.logaddexp.reduce([score for score, _ in found], axis=0)
        total += np.logaddexp.reduce(scores, axis=0)
        best = scores.max(axis=1)
        short = max(0.0, 0.5 * (min(squares for _, squares in found) - HEIGHTS))
        least = best.max() - OPEN - short
        open_still |= {(g.thickness, g.reach) for g, b in zip(glasses, best, strict=True) if b >= least}
        unexplained = max(unexplained, short)
    return Screened(chosen, total, frozenset(open_still), unexplained)


def _turns(case: Case, view: str) -> list[float]:
    return [TURNS[view]] if view in TURNS else sorted(set(case.cover.turn.tolist()))


def _whole(nodes: Nodes) -> bool:
    return nodes.base_is_seen and nodes.top_is_seen and len(nodes.z_mm) > 0


def _swept(bank: FormBank, glasses: list[_Glass], turns: list[float]) -> IntArray:
    """The forms nearest to what is wanted in the sweep's measure, at most 2,048."""
    if len(bank) <= SWEPT:
        return np.arange(len(bank), dtype=np.int64)
    sd = glasses[0].scale_sd
    scales = np.exp(np.arange(-2.0 * sd, 2.0 * sd, SCALE_STEP)) if sd > SCALE_STEP else np.ones(1)
    swept = []
    for reach in dict.fromkeys((glass.reach, glass.side) for glass in glasses):
        alike = [glass for glass in glasses if (glass.reach, glass.side) == reach]
        weight = np.array([glass.weight for glass in alike])
        wanted = weight @ np.array([glass.wanted for glass in alike]) / weight.sum()
        # a miss counts by its size on the outline: a form half as large misses by half as many millimetres
        swept += [Brief.of(bank, t).swept(wanted * scale) / scale**2 for t in turns for scale in scales.tolist()]
    return np.sort(_largest(swept[0] if len(swept) == 1 else np.max(swept, axis=0), SWEPT))


def _largest(values: FloatArray32, count: int) -> IntArray:
    """Places of the largest values; a threshold from every 16th value spares sorting the rest."""
    sample = values[::16]
    keep = min(len(sample) - 1, int(1.5 * count / 16) + 16)
    threshold = np.partition(sample, len(sample) - 1 - keep)[len(sample) - 1 - keep]
    above = np.flatnonzero(values >= threshold)
    if len(above) < count:
        above = np.arange(len(values))
    return above[np.argpartition(values[above], len(above) - count)[len(above) - count :]]


def _looked_closer(glasses: list[_Glass], bank: FormBank, turn: float, chosen: IntArray) -> tuple[FloatArray, float]:
    """
    Some forms under the outline's own covariance.

    Returns
    -------
    array (G, M)
        Log likelihood for each wanted glass.
    float
        Sum of squared misses, in standard deviations, of the likeliest form and glass.
    """
    brief = Brief.of(bank, turn)
    whole = len(chosen) == len(bank)
    coordinates = brief.coordinates if whole else brief.coordinates[:, chosen]
    scores, squares = np.empty((len(glasses), len(chosen))), np.empty(len(glasses))
    for g, glass in enumerate(glasses):
        root = np.linalg.cholesky(glass.covariance(bank))
        white = solve_triangular(root, np.column_stack([brief.basis, glass.wanted - brief.mean]), lower=True)
        upper = np.asarray(np.linalg.qr(white, mode="r"))
        inner, target = upper[:-1, :-1], upper[:-1, -1]
        miss = inner.astype(np.float32) @ coordinates - target[:, None].astype(np.float32)
        norm = float(np.log(glass.weight)) - float(np.log(np.diag(root)).sum()) - 0.5 * float(upper[-1, -1] ** 2)
        missed = np.einsum("im,im->m", miss, miss)
        scores[g] = norm - 0.5 * missed
        squares[g] = float(missed.min()) + float(upper[-1, -1] ** 2)
    return scores, float(squares[int(scores.max(axis=1).argmax())])


class _Glass:
    """The glass wanted under one class of thickness: half-widths over its own height, its height, and how they err."""

    def __init__(self, case: Case, cover: CoverPrior, nodes: Nodes, k: int, half: float, share: float) -> None:
        self.weight, self.thickness, self.sd = (
            share * float(cover.weight[k]),
            float(cover.mean_mm[k]),
            float(cover.sd_mm[k]),
        )
        reach = cover.habit(k).ends
        self.reach, self.side = reach, half
        self.base = 0.0 if nodes.base_is_bare else self.thickness + max(reach.foot_mm + half * reach.foot_sd_mm, 0.0)
        self.top = 0.0 if nodes.top_is_bare else self.thickness + max(reach.rise_mm + half * reach.rise_sd_mm, 0.0)
        self.height = max(nodes.top_mm - self.base - self.top, 0.3 * nodes.top_mm)
        z = self.base + CENTRES * self.height
        self.z = z
        self.covered = np.interp(z, nodes.z_mm, np.where(nodes.bare, 0.0, 1.0)) > 0.5
        self.slope = np.interp(z, nodes.z_mm, nodes.slope)
        self.normal = np.sqrt(1.0 + self.slope**2)
        self.edge_sd = np.interp(z, nodes.z_mm, nodes.sd_mm)
        outer = np.interp(z, nodes.z_mm, nodes.half_width_mm)
        self.spanned = _hollows(nodes, z) * self.covered if cover.habit(k).bridged else np.zeros(HEIGHTS)
        lifted = (self.thickness * self.covered + SPAN_MM * self.spanned) * np.minimum(self.normal, NORMAL_CAP)
        self.half = np.maximum(outer - lifted, 0.5)
        known = max(outline.scale_sd for outline in case.evidence.outlines)
        self.scale_sd = max(known, OFF_SCALE_SD) if case.conflicts else known
        self.ends = (nodes.base_is_bare, nodes.top_is_bare)
        self.wanted = np.append(self.half, self.height)

    def covariance(self, bank: FormBank) -> FloatArray:
        """Of the wanted half-widths and height, (65, 65), mm²."""
        along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(self.half), np.diff(self.z)))])
        gap = np.abs(along[:, None] - along[None, :])
        lift = self.normal * self.covered
        smooth = (UNEVENNESS * self.thickness) ** 2 * np.outer(lift, lift) * matern(gap / WANDERING_MM)
        span = self.normal * self.spanned
        smooth += SPAN_SD_MM**2 * np.outer(span, span) * (0.5 + 0.5 * matern(gap / WANDERING_MM))
        drawn = float(np.median(bank.shape_sd)) ** 2 * np.outer(self.normal, self.normal) * matern(gap / SHAPE_MM)
        white = (self.edge_sd**2 + ROWS_MM**2 * self.covered + MODEL_MM**2) * self.normal**2
        result = np.diag(np.append(white, TOP_MM**2 + float(np.median(self.edge_sd)) ** 2))
        result[:HEIGHTS, :HEIGHTS] += smooth + drawn
        loose = 0.45 * self.thickness + 0.5
        beyond = (HALF_SD * self.reach.foot_sd_mm, HALF_SD * self.reach.rise_sd_mm)
        low, high = (
            0.15 if bare else float(np.hypot(loose, more)) for bare, more in zip(self.ends, beyond, strict=True)
        )
        moves = (
            np.append(self.half, self.height) * self.scale_sd,
            np.append(self.half, 0.0) * float(np.median(bank.width_sd)),
            np.append(np.zeros(HEIGHTS), self.height) * float(np.median(bank.height_sd)),
            np.append(self.slope * (1.0 - CENTRES), 1.0) * low,
            np.append(self.slope * CENTRES, -1.0) * high,
            np.append(lift, 0.0) * self.sd,
        )
        return result + sum(np.outer(move, move) for move in moves)


def _hollows(nodes: Nodes, z_mm: FloatArray) -> FloatArray:
    """1 where an outline bends inward as over a hollow that stakes may bridge, 0 elsewhere; same shape as ``z_mm``."""
    half = np.convolve(np.pad(nodes.half_width_mm, 2, mode="edge"), np.full(5, 0.2), mode="valid")
    at = [np.interp(z_mm + move, nodes.z_mm, half) for move in (-BEND_MM, 0.0, BEND_MM)]
    bends = (at[0] - 2.0 * at[1] + at[2]) / BEND_MM**2 > 1.0 / TIGHT_MM
    near = np.abs(z_mm[:, None] - z_mm[None, :]) <= 0.5 * BEND_MM
    return np.asarray((near & bends[None, :]).any(axis=1), dtype=np.float64)


def _glasses(case: Case, nodes: Nodes) -> list[_Glass]:
    """One for every thickness, bridging and reach of a covering worth looking at; turns make no difference here."""
    plain, _ = case.cover.coarser
    first = (float(plain.turn[0]), plain.trusts[0])
    cover = plain.part([k for k, turn in enumerate(plain.turn) if (float(turn), plain.trusts[k]) == first])
    glasses = []
    for k in range(len(cover)):
        habit = cover.habit(k)
        spread = (0.0,) if habit.ends == CLOSE else HALVES
        share = habit.ends.share * (BRIDGED if habit.bridged else 1.0)
        if cover.weight[k] >= LEAST_SHARE * share and (not habit.bridged or habit.ends == CLOSE):
            glasses += [_Glass(case, cover, nodes, k, half, 1.0 / len(spread)) for half in spread]
    return glasses
