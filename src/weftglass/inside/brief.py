"""A library in brief: every silhouette as two dozen numbers, read in one sweep to find the forms worth weighing."""

from __future__ import annotations

from dataclasses import dataclass
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from weftglass.inside.bank import STEPS, FormBank
from weftglass.inside.cover import UNEVENNESS, WANDERING_MM

FloatArray = NDArray[np.float64]
FloatArray32 = NDArray[np.float32]

HEIGHTS = 64  # equal steps of the form's own height at which a brief is read
NUMBERS = 22  # numbers kept of a silhouette; with the height and one more, 96 bytes a form
BLOCK = 65_536  # forms read together
SAMPLE = 256  # forms whose expected errors make up the sweep's measure
TYPICAL_MM, TYPICAL_SD_MM, TYPICAL_SCALE = 3.0, 1.6, 0.02  # covering and scale that the sweep reckons with
EDGE_MM = 0.8  # white error of an edge that the sweep reckons with
CENTRES = (np.arange(HEIGHTS) + 0.5) / HEIGHTS

_kept: WeakKeyDictionary[FormBank, dict[float, Brief]] = WeakKeyDictionary()


@dataclass(frozen=True, eq=False)
class Brief:
    """
    Silhouettes of F forms under one turn on a common basis.

    Attributes
    ----------
    mean : array (65,)
        Mean half-width in mm at 64 shares of the height, and mean height.
    basis : array (65, 23)
        Orthonormal: the leading directions in which half-widths differ, and the height by itself.
    table : array (24, F) of float32
        Coordinates of every form on the basis, and its own square in the sweep's measure, form by form along memory.
    measure : array (23, 23)
        What differences of coordinates mean on average: inverse covariance under a usual covering and scale.
    """

    mean: FloatArray
    basis: FloatArray
    table: FloatArray32
    measure: FloatArray

    @classmethod
    def of(cls, bank: FormBank, turn: float = 0.0) -> Brief:
        """The bank's brief for one turn; worked out at the first call and kept as long as the bank."""
        kept = _kept.setdefault(bank, {})
        if turn not in kept:
            kept[turn] = _briefed(bank, turn)
        return kept[turn]

    @property
    def coordinates(self) -> FloatArray32:
        """Without the square, (23, F)."""
        return self.table[:-1]

    def swept(self, wanted: FloatArray) -> FloatArray32:
        """
        Half the negative squared distance of every form from a wanted glass, (F,): one matrix product.

        Parameters
        ----------
        wanted : array (65,)
            Half-widths and height, mm.
        """
        own = self.basis.T @ (wanted - self.mean)
        towards = self.measure @ own
        weights = np.append(towards, -0.5).astype(np.float32)
        result = np.asarray(weights @ self.table)
        result -= np.float32(0.5 * float(own @ towards))
        return result


def read_at_centres(bank: FormBank, turn: float, rows: slice | NDArray[np.int64]) -> FloatArray:
    """Half-widths at the 64 shares of the height, and the height, (rows, 65), mm."""
    place = CENTRES * STEPS
    low = place.astype(np.int64)
    table = bank.silhouettes[turn][rows]
    half = table[:, low] + (place - low) * (table[:, low + 1] - table[:, low])
    return np.column_stack([half, bank.heights[rows]])


def _briefed(bank: FormBank, turn: float) -> Brief:
    count = len(bank)
    total, square = np.zeros(HEIGHTS + 1), np.zeros((HEIGHTS + 1, HEIGHTS + 1))
    blocks = [slice(first, min(first + BLOCK, count)) for first in range(0, count, BLOCK)]
    for block in blocks:
        rows = read_at_centres(bank, turn, block)
        total += rows.sum(axis=0)
        square += rows.T @ rows
    mean = total / count
    spread = square / count - np.outer(mean, mean)
    vectors = np.linalg.eigh(spread[:HEIGHTS, :HEIGHTS])[1][:, ::-1][:, :NUMBERS]
    basis = np.zeros((HEIGHTS + 1, NUMBERS + 1))
    basis[:HEIGHTS, :NUMBERS], basis[HEIGHTS, NUMBERS] = vectors, 1.0
    sample = read_at_centres(bank, turn, np.unique(np.linspace(0, count - 1, SAMPLE).astype(np.int64)))
    errors = np.mean([usual_errors(row) for row in sample], axis=0)
    measure = basis.T @ np.linalg.solve(errors, basis)
    table = np.empty((NUMBERS + 2, count), dtype=np.float32)
    for block in blocks:
        coordinates = (read_at_centres(bank, turn, block) - mean) @ basis
        table[:-1, block] = coordinates.T
        table[-1, block] = np.einsum("fi,ij,fj->f", coordinates, measure, coordinates)
    return Brief(mean, basis, table, measure)


def usual_errors(row: FloatArray) -> FloatArray:
    """Covariance in mm² of a glass as read off an outline, (65, 65): usual covering, usual scale, its own slopes."""
    half, height = row[:-1], float(row[-1])
    slope = np.clip(np.gradient(half, height / HEIGHTS), -12.0, 12.0)
    normal = np.minimum(np.sqrt(1.0 + slope**2), 4.0)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(half), height / HEIGHTS))])
    gap = np.sqrt(3.0) * np.abs(along[:, None] - along[None, :]) / WANDERING_MM
    smooth = (UNEVENNESS * TYPICAL_MM) ** 2 * np.outer(normal, normal) * (1.0 + gap) * np.exp(-gap)
    errors = np.diag(np.append(EDGE_MM**2 * normal**2, 1.0))
    errors[:-1, :-1] += smooth
    ends = 0.45 * TYPICAL_MM + 0.5
    for direction in (
        np.append(half, height) * TYPICAL_SCALE,
        np.append(normal, 0.0) * TYPICAL_SD_MM,
        np.append(slope * (1.0 - CENTRES), 1.0) * ends,
        np.append(slope * CENTRES, -1.0) * ends,
    ):
        errors += np.outer(direction, direction)
    return errors
