"""How much each pixel looks like the piece or like what is behind it: colour, texture, edges."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.photos.decode import Pixels

Map = NDArray[np.float32]
BoolArray = NDArray[np.bool_]

LOG_ODDS_LIMIT = 3.0
BINS = (20, 16, 16, 6)
"""Bins of lightness, the two chroma axes and roughness in the colour histograms."""


@dataclass(frozen=True, eq=False)
class Features:
    """
    Of a picture (h, w): colour `lab` (h, w, 3) in CIE L*a*b* units and its roughness.

    Roughness (h, w) is the local standard deviation of lightness. All else is worked out when it is first asked for.
    """

    lab: Map
    rough: Map

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return int(self.lab.shape[0]), int(self.lab.shape[1])

    @cached_property
    def soft(self) -> Map:
        """The colour smoothed (h, w, 3)."""
        spread = max(1.5, max(self.shape) / 160)
        return np.asarray(cv2.GaussianBlur(self.lab, (0, 0), spread), dtype=np.float32)

    @cached_property
    def borders(self) -> tuple[Map, Map]:
        """Strength (0 to 1) of upright edges beyond which the picture is calm on the left, and on the right."""
        return _border_strength(self.lab, self.rough)

    @cached_property
    def level(self) -> Map:
        """Strength of level edges, 0 to 1."""
        return _edge_strength(self.lab, self.rough)

    @cached_property
    def edge(self) -> Map:
        """The strongest edge of any direction."""
        return np.maximum(np.maximum(*self.borders), self.level)

    @cached_property
    def colour_bin(self) -> NDArray[np.intp]:
        """Where each pixel's colour falls among the first three of `BINS`, counted as one number."""
        light = np.clip(self.lab[:, :, 0] / 100.0 * BINS[0], 0, BINS[0] - 1).astype(np.intp)
        a, b = (np.clip((self.lab[:, :, i] + 64.0) / 128.0 * BINS[i], 0, BINS[i] - 1).astype(np.intp) for i in (1, 2))
        return np.asarray((light * BINS[1] + a) * BINS[2] + b)


def lab_of(pixels: Pixels) -> Map:
    """CIE L*a*b* (h, w, 3) of a picture (h, w, 3), uint8, red, green, blue; L* from 0 to 100."""
    return np.asarray(cv2.cvtColor(pixels.astype(np.float32) / 255.0, cv2.COLOR_RGB2LAB), dtype=np.float32)


def features_of(pixels: Pixels) -> Features:
    """Colour, roughness and edges of a picture (h, w, 3), uint8, red, green, blue."""
    lab = lab_of(np.asarray(cv2.GaussianBlur(pixels, (0, 0), 0.8), dtype=np.uint8))
    light = lab[:, :, 0]
    window = (7, 7)
    mean, square = cv2.blur(light, window), cv2.blur(light * light, window)
    return Features(lab, np.sqrt(np.maximum(square - mean * mean, 0.0)).astype(np.float32))


def _layers(lab: Map, rough: Map) -> list[tuple[Map, float, float]]:
    """What edges are looked for in: layer, weight, and its least spread over a calm place."""
    return [(lab[:, :, 0], 1.0, 1.0), (lab[:, :, 1], 1.4, 0.6), (lab[:, :, 2], 1.4, 0.6), (rough, 1.5, 0.5)]


def _edge_strength(lab: Map, rough: Map) -> Map:
    """
    Level edges: fine gradient and coarse step together, 0 to 1.

    A weave is full of fine edges; only at its border do the mean colours or the roughness of the two sides differ. A
    glass edge is a fine line with the same wall on both sides. Either makes an edge, both together the best.
    """
    fine = np.zeros(lab.shape[:2], dtype=np.float32)
    for channel, weight in ((0, 1.0), (1, 1.4), (2, 1.4)):
        fine = np.maximum(fine, weight * np.abs(cv2.Scharr(lab[:, :, channel], cv2.CV_32F, 0, 1)) / 32.0)
    reach = 7
    coarse = np.zeros_like(fine)
    shift = (reach + 1) // 2
    for layer, weight, _ in _layers(lab, rough):
        mean = cv2.blur(layer, (3, reach))
        coarse += (weight * (np.roll(mean, -shift, 0) - np.roll(mean, shift, 0))) ** 2
    strength = 0.5 * _saturating(fine, 1.2) + 0.5 * _saturating(np.sqrt(coarse), 5.0)
    strength[: reach + 1], strength[-reach - 1 :] = 0.0, 0.0
    # The edge of a table or shelf runs on behind the piece: what most of a row has is no end of anything.
    through = np.median(strength, axis=1, keepdims=True)
    return np.asarray(np.maximum(strength - through, 0.0) / (1.0 - through), dtype=np.float32)


