"""How surprising an outline is under a form: too large a miss tells of a vessel that the library does not hold."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

SMOOTH_OVER_WHITE = 2.0  # directions whose smooth variance is at least this many times the white one count as smooth
LEAST = 0.2  # mean squared misses below this are taken as this


@dataclass(frozen=True)
class Surprise:
    """
    Log mean squared miss in standard deviations: about 0 where a form explains an outline.

    Parameters
    ----------
    smooth : float
        In the smooth directions (size, thickness, drawing), where a wrong form shows.
    white : float
        In all others, where a rough edge shows.
    """

    smooth: float
    white: float

    @classmethod
    def of(cls, miss: FloatArray, smooth: FloatArray, white: FloatArray) -> Surprise:
        """
        Split a miss along the eigenvectors of the smooth covariance measured in white standard deviations.

        Parameters
        ----------
        miss : array (n,)
        smooth : array (n, n)
        white : array (n,)
            Variances.

        Examples
        --------
        >>> still = Surprise.of(np.zeros(40), np.ones((40, 40)), np.ones(40))
        >>> moved = Surprise.of(np.full(40, 3.0), np.ones((40, 40)), np.ones(40))
        >>> bool(still.smooth < moved.smooth), still.white == moved.white
        (True, True)
        """
        sd = np.sqrt(white)
        values, vectors = np.linalg.eigh(smooth / np.outer(sd, sd))
        squares = (vectors.T @ (miss / sd)) ** 2 / (1.0 + np.maximum(values, 0.0))
        leads = values >= SMOOTH_OVER_WHITE
        return cls(_log_mean(squares[leads]), _log_mean(squares[~leads]))


def _log_mean(squares: FloatArray) -> float:
    return float(np.log(max(float(squares.mean()), LEAST))) if len(squares) else 0.0
