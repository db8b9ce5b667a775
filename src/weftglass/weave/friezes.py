"""The symmetry of a band: which of the seven frieze groups its repeat belongs to, or that it cannot be told."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import binary_erosion

FloatArray = NDArray[np.float64]

GROUPS: dict[str, tuple[str, str]] = {
    "p1": ("", "shifted only"),
    "p11g": ("g", "shifted half a repeat and turned upside down in a level mirror"),
    "p1m1": ("v", "mirrored left to right"),
    "p2": ("r", "turned by half a turn"),
    "p2mg": ("vrg", "mirrored left to right, and the next one upside down"),
    "p11m": ("h", "mirrored top to bottom"),
    "p2mm": ("vrh", "mirrored both ways"),
}
"""By the symbols of the International Tables for Crystallography, volume E: the operations each has besides its repeat
(v upright mirror, h level mirror, r half-turn, g glide), and words for it."""

MIDDLE, WIDTH = 0.80, 0.05
"""Likeness at which an operation is as likely there as not, and over which that changes (set on 140 drawn bands with
irregular hand work, benchmarks/frieze_confusion.py --seed 7001; woven figures are only as symmetrical as whole
stitches allow)."""

SURE = 0.8
COSTS = 6.0
"""How much likeness is lost to an area that plainly differs, a share of the figure's (set as above)."""


@dataclass(frozen=True)
class Symmetry:
    """
    Symmetry of a band.

    Parameters
    ----------
    group : str or None
        Symbol of the likeliest group; None when it cannot be told.
    probability : float
        Of the likeliest.
    others : tuple of (symbol, probability)
        All seven, the likeliest first.
    likeness : tuple of (operation, float)
        How like itself the repeat is under each operation, 1 for perfectly: v, h, r, g.
    """

    group: str | None
    probability: float
    others: tuple[tuple[str, float], ...]
    likeness: tuple[tuple[str, float], ...]

    @property
    def words(self) -> str:
        """What the group means, or that it cannot be told."""
        if self.group is None:
            best, next_best = self.others[0][0], self.others[1][0]
            return f"can't tell: {best} or {next_best}"
        return GROUPS[self.group][1]

    def to_record(self) -> dict[str, Any]:
        """For a JSON file."""
        return {
            "group": self.group,
            "probability": round(self.probability, 3),
            "groups": {name: round(chance, 3) for name, chance in self.others},
            "likeness": {name: round(value, 3) for name, value in self.likeness},
        }


def symmetry_of(motif: FloatArray, alike: float = 1.0) -> Symmetry:
    """
    Frieze group of a repeat.

    Parameters
    ----------
    motif : array, shape (rows, columns, channels)
        One repeat, its last column meeting its first; its rows are the whole height of the figure.
    alike : float
        Correlation that the motif would have with itself taken from other repeats: the most any operation can reach.

    Returns
    -------
    Symmetry

    Notes
    -----
    Each operation is tried about every upright axis and a few levels; how like the motif its image is (correlation,
    over what the repeats' own unevenness allows, less what plainly differs) gives the probability that the band has it.
    A group is as probable as its operations being there and the others not.

    References
    ----------
    .. [1] International Tables for Crystallography, volume E: Subperiodic groups (frieze groups and their symbols).
    """
    found = {name: _best(motif, name, alike) for name in "vhrg"}
    there = {name: 1 / (1 + math.exp(-(like - MIDDLE) / WIDTH)) for name, like in found.items()}
    weight = {
        group: math.prod(there[name] if name in has else 1 - there[name] for name in "vhrg")
        for group, (has, _) in GROUPS.items()
    }
    total = sum(weight.values())
    ranked = sorted(((group, value / total) for group, value in weight.items()), key=lambda one: -one[1])
    sure = ranked[0][1] >= SURE
    return Symmetry(ranked[0][0] if sure else None, ranked[0][1], tuple(ranked), tuple(found.items()))


def _best(motif: FloatArray, operation: str, alike: float) -> float:
    """Greatest likeness under an operation, over where its axis may lie, less what plainly differs there."""
    reach = 0 if operation == "v" else max(1, motif.shape[0] // 12)
    best: tuple[float, FloatArray, FloatArray] = (-1.0, motif, motif)
    for rise in range(-reach, reach + 1):
        level = _raised(motif, rise)
        image = {"v": level[:, ::-1], "r": level[::-1, ::-1]}.get(operation, level[::-1])
        fits = _round_fits(level, image)
        shifts = {"h": [0], "g": [motif.shape[1] // 2]}.get(operation, list(range(len(fits))))
        shift = max(shifts, key=fits.__getitem__)
        if fits[shift] > best[0]:
            best = (fits[shift], level, np.roll(image, shift, axis=1))
    like, level, image = best
    return min(1.0, like / max(alike, 0.2), 1.0 - COSTS * _plainly_different(level, image))


def _plainly_different(one: FloatArray, other: FloatArray) -> float:
    """
    Area that differs by more than half of the band's contrast and is wider than two cells, over the figure's area.

    A tail on one side only is a small share of what varies, but nobody would call the figure mirrored.
    """
    flat = one.reshape(-1, one.shape[2])
    axis = np.linalg.svd(flat - flat.mean(axis=0), full_matrices=False)[2][0]
    first, second = one @ axis, other @ axis
    ground = float(np.median(first))
    contrast = float(np.quantile(np.abs(first - ground), 0.98))
    figure = float(np.mean(np.abs(first - ground) > contrast / 2))
    apart = binary_erosion(np.abs(first - second) > contrast / 2, np.ones((3, 3), dtype=bool))
    return float(apart.mean()) / max(figure, 1e-6) / 2


def _raised(motif: FloatArray, rise: int) -> FloatArray:
    """The rows that stay when the middle is moved by half of ``rise`` rows."""
    rows = motif.shape[0]
    return motif[max(rise, 0) : rows + min(rise, 0)]


def _round_fits(one: FloatArray, other: FloatArray) -> list[float]:
    """
    Likeness of two repeats at every shift along the girth; entry s moves ``other`` by s columns to the right.

    The lesser of two: of what varies along the girth, and of everything but the mean colour.
    """
    fits = []
    for axis in (1, (0, 1)):
        a, b = one - one.mean(axis=axis, keepdims=True), other - other.mean(axis=axis, keepdims=True)
        scale = math.sqrt(float(np.sum(a**2)) * float(np.sum(b**2)))
        cross = np.fft.irfft(np.sum(np.fft.rfft(a, axis=1) * np.conj(np.fft.rfft(b, axis=1)), axis=(0, 2)), a.shape[1])
        fits.append(cross / max(scale, 1e-12))
    return [float(value) for value in np.minimum(*fits)]
