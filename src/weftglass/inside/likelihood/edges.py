"""How the edge readings of a piece's outlines err together: one covariance a kind of covering, factorised once."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.linalg.blas import dtrsm

from weftglass.inside.bulges import Bulge, beyond_covariance, bulge_covariance
from weftglass.inside.cover import EVEN, ROWS_MM, Surface
from weftglass.inside.nodes import Nodes, Stack

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

MODEL_MM = 0.35  # sd of what no part of the model explains, mm; understating it is the quickest way to false certainty
SHAPE_MM = 30.0  # correlation length of a drawing's error along the wall, mm
SHAPE_CLASSES = (0.15, 0.3, 0.5, 0.8, 1.2, 1.8, 2.7, 4.0, 6.0, 9.0)  # mm; a form's shape_sd is rounded up into one
BEYOND_MM = 3.0  # sd of the edge of a foot or a rise about that of the glass next to it, mm; working figure, no source
COVER_SHARED, SIDE_THICKNESS = 0.5, 0.15  # between two views: shared part of the thickness, offset as share of its mean
SHAPE_SHARED_ROUND, SHAPE_SHARED_FLAT = 0.95, 0.4  # between two views: shared part of a drawing's error


def shape_class(shape_sd_mm: FloatArray) -> FloatArray:
    """The class (mm) that each form's shape error is rounded up into; the last one holds everything above."""
    classes = np.array(SHAPE_CLASSES)
    return np.asarray(classes[np.minimum(np.searchsorted(classes, shape_sd_mm - 1e-9), len(classes) - 1)])


def matern(distance: FloatArray) -> FloatArray:
    """Matern 3/2 correlation at a distance in correlation lengths (Rasmussen & Williams 2006, eq. 4.17)."""
    scaled = np.sqrt(3.0) * distance
    return np.asarray((1.0 + scaled) * np.exp(-scaled), dtype=np.float64)


@dataclass(frozen=True)
class Kind:
    """What the covariance of the edge depends on besides the outlines: see `EdgeErrors.covariance`."""

    thickness_mm: float
    shape_sd_mm: float
    surface: Surface = EVEN
    is_round: bool = True
    bulges: tuple[Bulge, ...] = ()
    below_mm: float = 0.0  # up to this height, and from this far below the top, the edge is not about the glass
    above_mm: float = 0.0


@dataclass(frozen=True, eq=False)
class Whitening:
    """
    What turns edge errors into independent ones of unit size.

    Attributes
    ----------
    root : array (n, n)
        Lower Cholesky root of the covariance, columns one after another.
    log_norm : array (n,)
        Log normalising constant of each reading given those before it.
    """

    root: FloatArray
    log_norm: FloatArray

    def white(self, readings: FloatArray) -> FloatArray:
        """Rows of n readings, (..., n), freed of what they share with those before them."""
        rows = readings.reshape(-1, readings.shape[-1])
        return np.asarray(dtrsm(1.0, self.root, rows.T, lower=1).T).reshape(readings.shape)


