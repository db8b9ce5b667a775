"""A first guess of the pattern that repeats: row distance, stitch distance and direction, from the spectrum."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates

FloatArray = NDArray[np.float64]

WINDOW_SHARE = 0.62  # of the patch's shorter side
SPREAD = 0.10  # how far windows lie from the middle, as a share of the side
MOST_TURN_DEG = 26.0  # how far rows may be from level in the picture
FINEST_PX = 4.0
USUAL_PERCENTILE = 45
COST_SHARE = 0.45  # decades above the background that a predicted point of the spectrum has to show to count in favour

Points = tuple[tuple[float, float, float], ...]
STACKED: Points = ((0, 1, 1.0), (0, 2, 0.5), (1, 0, 1.0), (1, 1, 0.6), (1, -1, 0.6), (2, 0, 0.4))
STAGGERED: Points = (
    (0, 1, 1.0), (0, 2, 0.5), (1, 0.5, 1.0), (1, -0.5, 1.0), (2, 0, 0.5), (1, 1.5, 0.4), (1, -1.5, 0.4),
)  # fmt: skip
"""Where a pattern's spectrum has points: multiples of the stitch and of the row frequency, and their weight."""


@dataclass(frozen=True)
class Bond:
    """
    How one technique repeats.

    Parameters
    ----------
    points : tuple of Points
        Patterns that its spectrum may have.
    ratio : tuple (least, most)
        How far apart repeats along a row are, in distances of repeats down the wall.
    levels : int
        Rows in one repeat down the wall: two levels of crossings in plaiting, whose sets change places.
    stakes : int
        Stitches in one repeat along a row: two stakes in wicker, which shows every second one in any row.
    """

    points: tuple[Points, ...]
    ratio: tuple[float, float]
    levels: int = 1
    stakes: int = 1


BONDS = {
    "twined": Bond((STACKED, STAGGERED), (0.7, 3.2)),
    "coiled": Bond((STACKED,), (0.3, 1.5)),
    "wicker": Bond((STAGGERED,), (2.6, 8.5), stakes=2),
    "plaited": Bond((STACKED,), (0.4, 2.0), levels=2),
    "hitched": Bond((STACKED, STAGGERED), (0.8, 2.4)),
}


@dataclass(frozen=True)
class Guess:
    """
    Row distance and stitch distance in pixels, the rows' direction in radians (clockwise), and how well it fits.

    ``share`` is the score over the weights of all the pattern's points, so that patterns can be compared.
    """

    row_px: float
    stitch_px: float
    turn: float
    score: float
    share: float


@dataclass(frozen=True, eq=False)
class Spectrum:
    """
    Power in decades above what is usual at that fineness, origin in the middle.

    Parameters
    ----------
    decades : array, shape (n, n)
        Frequency k cycles a pixel is at index ``n // 2 + k * n``.
    window_px : int
        Side of the windows it was taken in.
    """

    decades: FloatArray
    window_px: int


def spectrum_of(values: FloatArray) -> Spectrum:
    """The spectrum of windows about the middle."""
    height, width = values.shape
    side = int(min(height, width) * WINDOW_SHARE) // 2 * 2
    fine = 512 if side < 380 else 1024
    window = np.outer(np.hanning(side), np.hanning(side))
    power = np.zeros((fine, fine))
    for down in (-1.5, -0.5, 0.5, 1.5):
        for right in (-1.0, 0.0, 1.0):
            top = int(np.clip(height / 2 + down * SPREAD * height - side / 2, 0, height - side))
            left = int(np.clip(width / 2 + right * SPREAD * width - side / 2, 0, width - side))
            part = values[top : top + side, left : left + side]
            power += np.abs(np.fft.fft2((part - part.mean()) * window, (fine, fine))) ** 2
    return Spectrum(_above_usual(np.fft.fftshift(power), side), side)


def _above_usual(power: FloatArray, side: int) -> FloatArray:
    """Decades above what is usual at the same fineness: a smooth curve through the lower part of each ring."""
    k = np.fft.fftshift(np.fft.fftfreq(len(power)))
    fineness = np.hypot(*np.meshgrid(k, k))
    edges = np.geomspace(1.5 / side, 0.5, 25)
    ring = np.digitize(fineness.ravel(), edges)
    decades = np.log10(power.ravel() + 1e-12)
    middle = 0.5 * (np.log(edges[1:]) + np.log(edges[:-1]))
    full = [i for i in range(24) if np.any(ring == i + 1)]
    usual = np.array([np.percentile(decades[ring == i + 1], USUAL_PERCENTILE) for i in full])
    curve = np.polynomial.Polynomial.fit(middle[full], usual, 3)
    background = curve(np.log(np.clip(fineness, edges[0], edges[-1])))
    return np.asarray(np.clip(decades.reshape(power.shape) - background, -0.3, 2.6))


def guessed_in(spectrum: Spectrum, technique: str) -> Guess:
    """
    The pattern whose predicted points stand highest above the rest of the spectrum.

    Each predicted point has to pay for itself, so a pattern twice as fine (with points where there is nothing) and one
    twice as coarse (which leaves points unexplained) both lose against the right one.

    Parameters
    ----------
    spectrum : Spectrum
    technique : str
        One of `BONDS`.
    """
    decades, side = spectrum.decades, spectrum.window_px
    bond = BONDS[technique]
    cost = COST_SHARE * float(decades.max())
    rows = np.geomspace(FINEST_PX, max(side / 3.0, 2 * FINEST_PX), 120)
    turns = np.deg2rad(np.arange(-MOST_TURN_DEG, MOST_TURN_DEG + 0.1, 1.5))
    ratios = np.geomspace(*bond.ratio, 24)
    turn, row, ratio = np.meshgrid(turns, rows, ratios, indexing="ij")
    best = Guess(0.0, 0.0, 0.0, -np.inf, -np.inf)
    for points in bond.points:
        total, whole = np.zeros(turn.shape), sum(weight for _, _, weight in points)
        for m, n, weight in points:
            along, over = m / (row * ratio), n / row
            fx, fy = along * np.cos(turn) - over * np.sin(turn), along * np.sin(turn) + over * np.cos(turn)
            at = [fy * len(decades) + len(decades) // 2, fx * len(decades) + len(decades) // 2]
            total += weight * (map_coordinates(decades, at, order=1, mode="nearest") - cost)
        i = np.unravel_index(int(total.argmax()), total.shape)
        if total[i] > best.score:
            best = Guess(
                float(row[i]), float(row[i] * ratio[i]), float(turn[i]), float(total[i]), float(total[i]) / whole
            )
    return best
