"""
How far outlines are believed: less where simulated pieces showed that answers about such coverings are too sure.

A likelihood that is right for even, close coverings of known forms claims too much where hollows are bridged, the
covering is thick or ends elsewhere than the glass, the form is only drawn, or no length is known. There every outline's
log likelihood is taken by a share below 1 (a tempered likelihood).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from weftglass.evidence import KINDS, Outline
from weftglass.inside.bank import FormBank
from weftglass.inside.first_look import FirstLook
from weftglass.inside.weighing import Case, Weighed

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

# What the log of the share falls by where all of a piece is so. Fitted by hand to what simulated answers claimed and
# how many of them were right: 890 in 13 circumstances (seed 20261301), then 11,152 in 14 (seeds 20261201, 20261401,
# 20261501 and 20261701), of which the first fit withheld a third too much (`benchmarks/inside_accuracy.py`).
BRIDGED, LOW, HIGH, DRAWN, UNSCALED, HIDDEN = 0.22, 0.09, 0.33, 0.25, 0.25, 0.25
THICK, THICK_FROM_MM, THICK_OVER_MM, THICKEST = 0.30, 3.0, 5.0, 2.0
TRACED_MM, DRAWN_MM = 0.15, 0.5  # a form whose profile is known so well is not doubted; one so badly wholly
PASSED_OVER = 0.15
"""Chance that the first look passed over the right form, were outlines not believed at all: of 4,100 simulated pieces
with even, close coverings it did so to none, of 3,600 others to 2 in 100 (seeds 20261201 and 20261401)."""
SCALE_KNOWN = 0.1  # a relative sd of the scale below which lengths are known


@dataclass(frozen=True)
class Doubt:
    """
    What the log of the share falls by with which outlines count.

    Attributes
    ----------
    seen : float
        For what the covering does and for what of the piece is not seen: a first look may pass over the right form.
    known : float
        For how the forms are known and for a size that nobody told; no first look was ever misled by these.
    """

    seen: float = 0.0
    known: float = 0.0

    @property
    def belief(self) -> float:
        """Share of their log likelihood with which outlines count, above 0 and at most 1."""
        return float(np.exp(-self.seen - self.known))

    @property
    def passed_over(self) -> float:
        """Chance that the first look passed over the right form, before evidence other than outlines is asked."""
        return float(PASSED_OVER * (1.0 - np.exp(-self.seen)))


def doubt_of_outlines(case: Case, bank: FormBank, weighed: Weighed, log_prior: FloatArray) -> Doubt:
    """
    How far outlines are doubted.

    Parameters
    ----------
    case : Case
    bank : FormBank
        F forms.
    weighed : Weighed
        Of these forms; says how probable each kind of covering is.
    log_prior : array (F,)
    """
    if not case.nodes:
        return Doubt()
    joint = weighed.total + log_prior
    share = np.exp(joint - joint.max())
    share /= share.sum()
    drawn = np.clip((share @ bank.shape_sd - TRACED_MM) / (DRAWN_MM - TRACED_MM), 0.0, 1.0)
    known = DRAWN * float(drawn) + UNSCALED * float(_unscaled(case))
    seen = HIDDEN * min(map(_hidden, case.evidence.outlines))
    if not case.all_bare:
        classes = share @ weighed.state.class_weight
        thick = np.clip((classes @ case.cover.mean_mm - THICK_FROM_MM) / THICK_OVER_MM, 0.0, THICKEST)
        habits = [case.cover.habit(k) for k in range(len(case.cover))]
        each = np.array([
            BRIDGED * habit.bridged + LOW * (habit.ends.foot_mm > 0) + HIGH * (habit.ends.rise_mm > 0)
            for habit in habits
        ])  # fmt: skip
        seen += THICK * float(thick) + float(classes @ each)
    return Doubt(seen, known)


def _unscaled(case: Case) -> bool:
    """Whether nothing says how large the piece is."""
    lengths = any(KINDS[reading.what].unit == "mm" for reading in case.evidence.measurements)
    return not lengths and all(outline.scale_sd >= SCALE_KNOWN for outline in case.evidence.outlines)


def _hidden(outline: Outline) -> float:
    """Share of the outline's height that is not seen."""
    tall = float(outline.points[-1, 0])
    return min(1.0, sum(max(0.0, min(high, tall) - max(low, 0.0)) for low, high in outline.hidden) / tall)


def believed(weighed: Weighed, outlines: int, belief: float) -> Weighed:
    """
    The same with so many outlines, its first items, counting by a share of what they say; the likeliest form stays put.

    Parameters
    ----------
    weighed : Weighed
    outlines : int
    belief : float
        Above 0, at most 1.
    """
    running = weighed.running.copy()
    told = running[1 : outlines + 1]
    less = (belief - 1.0) * (told - told.max(axis=1, keepdims=True))
    running[1 : outlines + 1] += less
    running[outlines + 1 :] += less[-1]
    state = replace(weighed.state, log_weight=weighed.state.log_weight + less[-1][:, None])
    return replace(weighed, running=running, state=state)


def with_passed_over(
    probability: FloatArray, prior: FloatArray, look: FirstLook, weighed: IntArray, exact: Weighed, chance: float
) -> FloatArray:
    """
    Probabilities with a share for forms that were not weighed exactly: the first look may pass over the right one.

    Evidence other than outlines says how much of the chance is left: a letter that only weighed forms bear leaves none.

    Parameters
    ----------
    probability, prior : array (F,)
        Each sums to 1.
    look : FirstLook
    weighed : array of int (M,)
        Indices of the forms that were weighed exactly.
    exact : Weighed
        Of these forms.
    chance : float
        As `Doubt.passed_over`, of this many outlines.

    Returns
    -------
    array (F,)
        Sums to 1.
    """
    others = np.ones(len(prior), dtype=bool)
    others[weighed] = False
    if not others.any() or chance == 0.0:
        return probability
    told = look.told_beside
    asked = others & np.isfinite(told)
    weight = np.where(others, prior, 0.0)
    if asked.any():
        beside = exact.running[-1] - exact.running[look.outlines]
        seen = exact.running[look.outlines] + np.log(prior[weighed])
        best = max(float(beside.max()), float(told[asked].max()))
        likely = np.exp(np.where(asked, told, -np.inf) - best)
        mean = float(prior[asked] @ likely[asked] / prior[asked].sum())
        weight = weight * np.where(asked, likely, mean)
        share = np.exp(seen - seen.max())
        found = float(share @ np.exp(beside - best) / share.sum())
        chance = chance * mean / (chance * mean + (1.0 - chance) * found)
    return np.asarray((1.0 - chance) * probability + chance * weight / weight.sum())