@dataclass(frozen=True, eq=False)
class EdgeErrors:
    """
    The errors of n edge readings of a piece; every matrix is computed once and kept.

    Attributes
    ----------
    nodes : tuple of Nodes
        Of all outlines; may be empty as long as nothing is asked.
    """

    nodes: tuple[Nodes, ...]
    _whitenings: dict[Kind, Whitening] = field(default_factory=dict, repr=False)
    _units: dict[tuple[str, float, float], FloatArray] = field(default_factory=dict, repr=False)
    _lifts: dict[Bulge | tuple[int, float, float], FloatArray] = field(default_factory=dict, repr=False)

    @cached_property
    def stack(self) -> Stack:
        """The nodes of all outlines one after another."""
        return Stack.of(self.nodes)

    @cached_property
    def blocks(self) -> list[IntArray]:
        """Places of the readings of each outline."""
        return [np.flatnonzero(self.stack.outline == i) for i in range(int(self.stack.outline.max(initial=0)) + 1)]

    @cached_property
    def white_variance(self) -> FloatArray:
        """Variance of what differs from node to node, mm², (n,): the outline's sd, the weave's rows, the model's."""
        rows = ROWS_MM * self.stack.covered
        return np.asarray((self.stack.sd_mm**2 + rows**2 + MODEL_MM**2) * self.stack.normal**2, dtype=np.float64)

    def smooth_parts(self, kind: Kind) -> tuple[FloatArray, FloatArray]:
        """Covariances of the edge through local thickness and through the drawing's error, mm², (n, n) each."""
        local, drawn = self._unit_cover(kind.surface), self._unit_drawing(kind.is_round)
        return kind.thickness_mm**2 * local, (kind.surface.drawing * kind.shape_sd_mm) ** 2 * drawn

    def _unit_cover(self, surface: Surface) -> FloatArray:
        """Of a covering 1 mm thick."""
        key = ("cover", surface.unevenness, surface.wandering_mm)
        if key not in self._units:
            local = surface.unevenness**2 * self._correlation(surface.wandering_mm)
            if len(self.blocks) > 1:
                local = local * np.where(self._same, 1.0, COVER_SHARED) + SIDE_THICKNESS**2 * self._same
            covered = self.stack.covered * self.stack.normal
            self._units[key] = np.outer(covered, covered) * local
        return self._units[key]

    def _unit_drawing(self, is_round: bool) -> FloatArray:
        """Of a drawing 1 mm off."""
        key = ("drawing", float(is_round), SHAPE_MM)
        if key not in self._units:
            drawn = np.outer(self.stack.normal, self.stack.normal) * self._correlation(SHAPE_MM)
            if len(self.blocks) > 1:
                shared = SHAPE_SHARED_ROUND if is_round else SHAPE_SHARED_FLAT
                drawn = drawn * np.where(self._same, 1.0, shared)
            self._units[key] = drawn
        return self._units[key]

    def smooth(self, kind: Kind) -> FloatArray:
        """Covariance of the edge without its white part, mm², (n, n); a fresh array."""
        thickness, result = self.smooth_parts(kind)
        result = result + thickness
        for bulge in kind.bulges:
            result += self._bulge(bulge)
        for i, one in enumerate(self.nodes):
            if kind.below_mm > 0.0 and one.base_is_seen:
                result += self._beyond(i, 0.0, kind.below_mm)
            if kind.above_mm > 0.0 and one.top_is_seen:
                result += self._beyond(i, one.top_mm - kind.above_mm, one.top_mm)
        return result

    def _bulge(self, bulge: Bulge) -> FloatArray:
        if bulge not in self._lifts:
            self._lifts[bulge] = bulge_covariance(self.stack, bulge)
        return self._lifts[bulge]

    def _beyond(self, outline: int, low_mm: float, high_mm: float) -> FloatArray:
        key = (outline, low_mm, high_mm)
        if key not in self._lifts:
            self._lifts[key] = beyond_covariance(self.stack, outline, low_mm, high_mm, BEYOND_MM)
        return self._lifts[key]

    def covariance(self, kind: Kind) -> FloatArray:
        """
        Covariance in mm² of horizontal edge readings once size, scale and mean thickness are known; shape (n, n).

        White part: the outline's own sd, the rows of the weave, the model's error. Smooth part: local thickness with
        an sd proportional to its mean, and the error of the drawn form; both Matern 3/2 along the wall, partly shared
        between the views of one piece. Bulges stand off by a further few millimetres.
        """
        result = self.smooth(kind)
        result[np.diag_indices(len(result))] += self.white_variance
        return result

    def whitening(self, kind: Kind) -> Whitening:
        """The covariance factorised."""
        if kind not in self._whitenings:
            root = np.linalg.cholesky(self.covariance(kind))
            log_norm = -np.log(np.diag(root)) - 0.5 * float(np.log(2 * np.pi))
            self._whitenings[kind] = Whitening(np.asfortranarray(root), log_norm)
        return self._whitenings[kind]

    @cached_property
    def _same(self) -> NDArray[np.bool_]:
        return np.asarray(self.stack.outline[:, None] == self.stack.outline[None, :])

    def _correlation(self, length_mm: float) -> FloatArray:
        return matern(np.abs(self.stack.place_mm[:, None] - self.stack.place_mm[None, :]) / length_mm)
