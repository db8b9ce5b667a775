"""General-purpose ways to say which of many known contours a covered piece's outline is nearest to.

Each takes the profiles of a library once and gives one distance a form for an outline; the least wins. Where a method
is used in two ways (in mm, or with the size taken out) both stand here, and the benchmark counts the better one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
from dtaidistance import dtw
from numpy.typing import NDArray
from pyefd import elliptic_fourier_descriptors, normalize_efd
from scipy.spatial import KDTree

from weftglass.inside.bank import swollen

FloatArray = NDArray[np.float64]
Distance = Callable[[FloatArray], FloatArray]

HEIGHTS = 97  # equal height steps at which profiles are read
HARMONICS = 20
TURNS = 128  # equal steps of the contour's length for the turning function
COVER_MM = 3.0  # what 'least squares after adding 3 mm' is told: about the mean covering of the simulation
DTW_WINDOW = 12  # of 97 steps
CLOSEST_ROUNDS = 8


@dataclass(frozen=True, eq=False)
class Contours:
    """Profiles of F forms, rows of (z, half-width) in mm, and the same read at 97 equal height steps."""

    profiles: list[FloatArray]
    heights: FloatArray
    table: FloatArray

    @classmethod
    def of(cls, profiles: list[FloatArray]) -> Contours:
        """Read every profile at equal height steps."""
        return cls(profiles, np.array([p[-1, 0] for p in profiles]), np.array([read(p) for p in profiles]))


def read(profile: FloatArray, count: int = HEIGHTS) -> FloatArray:
    """Half-widths at equal height steps from the lowest row to the highest, (count,)."""
    z = np.linspace(profile[0, 0], profile[-1, 0], count)
    return np.interp(z, profile[:, 0], profile[:, 1])


def closed(profile: FloatArray) -> FloatArray:
    """The whole closed contour: up one side and down the other, (2n, 2)."""
    z, r = profile.T
    return np.column_stack([np.concatenate([r, -r[::-1]]), np.concatenate([z, z[::-1]])])


def moments(library: Contours, kind: int) -> Distance:
    """Hu's moments as OpenCV compares them (`matchShapes`, kind 1 to 3)."""
    contours = [closed(p).astype(np.float32).reshape(-1, 1, 2) for p in library.profiles]

    def distance(outline: FloatArray) -> FloatArray:
        own = closed(outline).astype(np.float32).reshape(-1, 1, 2)
        return np.array([cv2.matchShapes(own, contour, kind, 0.0) for contour in contours])

    return distance


def fourier(library: Contours, *, sized: bool) -> Distance:
    """Elliptical Fourier descriptors (Kuhl and Giardina 1982) of the closed contour, in mm or with size taken out."""

    def describe(profile: FloatArray) -> FloatArray:
        contour = closed(profile)
        ring = np.vstack([contour, contour[:1]])
        described = elliptic_fourier_descriptors(ring, order=HARMONICS)
        return np.asarray(described if sized else normalize_efd(described), dtype=np.float64).ravel()

    bank = np.array([describe(p) for p in library.profiles])
    return lambda outline: np.linalg.norm(bank - describe(outline), axis=1)


def turning(library: Contours) -> Distance:
    """Turning function of the half contour over its own length (Arkin et al. 1991); L2 distance, start known."""

    def angles(profile: FloatArray) -> FloatArray:
        even = np.column_stack([np.linspace(0.0, profile[-1, 0] - profile[0, 0], HEIGHTS), read(profile)])
        half = np.vstack([[0.0, 0.0], even, [even[-1, 0], 0.0]])
        step = np.diff(half, axis=0)
        length = np.concatenate([[0.0], np.cumsum(np.hypot(*step.T))])
        at = (np.arange(TURNS) + 0.5) / TURNS * length[-1]
        angle = np.arctan2(step[:, 1], step[:, 0])
        return angle[np.clip(np.searchsorted(length, at, side="right") - 1, 0, len(step) - 1)]

    bank = np.array([angles(p) for p in library.profiles])
    return lambda outline: np.linalg.norm(bank - angles(outline), axis=1)


def warping(library: Contours, *, sized: bool) -> Distance:
    """Dynamic time warping of half-widths over height (dtaidistance, compiled), in mm or over the height."""

    def series(table: FloatArray, height: FloatArray | float) -> FloatArray:
        return table if sized else table / np.asarray(height)[..., None]

    bank = np.ascontiguousarray(series(library.table, library.heights))

    def distance(outline: FloatArray) -> FloatArray:
        own = np.ascontiguousarray(series(read(outline), float(outline[-1, 0] - outline[0, 0])))
        return np.array([dtw.distance_fast(own, row, window=DTW_WINDOW) for row in bank])

    return distance


