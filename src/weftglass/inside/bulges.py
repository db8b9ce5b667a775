"""Places where a covering stands off the glass, as at a strap, a seal or a knot: what they do to the edge."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weftglass.inside.nodes import Stack

FloatArray = NDArray[np.float64]

BULGE_MM = 6.0  # sd of how far such a place stands off, mm; working figure
RELIEF_MM, WITHIN_MM = 1.5, 8.0  # sd of its own relief and the correlation length of that, mm; working figures
EDGE_MM = 3.0  # over which such a place rises from the covering next to it
VARIANCES = (BULGE_MM**2, (0.5 * BULGE_MM) ** 2, (0.5 * BULGE_MM) ** 2)  # of the lift and of its two edges, mm²


@dataclass(frozen=True)
class Bulge:
    """
    A height range of one outline whose edge is not to be trusted.

    Parameters
    ----------
    outline : int
        Which outline, from 0.
    low_mm, high_mm : float
        Heights in the outline's own frame.
    gain : float
        Log likelihood ratio for it under the best forms.
    """

    outline: int
    low_mm: float
    high_mm: float
    gain: float


def bulge_covariance(stack: Stack, bulge: Bulge) -> FloatArray:
    """Further covariance in mm² of edges in a bulge, (n, n): a common lift between edges of its own, and relief."""
    z, own = stack.z_mm, stack.outline == bulge.outline
    inside = own & (z >= bulge.low_mm) & (z <= bulge.high_mm)
    low = inside & (z < bulge.low_mm + EDGE_MM)
    high = inside & (z > bulge.high_mm - EDGE_MM) & ~low
    gap = np.abs(stack.place_mm[:, None] - stack.place_mm[None, :])
    result = np.outer(inside, inside) * (RELIEF_MM**2 * np.exp(-gap / WITHIN_MM))
    for part, variance in zip((inside & ~low & ~high, low, high), VARIANCES, strict=True):
        result += variance * np.outer(part, part)
    return np.asarray(result * np.outer(stack.normal, stack.normal))


def beyond_covariance(stack: Stack, outline: int, low_mm: float, high_mm: float, sd_mm: float) -> FloatArray:
    """Further covariance in mm² of edges that are not about the glass, (n, n): half a common lift, half relief."""
    lift = np.where((stack.outline == outline) & (stack.z_mm >= low_mm) & (stack.z_mm <= high_mm), stack.normal, 0.0)
    gap = np.abs(stack.place_mm[:, None] - stack.place_mm[None, :])
    return np.asarray(sd_mm**2 * np.outer(lift, lift) * (0.5 + 0.5 * np.exp(-gap / WITHIN_MM)))


def bulge_weights(found: list[Bulge], shares: tuple[float, ...]) -> tuple[float, ...]:
    """Prior weight of having 1, 2 … of the found bulges, relative to having none: each might have been elsewhere."""
    return tuple(shares[n] / shares[0] * PLACES**-n for n in range(1, len(found) + 1))


PLACES = 12.0  # about as many places can be told apart on one outline
