"""Taking in all evidence about a piece, item by item, for every form of a library."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weftglass.evidence import Evidence
from weftglass.inside.bank import TURNED, FormBank
from weftglass.inside.cover import CoverPrior
from weftglass.inside.likelihood.measurement import Setting, measured_rows
from weftglass.inside.likelihood.outline import take_outline
from weftglass.inside.likelihood.sighting import sighting_likelihood
from weftglass.inside.nodes import Nodes
from weftglass.inside.state import FIRST_SCALE, State

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Case:
    """The evidence about a piece made ready for weighing: nodes of its outlines and the classes of thickness."""

    evidence: Evidence
    nodes: tuple[Nodes, ...]
    cover: CoverPrior
    top_bare: bool
    base_bare: bool
    all_bare: bool

    @classmethod
    def of(cls, evidence: Evidence, *, any_flat: bool) -> Case:
        """Choose nodes and thickness classes; ``any_flat`` says whether the library holds forms that are not round."""
        nodes = tuple(Nodes.of(outline) for outline in evidence.outlines)
        bare = bool(nodes) and all(bool(n.bare.all()) for n in nodes)
        cover = CoverPrior.for_covering(evidence.covering, bare_everywhere=bare)
        if any_flat and any(outline.view == "turned" for outline in evidence.outlines):
            cover = cover.for_turns(TURNED)
        return cls(
            evidence,
            nodes,
            cover,
            any(n.top_is_bare for n in nodes),
            any(n.base_is_bare for n in nodes),
            bare,
        )

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
            FIRST_SCALE + len(self.nodes),
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


def weigh(case: Case, bank: FormBank, *, around: FloatArray | None = None) -> Weighed:
    """
    Weigh a case against every form of a bank.

    Parameters
    ----------
    case : Case
    bank : FormBank
        F forms.
    around : array (F, K, p), optional
        Unknowns at which outlines are placed exactly; default the fast first pass.
    """
    evidence, setting = case.evidence, case.setting
    scale_sd = [outline.scale_sd for outline in evidence.outlines]
    state = State.prior(bank, case.cover, scale_sd, top_bare=case.top_bare, base_bare=case.base_bare)
    running = [np.zeros(len(bank))]
    average = []
    for i, (outline, nodes) in enumerate(zip(evidence.outlines, case.nodes, strict=True)):
        state = take_outline(state, bank, nodes, case.cover, FIRST_SCALE + i, outline.view, around=around)
        if i == len(case.nodes) - 1 and not case.all_bare:
            state = state.inside_its_covering(case.cover)
        running.append(state.log_likelihood())
        average.append(0.0)
    for row in measured_rows(evidence.measurements, bank, setting):
        state = state.with_row(*row)
        running.append(state.log_likelihood())
        average.append(0.0)
    for sighting in evidence.sightings:
        likelihood, general = sighting_likelihood(sighting, bank.forms)
        running.append(running[-1] + np.log(likelihood))
        average.append(float(np.log(general)))
    return Weighed(np.array(running), state, np.array(average))
