"""Which technique a close-up shows, where nobody said: told by where the points of its spectrum stand out."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates
from scipy.special import expit

from weftglass.weave.lattice import Guess, Spectrum, guessed_in
from weftglass.weave.patch import evened

FloatArray = NDArray[np.float64]

LOOKED_FOR = ("twined", "coiled", "wicker", "plaited")
"""Hitched work repeats as twined or coiled work does and is found under their names; unlike it, they lean."""

SURE = 0.85
NEAR_PX = 3  # of the spectrum: how far from its predicted place a point is looked for
MOST_GAP = 0.4
PAIRED = 0.15  # decades
EDGE_REACH_ROWS, EDGE_BLUR_ROWS = 0.9, 1 / 14

LEVEL, UPRIGHT, ASLANT = (0.0, 10.0), (80.0, 90.0), (25.0, 65.0)
"""Which edges count as level, upright and aslant: degrees from the rows."""

WEIGHTS = np.array([-1.62, 5.22, -1.21, 2.65, -4.26, -0.92, 0.98, 3.91])
"""Of a constant and the seven `signs` for plaited work (logistic regression on the tuning and development close-ups,
benchmarks/fit_techniques.py)."""


def recognised(spectrum: Spectrum, grey: FloatArray) -> tuple[str | None, Guess]:
    """
    The technique whose pattern explains a spectrum best, None where it can't be told, with the pattern.

    Parameters
    ----------
    spectrum : Spectrum
    grey : array, shape (height, width)
        Lightness that it was taken of.

    Notes
    -----
    Twined, coiled and hitched work repeat alike, so that rows and stitches come out the same whichever it is called;
    wicker, which shows every second stake, and plaiting, whose rows are half a repeat, do not. Wicker stands out by how
    far its stitches are apart. Plaited work is told by its diamonds: moved half a repeat down and half one along it is
    nearly itself, and its edges run aslant both ways, where other work has grooves along its rows. Between 0.15
    and 0.85 nothing is told, since a mistake would double the
    count of rows.
    """
    tried = {kind: guessed_in(spectrum, kind) for kind in LOOKED_FOR}
    best = max((kind for kind in LOOKED_FOR if kind != "plaited"), key=lambda kind: tried[kind].share)
    gap = tried[best].share - tried["plaited"].share
    plaited = plaited_chance(signs(spectrum, grey, tried["plaited"], gap))
    if plaited >= SURE:
        return "plaited", tried["plaited"]
    return best if plaited <= 1 - SURE else None, tried[best]


def without_pairs(spectrum: Spectrum, guess: Guess, technique: str | None) -> Guess:
    """
    The pattern with half its row distance where its rows are plainly pairs of rows.

    Two colours that change places from row to row make every second row alike; the point of the pair then stands out
    less than that of the row, which no other work does (on the tuning and development close-ups). Plaited work is left
    alone: its levels are pairs.
    """
    pair, row = _stands(spectrum, guess, 0, 1), _stands(spectrum, guess, 0, 2)
    if technique == "plaited" or row < pair + PAIRED:
        return guess
    return replace(guess, row_px=guess.row_px / 2)


def signs(spectrum: Spectrum, grey: FloatArray, guess: Guess, gap: float) -> FloatArray:
    """
    What tells plaited work from the others, seven numbers.

    Parameters
    ----------
    guess : Guess
        The pattern as if it were plaited.
    gap : float
        By how much the best other pattern explains more.

    Returns
    -------
    array, shape (7,)
        In decades above the usual: the double diagonal over the doubles of row and stitch; row and stitch; the stronger
        diagonal over these. The gap, 0 to 0.4. Logarithms of how strong edges are that run level, upright, and aslant
        the weaker way, over edges on the whole.
    """
    at = {place: _stands(spectrum, guess, *place) for place in
          ((0, 1), (0, 2), (1, 0), (2, 0), (1, 1), (1, -1), (2, 2), (2, -2))}  # fmt: skip
    single = (at[0, 1] + at[1, 0]) / 2
    double = max(at[2, 2], at[2, -2]) - (at[0, 2] + at[2, 0]) / 2
    lattice = (double, single, max(at[1, 1], at[1, -1]) - single, np.clip(gap, 0.0, MOST_GAP))
    return np.array([*lattice, *_edges(grey, guess)])


def _edges(grey: FloatArray, guess: Guess) -> FloatArray:
    """Logarithms of the strength of level and upright edges and of the weaker slant, 0 as edges are on the whole."""
    values = evened(grey, EDGE_REACH_ROWS * guess.row_px)
    calm = cv2.GaussianBlur(values, (0, 0), max(1.0, EDGE_BLUR_ROWS * guess.row_px))
    down, right = np.gradient(calm)
    way = np.mod(np.rad2deg(np.arctan2(down, right) - guess.turn), 180.0)
    count = np.histogram(way, 36, (0.0, 180.0), weights=down**2 + right**2)[0]
    share = count / max(float(count.mean()), 1e-12)
    from_level = np.arange(36) * 5 + 2.5 - 90.0  # an edge runs square to its gradient

    def strength(low: float, high: float, side: int = 0) -> float:
        off = np.abs(from_level)
        chosen = (off >= low) & (off <= high) & ((side == 0) | (np.sign(from_level) == side))
        return float(np.log(max(share[chosen].mean(), 1e-6)))

    return np.array([strength(*LEVEL), strength(*UPRIGHT), min(strength(*ASLANT, side) for side in (-1, 1))])


def plaited_chance(found: FloatArray) -> float:
    """Probability that work with these signs is plaited."""
    return float(expit(WEIGHTS[0] + WEIGHTS[1:] @ found))


def _stands(spectrum: Spectrum, guess: Guess, along: int, down: int) -> float:
    """How far the spectrum stands out near a multiple of the stitch and the row frequency."""
    x, y = along / max(guess.stitch_px, 1e-6), down / max(guess.row_px, 1e-6)
    c, s = np.cos(guess.turn), np.sin(guess.turn)
    size = len(spectrum.decades)
    near = np.arange(-NEAR_PX, NEAR_PX + 1)
    rows = (x * s + y * c) * size + size // 2 + near[:, None]
    columns = (x * c - y * s) * size + size // 2 + near[None, :]
    place = np.broadcast_arrays(rows, columns)
    return float(map_coordinates(spectrum.decades, place, order=1, mode="nearest").max())
