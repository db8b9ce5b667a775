"""How thick a covering may be before anything was measured, by what is known of its technique."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weftglass.evidence import Covering

FloatArray = NDArray[np.float64]

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
ANY_TECHNIQUE = (3.0, 1.7)


@dataclass(frozen=True, eq=False)
class CoverPrior:
    """
    Mean thickness of the covering as a mixture of K normal laws, each under one turn of views of unknown turn.

    Attributes
    ----------
    mean_mm, sd_mm, weight : array (K,)
        Weights sum to 1.
    turn : array (K,)
        Turn in degrees taken for every view marked as turned; 0 where there is none.
    """

    mean_mm: FloatArray
    sd_mm: FloatArray
    weight: FloatArray
    turn: FloatArray

    @classmethod
    def for_covering(cls, covering: Covering, *, bare_everywhere: bool = False) -> CoverPrior:
        """
        Log-normal prior for the technique, cut into normal pieces from half a millimetre to 15 mm.

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
        mean = np.array([0.7, 1.1, 1.6, 2.2, 3.0, 4.0, 5.3, 7.0, 9.5, 13.0])
        edges = np.sqrt(mean[1:] * mean[:-1])
        width = np.diff(np.concatenate([[0.45], edges, [16.0]]))
        density = np.exp(-0.5 * (np.log(mean / centre) / np.log(factor)) ** 2) / mean
        weight = density * width
        keep = weight > 2e-3 * weight.max()
        return cls(mean[keep], 0.42 * width[keep], weight[keep] / weight[keep].sum(), np.zeros(int(keep.sum())))

    def for_turns(self, turns: tuple[float, ...]) -> CoverPrior:
        """Every class once under each turn, all turns alike probable."""
        count, classes = len(turns), len(self.mean_mm)
        return CoverPrior(
            np.tile(self.mean_mm, count),
            np.tile(self.sd_mm, count),
            np.tile(self.weight, count) / count,
            np.repeat(np.array(turns), classes),
        )