def _border_strength(lab: Map, rough: Map) -> tuple[Map, Map]:
    """
    Upright edges, 0 to 1, with a calm place to the left and to the right of them.

    A step from inside to outside is measured against the spread outside: on a calm wall a faint line is an edge (clear
    glass, dark glass before a dark wall), within a weave a strong one is none.
    """
    fine = np.zeros(lab.shape[:2], dtype=np.float32)
    for channel, weight in ((0, 1.0), (1, 1.4), (2, 1.4)):
        fine = np.maximum(fine, weight * np.abs(cv2.Scharr(lab[:, :, channel], cv2.CV_32F, 1, 0)) / 32.0)
    fine = _saturating(fine, 1.2)
    left, right = (np.asarray(0.4 * fine + 0.6 * step, dtype=np.float32) for step in _steps(lab, rough))
    return left, right


NEAR, FAR, TALL = 5, 11, 7
CALM = 3.0
"""A step of so many spreads of the outside is half an edge."""


def _steps(lab: Map, rough: Map) -> tuple[Map, Map]:
    """Steps out of the piece to a calm left and to a calm right, 0 to 1."""
    totals = [np.zeros(lab.shape[:2], dtype=np.float32) for _ in range(2)]
    inner, outer = NEAR // 2 + 1, FAR // 2 + 1
    for layer, weight, least in _layers(lab, rough):
        near = cv2.blur(layer, (NEAR, TALL))
        far, square = cv2.blur(layer, (FAR, TALL)), cv2.blur(layer * layer, (FAR, TALL))
        spread = np.maximum(square - far * far, 0.0)
        for total, outward in zip(totals, (-1, 1), strict=True):
            within = np.roll(near, outward * inner, axis=1)
            beyond, noise = (np.roll(one, -outward * outer, axis=1) for one in (far, spread))
            total += weight * (within - beyond) ** 2 / (least**2 + noise)
    rim = FAR + 1
    for total in totals:
        total /= total + CALM**2
        total[:, :rim], total[:, -rim:] = 0.0, 0.0
    return totals[0], totals[1]


def sharp_edges(features: Features) -> Map:
    """Fine gradient of colour in any direction, 0 to 1: its ridge lies on the edge itself, to a pixel."""
    steepest = np.zeros(features.shape, dtype=np.float32)
    for channel, weight in ((0, 1.0), (1, 1.4), (2, 1.4)):
        layer = features.lab[:, :, channel]
        across, down = (cv2.Scharr(layer, cv2.CV_32F, *order) / 32.0 for order in ((1, 0), (0, 1)))
        steepest = np.maximum(steepest, weight * np.hypot(across, down))
    return np.asarray(steepest / (steepest + max(2.5, 2.5 * float(np.median(steepest)))), dtype=np.float32)


def _saturating(values: Map, half: float) -> Map:
    floor = max(half, 2.5 * float(np.median(values)))
    return np.asarray(values**2 / (values**2 + floor**2), dtype=np.float32)


