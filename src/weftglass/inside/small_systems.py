"""Many small symmetric systems at once: the same elimination step done for all of them together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Eliminated:
    """
    Systems brought to upper triangular form, unknowns first, systems last, so that a step runs along memory.

    Attributes
    ----------
    upper : array (p, p, N)
        Rows of the triangular systems; the diagonal holds the pivots.
    right : array (p, m, N)
        Right-hand sides after elimination.
    shape : tuple
        Leading axes of the systems as they came; their product is N.
    order : list of int
        Which unknown stands where.
    """

    upper: FloatArray
    right: FloatArray
    shape: tuple[int, ...]
    order: list[int]

    @property
    def log_determinant(self) -> FloatArray:
        """Log determinant of each matrix, in the leading shape."""
        pivots = np.einsum("iin->in", self.upper)
        return np.asarray(np.log(pivots).sum(axis=0).reshape(self.shape), dtype=np.float64)

    @property
    def quadratic(self) -> FloatArray:
        """First right-hand side times its own solution, b' A^-1 b, in the leading shape."""
        pivots = np.einsum("iin->in", self.upper)
        return np.asarray((self.right[:, 0] ** 2 / pivots).sum(axis=0).reshape(self.shape), dtype=np.float64)

    @property
    def last(self) -> tuple[FloatArray, FloatArray]:
        """Solution for the last unknown (first right-hand side), and its entry of the inverse's diagonal."""
        pivot = self.upper[-1, -1]
        return (self.right[-1, 0] / pivot).reshape(self.shape), (1.0 / pivot).reshape(self.shape)

    def solved(self) -> FloatArray:
        """Solutions, (..., p, m)."""
        size, count, systems = self.right.shape
        found = np.empty((size, count, systems))
        for j in reversed(range(size)):
            rest = self.right[j].copy()
            for i in range(j + 1, size):
                rest -= self.upper[j, i] * found[self.order[i]]
            found[self.order[j]] = rest / self.upper[j, j]
        return np.ascontiguousarray(np.moveaxis(found, 2, 0)).reshape(*self.shape, size, count)


def eliminate(matrix: FloatArray, right: FloatArray, *, last: int | None = None) -> Eliminated:
    """
    Eliminate symmetric positive definite systems; no pivoting is needed for them (Golub & Van Loan 2013, section 4.2).

    Parameters
    ----------
    matrix : array (..., p, p)
    right : array (..., p, m)
    last : int, optional
        Unknown to put last, so that `Eliminated.last` tells of it; default: order kept.

    Examples
    --------
    >>> system = eliminate(np.array([[[4.0, 2.0], [2.0, 3.0]]]), np.array([[[2.0], [5.0]]]))
    >>> system.solved()[0, :, 0].tolist(), round(float(np.exp(system.log_determinant[0])), 9)
    ([-0.5, 2.0], 8.0)
    """
    size, count = right.shape[-2:]
    shape = matrix.shape[:-2]
    order = list(range(size))
    if last is not None:
        order.append(order.pop(last))
    flat = matrix.reshape(-1, size, size)
    upper = np.empty((size, size, len(flat)))
    for i, row in enumerate(order):
        for j, column in enumerate(order[i:], i):
            upper[i, j] = flat[:, row, column]
    rest = np.ascontiguousarray(np.moveaxis(right.reshape(-1, size, count)[:, order], 0, 2))
    for j in range(size - 1):
        share = upper[j, j + 1 :] / upper[j, j]
        rest[j + 1 :] -= share[:, None] * rest[j]
        for i in range(j + 1, size):
            upper[i, i:] -= share[i - j - 1] * upper[j, i:]
    return Eliminated(upper, rest, shape, order)
