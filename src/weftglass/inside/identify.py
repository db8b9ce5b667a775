"""Which vessel is inside: evidence and a library in, an answer with its reasons out."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from weftglass.errors import InputError
from weftglass.evidence import Evidence
from weftglass.inside.answer import Answer
from weftglass.inside.bank import FormBank
from weftglass.inside.explain import candidate_of, decibans_by_item
from weftglass.inside.fit import excluded_of
from weftglass.inside.hinges import hinge_of, tips_of
from weftglass.inside.next_look import next_looks
from weftglass.inside.posterior import Posterior, posterior
from weftglass.inside.predicted import with_foretold
from weftglass.inside.shares import Shares
from weftglass.one_thread import on_one_thread
from weftglass.vessels import FormLibrary

FloatArray = NDArray[np.float64]

ENGINE_VERSION = "5"
KEPT_BANKS = 4
FROM_ARRAYS = "from arrays"  # stands for the version of a library that is only a bank
LEAST_FAMILY, FEWEST_FAMILIES = 0.01, 3  # families named: probability, and however improbable
ALIKE = float(np.log(0.84 / 0.16))  # log likelihood ratio below which a pair is called right less than 84 times in 100
_banks: OrderedDict[str, FormBank] = OrderedDict()


def bank_of(library: FormLibrary | FormBank) -> FormBank:
    """The library laid out as arrays; kept for the last few libraries. A bank is its own."""
    if isinstance(library, FormBank):
        return library
    key = library.version
    if key not in _banks:
        _banks[key] = FormBank.of(tuple(library))
        while len(_banks) > KEPT_BANKS:
            _banks.popitem(last=False)
    _banks.move_to_end(key)
    return _banks[key]


@on_one_thread
def identify(
    evidence: Evidence,
    library: FormLibrary | FormBank,
    *,
    top: int = 10,
    with_commonness: bool = True,
    looks: int = 3,
    tilt: Mapping[str, float] | None = None,
) -> Answer:
    """
    Probabilities over the forms of a library, with reasons and the next things worth looking at.

    Parameters
    ----------
    evidence : Evidence
        Whatever is known of the piece; with nothing known the answer is the prior, and says so.
    library : FormLibrary or FormBank
        At least one form; a bank made from arrays for libraries of hundreds of thousands.
    top : int
        Most candidates named, 1 to 48.
    with_commonness : bool
        False gives every form the same prior.
    looks : int
        Most next looks proposed.
    tilt : mapping of form id to factor, or None
        Factors above 0 on the prior, 1 for a form that is not named; must not rest on this same evidence.

    Returns
    -------
    Answer
        Probabilities of all forms and ``unlisted`` sum to 1.

    Raises
    ------
    InputError
        If the library is empty, ``top`` out of range, or a factor not above 0.
    """
    if len(library) == 0:
        raise InputError("library", "forms", 0, "a library of at least one form")
    if not 1 <= top <= 48:
        raise InputError("identify", "top", top, "a number of candidates from 1 to 48")
    bank = bank_of(library)
    found = posterior(evidence, bank, with_commonness=with_commonness, tilt=_factors(bank, tilt))
    even = _even(found)
    decibans = decibans_by_item(found)
    places = range(min(top, len(found.survivors)))
    candidates = tuple(candidate_of(found, i, decibans, float(even[found.survivors[i]])) for i in places)
    candidates = with_foretold(found, candidates)
    named = sum(candidate.probability for candidate in candidates)
    return Answer(
        evidence.piece,
        found.unlisted,
        _families(found),
        _groups(found),
        candidates,
        max(0.0, float(found.probability.sum()) - named),
        next_looks(found, most=looks),
        _warnings(found),
        ENGINE_VERSION,
        library.version if isinstance(library, FormLibrary) else FROM_ARRAYS,
        len(bank),
        Shares(bank.ids, found.probability),
        hinge_of(found),
        tips_of(found),
        excluded_of(found),
        found.case.conflicts,
    )


def _factors(bank: FormBank, tilt: Mapping[str, float] | None) -> FloatArray | None:
    """Factors on the prior in the order of the bank."""
    if not tilt:
        return None
    wrong = next((name for name, factor in tilt.items() if not 0.0 < factor < np.inf), None)
    if wrong is not None:
        raise InputError("identify", f"tilt[{wrong}]", tilt[wrong], "a factor above 0")
    return np.array([tilt.get(name, 1.0) for name in bank.ids], dtype=np.float64)


def _even(found: Posterior) -> FloatArray:
    """Probabilities with all forms equally common, ``unlisted`` left as it is."""
    weight = np.exp(found.log_likelihood - found.log_likelihood.max())
    return np.asarray((1.0 - found.unlisted) * weight / weight.sum())


def _families(found: Posterior) -> tuple[tuple[str, float], ...]:
    """Families of 1 % and more, most probable first; at least three."""
    names, family = found.bank.families
    total = np.bincount(family, weights=found.probability)
    most = min(max(FEWEST_FAMILIES, int((total >= LEAST_FAMILY).sum())), len(total))
    first = np.sort(np.argpartition(-total, most - 1)[:most])
    ranked = first[np.argsort(-total[first], kind="stable")]
    return tuple((names[i], float(total[i])) for i in ranked.tolist())


def _groups(found: Posterior) -> tuple[tuple[str, ...], ...]:
    """Forms that this evidence cannot tell apart: likelihoods within a factor that a pair would need to be called."""
    strong = [int(i) for i in found.survivors if found.probability[i] >= 0.02]
    strong.sort(key=lambda i: -found.log_likelihood[i])
    groups: list[list[int]] = []
    for i in strong:
        if groups and found.log_likelihood[groups[-1][0]] - found.log_likelihood[i] < ALIKE:
            groups[-1].append(i)
        else:
            groups.append([i])
    return tuple(tuple(found.bank.forms[i].id for i in group) for group in groups if len(group) > 1)


def _warnings(found: Posterior) -> tuple[str, ...]:
    """What the reader should know before believing the figures."""
    said = []
    evidence = found.case.evidence
    if evidence.is_empty:
        said.append("Nothing is known of this piece yet: these are only the library's own proportions.")
    if any(len(nodes.z_mm) < 12 for nodes in found.case.nodes):
        said.append("Little of the outline is usable; the answer leans on few heights.")
    said += [conflict.sentence for conflict in found.case.conflicts]
    for bulge in found.bulges:
        view = evidence.outlines[bulge.outline].view
        said.append(
            f"{view.capitalize()} outline: from {bulge.low_mm:.0f} to {bulge.high_mm:.0f} mm the edge stands off the "
            "vessel, as at a strap, a seal or a bridged hollow; it hardly counts. Mark it as hidden if it is so."
        )
    best = float(found.log_likelihood[found.survivors[0]])
    if found.unlisted > 0.5 and np.isfinite(best):
        said.append("No form of the library explains this evidence well: more likely none of them.")
    return tuple(said)
