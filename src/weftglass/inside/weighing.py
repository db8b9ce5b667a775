"""Taking in all evidence about a piece, item by item, for every form of a library."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from weftglass.evidence import Evidence
from weftglass.inside.bank import TURNED, FormBank
from weftglass.inside.bulge_search import find_bulges
from weftglass.inside.bulges import Bulge, bulge_weights
from weftglass.inside.conflict import Conflict, conflicts_of
from weftglass.inside.cover import BULGED, READING_OFF, CoverPrior, faces_for
from weftglass.inside.likelihood.edges import EdgeErrors
from weftglass.inside.likelihood.letters import said_before
from weftglass.inside.likelihood.measurement import Setting, measured_rows
from weftglass.inside.likelihood.outline import Sheet, foretold, take_outlines
from weftglass.inside.likelihood.sighting import sighting_likelihood
from weftglass.inside.nodes import MOST_NODES, Nodes
from weftglass.inside.state import FIRST_SCALE, THICKNESS, State
from weftglass.inside.surprise import Surprise

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

OFF_READING = 0.25  # relative sd of a reading where the photograph is believed against it
ASKED = 3  # families asked where the covering stands off; siblings would all say the same
OPEN = 9.0  # log likelihood behind the best at which a thickness does not explain an outline with its bulges


@dataclass(frozen=True, eq=False)
class Case:
    """The evidence about a piece made ready for weighing: nodes of its outlines and the classes of thickness."""

    evidence: Evidence
    nodes: tuple[Nodes, ...]
    cover: CoverPrior
    top_bare: bool
    base_bare: bool
    all_bare: bool
    errors: EdgeErrors
    conflicts: tuple[Conflict, ...] = ()
    bulges: tuple[Bulge, ...] = ()

    @classmethod
    def of(cls, evidence: Evidence, *, any_flat: bool) -> Case:
        """Choose nodes and thickness classes; ``any_flat`` says whether the library holds forms that are not round."""
        most = MOST_NODES[min(len(evidence.outlines), len(MOST_NODES)) - 1]
        nodes = tuple(Nodes.of(outline, most=most) for outline in evidence.outlines)
        bare = bool(nodes) and all(bool(n.bare.all()) for n in nodes)
        cover = CoverPrior.for_covering(evidence.covering, bare_everywhere=bare)
        if any_flat and any(outline.view == "turned" for outline in evidence.outlines):
            cover = cover.for_turns(TURNED)
        if nodes and not bare:
            cover = cover.with_bridges().with_ends(
                below=any(n.base_is_seen for n in nodes) and not any(n.base_is_bare for n in nodes),
                above=any(n.top_is_seen for n in nodes) and not any(n.top_is_bare for n in nodes),
            )
        conflicts = conflicts_of(evidence)
        if conflicts:
            cover = cover.disputed()
        return cls(
            evidence,
            nodes,
            cover,
            any(n.top_is_bare for n in nodes),
            any(n.base_is_bare for n in nodes),
            bare,
            EdgeErrors(nodes),
            conflicts,
        )

    def coarse(self) -> tuple[Case, IntArray]:
        """
        The same with every third height and half the thickness classes: for a first look over a whole library.

        Returns
        -------
        Case
        array of int (K,)
            Which class of it each class of this one went into.
        """
        nodes = tuple(one.every(3) for one in self.nodes)
        cover, parents = self.cover.coarser
        return replace(self, nodes=nodes, cover=cover, errors=EdgeErrors(nodes)), parents

    def refined(self, bulges: Sequence[Bulge]) -> tuple[Case, IntArray]:
        """
        The same with every class of coverings once for each surface and number of bulges that it may have.

        Returns
        -------
        Case
        array of int (K,)
            Which class of this case each new class comes from.
        """
        own = np.arange(len(self.cover))
        if self.all_bare:
            return self, own
        faces = faces_for(bulge_weights(list(bulges), BULGED))
        return replace(self, cover=self.cover.with_faces(faces), bulges=tuple(bulges)), np.tile(own, len(faces))

    def classes(self, keep: Sequence[int] | IntArray) -> Case:
        """The same with some of the classes of coverings only."""
        return replace(self, cover=self.cover.part(keep))

    def prior(self, bank: FormBank) -> State:
        """The laws before any evidence."""
        return State.prior(
            bank,
            self.cover,
            [outline.scale_sd for outline in self.evidence.outlines],
            top_bare=self.top_bare,
            base_bare=self.base_bare,
            unseen_bases=self.unseen_bases,
        )

    @property
    def sheets(self) -> tuple[Sheet, ...]:
        """The outlines with the places of their unknowns."""
        scales = FIRST_SCALE + len(self.nodes)
        unseen = [i for i, one in enumerate(self.nodes) if not one.base_is_seen]
        return tuple(
            Sheet(one, outline.view, FIRST_SCALE + i, scales + unseen.index(i) if i in unseen else None)
            for i, (one, outline) in enumerate(zip(self.nodes, self.evidence.outlines, strict=True))
        )

    @property
    def unseen_bases(self) -> int:
        """Outlines whose base is not seen."""
        return sum(not one.base_is_seen for one in self.nodes)

    @property
    def sounded(self) -> bool:
        """Whether a tone is among the measurements: survivors are then weighed by their own waveguide."""
        return any(measurement.what == "tone" for measurement in self.evidence.measurements)

    @property
    def setting(self) -> Setting:
        """What predictions of measurements need to know."""
        closures = [sighting.value for sighting in self.evidence.sightings if sighting.feature == "closure"]
        return Setting(
            self.cover,
            FIRST_SCALE + len(self.nodes) + self.unseen_bases,
            self.top_bare,
            self.base_bare,
            self.evidence.covering,
            closures[0] if closures else None,
        )

    @property
    def items(self) -> tuple[str, ...]:
        """Names of the items of evidence in the order in which they are weighed."""
        counted: dict[str, int] = {}
        names = []
        for outline in self.evidence.outlines:
            counted[outline.view] = counted.get(outline.view, 0) + 1
            number = "" if counted[outline.view] == 1 else f" {counted[outline.view]}"
            names.append(f"outline {outline.view}{number}")
        names += [measurement.item for measurement in self.evidence.measurements]
        names += [sighting.item for sighting in self.evidence.sightings]
        return tuple(names)


@dataclass(frozen=True, eq=False)
class Weighed:
    """
    What the evidence says of every form of a bank.

    Attributes
    ----------
    running : array (items + 1, F)
        Log likelihood after 0, 1, 2 … items; the last row is that of all evidence.
    state : State
        Laws of size, covering and scale after all outlines and measurements.
    average : array (items,)
        Log likelihood of each sighting for a vessel in general, 0 for other items.
    """

    running: FloatArray
    state: State
    average: FloatArray

    @property
    def total(self) -> FloatArray:
        """Log likelihood of all evidence, (F,)."""
        return np.asarray(self.running[-1])

    def part(self, index: IntArray) -> Weighed:
        """What it says of some of the forms."""
        return Weighed(self.running[:, index], self.state.part(index), self.average)

    @classmethod
    def together(cls, parts: Sequence[Weighed]) -> Weighed:
        """Several banks weighed by the same evidence, as one."""
        running = np.concatenate([one.running for one in parts], axis=1)
        return cls(running, State.together([one.state for one in parts]), parts[0].average)


def kept_classes(weighed: Weighed, log_prior: FloatArray, *, behind: float) -> IntArray:
    """Classes of coverings that under some form come within a log likelihood of the likeliest form and class."""
    state = weighed.state
    share = state.log_weight - state.log_likelihood()[:, None]
    joint = share + (weighed.total + log_prior)[:, None]
    return np.flatnonzero(joint.max(axis=0) >= joint.max() - behind)


def bulges_of(case: Case, plain: Case, bank: FormBank, weighed: Weighed) -> tuple[list[Bulge], FloatArray]:
    """
    Places where the covering seems to stand off the glass under the best forms of the families that lead.

    Parameters
    ----------
    case : Case
        With every class of coverings: a strap may pass for a thick covering, so that any thickness is tried anew.
    plain, weighed : Case, Weighed
        The classes that were left open, and what they say of the forms of the bank.

    Returns
    -------
    list of Bulge
    array
        Mean thicknesses in mm of the classes that explain the outlines with these bulges; empty without any.
    """
    nothing: tuple[list[Bulge], FloatArray] = ([], np.empty(0))
    if not case.nodes or case.all_bare:
        return nothing
    first: dict[int, int] = {}
    _, family = bank.families
    for i in map(int, np.argsort(-weighed.total, kind="stable")):
        first.setdefault(int(family[i]), i)
    pairs, into = case.cover.coarser
    told, weight, parents = [], [], []
    for i in list(first.values())[:ASKED]:
        k = int(weighed.state.log_weight[i].argmax())
        habit, turn = plain.cover.habit(k), float(plain.cover.turn[k])
        tried = [j for j in range(len(pairs)) if (pairs.habit(j), float(pairs.turn[j])) == (habit, turn)]
        one = bank.part(np.array([i]))
        prior = replace(case, cover=pairs.part(tried)).prior(one)
        at = weighed.state.mean[i, k].copy()
        at[THICKNESS] = 0.0
        for own, j in enumerate(tried):
            laws = (prior.mean[0, own], prior.covariance[0, own])
            told.append(foretold(one, case.sheets, habit, float(pairs.mean_mm[j]), turn, laws, at, case.errors))
            weight.append(float(np.log(pairs.weight[j])))
            parents.append(j)
    found, value = find_bulges(case.errors.stack, told, np.array(weight))
    if not found:
        return nothing
    likely = np.array(parents)[value >= value.max() - OPEN]
    return found, np.unique(case.cover.mean_mm[np.isin(into, likely)])


def surprise_of(case: Case, bank: FormBank, weighed: Weighed) -> Surprise:
    """How surprising the outlines are under the likeliest form of a bank; none without outlines."""
    if not case.nodes:
        return Surprise(0.0, 0.0)
    best = int(weighed.total.argmax())
    k = int(weighed.state.log_weight[best].argmax())
    one = bank.part(np.array([best]))
    prior = case.classes([k]).prior(one)
    told = foretold(
        one,
        case.sheets,
        case.cover.habit(k),
        float(case.cover.mean_mm[k]),
        float(case.cover.turn[k]),
        (prior.mean[0, 0], prior.covariance[0, 0]),
        weighed.state.mean[best, k],
        case.errors,
        case.bulges,
    )
    return Surprise.of(told.miss, told.smooth, told.white)


def weigh(case: Case, bank: FormBank, *, around: State | None = None) -> Weighed:
    """
    Weigh a case against every form of a bank.

    Parameters
    ----------
    case : Case
    bank : FormBank
        F forms.
    around : State, optional
        Laws of these forms and classes at whose means outlines are placed exactly; default the fast first pass.
    """
    evidence, state = case.evidence, case.prior(bank)
    running, average = [np.zeros(len(bank))], []
    if case.nodes:
        told = take_outlines(
            state, bank, case.sheets, case.cover, around=around, bulges=case.bulges, errors=case.errors
        )
        state = told[-1] if case.all_bare else told[-1].inside_its_covering(case.cover)
        for one in (*told[:-1], state):
            running.append(one.log_likelihood())
            average.append(0.0)
    doubted = {conflict.measurement for conflict in case.conflicts}
    disbelieved = np.array([trust == READING_OFF for trust in case.cover.trusts])
    rows = measured_rows(evidence.measurements, bank, case.setting)
    for i, (measurement, (residual, slope, variance)) in enumerate(zip(evidence.measurements, rows, strict=True)):
        if i in doubted:
            variance = variance + np.where(disbelieved, (OFF_READING * measurement.value) ** 2, 0.0)[None, :]
        state = state.with_row(residual, slope, variance)
        running.append(state.log_likelihood())
        average.append(0.0)
    for sighting, told_already in zip(evidence.sightings, said_before(evidence.sightings), strict=True):
        likelihood, general = sighting_likelihood(sighting, bank.forms)
        if told_already:
            likelihood, general = np.ones(len(bank)), 1.0
        running.append(running[-1] + np.log(likelihood))
        average.append(float(np.log(general)))
    return Weighed(np.array(running), state, np.array(average))
