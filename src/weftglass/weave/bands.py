"""Bands by height: where a covering is of one colour all round, and where it carries a figure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

IntArray = NDArray[np.int64]

PLAIN_SHARE = 0.93
"""A row is plain when one colour takes so much of it; the rest is stray strands and shade."""

LEAST_PLAIN, LEAST_FIGURED, LEAST_GAP = 3, 5, 7
"""Rows (about mm) below which a run is no band of its own; the last of ground between two figured ones."""


@dataclass(frozen=True)
class Run:
    """
    Neighbouring rows of one kind.

    Parameters
    ----------
    first, last : int
        Rows, both included.
    colour : int or None
        Number of the one colour of a plain band; None for a figured one.
    """

    first: int
    last: int
    colour: int | None

    @property
    def rows(self) -> int:
        """How many rows it has."""
        return self.last - self.first + 1


def runs_of(label: IntArray) -> tuple[Run, ...]:
    """
    Bands of a picture, in the order of its rows.

    Parameters
    ----------
    label : array, shape (rows, columns), int
        Number of the colour of each cell (about 1 mm), -1 where nothing was seen.

    Returns
    -------
    tuple of Run
        Together they cover all rows of which something was seen.
    """
    kinds = [_kind(row[row >= 0]) for row in label]
    seen = [k for k, kind in enumerate(kinds) if kind != "unseen"]
    if not seen:
        return ()
    runs: list[Run] = []
    for k in range(seen[0], seen[-1] + 1):
        kind = kinds[k]
        colour = kind if isinstance(kind, int) else None
        if runs and runs[-1].colour == colour:
            runs[-1] = Run(runs[-1].first, k, colour)
        else:
            runs.append(Run(k, k, colour))
    return tuple(_without_slivers(runs))


def _kind(row: IntArray) -> int | str:
    if len(row) == 0:
        return "unseen"
    counts = np.bincount(row)
    best = int(np.argmax(counts))
    return best if counts[best] >= PLAIN_SHARE * len(row) else "figured"


def _least(runs: list[Run], k: int) -> int:
    if runs[k].colour is None:
        return LEAST_FIGURED
    between = 0 < k < len(runs) - 1 and runs[k - 1].colour is None and runs[k + 1].colour is None
    return LEAST_GAP if between else LEAST_PLAIN


def _without_slivers(runs: list[Run]) -> list[Run]:
    """The thinnest run that is too thin joins its thicker neighbour, until none is left."""
    while len(runs) > 1:
        thin = [(run.rows, k) for k, run in enumerate(runs) if run.rows < _least(runs, k)]
        if not thin:
            break
        _, k = min(thin)
        near = [i for i in (k - 1, k + 1) if 0 <= i < len(runs)]
        host = max(near, key=lambda i: runs[i].rows)
        runs[host] = Run(min(runs[host].first, runs[k].first), max(runs[host].last, runs[k].last), runs[host].colour)
        del runs[k]
        joined: list[Run] = []
        for run in runs:
            if joined and joined[-1].colour == run.colour:
                joined[-1] = Run(joined[-1].first, run.last, run.colour)
            else:
                joined.append(run)
        runs = joined
    return runs
