"""Places where a covering stands off the glass (a strap, seal, knot, or a shoulder bridged over), found by the fit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve

from weftglass.inside.nodes import Stack

FloatArray = NDArray[np.float64]

BULGE_MM = 6.0  # sd of how far such a place stands off, mm; working figure
WITHIN_MM = 8.0  # correlation length of its own relief, mm
LENGTHS_MM = (9.0, 18.0, 32.0, 55.0, 90.0)  # lengths tried
SHIFT_MM = 4.0  # between places tried
LEAST_GAIN = 4.0  # log likelihood ratio that makes a place worth a hypothesis
MOST = 3  # bulges looked for


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
    """Further covariance in mm² of edges within a bulge, (n, n): half a common lift, half relief along the wall."""
    inside = (stack.outline == bulge.outline) & (stack.z_mm >= bulge.low_mm) & (stack.z_mm <= bulge.high_mm)
    lift = np.where(inside, stack.normal, 0.0)
    gap = np.abs(stack.place_mm[:, None] - stack.place_mm[None, :])
    return np.asarray(BULGE_MM**2 * np.outer(lift, lift) * (0.5 + 0.5 * np.exp(-gap / WITHIN_MM)))


def find_bulges(stack: Stack, misses: FloatArray, covariances: list[FloatArray]) -> list[Bulge]:
    """
    Places that stand off the covered glass under the most probable forms, the surest first.

    Parameters
    ----------
    stack : Stack
        n nodes.
    misses : array (M, n)
        Seen less predicted edge of the M most probable forms, mm.
    covariances : list of M arrays (n, n)
        Of those misses, size and thickness not known.

    Returns
    -------
    list of Bulge
        At most three that do not overlap; each is kept only if it stands out and outward.

    Notes
    -----
    Each place is tried as one common lift of unknown amount (a rank-one change of the covariance): with ``q = v'C⁻¹v``
    and ``a = v'C⁻¹r`` the log likelihood gains ``a² / 2(q + 1/s²) - log(1 + q s²) / 2``. The forms are averaged by
    likelihood, so a place counts that lets some form explain the whole. Greedy: each found place enters the covariance.
    """
    windows, spans = _windows(stack)
    found: list[Bulge] = []
    current = [c.copy() for c in covariances]
    for _ in range(MOST):
        gains = np.empty((len(misses), len(spans)))
        bases = np.empty(len(misses))
        for i, (miss, covariance) in enumerate(zip(misses, current, strict=True)):
            root = cho_factor(covariance, lower=True)
            solved = cho_solve(root, miss)
            pull = windows @ solved
            stiff = np.einsum("wn,nw->w", windows, cho_solve(root, windows.T))
            gain = 0.5 * pull**2 / (stiff + BULGE_MM**-2) - 0.5 * np.log1p(stiff * BULGE_MM**2)
            gains[i] = np.where(pull > 0, gain, -np.inf)
            bases[i] = -0.5 * float(miss @ solved) - float(np.log(np.diag(root[0])).sum())
        before = float(np.logaddexp.reduce(bases))
        after = np.logaddexp.reduce(bases[:, None] + gains, axis=0) - before
        best = int(after.argmax())
        if after[best] < LEAST_GAIN:
            break
        outline, low, high = spans[best]
        one = Bulge(outline, low, high, float(after[best]))
        found.append(one)
        lift = bulge_covariance(stack, one)
        current = [c + lift for c in current]
        clear = [(s[0] != outline) or s[2] < low or s[1] > high for s in spans]
        windows, spans = windows[clear], [s for s, free in zip(spans, clear, strict=True) if free]
        if not spans:
            break
    return found


def _windows(stack: Stack) -> tuple[FloatArray, list[tuple[int, float, float]]]:
    """Lifts tried, (W, n), and their outlines and heights."""
    rows, spans = [], []
    for outline in np.unique(stack.outline):
        own = stack.outline == outline
        low, high = float(stack.z_mm[own].min()), float(stack.z_mm[own].max())
        for length in LENGTHS_MM:
            for start in np.arange(low - length / 2, high - length / 2, SHIFT_MM):
                inside = own & (stack.z_mm >= start) & (stack.z_mm <= start + length)
                if 2 <= inside.sum() <= 0.5 * own.sum():
                    rows.append(np.where(inside, stack.normal, 0.0))
                    spans.append((int(outline), float(start), float(start + length)))
    return (np.array(rows) if rows else np.empty((0, len(stack.z_mm)))), spans


def bulge_weights(found: list[Bulge], shares: tuple[float, ...]) -> tuple[float, ...]:
    """Prior weight of having 1, 2 … of the found bulges, relative to having none: each might have been elsewhere."""
    return tuple(shares[n] / shares[0] * PLACES**-n for n in range(1, len(found) + 1))


PLACES = 12.0  # about as many places can be told apart on one outline
