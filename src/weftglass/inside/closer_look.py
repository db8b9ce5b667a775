"""A closer look at the forms that passed the first: all heights, every habit of coverings, each placed at its best."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weftglass.inside.bank import FormBank
from weftglass.inside.first_look import FirstLook
from weftglass.inside.state import ABOVE, BELOW, THICKNESS, State
from weftglass.inside.weighing import Case, Weighed, bulges_of, kept_classes, weigh

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

SURVIVORS = 32  # most forms weighed exactly after the first look
FEWEST_SURVIVORS = 16  # however far behind the best they are: a bulge found later may turn the order
BEYOND = 30.0  # log likelihood behind the best at which a form is not weighed exactly
STILL_OPEN, FEWEST_OPEN = 30.0, 12  # the same once bulges are found, before forms are placed for the last time
GLANCED, SEEN = 12.0, 9.0  # log likelihood behind the likeliest at which a class of coverings is dropped, at each look


@dataclass(frozen=True, eq=False)
class CloserLook:
    """
    What all heights and habits of coverings say.

    Attributes
    ----------
    case : Case
        With the classes of coverings that the laws are about.
    near : array of int
        The forms nearest to the evidence at the first look, at most 32, best first.
    order : array of int (M,)
        Those of them that were weighed exactly: the survivors.
    exact : Weighed
        Theirs.
    """

    case: Case
    near: IntArray
    order: IntArray
    exact: Weighed


def closer_look(case: Case, bank: FormBank, look: FirstLook, log_prior: FloatArray) -> CloserLook:
    """
    Weigh the best of a first look with all heights: plain coverings, then what stands off, then surfaces and bulges.

    Parameters
    ----------
    case : Case
    bank : FormBank
        F forms.
    look : FirstLook
    log_prior : array (F,)
    """
    near, glance = look.order[:SURVIVORS], look.glance.part(np.arange(min(SURVIVORS, len(look.order))))
    if not case.nodes:
        exact = weigh(case, bank.part(near))
        if case.sounded:
            exact = weigh(case, bank.part(near), around=exact.state)
        return CloserLook(case, near, near, exact)
    first = _open(glance.total + log_prior[near], FEWEST_SURVIVORS, BEYOND)
    order = near[first]
    classes, around = _glanced(case, look, glance.part(first), log_prior[order])
    plain, chosen = case.classes(classes), bank.part(order)
    exact = weigh(plain, chosen, around=around)
    bulges, thicknesses = bulges_of(case, plain, chosen, exact)
    likely = kept_classes(exact, log_prior[order], behind=SEEN)
    classes, around = _with_thicknesses(case, classes, exact, likely, thicknesses)
    fine, parents = case.classes(classes).refined(bulges)
    exact = weigh(fine, chosen, around=around.classes(parents))
    # placed once more, where it still matters
    last = _open(exact.total + log_prior[order], FEWEST_OPEN, STILL_OPEN)
    exact, order = exact.part(last), order[last]
    likely = kept_classes(exact, log_prior[order], behind=GLANCED)
    fine = fine.classes(likely)
    return CloserLook(fine, near, order, weigh(fine, bank.part(order), around=exact.state.classes(likely)))


def _open(joint: FloatArray, fewest: int, within: float) -> IntArray:
    """Places of the best, best first: those within a log likelihood of the best, and at least a few."""
    first = np.argsort(-joint, kind="stable")
    return first[: max(fewest, int((joint >= joint.max() - within).sum()))]


def _glanced(case: Case, look: FirstLook, glance: Weighed, log_prior: FloatArray) -> tuple[IntArray, State]:
    """The classes of coverings that a glance left open, and where it would place each form under them."""
    open_still = np.flatnonzero(np.isin(look.parents, kept_classes(glance, log_prior, behind=GLANCED)))
    parents = look.parents[open_still]
    pairs, into = case.cover.coarser
    more = (case.cover.mean_mm - pairs.mean_mm[into])[open_still]
    return open_still, glance.state.classes(parents).thinned(more, _over_thickness(case))


def _with_thicknesses(
    case: Case, classes: IntArray, exact: Weighed, likely: IntArray, thicknesses: FloatArray
) -> tuple[IntArray, State]:
    """
    The likely ones of some classes, and others like the likeliest of some thicknesses, with where to place each form.
    """
    best = int(np.unravel_index(exact.state.log_weight.argmax(), exact.state.log_weight.shape)[1])
    cover, kept = case.cover, classes[likely]
    habit, turn = cover.habit(int(classes[best])), cover.turn[classes[best]]
    alike = [k for k in range(len(cover)) if cover.habit(k) == habit and cover.turn[k] == turn]
    added = np.setdiff1d([k for k in alike if cover.mean_mm[k] in thicknesses], kept).astype(np.int64)
    parents = np.concatenate([likely, np.full(len(added), best)]).astype(np.int64)
    every = np.concatenate([kept, added])
    more = cover.mean_mm[every] - cover.mean_mm[classes[parents]]
    return every, exact.state.classes(parents).thinned(more, _over_thickness(case))


def _over_thickness(case: Case) -> list[int]:
    """Unknowns that count from a class's mean thickness."""
    return [THICKNESS] + [BELOW] * (not case.base_bare) + [ABOVE] * (not case.top_bare)
