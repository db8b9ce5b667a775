"""What is believed about every form's size and covering: normal laws, one for each form and thickness class."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr

from weftglass.inside.bank import FormBank
from weftglass.inside.cover import SCALE_OFF, CoverPrior
from weftglass.inside.small_systems import Eliminated, eliminate

FloatArray = NDArray[np.float64]

# The unknowns of a form under one class of coverings; mean 0 before any evidence, but for a foot or a rise:
STRETCH = 0  # relative excess of the vessel's height over the drawn form's
WIDENING = 1  # the same of its widths
BELOW = 2  # covering below the base, mm beyond the class mean
ABOVE = 3  # covering above the lip, mm beyond the class mean (0 where the lip is bare)
THICKNESS = 4  # mean thickness of the covering, mm beyond the class mean
DEEPENING = 5  # relative excess of a flat form's depth over its width's
BRIDGING = 6  # how much of a hollow the covering bridges, 0 none of it, 1 as a stake of 100 mm would
FIRST_SCALE = 7  # log scale error of the first outline; one more for each further outline, then their unknown bases

DEPTH_SHARE = 0.7  # of the width tolerance: how far depth goes its own way; working figure, no source
KEPT = ("reduced", "mean", "covariance")  # of a state's laws, whatever its weights
OFF_SCALE_SD = 0.20  # log scale error where the tape is believed against the photograph
UNSEEN_BASE_SD_MM = 150.0  # how far below the lowest point that is seen the base may be


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
        cls,
        bank: FormBank,
        cover: CoverPrior,
        scale_sd: list[float],
        *,
        top_bare: bool,
        base_bare: bool,
        unseen_bases: int = 0,
    ) -> State:
        """
        Before any evidence.

        Parameters
        ----------
        scale_sd : list of float
            One relative sd for each outline.
        unseen_bases : int
            Outlines whose base is not seen: each has its own unknown height of the lowest point, after the scales.
        """
        forms, classes, scales = len(bank), len(cover), len(scale_sd)
        size = FIRST_SCALE + scales + unseen_bases
        sd, mean = np.empty((forms, classes, size)), np.zeros((forms, classes, size))
        sd[:, :, STRETCH] = bank.height_sd[:, None]
        sd[:, :, WIDENING] = bank.width_sd[:, None]
        sd[:, :, DEEPENING] = np.where(bank.is_round, 1e-4, DEPTH_SHARE * bank.width_sd)[:, None]
        loose = _loose(cover.mean_mm)
        (foot, foot_sd), (rise, rise_sd) = cover.foot, cover.rise
        sd[:, :, BELOW] = 0.15 if base_bare else np.hypot(loose, foot_sd)[None, :]
        sd[:, :, ABOVE] = 0.15 if top_bare else np.hypot(loose, rise_sd)[None, :]
        mean[:, :, BELOW] = 0.0 if base_bare else foot[None, :]
        mean[:, :, ABOVE] = 0.0 if top_bare else rise[None, :]
        sd[:, :, THICKNESS] = cover.sd_mm[None, :]
        mean[:, :, BRIDGING], sd[:, :, BRIDGING] = cover.bridging
        off = np.array([trust == SCALE_OFF for trust in cover.trusts])
        for i, one in enumerate(scale_sd):
            sd[:, :, FIRST_SCALE + i] = np.where(off, max(one, OFF_SCALE_SD), max(one, 1e-4))[None, :]
        sd[:, :, FIRST_SCALE + scales :] = UNSEEN_BASE_SD_MM
        mean[:, :, FIRST_SCALE + scales :] = UNSEEN_BASE_SD_MM
        precision = np.zeros((forms, classes, size, size))
        axis = np.arange(size)
        precision[:, :, axis, axis] = 1.0 / sd**2
        log_weight = np.broadcast_to(np.log(cover.weight), (forms, classes)).copy()
        return cls(precision, mean / sd**2, log_weight, np.zeros((forms, classes)), 0)

    @cached_property
    def reduced(self) -> Eliminated:
        """The laws' systems after elimination, the thickness last."""
        return eliminate(self.precision, self.shift[..., None], last=THICKNESS)

    @cached_property
    def mean(self) -> FloatArray:
        """Posterior mean of the unknowns, (F, K, p)."""
        return self.reduced.solved()[..., 0]

    @cached_property
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
        solved = eliminate(self.precision, np.stack([self.shift, slope], axis=-1)).solved()
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
        The laws cut off where the covering would be thinner than nothing: glass lies inside its covering.

        Each class's likelihood is multiplied by the share of its law that has a thickness above 0, over the share that
        it had before any evidence; where a covering reaches beyond the glass, by the same for that end.
        """
        mean, variance = self.reduced.last
        after = log_ndtr((cover.mean_mm[None, :] + mean) / np.sqrt(variance))
        before = log_ndtr(cover.mean_mm / cover.sd_mm)
        log_weight = self.log_weight + np.maximum(after, -1e4) - before[None, :]
        for unknown, (reach, reach_sd) in ((BELOW, cover.foot), (ABOVE, cover.rise)):
            own = np.flatnonzero(reach_sd > 0.0)
            if len(own):
                spread = np.linalg.inv(self.precision[:, own])[..., unknown, unknown]
                after = log_ndtr((cover.mean_mm[own] + self.mean[:, own, unknown]) / np.sqrt(spread))
                before = log_ndtr((cover.mean_mm + reach)[own] / np.hypot(_loose(cover.mean_mm), reach_sd)[own])
                log_weight[:, own] += np.maximum(after, -1e4) - before
        return self.reweighed(log_weight, self.squares, self.count)

    def moved(self, precision: FloatArray, shift: FloatArray) -> State:
        """The laws with something added to them, weights as they were."""
        return State(self.precision + precision, self.shift + shift, self.log_weight, self.squares, self.count)

    def reweighed(self, log_weight: FloatArray, squares: FloatArray, count: int) -> State:
        """The same laws under other weights; what was worked out about the laws is kept."""
        state = State(self.precision, self.shift, log_weight, squares, count)
        state.__dict__.update({name: self.__dict__[name] for name in KEPT if name in self.__dict__})
        return state

    def part(self, index: NDArray[np.int64]) -> State:
        """The laws of some of the forms."""
        return State(self.precision[index], self.shift[index], self.log_weight[index], self.squares[index], self.count)

    @classmethod
    def together(cls, parts: Sequence[State]) -> State:
        """The laws of several lots of forms under the same evidence, as one."""
        return cls(
            np.concatenate([one.precision for one in parts]),
            np.concatenate([one.shift for one in parts]),
            np.concatenate([one.log_weight for one in parts]),
            np.concatenate([one.squares for one in parts]),
            parts[0].count,
        )

    def classes(self, index: NDArray[np.int64]) -> State:
        """The laws of some of the classes, any of them more than once."""
        return State(
            self.precision[:, index],
            self.shift[:, index],
            self.log_weight[:, index],
            self.squares[:, index],
            self.count,
        )

    def thinned(self, by_mm: FloatArray, unknowns: Sequence[int]) -> State:
        """The laws with the means of some unknowns less by a length for each class, (K,): as for thicker classes."""
        step = self.precision[..., list(unknowns)].sum(axis=-1) * by_mm[None, :, None]
        return State(self.precision, self.shift - step, self.log_weight, self.squares, self.count)

    def misfit(self) -> FloatArray:
        """Mean squared miss in each form's best thickness class, (F,); about 1 where a form explains the readings."""
        best = self.log_weight.argmax(axis=1)
        chosen = np.take_along_axis(self.squares, best[:, None], axis=1)[:, 0]
        return np.asarray(chosen / max(self.count, 1), dtype=np.float64)


def _loose(mean_mm: FloatArray) -> FloatArray:
    """Sd of the covering at an end about its mean thickness, mm."""
    return 0.45 * mean_mm + 0.5
