"""What is believed about every form's size and covering: normal laws, one for each form and thickness class."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr

from weftglass.inside.bank import FormBank
from weftglass.inside.cover import CoverPrior

FloatArray = NDArray[np.float64]

# The unknowns of a form under one thickness class, all with mean 0 before any evidence:
STRETCH = 0  # relative excess of the vessel's height over the drawn form's
WIDENING = 1  # the same of its widths
BELOW = 2  # covering below the base, mm beyond the class mean
ABOVE = 3  # covering above the lip, mm beyond the class mean (0 where the lip is bare)
THICKNESS = 4  # mean thickness of the covering, mm beyond the class mean
FIRST_SCALE = 5  # log scale error of the first outline; one more for each further outline


@dataclass(frozen=True, eq=False)
class State:
    """
    Precision form of the laws: density over unknowns ~ exp(-x' precision x / 2 + shift' x).

    Attributes
    ----------
    precision : array (F, K, p, p)
    shift : array (F, K, p)
    log_weight : array (F, K)
        Log of class weight times the likelihood of everything taken in so far.
    squares : array (F, K)
        Sum of squared misses in their own standard deviations: near ``count`` where a form explains the readings.
    count : int
        Readings taken in so far.
    """

    precision: FloatArray
    shift: FloatArray
    log_weight: FloatArray
    squares: FloatArray
    count: int

    @classmethod
    def prior(
        cls, bank: FormBank, cover: CoverPrior, scale_sd: list[float], *, top_bare: bool, base_bare: bool
    ) -> State:
        """Before any evidence; ``scale_sd`` holds one relative sd for each outline."""
        forms, classes, size = len(bank), len(cover.mean_mm), FIRST_SCALE + len(scale_sd)
        sd = np.empty((forms, classes, size))
        sd[:, :, STRETCH] = bank.height_sd[:, None]
        sd[:, :, WIDENING] = bank.width_sd[:, None]
        loose = 0.45 * cover.mean_mm + 0.5
        sd[:, :, BELOW] = 0.15 if base_bare else loose[None, :]
        sd[:, :, ABOVE] = 0.15 if top_bare else loose[None, :]
        sd[:, :, THICKNESS] = cover.sd_mm[None, :]
        sd[:, :, FIRST_SCALE:] = np.maximum(scale_sd, 1e-4)
        precision = np.zeros((forms, classes, size, size))
        axis = np.arange(size)
        precision[:, :, axis, axis] = 1.0 / sd**2
        log_weight = np.broadcast_to(np.log(cover.weight), (forms, classes)).copy()
        return cls(precision, np.zeros((forms, classes, size)), log_weight, np.zeros((forms, classes)), 0)

    @property
    def mean(self) -> FloatArray:
        """Posterior mean of the unknowns, (F, K, p)."""
        return np.asarray(np.linalg.solve(self.precision, self.shift[..., None])[..., 0], dtype=np.float64)

    @property
    def covariance(self) -> FloatArray:
        """Posterior covariance of the unknowns, (F, K, p, p)."""
        return np.asarray(np.linalg.inv(self.precision), dtype=np.float64)

    @property
    def class_weight(self) -> FloatArray:
        """Probability of each thickness class given the form, (F, K)."""
        top = self.log_weight.max(axis=1, keepdims=True)
        weight = np.exp(self.log_weight - top)
        return np.asarray(weight / weight.sum(axis=1, keepdims=True), dtype=np.float64)

    def log_likelihood(self) -> FloatArray:
        """Log likelihood of all evidence taken in so far, given each form, (F,)."""
        top = self.log_weight.max(axis=1)
        return np.asarray(top + np.log(np.exp(self.log_weight - top[:, None]).sum(axis=1)), dtype=np.float64)

    def with_row(self, residual: FloatArray, slope: FloatArray, variance: FloatArray) -> State:
        """
        Take in one measured number.

        Parameters
        ----------
        residual : array (F, K)
            Measured minus predicted where all unknowns are 0, in the unit of the measurement.
        slope : array (F, K, p)
            Change of the prediction with each unknown.
        variance : array (F, K)
            Variance of the measurement and of what the model leaves open, > 0.
        """
        solved = np.linalg.solve(self.precision, np.stack([self.shift, slope], axis=-1))
        mean = solved[..., 0]
        spread = np.einsum("fkp,fkp->fk", slope, solved[..., 1]) + variance
        miss = residual - np.einsum("fkp,fkp->fk", slope, mean)
        log_weight = self.log_weight - 0.5 * (miss**2 / spread + np.log(2 * np.pi * spread))
        weighted = slope / variance[..., None]
        precision = self.precision + weighted[..., :, None] * slope[..., None, :]
        shift = self.shift + weighted * residual[..., None]
        return State(precision, shift, log_weight, self.squares + miss**2 / spread, self.count + 1)

    def inside_its_covering(self, cover: CoverPrior) -> State:
        """
        The laws cut off where the mean covering would be thinner than nothing: glass lies inside its covering.

        Each class's likelihood is multiplied by the share of its law that has a thickness above 0, over the share that
        it had before any evidence.
        """
        sd = np.sqrt(self.covariance[:, :, THICKNESS, THICKNESS])
        after = log_ndtr((cover.mean_mm[None, :] + self.mean[:, :, THICKNESS]) / sd)
        before = log_ndtr(cover.mean_mm / cover.sd_mm)
        log_weight = self.log_weight + np.maximum(after, -1e4) - before[None, :]
        return State(self.precision, self.shift, log_weight, self.squares, self.count)

    def part(self, index: NDArray[np.int64]) -> State:
        """The laws of some of the forms."""
        return State(self.precision[index], self.shift[index], self.log_weight[index], self.squares[index], self.count)

    def misfit(self) -> FloatArray:
        """Mean squared miss in each form's best thickness class, (F,); about 1 where a form explains the readings."""
        best = self.log_weight.argmax(axis=1)
        chosen = np.take_along_axis(self.squares, best[:, None], axis=1)[:, 0]
        return np.asarray(chosen / max(self.count, 1), dtype=np.float64)


def log_determinant(precision: FloatArray) -> FloatArray:
    """Log determinant of positive definite matrices on the last two axes."""
    diagonal = np.diagonal(np.linalg.cholesky(precision), axis1=-2, axis2=-1)
    return np.asarray(2.0 * np.log(diagonal).sum(axis=-1), dtype=np.float64)
