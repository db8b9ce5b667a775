"""What a covering may be like before anything is measured: its thickness, evenness, and what lies beyond the glass."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from weftglass.evidence import Covering

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

UNEVENNESS = 0.30  # sd of the local thickness as a share of its mean; exploratory figure, 0.2 to 0.4
WANDERING_MM = 22.0  # correlation length of the local thickness along the wall, mm; exploratory figure, 10 to 40
ROWS_MM = 0.40  # sd of the ripple of the rows at the outline, mm; exploratory figure (amplitude 0.3 to 0.8)

# Mean thickness over glass in mm and its spread as a factor (one standard deviation), by a word of the technique.
# Common practice, no source: no published figure for coverings of bottles was found.
TECHNIQUES: tuple[tuple[str, float, float], ...] = (
    ("wicker", 5.0, 1.6),
    ("rand", 5.0, 1.6),
    ("coil", 4.0, 1.5),
    ("wrapped", 3.0, 1.6),
    ("knot", 3.0, 1.6),
    ("hitch", 2.5, 1.6),
    ("net", 2.5, 1.6),
    ("plait", 2.0, 1.6),
    ("twin", 2.5, 1.5),
)
ANY_TECHNIQUE = (3.2, 1.9)
MEANS_MM = (0.7, 1.1, 1.6, 2.2, 3.0, 4.0, 5.3, 7.0, 9.5, 13.0)  # centres of the thickness classes
EDGES_MM = (0.45, 16.0)
LEAST_WEIGHT = 2e-3  # thickness classes lighter than this share of the heaviest are left out


@dataclass(frozen=True)
class Ends:
    """How far a covering reaches beyond the glass by more than its thickness: share of pieces, mean and sd in mm."""

    share: float
    foot_mm: float
    foot_sd_mm: float
    rise_mm: float
    rise_sd_mm: float


@dataclass(frozen=True)
class Surface:
    """
    How an edge may wander from what is foretold.

    Parameters
    ----------
    share : float
        Of pieces.
    unevenness, wandering_mm : float
        Of the covering's thickness along the wall: sd over mean, and correlation length.
    drawing : float
        Times as far as its library says that a form's drawing may be from the glass.
    """

    share: float
    unevenness: float
    wandering_mm: float
    drawing: float = 1.0


# Working figures, no source. A foot ring or basketry base stands up to 30 mm below the glass.
CLOSE, FOOT, RISE = Ends(0.82, 0.0, 0.0, 0.0, 0.0), Ends(0.10, 13.0, 9.0, 0.0, 0.0), Ends(0.08, 0.0, 0.0, 14.0, 10.0)
EVEN, BANDED = Surface(0.65, UNEVENNESS, WANDERING_MM), Surface(0.22, 0.60, 12.0)
MISDRAWN = Surface(0.13, UNEVENNESS, WANDERING_MM, 2.0)
BULGED = (0.86, 0.08, 0.04, 0.02)  # share of pieces with no, one, two, three places that stand off the glass
BRIDGED, BRIDGE_MEAN, BRIDGE_SD = 0.12, 0.85, 0.45  # share of pieces that bridge hollows, and how much of them
STOUT_MM = 3.0  # coverings thinner than this bridge more seldom; working figure, no source
AGREED, SCALE_OFF, READING_OFF = "agreed", "scale off", "reading off"


@dataclass(frozen=True)
class Habit:
    """What a class of coverings has besides its thickness: ends, surface, bulges, whom to believe, hollows bridged."""

    ends: Ends = CLOSE
    surface: Surface = EVEN
    bulges: int = 0
    trust: str = AGREED
    bridged: bool = False


PLAIN = Habit()


@dataclass(frozen=True, eq=False)
class CoverPrior:
    """
    What the covering may be like: a mixture of K classes, normal laws of mean thickness each with its habit.

    Attributes
    ----------
    mean_mm, sd_mm, weight : array (K,)
        Weights sum to 1.
    turn : array (K,)
        Turn in degrees taken for every view marked as turned; 0 where there is none.
    habits : tuple of Habit
        K of them; empty where all are plain.
    """

    mean_mm: FloatArray
    sd_mm: FloatArray
    weight: FloatArray
    turn: FloatArray
    habits: tuple[Habit, ...] = ()

    @classmethod
    def for_covering(cls, covering: Covering, *, bare_everywhere: bool = False) -> CoverPrior:
        """
        Log-normal prior for the technique, cut into normal pieces from half a millimetre to 16 mm; all plain.

        Examples
        --------
        >>> prior = CoverPrior.for_covering(Covering(technique="plain twining"))
        >>> bool(1.8 < (prior.mean_mm * prior.weight).sum() < 3.5)
        True
        """
        if bare_everywhere:
            return cls(np.zeros(1), np.full(1, 1e-3), np.ones(1), np.zeros(1))
        words = (covering.technique or "").lower()
        centre, factor = next(((m, f) for word, m, f in TECHNIQUES if word in words), ANY_TECHNIQUE)
        mean = np.array(MEANS_MM)
        edges = np.sqrt(mean[1:] * mean[:-1])
        width = np.diff(np.concatenate([EDGES_MM[:1], edges, EDGES_MM[1:]]))
        density = np.exp(-0.5 * (np.log(mean / centre) / np.log(factor)) ** 2) / mean
        weight = density * width
        keep = weight > LEAST_WEIGHT * weight.max()
        return cls(mean[keep], 0.42 * width[keep], weight[keep] / weight[keep].sum(), np.zeros(int(keep.sum())))

    def __len__(self) -> int:
        return len(self.mean_mm)

    def habit(self, k: int) -> Habit:
        """The habit of class k."""
        return self.habits[k] if self.habits else PLAIN

    @property
    def foot(self) -> tuple[FloatArray, FloatArray]:
        """Mean and sd of what stands below the glass beyond the covering's thickness, mm, (K,) each."""
        ends = [self.habit(k).ends for k in range(len(self))]
        return np.array([e.foot_mm for e in ends]), np.array([e.foot_sd_mm for e in ends])

    @property
    def rise(self) -> tuple[FloatArray, FloatArray]:
        """The same above the lip, mm, (K,) each."""
        ends = [self.habit(k).ends for k in range(len(self))]
        return np.array([e.rise_mm for e in ends]), np.array([e.rise_sd_mm for e in ends])

    @property
    def bridging(self) -> tuple[FloatArray, FloatArray]:
        """Mean and sd of how much of a hollow is bridged, (K,) each."""
        bridged = np.array([self.habit(k).bridged for k in range(len(self))])
        return np.where(bridged, BRIDGE_MEAN, 0.0), np.where(bridged, BRIDGE_SD, 1e-4)

    @property
    def trusts(self) -> tuple[str, ...]:
        """Whom each class believes where photograph and tape disagree, (K,)."""
        return tuple(self.habit(k).trust for k in range(len(self)))

    def part(self, index: Sequence[int] | IntArray) -> CoverPrior:
        """Some of the classes, their weights scaled to sum to 1."""
        chosen = np.asarray(index, dtype=np.int64)
        weight = self.weight[chosen]
        habits = tuple(self.habits[k] for k in chosen) if self.habits else ()
        return CoverPrior(self.mean_mm[chosen], self.sd_mm[chosen], weight / weight.sum(), self.turn[chosen], habits)

    @cached_property
    def coarser(self) -> tuple[CoverPrior, IntArray]:
        """
        Neighbouring thickness classes of one kind taken two by two: for a coarse look.

        Returns
        -------
        CoverPrior
        array of int (K,)
            Which class of it each class of this one went into.
        """
        rows: list[tuple[float, float, float, float]] = []
        habits: list[Habit] = []
        parent = np.empty(len(self), dtype=np.int64)
        kinds = [(float(turn), self.habit(k)) for k, turn in enumerate(self.turn)]
        for kind in dict.fromkeys(kinds):
            own = np.flatnonzero([one == kind for one in kinds])
            for pair in np.split(own, np.arange(2, len(own), 2)):
                parent[pair] = len(rows)
                share = self.weight[pair] / self.weight[pair].sum()
                mean = float(share @ self.mean_mm[pair])
                spread = float(share @ (self.sd_mm[pair] ** 2 + (self.mean_mm[pair] - mean) ** 2))
                rows.append((mean, spread**0.5, float(self.weight[pair].sum()), kind[0]))
                habits.append(kind[1])
        table = np.array(rows)
        return CoverPrior(table[:, 0], table[:, 1], table[:, 2], table[:, 3], tuple(habits)), parent

    def for_turns(self, turns: tuple[float, ...]) -> CoverPrior:
        """Every class once under each turn, all turns alike probable."""
        count, classes = len(turns), len(self)
        return CoverPrior(
            np.tile(self.mean_mm, count),
            np.tile(self.sd_mm, count),
            np.tile(self.weight, count) / count,
            np.repeat(np.array(turns), classes),
            self.habits * count,
        )

    def with_faces(self, faces: Sequence[tuple[float, Surface, int]]) -> CoverPrior:
        """Every class once with each surface and number of bulges; (share, surface, bulges), shares summing to 1."""
        return self._each([(share, {"surface": surface, "bulges": bulges}) for share, surface, bulges in faces])

    def with_ends(self, *, below: bool, above: bool) -> CoverPrior:
        """Every class as close about the glass as it is thick, and reaching ``below`` the base or ``above`` the lip."""
        ends = [CLOSE] + [FOOT] * below + [RISE] * above
        whole = sum(one.share for one in ends)
        return self._each([(one.share / whole, {"ends": one}) for one in ends])

    def with_bridges(self) -> CoverPrior:
        """Every class twice: following the hollows of the vessel, and bridging them, as stout stakes more often do."""
        bridged = BRIDGED * np.minimum((self.mean_mm / STOUT_MM) ** 2, 1.0)
        return self._each([(1.0 - bridged, {}), (bridged, {"bridged": True})])

    def disputed(self) -> CoverPrior:
        """Every class twice, since photograph and tape disagree: one believes the tape, one the photograph."""
        return self._each([(0.5, {"trust": SCALE_OFF}), (0.5, {"trust": READING_OFF})])

    def _each(self, changes: Sequence[tuple[float | FloatArray, Mapping[str, Any]]]) -> CoverPrior:
        """Every class once with each change of its habit; (share of each class, what changes), shares summing to 1."""
        count, classes = len(changes), len(self)
        return CoverPrior(
            np.tile(self.mean_mm, count),
            np.tile(self.sd_mm, count),
            np.concatenate([self.weight * share for share, _ in changes]),
            np.tile(self.turn, count),
            tuple(replace(self.habit(k), **change) for _, change in changes for k in range(classes)),
        )


def faces_for(bulge_weights: Sequence[float] = ()) -> list[tuple[float, Surface, int]]:
    """
    How the edge of a covered piece may look: share, surface and number of bulges, shares summing to 1.

    Parameters
    ----------
    bulge_weights : sequence of float
        For 1, 2 … found bulges: prior share of pieces that have them there.
    """
    faces: list[tuple[float, Surface, int]] = [(face.share, face, 0) for face in (EVEN, BANDED, MISDRAWN)]
    count = len(bulge_weights)
    for number, weight in enumerate(bulge_weights, 1):
        faces.append((weight * (1.0 if number < count else EVEN.share), EVEN, number))
    if count:
        faces.append((bulge_weights[-1] * BANDED.share, BANDED, count))
    whole = sum(face[0] for face in faces)
    return [(share / whole, surface, bulges) for share, surface, bulges in faces]
