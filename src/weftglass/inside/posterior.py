"""From likelihoods to probabilities: screening the library, exact work on the survivors, priors, 'none of these'."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weftglass.evidence import Evidence
from weftglass.inside.bank import FormBank
from weftglass.inside.belief import believed, doubt_of_outlines, with_passed_over
from weftglass.inside.bulges import Bulge
from weftglass.inside.closer_look import closer_look
from weftglass.inside.first_look import first_look, meeting
from weftglass.inside.screening import LOST, SWEPT
from weftglass.inside.surprise import Surprise
from weftglass.inside.unlisted import densities, plain_look, unlisted_probability
from weftglass.inside.weighing import Case, Weighed, surprise_of
from weftglass.one_thread import on_one_thread

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

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


@on_one_thread
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
    closer = closer_look(case, bank, look, log_prior)
    fine, order, exact = closer.case, closer.order, closer.exact
    surprise = surprise_of(fine, bank.part(order), exact)
    plain = plain_look(case, fine, exact)
    doubt = doubt_of_outlines(fine, bank.part(order), exact, log_prior[order])
    if case.nodes:
        exact = believed(exact, len(case.nodes), doubt.belief)
    if case.nodes or case.sounded:
        # a glance errs alike for all forms on average: shift the rest so that the two scales meet
        # and what was left behind, on a better look, never leads what was weighed exactly
        running = np.minimum(meeting(running, exact, order), exact.running.min(axis=1, keepdims=True))
        running[:, order] = exact.running
    total = running[-1]
    joint = total + log_prior
    library, general = densities(plain, bank.part(closer.near), prior[closer.near])
    unlisted = unlisted_probability(library, general, surprise, case)
    if look.screened and len(bank) > SWEPT:
        unlisted += (1.0 - unlisted) * LOST
    share = np.exp(joint - joint.max())
    share = with_passed_over(share / share.sum(), prior, look, order, exact, doubt.passed_over)
    probability = share * (1.0 - unlisted)
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


def commonness_prior(bank: FormBank) -> FloatArray:
    """Prior from each form's commonness, flattened, sums to 1; sizes of one form share the form's commonness."""
    _, family = bank.families
    sizes = np.bincount(family)[family]
    weight = np.maximum(bank.commonness, 1e-3) ** FLATTENED / np.sqrt(sizes)
    return np.asarray(weight / weight.sum(), dtype=np.float64)