def unlike_the_border(features: Features, inside: BoolArray) -> Map:
    """
    First guess: log odds (-1 to 3) that a pixel belongs to the piece, by how unlike the edge of the picture it is.

    Each row is compared with the left and right margin of the same row (table and wall differ), and with the margins
    as a whole. A pixel of the margin's hue that is only darker counts less: a shadow.

    Parameters
    ----------
    features : Features
    inside : array, shape (h, w)
        Where the piece may be (a box a person drew); the rest serves as margin.
    """
    height, width = features.shape
    columns = np.flatnonzero(inside.any(axis=0))
    x0, x1 = int(columns[0]), int(columns[-1])
    strip = max(3, (x1 - x0 + 1) // 14)
    left = _margin(features, slice(max(0, x0 - strip // 2), x0 + strip))
    right = _margin(features, slice(x1 + 1 - strip, min(width, x1 + 1 + strip // 2)))
    distance = np.full((height, width), np.inf, dtype=np.float32)
    ramp = np.linspace(0.0, 1.0, width, dtype=np.float32)[None, :, None]
    between = left[:, None, :] * (1 - ramp) + right[:, None, :] * ramp
    for reference in (between, left[:, None, :], right[:, None, :]):
        distance = np.minimum(distance, _distance(features, reference))
    spread = float(np.median(distance[:, np.r_[x0 : x0 + strip, x1 + 1 - strip : x1 + 1]]))
    return np.asarray(np.clip(distance / max(4.0 * spread, 9.0) - 1.0, -1.0, LOG_ODDS_LIMIT), dtype=np.float32)


def _margin(features: Features, columns: slice) -> Map:
    """Colour and roughness of a margin, row by row, smoothed down the picture: (h, 4)."""
    layers = np.dstack([features.lab[:, columns], features.rough[:, columns, None]])
    rows = np.median(layers, axis=1).astype(np.float32)
    return np.asarray(cv2.GaussianBlur(rows, (1, 0), sigmaX=0.01, sigmaY=max(1.0, len(rows) / 100)), dtype=np.float32)


SHADE = 0.15
"""What a pixel that is only darker than the margin, as in a shadow, counts of its difference in lightness."""

DEEPEST = 0.55
"""A shadow leaves at least this share of L* + 16 (an eighth of the light and more); what is darker is a thing."""


def _distance(features: Features, reference: Map) -> Map:
    """
    How unlike a reference pixels are, in units of L*a*b*.

    Light dimmed by a factor moves L* + 16, a* and b* by one and the same factor (the cube root of it), so a shadow is
    told from a darker thing by its colour, and from a weave by its calm.
    """
    light, least = features.lab[:, :, 0] + 16.0, reference[:, :, 0] + 16.0
    dimmed = np.clip(light / least, DEEPEST, 1.0)
    darker = light - dimmed * least
    shade = SHADE * (1.0 - dimmed) * least
    chroma = sum((features.lab[:, :, k] - dimmed * reference[:, :, k]) ** 2 for k in (1, 2))
    rough = np.maximum(features.rough - reference[:, :, 3], 0.0)
    return np.asarray(np.sqrt((np.abs(darker) + shade) ** 2 + 2.0 * chroma + 2.0 * rough**2), dtype=np.float32)


def log_odds(
    features: Features, piece: BoolArray, ground: BoolArray, *, trust: Map | None = None, by_roughness: bool = True
) -> Map:
    """
    Log odds (-3 to 3) of each pixel by histograms of colour and roughness of two sets of pixels.

    Roughness tells a weave from a wall of its own colour, but reaches a few pixels beyond the edge; without it the
    border between likely and unlikely lies on the edge.

    Parameters
    ----------
    features : Features
    piece, ground : array, shape (h, w)
        Pixels taken for the piece and for what is behind it.
    trust : array, shape (h, w), optional
        How much each pixel counts, 0 to 1. Default: all count 1.
    by_roughness : bool
    """
    index = bin_of(features, by_roughness)
    counts = []
    for members in (piece, ground):
        weights = None if trust is None else trust[members]
        count = np.bincount(index[members], weights, minlength=int(np.prod(BINS))).astype(np.float32).reshape(BINS)
        for axis in range(4):
            count = _spread_bins(count, axis)
        counts.append(count.ravel() / max(count.sum(), 1.0))
    floor = 0.3 / np.prod(BINS)
    odds = np.log((counts[0] + floor) / (counts[1] + floor))
    picture = cv2.GaussianBlur(odds[index].astype(np.float32), (0, 0), 1.0 if by_roughness else 0.7)
    return np.asarray(np.clip(picture, -LOG_ODDS_LIMIT, LOG_ODDS_LIMIT), dtype=np.float32)


def bin_of(features: Features, by_roughness: bool) -> NDArray[np.intp]:
    if not by_roughness:
        return np.asarray(features.colour_bin * BINS[3] + BINS[3] // 2)
    rough = np.clip(np.log2(features.rough + 1.0) / 4.0 * BINS[3], 0, BINS[3] - 1).astype(np.intp)
    return np.asarray(features.colour_bin * BINS[3] + rough)


def _spread_bins(count: Map, axis: int) -> Map:
    """A little of each bin into its neighbours, so that few pixels fill a histogram."""
    before, after = np.roll(count, 1, axis), np.roll(count, -1, axis)
    for moved, end in ((before, 0), (after, -1)):
        edge: list[slice | int] = [slice(None)] * 4
        edge[axis] = end
        moved[tuple(edge)] = 0.0
    return np.asarray(0.5 * count + 0.25 * before + 0.25 * after, dtype=np.float32)
