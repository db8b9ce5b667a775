"""A first look at a whole library: what each form is worth at a glance, and which forms deserve all heights."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weftglass.inside.bank import FormBank
from weftglass.inside.screening import can_screen, screen
from weftglass.inside.weighing import Case, Weighed, weigh

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

SCREENED = 256  # most forms glanced at after a screen, if so many come near the best
WIDER = 512  # forms looked at with measurements and sightings after a screen that knows only outlines
FEWEST = 32  # forms glanced at however far behind they are
BLOCK = 4096  # forms weighed together, so that a large library needs little memory
BEHIND = -1e4  # log likelihood of forms that a screen left behind
HOPELESS = 60.0  # log likelihood behind the best at which a form is not glanced at, if enough are


@dataclass(frozen=True, eq=False)
class FirstLook:
    """
    What a glance says of F forms.

    Attributes
    ----------
    running : array (items + 1, F)
        Log likelihood after 0, 1, 2 … items.
    order : array of int (M,)
        The forms worth more, best first, at most 256.
    glance : Weighed
        Of those forms, at every third height and under pairs of neighbouring thickness classes.
    parents : array of int (K,)
        Which class of the glance each class of the case went into; -1 where the screen had ruled it out.
    screened : bool
        Whether forms were left behind unweighed.
    outlines : int
        How many of the items, the first ones, are outlines.
    told_beside : array (F,)
        Log likelihood of the items after the outlines; not a number for forms left behind.
    """

    running: FloatArray
    order: IntArray
    glance: Weighed
    parents: IntArray
    screened: bool
    outlines: int
    told_beside: FloatArray


def first_look(case: Case, bank: FormBank, log_prior: FloatArray) -> FirstLook:
    """
    Look over a library: large ones by a screen of their outlines, then the best of it with every third height.

    Parameters
    ----------
    case : Case
    bank : FormBank
        F forms.
    log_prior : array (F,)
    """
    look, parents = case.coarse()
    outlines = len(case.nodes)
    if not can_screen(case, bank):
        running, chosen, glance = _in_blocks(look, bank, log_prior)
        return FirstLook(running, chosen, glance, parents, False, outlines, running[-1] - running[outlines])
    found = screen(case, bank)
    means = look.cover.mean_mm.tolist()
    kept = np.array([k for k, mean in enumerate(means) if (mean, look.cover.habit(k).ends) in found.open])
    look, parents = look.classes(kept), _among(parents, kept)
    joint = found.log_likelihood + log_prior[found.index]
    only_outlines = len(case.items) == outlines
    order = found.index[
        _best(joint, SCREENED if only_outlines else WIDER, HOPELESS + found.unexplained if only_outlines else np.inf)
    ]
    running = np.full((len(case.items) + 1, len(bank)), BEHIND)
    running[0] = 0.0
    running[1:, found.index] = found.log_likelihood
    glance = weigh(look, bank.part(order))
    beside = np.full(len(bank), np.nan)
    beside[order] = glance.running[-1] - glance.running[outlines]
    running = meeting(running, glance, order)
    running[:, order] = glance.running
    best = _best(glance.total + log_prior[order], SCREENED, np.inf)
    return FirstLook(running, order[best], glance.part(best), parents, True, outlines, beside)


def _in_blocks(case: Case, bank: FormBank, log_prior: FloatArray) -> tuple[FloatArray, IntArray, Weighed]:
    """Running log likelihoods of all forms; the best 256 of them, best first, and how they were weighed."""
    blocks = np.array_split(np.arange(len(bank), dtype=np.int64), -(-len(bank) // BLOCK))
    running, order, kept = [], [], []
    for block in blocks:
        weighed = weigh(case, bank if len(blocks) == 1 else bank.part(block))
        best = np.argsort(-(weighed.total + log_prior[block]), kind="stable")[:SCREENED]
        running.append(weighed.running)
        order.append(block[best])
        kept.append(weighed.part(best))
    every = kept[0] if len(kept) == 1 else Weighed.together(kept)
    chosen = np.concatenate(order)
    best = np.argsort(-(every.total + log_prior[chosen]), kind="stable")[:SCREENED]
    return np.concatenate(running, axis=1), chosen[best], every.part(best)


def _among(parents: IntArray, kept: IntArray) -> IntArray:
    """Places among the classes kept; -1 for what went into a class that was not."""
    place = np.full(int(parents.max()) + 1, -1)
    place[kept] = np.arange(len(kept))
    return np.asarray(place[parents], dtype=np.int64)


def _best(joint: FloatArray, most: int, within: float) -> IntArray:
    """Places of the best, best first; at least 32, more if within a log likelihood of the best."""
    if len(joint) > 4 * most:
        some = np.argpartition(-joint, most)[:most]
        order = some[np.argsort(-joint[some], kind="stable")]
    else:
        order = np.argsort(-joint, kind="stable")[:most]
    near = int((joint[order] >= joint[order[0]] - within).sum())
    return order[: max(near, FEWEST)]


def meeting(running: FloatArray, better: Weighed, order: IntArray) -> FloatArray:
    """Log likelihoods at a glance shifted so that they meet a better look at some forms, best first."""
    step = np.median(better.running[1:, :8] - running[1:, order[:8]], axis=1)
    return np.concatenate([running[:1], running[1:] + step[:, None]])
