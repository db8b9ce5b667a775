"""What the engine says of a piece, as plain frozen records."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from weftglass.inside.conflict import Conflict

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Cover:
    """Thickness of the covering over a vessel, mm: mean, least, greatest, and the sd of the mean."""

    mean_mm: float
    min_mm: float
    max_mm: float
    sd_mm: float


@dataclass(frozen=True)
class Weight:
    """One item of evidence and how far it speaks for a form, in decibans against the library's average."""

    item: str
    decibans: float


@dataclass(frozen=True)
class Expected:
    """
    A quantity that was not measured, as a candidate would have it.

    Attributes
    ----------
    what : str
        capacity, glass weight, covering weight, weight, tone, bore.
    value, sd : float
        Best value and standard deviation.
    low, high : float
        An interval that holds the truth in nine cases of ten if the vessel is of that form.
    unit : str
        ml, g, Hz or mm.
    """

    what: str
    value: float
    sd: float
    low: float
    high: float
    unit: str


@dataclass(frozen=True)
class Hinge:
    """
    The item the answer hangs on most.

    Attributes
    ----------
    item : str
        Its name.
    chance, chance_without : float
        Probability of the leading form, and what it would be without the item.
    leader_without, leader_chance : str, float
        Id and probability of the form that would lead without it; the same form where the answer would stay.
    """

    item: str
    chance: float
    chance_without: float
    leader_without: str
    leader_chance: float


@dataclass(frozen=True)
class Tip:
    """
    What one item would have to be for the runner-up to lead.

    Attributes
    ----------
    item : str
        Its name.
    runner_up : str
        Id of the second form.
    reading, tips_at : float or None
        For a measurement: the reading taken, and the nearest one at which the two forms are equally probable.
    unit : str
        Of both.
    instead : str
        For a sighting: what would have to be seen.
    """

    item: str
    runner_up: str
    reading: float | None
    tips_at: float | None
    unit: str
    instead: str


@dataclass(frozen=True)
class Excluded:
    """A form that cannot fit: the height at which its glass would stand out of the covering, and by how much, mm."""

    form: str
    name: str
    size: str
    z_mm: float
    by_mm: float


@dataclass(frozen=True, eq=False)
class Candidate:
    """
    One form that may be inside.

    Attributes
    ----------
    form : str
        Id in the library.
    name, size : str
        As the library has them.
    probability : float
    probability_without_commonness : float
        With all forms equally common.
    fits : bool
        False when glass would have to stand outside its covering by more than the uncertainties allow.
    misfit : (z_mm, by_mm) or None
        Where, and by how much, it does not fit.
    cover : Cover
    evidence : tuple of Weight
        In the order in which the items were weighed; they add up to the total.
    vessel : array (n, 2)
        The form at its most probable size in the frame of the first outline: rows of height and half-width, mm.
    clearance : array (m, 2)
        Height and distance from glass to outer edge along the normal, mm; empty without an outline.
    clearance_sd_mm : float
        Standard deviation of one clearance.
    foretold : tuple of Expected
        What nobody measured yet, so that it can be checked.
    thickness : array (n, 3)
        Rows of height, thickness of the covering there, and its standard deviation, mm; empty without an outline.
    """

    form: str
    name: str
    size: str
    family: str
    probability: float
    probability_without_commonness: float
    fits: bool
    misfit: tuple[float, float] | None
    cover: Cover
    evidence: tuple[Weight, ...]
    vessel: FloatArray
    clearance: FloatArray
    clearance_sd_mm: float
    foretold: tuple[Expected, ...] = ()
    thickness: FloatArray = field(default_factory=lambda: np.empty((0, 3)))

    @property
    def decibans(self) -> float:
        """Weight of all evidence together."""
        return sum(weight.decibans for weight in self.evidence)


@dataclass(frozen=True)
class NextLook:
    """
    An observation not yet made.

    Attributes
    ----------
    look : str
        What to do, in words for the owner.
    gain_bits : float
        Expected information about the form.
    effort : str
        low, medium or high.
    minutes : float
        Of the owner's time; common practice, no source.
    caution : str or None
        What to mind first.
    kind : str
        The measurement or sighting that answers it, such as ``height``.
    z_mm : float or None
        Height to take it at.
    expected : str
        What the best candidates would show, with the uncertainty.
    seller : str
        The same as a question to somebody who sells the piece; empty where a stranger should not be asked to.
    risk_minutes : float
        Minutes by which its risk makes it dearer when looks are ranked.
    settles : float
        Chance that it leaves one form at 95 % or more among those listed.
    """

    look: str
    gain_bits: float
    effort: str
    minutes: float
    caution: str | None
    kind: str
    z_mm: float | None = None
    expected: str = ""
    seller: str = ""
    risk_minutes: float = 0.0
    settles: float = 0.0

    @property
    def expected_words(self) -> str:
        """
        What it is expected to tell, in figures.

        Examples
        --------
        >>> NextLook("weigh it", 0.9, "low", 1.0, None, "weight", settles=0.412).expected_words
        '0.9 bits expected; 41 % chance that it settles which of the forms it is'
        """
        told = f"{self.gain_bits:.1f} bits expected"
        if self.settles < 0.05:
            return told
        return f"{told}; {100 * self.settles:.0f} % chance that it settles which of the forms it is"


