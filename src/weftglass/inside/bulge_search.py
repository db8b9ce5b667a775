"""Looking for places where a covering stands off the glass: every run of heights, under several explanations."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve

from weftglass.inside.bulges import EDGE_MM, VARIANCES, Bulge, bulge_covariance
from weftglass.inside.likelihood.outline import Foretold
from weftglass.inside.nodes import Stack
from weftglass.inside.small_systems import eliminate

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

SHORTEST_MM, LONGEST_MM = 4.0, 100.0  # lengths tried
LEAST_GAIN = 4.0  # log likelihood ratio that makes a place worth a hypothesis
MOST = 3  # bulges looked for
STANDING, BEHIND = 5, 15.0  # explanations that go on to the next bulge: how many, and within which log likelihood


def find_bulges(stack: Stack, told: Sequence[Foretold], log_prior: FloatArray) -> tuple[list[Bulge], FloatArray]:
    """
    Places that stand off the covered glass under the most probable explanations, the surest first.

    Parameters
    ----------
    stack : Stack
        n nodes.
    told : sequence of M Foretold
        The readings as several forms under several coverings foretell them, size and thickness not known.
    log_prior : array (M,)
        Of these explanations.

    Returns
    -------
    list of Bulge
        At most three that do not overlap; each is kept only if it stands out and outward.
    array (M,)
        Log likelihood of every explanation with these bulges, its prior included; minus infinity where it fell behind.

    Notes
    -----
    Every run of neighbouring heights is tried as one common lift of unknown amount between two edges that go their own
    way: a change of the covariance of rank three. With ``q = V'C⁻¹V``, ``a = V'C⁻¹r`` and prior variances ``D`` of the
    three, the log likelihood gains ``a'(q + D⁻¹)⁻¹a / 2 - log det(D q + 1) / 2``. The explanations are averaged by
    likelihood, so a place counts that lets some of them explain the whole. Greedy: each found place enters the
    covariance of those explanations that it leaves standing.
    """
    runs = _Runs.of(stack)
    found: list[Bulge] = []
    current = [one.smooth + np.diag(one.white) for one in told]
    value = np.full(len(told), -np.inf)
    standing = np.arange(len(told))
    while len(runs):
        gains = np.empty((len(standing), len(runs)))
        bases = np.empty(len(standing))
        for place, i in enumerate(standing.tolist()):
            root = cho_factor(current[i], lower=True)
            solved = cho_solve(root, told[i].miss)
            gains[place] = runs.gains(cho_solve(root, np.eye(len(solved))), solved)
            bases[place] = -0.5 * float(told[i].miss @ solved) - float(np.log(np.diag(root[0])).sum()) + log_prior[i]
        value[:] = -np.inf
        value[standing] = bases
        after = np.logaddexp.reduce(bases[:, None] + gains, axis=0)
        best = int(after.argmax())
        gain = float(after[best] - np.logaddexp.reduce(bases))
        if gain < LEAST_GAIN or len(found) == MOST:
            break
        found.append(runs.bulge(best, gain))
        lift = bulge_covariance(stack, found[-1])
        now = bases + gains[:, best]
        first = np.argsort(-now, kind="stable")[:STANDING]
        standing = standing[first[now[first] >= now.max() - BEHIND]]
        for i in standing.tolist():
            current[i] = current[i] + lift
        runs = runs.clear_of(best)
    return found, value


@dataclass(frozen=True, eq=False)
class _Runs:
    """
    Runs of neighbouring covered heights tried as bulges: R of them, each with an edge at both ends.

    Attributes
    ----------
    lift : array (n,)
        Horizontal move of each node when its covering is lifted by a millimetre; 0 where glass is bare.
    outline : array of int (n,)
    z_mm : array (n,)
    first, start, end, last : array of int (R,)
        The lower edge is nodes first … start - 1, the run start … end - 1, the upper edge end … last - 1.
    """

    lift: FloatArray
    outline: IntArray
    z_mm: FloatArray
    first: IntArray
    start: IntArray
    end: IntArray
    last: IntArray

    @classmethod
    def of(cls, stack: Stack) -> _Runs:
        """All runs of 4 to 100 mm, at most half of an outline's heights."""
        parts = []
        for outline in np.unique(stack.outline):
            own = np.flatnonzero(stack.outline == outline)
            z, low = stack.z_mm[own], int(own[0])
            start, end = np.triu_indices(len(z) + 1, k=1)
            reach = z[end - 1] - z[start]
            keep = (reach >= SHORTEST_MM) & (reach <= LONGEST_MM) & (end - start >= 2) & (end - start <= 0.5 * len(z))
            start, end = start[keep], end[keep]
            first = np.searchsorted(z, z[start] - EDGE_MM)
            last = np.searchsorted(z, z[end - 1] + EDGE_MM, side="right")
            parts.append(np.stack([first, start, end, last]) + low)
        table = np.concatenate(parts, axis=1) if parts else np.empty((4, 0), dtype=np.int64)
        return cls(stack.normal * stack.covered, stack.outline, stack.z_mm, *table)

    def __len__(self) -> int:
        return len(self.start)

    def bulge(self, run: int, gain: float) -> Bulge:
        """A run with its edges as a bulge."""
        low, high = int(self.first[run]), int(self.last[run]) - 1
        return Bulge(int(self.outline[self.start[run]]), float(self.z_mm[low]), float(self.z_mm[high]), gain)

    def clear_of(self, run: int) -> _Runs:
        """The runs that have nothing in common with one of them."""
        keep = (self.last <= self.first[run]) | (self.first >= self.last[run])
        runs = (self.first[keep], self.start[keep], self.end[keep], self.last[keep])
        return _Runs(self.lift, self.outline, self.z_mm, *runs)

    def gains(self, inverse: FloatArray, solved: FloatArray) -> FloatArray:
        """Log likelihood that each run gains, (R,); minus infinity where it would lie inward."""
        whole = np.zeros((len(solved) + 1, len(solved) + 1))
        whole[1:, 1:] = (inverse * np.outer(self.lift, self.lift)).cumsum(axis=0).cumsum(axis=1)
        pulled = np.concatenate([[0.0], (self.lift * solved).cumsum()])
        parts = ((self.start, self.end), (self.first, self.start), (self.end, self.last))

        def shared(i: int, j: int) -> FloatArray:
            (a, b), (c, d) = parts[i], parts[j]
            return np.asarray(whole[b, d] - whole[a, d] - whole[b, c] + whole[a, c])

        pull = np.stack([pulled[b] - pulled[a] for a, b in parts], axis=-1)
        stiff = np.zeros((len(self), 3, 3))
        for i, j in combinations_with_replacement(range(3), 2):  # elimination reads the upper half
            stiff[:, i, j] = shared(i, j)
        system = eliminate(stiff + np.diag(1.0 / np.array(VARIANCES)), pull[..., None])
        gain = 0.5 * (system.quadratic - system.log_determinant - np.log(VARIANCES).sum())
        outward = pulled[self.end] - pulled[self.start] > 0.0
        return np.where(outward, gain, -np.inf)
