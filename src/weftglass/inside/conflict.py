"""Where two readings of the same length disagree by more than their uncertainties allow: said, not averaged away."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np

from weftglass.evidence import Evidence, Outline
from weftglass.evidence.measurement import KINDS

DISAGREE_SDS = 3.5  # standard deviations apart: one honest pair in two thousand
OUTLINE_MM = 1.0  # sd of a length taken off an outline beyond its scale, mm; working figure


@dataclass(frozen=True)
class Reading:
    """A length as one source has it: the item's name, the value and its standard deviation."""

    item: str
    value: float
    sd: float


@dataclass(frozen=True)
class Conflict:
    """
    Two readings of one quantity that cannot both be right.

    Attributes
    ----------
    what : str
        The quantity in words, such as ``height over all``.
    first, second : Reading
        As the two sources have it.
    unit : str
        Of both.
    measurement : int or None
        Which measurement of the evidence takes part, the second one if two do.
    """

    what: str
    first: Reading
    second: Reading
    unit: str
    measurement: int | None

    @property
    def sds(self) -> float:
        """How many standard deviations apart."""
        return abs(self.first.value - self.second.value) / float(np.hypot(self.first.sd, self.second.sd))

    @property
    def sentence(self) -> str:
        """Both numbers, and what to do, for the owner."""
        one, two = self.first, self.second
        return (
            f"Two readings of the {self.what} disagree: {one.item} says {one.value:.0f} ± {one.sd:.1f} {self.unit}, "
            f"{two.item} says {two.value:.0f} ± {two.sd:.1f} {self.unit}. One of them is wrong: measure again. "
            "Until then each is believed half."
        )

    def to_record(self) -> dict[str, Any]:
        """For the answer's JSON."""
        pair = [{"item": one.item, "value": round(one.value, 2), "sd": round(one.sd, 2)} for one in self.readings]
        return {"what": self.what, "unit": self.unit, "readings": pair}

    @property
    def readings(self) -> tuple[Reading, Reading]:
        """Both readings."""
        return self.first, self.second


def conflicts_of(evidence: Evidence) -> tuple[Conflict, ...]:
    """
    Pairs of readings of one length that are further apart than 3.5 standard deviations.

    Heights and widths over all are compared: outline with tape or callipers, outline with outline, tape with tape.

    Examples
    --------
    >>> from weftglass.evidence import Measurement
    >>> z = np.arange(0.0, 200.0, 10.0)
    >>> seen = Outline.of(np.column_stack([z, 40.0 + 0 * z]), scale_sd=0.01)
    >>> taped = Evidence(outlines=(seen,), measurements=(Measurement("height", 231.0, 1.0),))
    >>> [(c.first.value, c.second.value) for c in conflicts_of(taped)]
    [(190.0, 231.0)]
    """
    found = []
    for what in ("height", "body_width", "body_depth"):
        readings = [*_off_outlines(evidence, what), *_measured(evidence, what)]
        for (one, _), (two, second) in combinations(readings, 2):
            conflict = Conflict(KINDS[what].words, one, two, KINDS[what].unit, second)
            if conflict.sds > DISAGREE_SDS:
                found.append(conflict)
    return tuple(found)


def _off_outlines(evidence: Evidence, what: str) -> Iterator[tuple[Reading, None]]:
    for outline in evidence.outlines:
        value = _length(outline, what)
        if value is not None:
            sd = float(np.hypot(outline.scale_sd * value, np.hypot(OUTLINE_MM, float(np.median(outline.sd_mm)))))
            yield Reading(f"outline {outline.view}", value, sd), None


def _length(outline: Outline, what: str) -> float | None:
    z = outline.points[:, 0]
    hidden = np.zeros(len(z), dtype=bool)
    for low, high in outline.hidden:
        hidden |= (z >= low) & (z <= high)
    if what == "height":
        cut = outline.top_unseen or outline.base_unseen
        return None if hidden[-1] or cut else float(z[-1])
    view = {"body_width": "front", "body_depth": "side"}[what]
    return float(2 * outline.points[~hidden, 1].max()) if outline.view == view and not hidden.all() else None


def _measured(evidence: Evidence, what: str) -> Iterator[tuple[Reading, int]]:
    for i, measurement in enumerate(evidence.measurements):
        if measurement.what == what and measurement.covered:
            yield Reading(measurement.item, measurement.value, measurement.sd), i