@dataclass(frozen=True, eq=False)
class Answer:
    """
    Everything said of one piece.

    Attributes
    ----------
    unlisted : float
        Probability that the vessel is none of the forms.
    families : tuple of (family, probability)
    groups : tuple of tuples of form ids
        Forms that this evidence cannot tell apart.
    candidates : tuple of Candidate
        Most probable first.
    rest : float
        Probability of all listed forms not among the candidates.
    hinge : Hinge or None
        The item the answer hangs on most.
    tips : tuple of Tip
        What single items would have to be for the second form to lead.
    excluded : tuple of Excluded
        Forms near the evidence that can't fit, and where not.
    conflicts : tuple of Conflict
        Readings of one length that can't both be right; each is believed half.
    """

    piece: str
    unlisted: float
    families: tuple[tuple[str, float], ...]
    groups: tuple[tuple[str, ...], ...]
    candidates: tuple[Candidate, ...]
    rest: float
    next_looks: tuple[NextLook, ...]
    warnings: tuple[str, ...]
    engine_version: str
    library_version: str
    forms_weighed: int
    probabilities: Mapping[str, float] = field(default_factory=dict)
    hinge: Hinge | None = None
    tips: tuple[Tip, ...] = ()
    excluded: tuple[Excluded, ...] = ()
    conflicts: tuple[Conflict, ...] = ()

    def to_record(self) -> dict[str, Any]:
        """The contract's JSON document, with a few fields more."""
        return {
            "piece": self.piece,
            "unlisted": rounded(self.unlisted, 6),
            "families": [{"family": name, "probability": rounded(p, 6)} for name, p in self.families],
            "groups": [list(group) for group in self.groups],
            "candidates": [_candidate_record(candidate) for candidate in self.candidates],
            "rest": rounded(self.rest, 6),
            "next_looks": [
                {
                    "look": look.look,
                    "gain_bits": rounded(look.gain_bits, 3),
                    "settles": rounded(look.settles, 3),
                    "effort": look.effort,
                    "caution": look.caution,
                    "minutes": look.minutes,
                    "kind": look.kind,
                    "z_mm": look.z_mm,
                    "expected": look.expected,
                    "seller": look.seller or None,
                }
                for look in self.next_looks
            ],
            "hangs_on": None if self.hinge is None else _hinge_record(self.hinge),
            "would_tip": [_tip_record(tip) for tip in self.tips],
            "excluded": [
                {"form": one.form, "z_mm": rounded(one.z_mm, 1), "by_mm": rounded(one.by_mm, 2)}
                for one in self.excluded
            ],
            "warnings": list(self.warnings),
            "conflicts": [conflict.to_record() for conflict in self.conflicts],
            "engine_version": self.engine_version,
            "library_version": self.library_version,
            "forms_weighed": self.forms_weighed,
        }


def _candidate_record(candidate: Candidate) -> dict[str, Any]:
    cover = candidate.cover
    return {
        "form": candidate.form,
        "name": candidate.name,
        "size": candidate.size,
        "probability": rounded(candidate.probability, 6),
        "probability_without_commonness": rounded(candidate.probability_without_commonness, 6),
        "fits": candidate.fits,
        "misfit": None
        if candidate.misfit is None
        else {"z_mm": rounded(candidate.misfit[0], 1), "by_mm": rounded(candidate.misfit[1], 2)},
        "cover_mm": {
            "mean": rounded(cover.mean_mm, 2),
            "min": rounded(cover.min_mm, 2),
            "max": rounded(cover.max_mm, 2),
            "sd": rounded(cover.sd_mm, 2),
        },
        "evidence": [{"item": w.item, "decibans": rounded(w.decibans, 2)} for w in candidate.evidence],
        "vessel": [[rounded(z, 2), rounded(r, 2)] for z, r in candidate.vessel.tolist()],
        "clearance": [[rounded(z, 2), rounded(c, 2)] for z, c in candidate.clearance.tolist()],
        "clearance_sd_mm": rounded(candidate.clearance_sd_mm, 2),
        "foretold": [
            {
                "what": one.what,
                "value": rounded(one.value, 2),
                "sd": rounded(one.sd, 2),
                "interval_90": [rounded(one.low, 2), rounded(one.high, 2)],
                "unit": one.unit,
            }
            for one in candidate.foretold
        ],
        "thickness": [[rounded(number, 2) for number in row] for row in candidate.thickness.tolist()],
    }


def _hinge_record(hinge: Hinge) -> dict[str, Any]:
    return {
        "item": hinge.item,
        "probability": rounded(hinge.chance, 6),
        "probability_without": rounded(hinge.chance_without, 6),
        "leader_without": hinge.leader_without,
        "leader_probability": rounded(hinge.leader_chance, 6),
    }


def _tip_record(tip: Tip) -> dict[str, Any]:
    return {
        "item": tip.item,
        "runner_up": tip.runner_up,
        "tips_at": None if tip.tips_at is None else rounded(tip.tips_at, 2),
        "unit": tip.unit or None,
        "instead": tip.instead or None,
    }


def rounded(value: float, digits: int) -> float:
    """Value rounded for print, never minus zero."""
    return round(float(value), digits) + 0.0
