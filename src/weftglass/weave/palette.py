"""The few colours a covering is worked in, with their shares of its face."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.ndimage import binary_erosion

from weftglass.weave.colour import difference, srgb_of_lab

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

STARTS, TURNS = 10, 30
MOST_CELLS = 20_000
SAME_COLOUR = 9.0
"""CIEDE2000 below which two clusters are one colour of natural strands (a working figure, no source)."""

LEAST_SHARE = 0.012
LEAST_INNER = 0.12
"""A cluster with fewer of its cells inside than this is only the blur between two colours."""


@dataclass(frozen=True)
class PaletteColour:
    """
    One colour of a covering.

    Parameters
    ----------
    lab : (L*, a*, b*)
        Mean in CIELAB (D65), as in the photograph: not freed from the colour of its light.
    spread : float
        Root mean square CIEDE2000 of its cells from the mean.
    share : float
        Of the face seen, 0 to 1.
    """

    lab: tuple[float, float, float]
    spread: float
    share: float

    @property
    def hex(self) -> str:
        """The colour for a screen, as ``#rrggbb``."""
        return "#" + "".join(f"{round(255 * float(part)):02x}" for part in srgb_of_lab(self.lab))

    def to_record(self) -> dict[str, Any]:
        """For a JSON file."""
        return {
            "lab": [round(part, 1) for part in self.lab],
            "hex": self.hex,
            "spread": round(self.spread, 1),
            "share": round(self.share, 3),
        }


def palette_of(lab: ArrayLike, seen: NDArray[np.bool_], *, seed: int = 0) -> tuple[tuple[PaletteColour, ...], IntArray]:
    """
    The colours of a picture, the commonest first.

    Parameters
    ----------
    lab : array, shape (rows, columns, 3)
        CIELAB of cells about a stitch wide.
    seen : array, shape (rows, columns), bool
    seed : int
        Of the clustering's starts.

    Returns
    -------
    colours : tuple of PaletteColour
    label : array, shape (rows, columns), int
        Number of each cell's colour; -1 where nothing was seen.

    Notes
    -----
    k-means in CIELAB from ten centres, clusters less than 9 CIEDE2000 apart joined (the closest first), then clusters
    too rare, or that are only edges between others, given to their nearest colour.
    """
    cells = np.asarray(lab, dtype=np.float64)
    label = np.full(seen.shape, -1, dtype=np.int64)
    points = cells[seen]
    if len(points) == 0:
        return (), label
    rng = np.random.default_rng(seed)
    sample = points if len(points) <= MOST_CELLS else points[rng.choice(len(points), MOST_CELLS, replace=False)]
    centres = _joined(_clustered(sample, rng), sample)
    while True:
        nearest = _nearest(points, centres)
        label[seen] = nearest
        poor = _poorest(label, len(centres))
        if poor is None:
            break
        centres = np.delete(centres, poor, axis=0)
    order = np.argsort(-np.bincount(nearest, minlength=len(centres)), kind="stable")
    rank = np.empty(len(centres), dtype=np.int64)
    rank[order] = np.arange(len(centres))
    label[seen] = rank[nearest]
    return tuple(_colour(points[nearest == k], len(points)) for k in order), label


def _clustered(points: FloatArray, rng: np.random.Generator) -> FloatArray:
    centres = points[rng.integers(len(points))][None]
    for _ in range(STARTS - 1):
        far = ((points[:, None] - centres[None]) ** 2).sum(axis=2).min(axis=1)
        if far.sum() <= 0:
            break
        centres = np.concatenate([centres, points[rng.choice(len(points), p=far / far.sum())][None]])
    for _ in range(TURNS):
        nearest = _nearest(points, centres)
        centres = np.array([points[nearest == k].mean(axis=0) for k in range(len(centres)) if np.any(nearest == k)])
    return np.asarray(centres)


def _joined(centres: FloatArray, points: FloatArray) -> FloatArray:
    weight = np.bincount(_nearest(points, centres), minlength=len(centres)).astype(np.float64)
    while len(centres) > 1:
        apart = difference(centres[:, None], centres[None])
        apart[np.diag_indices(len(centres))] = np.inf
        i, j = sorted(divmod(int(np.argmin(apart)), len(centres)))
        if apart[i, j] >= SAME_COLOUR:
            break
        centres[i] = np.average(centres[[i, j]], axis=0, weights=weight[[i, j]] + 1e-9)
        weight[i] += weight[j]
        centres, weight = np.delete(centres, j, axis=0), np.delete(weight, j)
    return np.asarray(centres)


def _poorest(label: IntArray, count: int) -> int | None:
    """The rarest cluster that is too rare or only an edge; None when all stand."""
    total = int((label >= 0).sum())
    poor = []
    for k in range(count):
        cells = label == k
        number = int(cells.sum())
        inner = int(binary_erosion(cells, np.ones((3, 3), dtype=bool)).sum()) / max(number, 1)
        if number < LEAST_SHARE * total or inner < LEAST_INNER:
            poor.append((number, k))
    return min(poor)[1] if poor and count > 1 else None


def _nearest(points: FloatArray, centres: FloatArray) -> IntArray:
    return np.asarray(((points[:, None] - centres[None]) ** 2).sum(axis=2).argmin(axis=1), dtype=np.int64)


def _colour(points: FloatArray, total: int) -> PaletteColour:
    mean = points.mean(axis=0)
    spread = float(np.sqrt(np.mean(difference(points, mean) ** 2)))
    return PaletteColour((float(mean[0]), float(mean[1]), float(mean[2])), spread, len(points) / total)
