"""From likelihoods to probabilities: screening the library, exact work on the survivors, priors, 'none of these'."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weftglass.evidence import Evidence
from weftglass.inside.bank import FormBank
from weftglass.inside.bulges import Bulge
from weftglass.inside.first_look import FirstLook, first_look, meeting
from weftglass.inside.screening import LOST, SWEPT
from weftglass.inside.state import ABOVE, BELOW, THICKNESS, State
from weftglass.inside.surprise import Surprise
from weftglass.inside.unlisted import densities, plain_look, unlisted_probability
from weftglass.inside.weighing import Case, Weighed, bulges_of, kept_classes, surprise_of, weigh

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

SURVIVORS = 32  # most forms weighed exactly after the first look
FEWEST_SURVIVORS = 16  # however far behind the best they are: a bulge found later may turn the order
BEYOND = 30.0  # log likelihood behind the best at which a form is not weighed exactly
STILL_OPEN, FEWEST_OPEN = 30.0, 12  # the same once bulges are found, before forms are placed for the last time
GLANCED, SEEN = 12.0, 9.0  # log likelihood behind the likeliest at which a class of coverings is dropped, at each look
FLATTENED = 0.7  # power on commonness: a prior that is roughly right helps, a wrong one hurts less when flattened


@dataclass(frozen=True, eq=False)
class Posterior:
    """
    Probabilities over a library.

    Attributes
    ----------
    case, bank : Case, FormBank
    probability : array (F,)
        Of each form; with ``unlisted`` they sum to 1.
    unlisted : float
        Probability that the vessel is none of the forms.
    log_likelihood : array (F,)
        Of all evidence; exact for survivors, first pass for the rest.
    running : array (items + 1, F)
        Log likelihood after 0, 1, 2 … items.
    prior : array (F,)
        Sums to 1.
    survivors : array of int (M,)
        Indices weighed exactly, most probable first.
    exact : Weighed
        Of the survivors, in that order.
    library_density, general_density : array (items + 1,)
        Log density of the first items averaged over the survivors, and for a vessel in general; both at a coarse look.
    surprise : Surprise
        How surprising the outlines are under the likeliest form.
    """

    case: Case
    bank: FormBank
    probability: FloatArray
    unlisted: float
    log_likelihood: FloatArray
    running: FloatArray
    prior: FloatArray
    survivors: IntArray
    exact: Weighed
    library_density: FloatArray
    general_density: FloatArray
    surprise: Surprise

    @property
    def bulges(self) -> tuple[Bulge, ...]:
        """Places that stand off the glass if the most probable form is inside."""
        if not self.case.bulges:
            return ()
        best = int(self.exact.state.log_weight[0].argmax())
        return self.case.bulges[: self.case.cover.habit(best).bulges]


def posterior(
    evidence: Evidence, bank: FormBank, *, with_commonness: bool = True, tilt: FloatArray | None = None
) -> Posterior:
    """
    Weigh evidence against a library.

    Parameters
    ----------
    evidence : Evidence
    bank : FormBank
        The library, F >= 1.
    with_commonness : bool
        False gives every form the same prior.
    tilt : array (F,) or None
        Factors on the prior, above 0: how much likelier each form was beforehand for a reason that is no evidence here,
        such as what its makers are known to have covered.
    """
    case = Case.of(evidence, any_flat=not bool(bank.is_round.all()))
    prior = commonness_prior(bank) if with_commonness else np.full(len(bank), 1.0 / len(bank))
    if tilt is not None:
        prior = prior * tilt / (prior @ tilt)
    log_prior = np.log(prior)
    look = first_look(case, bank, log_prior)
    running = look.running
    fine, near, order, exact = _weighed_exactly(case, bank, look, log_prior)
    if case.nodes or case.sounded:
        # a glance errs alike for all forms on average: shift the rest so that the two scales meet
        # and what was left behind, on a better look, never leads what was weighed exactly
        running = np.minimum(meeting(running, exact, order), exact.running.min(axis=1, keepdims=True))
        running[:, order] = exact.running
    total = running[-1]
    joint = total + log_prior
    chosen = bank.part(near)
    surprise = surprise_of(fine, bank.part(order), exact)
    plain = plain_look(case, fine, exact)
    library, general = densities(plain, chosen, prior[near])
    unlisted = unlisted_probability(library, general, surprise, case)
    if look.screened and len(bank) > SWEPT:
        unlisted += (1.0 - unlisted) * LOST
    share = np.exp(joint - joint.max())
    probability = share / share.sum() * (1.0 - unlisted)
    rank = np.argsort(-probability[order], kind="stable")
    return Posterior(
        fine,
        bank,
        probability,
        unlisted,
        total,
        running,
        prior,
        order[rank],
        exact.part(rank),
        library,
        general,
        surprise,
    )


def _weighed_exactly(
    case: Case, bank: FormBank, look: FirstLook, log_prior: FloatArray
) -> tuple[Case, IntArray, IntArray, Weighed]:
    """
    The forms that passed the first look weighed with all heights and habits of coverings.

    Returns
    -------
    Case
        With the classes of coverings that the laws are about.
    array of int
        The forms nearest to the evidence, at most 48, best first.
    array of int (M,)
        Those of them that were weighed exactly: the survivors, best first.
    Weighed
        Theirs.
    """
    near, glance = look.order[:SURVIVORS], look.glance.part(np.arange(min(SURVIVORS, len(look.order))))
    if not case.nodes:
        exact = weigh(case, bank.part(near))
        return case, near, near, weigh(case, bank.part(near), around=exact.state) if case.sounded else exact
    first = _open(glance.total + log_prior[near], FEWEST_SURVIVORS, BEYOND)
    order = near[first]
    plain, around = _placed(case, look, glance.part(first), log_prior[order])
    chosen = bank.part(order)
    exact = weigh(plain, chosen, around=around)
    bulges, thicknesses = bulges_of(case, plain, chosen, exact)
    likely = kept_classes(exact, log_prior[order], behind=SEEN)
    plain, around = _with_thicknesses(case, plain, exact, likely, thicknesses)
    fine, parents = plain.refined(bulges)
    exact = weigh(fine, chosen, around=around.classes(parents))
    # placed once more, where it still matters
    last = _open(exact.total + log_prior[order], FEWEST_OPEN, STILL_OPEN)
    exact, order = exact.part(last), order[last]
    likely = kept_classes(exact, log_prior[order], behind=GLANCED)
    fine = fine.classes(likely)
    return fine, near, order, weigh(fine, bank.part(order), around=exact.state.classes(likely))


def _open(joint: FloatArray, fewest: int, within: float) -> IntArray:
    """Places of the best, best first: those within a log likelihood of the best, and at least a few."""
    first = np.argsort(-joint, kind="stable")
    return first[: max(fewest, int((joint >= joint.max() - within).sum()))]


def _placed(case: Case, look: FirstLook, glance: Weighed, log_prior: FloatArray) -> tuple[Case, State]:
    """The case with the classes of coverings that a glance left open, and where the glance would place each form."""
    likely = kept_classes(glance, log_prior, behind=GLANCED)
    children = np.flatnonzero(np.isin(look.parents, likely))
    parents = look.parents[children]
    pairs, into = case.cover.coarser()
    more = (case.cover.mean_mm - pairs.mean_mm[into])[children]
    around = glance.state.classes(parents).thinned(more, _over_thickness(case))
    return case.classes(children), around


def _with_thicknesses(
    case: Case, plain: Case, exact: Weighed, likely: IntArray, thicknesses: FloatArray
) -> tuple[Case, State]:
    """The classes that stay open, and others like the likeliest of some thicknesses, with where to place each form."""
    best = int(np.unravel_index(exact.state.log_weight.argmax(), exact.state.log_weight.shape)[1])
    habit, turn = plain.cover.habit(best), float(plain.cover.turn[best])
    own = [(float(plain.cover.mean_mm[k]), plain.cover.habit(k), float(plain.cover.turn[k])) for k in likely]
    every = [(float(m), case.cover.habit(k), float(case.cover.turn[k])) for k, m in enumerate(case.cover.mean_mm)]
    asked = [(float(mean), habit, turn) for mean in thicknesses]
    added = [k for k, one in enumerate(every) if one in asked and one not in own]
    kept = [every.index(one) for one in own]
    parents = np.concatenate([likely, np.full(len(added), best)]).astype(np.int64)
    more = case.cover.mean_mm[kept + added] - plain.cover.mean_mm[parents]
    around = exact.state.classes(parents).thinned(more, _over_thickness(case))
    return case.classes(kept + added), around


def _over_thickness(case: Case) -> list[int]:
    """Unknowns that count from a class's mean thickness."""
    return [THICKNESS] + [BELOW] * (not case.base_bare) + [ABOVE] * (not case.top_bare)


def commonness_prior(bank: FormBank) -> FloatArray:
    """Prior from each form's commonness, flattened, sums to 1; sizes of one form share the form's commonness."""
    _, family = bank.families
    sizes = np.bincount(family)[family]
    weight = np.maximum(bank.commonness, 1e-3) ** FLATTENED / np.sqrt(sizes)
    return np.asarray(weight / weight.sum(), dtype=np.float64)