def closest_points(library: Contours) -> Distance:
    """
    Iterative closest points with a free size and height (Besl and McKay 1992; the axis is known, so nothing turns).

    Starts at the size that makes the heights agree; the mean squared distance at the end, over the squared size.
    """
    targets = [
        np.column_stack([row, np.linspace(0.0, h, HEIGHTS)])
        for row, h in zip(library.table, library.heights, strict=True)
    ]
    trees = [KDTree(target) for target in targets]

    def distance(outline: FloatArray) -> FloatArray:
        height = float(outline[-1, 0] - outline[0, 0])
        own = np.column_stack([read(outline), np.linspace(0.0, height, HEIGHTS)])
        ends = np.empty(len(trees))
        for i, (tree, target) in enumerate(zip(trees, targets, strict=True)):
            size, lift = library.heights[i] / height, 0.0
            for _ in range(CLOSEST_ROUNDS):
                moved = own * size + [0.0, lift]
                gap, nearest = tree.query(moved)
                size, lift = similarity(own, target[nearest])
            ends[i] = np.mean(gap**2) / size**2
        return ends

    return distance


def similarity(own: FloatArray, other: FloatArray) -> tuple[float, float]:
    """Size and lift that lay points (half-width, height) best onto others, the axis kept."""
    r, z = own.T
    count = len(own)
    middle = float(z.mean())
    over = float((r**2).sum() + ((z - middle) ** 2).sum())
    size = float((r * other[:, 0]).sum() + ((z - middle) * other[:, 1]).sum()) / over
    return size, float(other[:, 1].sum() / count - size * middle)


def least_squares(library: Contours, *, sized: bool) -> Distance:
    """Half-widths over relative height, with the size taken out or (sized) in mm without any freedom."""
    heights = library.heights[:, None]
    bank = library.table if sized else library.table / heights

    def distance(outline: FloatArray) -> FloatArray:
        own = read(outline) if sized else read(outline) / float(outline[-1, 0] - outline[0, 0])
        size = 0.0 if not sized else (library.heights - float(outline[-1, 0] - outline[0, 0])) ** 2
        return np.asarray(((bank - own) ** 2).mean(axis=1) + size)

    return distance


def offset_and_scale(library: Contours) -> Distance:
    """Least squares over relative height with a free offset and a free scale of the half-width."""
    centred = library.table - library.table.mean(axis=1, keepdims=True)
    square = (centred**2).sum(axis=1)

    def distance(outline: FloatArray) -> FloatArray:
        own = read(outline)
        own = own - own.mean()
        along = centred @ own
        return np.asarray((own**2).sum() - along**2 / square)

    return distance


def after_adding(library: Contours, *, free_scale: bool) -> Distance:
    """
    Least squares in mm against every form grown by 3 mm along its normals, base and lip included.

    With ``free_scale`` each form may be made up to 6 % larger or smaller first, by what fits best.
    """
    count = 4 * (HEIGHTS - 1) + 1
    table = np.array([read(p, count) for p in library.profiles])
    step = library.heights / (count - 1)
    grown = swollen(table, step, np.full(len(table), COVER_MM))
    tops = library.heights + 2.0 * COVER_MM
    scales = np.linspace(0.94, 1.06, 13) if free_scale else np.ones(1)

    def distance(outline: FloatArray) -> FloatArray:
        z = np.linspace(0.0, float(outline[-1, 0] - outline[0, 0]), HEIGHTS)
        own = read(outline)
        best = np.full(len(tops), np.inf)
        for scale in scales:
            share = (z[None, :] / scale - COVER_MM) / library.heights[:, None]
            place = np.clip(share, 0.0, 1.0) * (count - 1)
            index = np.minimum(place.astype(int), count - 2)
            low = np.take_along_axis(grown, index, axis=1)
            high = np.take_along_axis(grown, index + 1, axis=1)
            shown = (low + (place - index) * (high - low)) * scale
            shown[z[None, :] > scale * tops[:, None]] = 0.0
            beyond = np.maximum(scale * tops - z[-1], 0.0) / z[-1]  # a form that stands higher than the piece
            best = np.minimum(best, ((shown - own) ** 2).mean(axis=1) + beyond * (own[-1] ** 2))
        return best

    return distance


def methods(library: Contours) -> dict[str, list[Distance]]:
    """Every peer by name, each with the ways it is commonly used."""
    return {
        "contour moments (OpenCV)": [moments(library, kind) for kind in (1, 2, 3)],
        "elliptical Fourier descriptors": [fourier(library, sized=sized) for sized in (True, False)],
        "turning function": [turning(library)],
        "dynamic time warping": [warping(library, sized=sized) for sized in (True, False)],
        "iterative closest points": [closest_points(library)],
        "least squares": [least_squares(library, sized=sized) for sized in (True, False)],
        "least squares, free offset and scale": [offset_and_scale(library)],
        "least squares after adding 3 mm": [after_adding(library, free_scale=free) for free in (False, True)],
    }
