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

SCREENED = 96  # forms weighed with all heights after the first look
WIDER = 384  # forms looked at with measurements and sightings after a screen that knows only outlines
BLOCK = 4096  # forms weighed together, so that a large library needs little memory
BEHIND = -1e4  # log likelihood of forms that a screen left behind
HOPELESS = 60.0  # log likelihood behind the best at which a form is not weighed with all heights, if enough are


@dataclass(frozen=True, eq=False)
class FirstLook:
    """
    What a glance says of F forms.

    Attributes
    ----------
    running : array (items + 1, F)
        Log likelihood after 0, 1, 2 … items.
    order : array of int (M,)
        The forms worth more, best first, at most 96.
    screened : bool
        Whether forms were left behind unweighed.
    """

    running: FloatArray
    order: IntArray
    screened: bool


def first_look(case: Case, bank: FormBank, log_prior: FloatArray) -> FirstLook:
    """
    Look over a library: large ones by a screen of their outlines, others with every third height.

    Parameters
    ----------
    case : Case
    bank : FormBank
        F forms.
    log_prior : array (F,)
    """
    if can_screen(case, bank):
        return _screened(case, bank, log_prior)
    look = case.coarse() if case.nodes else case
    running = _in_blocks(look, bank)
    order = np.argsort(-(running[-1] + log_prior), kind="stable")[:SCREENED]
    return FirstLook(running, order, False)


def _in_blocks(case: Case, bank: FormBank) -> FloatArray:
    if len(bank) <= BLOCK:
        return weigh(case, bank).running
    blocks = np.array_split(np.arange(len(bank), dtype=np.int64), -(-len(bank) // BLOCK))
    return np.concatenate([weigh(case, bank.part(block)).running for block in blocks], axis=1)


def _screened(case: Case, bank: FormBank, log_prior: FloatArray) -> FirstLook:
    found = screen(case, bank)
    joint = found.log_likelihood + log_prior[found.index]
    only_outlines = len(case.items) == len(case.nodes)
    order = found.index[_best(joint, SCREENED if only_outlines else WIDER, HOPELESS if only_outlines else np.inf)]
    running = np.full((len(case.items) + 1, len(bank)), BEHIND)
    running[0] = 0.0
    running[1:, found.index] = found.log_likelihood
    if only_outlines:
        return FirstLook(running, order, True)
    look = weigh(case.coarse(), bank.part(order))
    met = meeting(running, look, order)
    met[:, order] = look.running
    return FirstLook(met, order[_best(look.total + log_prior[order], SCREENED, np.inf)], True)


def _best(joint: FloatArray, most: int, within: float) -> IntArray:
    """Places of the best, best first; at least half of ``most``, more if within a log likelihood of the best."""
    if len(joint) > 4 * most:
        some = np.argpartition(-joint, most)[:most]
        order = some[np.argsort(-joint[some], kind="stable")]
    else:
        order = np.argsort(-joint, kind="stable")[:most]
    near = int((joint[order] >= joint[order[0]] - within).sum())
    return order[: max(near, most // 2)]


def meeting(running: FloatArray, better: Weighed, order: IntArray) -> FloatArray:
    """Log likelihoods at a glance shifted so that they meet a better look at some forms, best first."""
    step = np.median(better.running[1:, :8] - running[1:, order[:8]], axis=1)
    return np.concatenate([running[:1], running[1:] + step[:, None]])
