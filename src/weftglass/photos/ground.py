"""Whether a pixel differs from what stands beside the piece at its own height: clear glass, dark necks."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.photos.appearance import SHADE, Features, Map

FloatArray = NDArray[np.float64]

LEAST = (0.9, 0.6, 0.6, 0.5)
"""Least spread of lightness, the two chroma axes and roughness on a calm wall, L*a*b* units: noise, JPEG."""

NOTHING, SOMETHING = 2.3, 4.8
"""Of so many spreads a difference says nothing, or speaks for the piece with log odds of 1."""

LOW, HIGH = -0.6, 1.5
DEEPEST = 0.35
"""Where the piece stands a shadow may leave as little as this share of L* + 16, a twentieth of the light."""

TINT = 12.0
"""Spread that a full shadow adds to the chroma: what stands in it throws its own colour on the ground."""

RESTLESS = 4.0
"""A ground with so many times the least spread tells half as much."""


def unlike_ground(
    features: Features, left: FloatArray, right: FloatArray, *, gap_px: float, strip_px: float, shaded_from: float = 0.6
) -> Map:
    """
    Log odds (-0.6 to 1.5) of each pixel by how unlike the ground beside the piece it is, left and right on their own.

    Parameters
    ----------
    features : Features
        Of a picture (h, w).
    left, right : array, shape (h,)
        Column of the piece's borders, for every row; outside the piece's own rows, where they would be.
    gap_px, strip_px : float
        The ground is taken from a strip this wide, beginning this far outside the border.
    shaded_from : float
        Share of the rows of the picture below which what is only darker may be a shadow.

    Returns
    -------
    array, shape (h, w)
        0 where the strip lies outside the picture or is itself too restless to tell.
    """
    height, width = features.shape
    smooth = np.asarray(cv2.GaussianBlur(features.lab, (0, 0), 0.9), dtype=np.float32)
    layers: list[Map] = [smooth[:, :, 0], smooth[:, :, 1], smooth[:, :, 2], features.rough]
    shade = (np.arange(height) >= shaded_from * height)[:, None]
    odds = np.zeros((height, width), dtype=np.float32)
    middle = np.clip(np.round((left + right) / 2).astype(int), 0, width - 1)
    columns = np.arange(width)[None, :]
    for start, stop, mine in (
        (left - gap_px - strip_px, left - gap_px, columns <= middle[:, None]),
        (right + gap_px, right + gap_px + strip_px, columns > middle[:, None]),
    ):
        first = np.clip(np.round(start).astype(int), 0, width)
        last = np.clip(np.round(stop).astype(int), 0, width)
        enough = (last - first >= 4).astype(np.float32)
        mean, spread = zip(*(_strip(layer, first, last) for layer in layers), strict=True)
        away = _away(layers, mean, spread, shade)
        restless = sum((s / (RESTLESS * least)) ** 2 for s, least in zip(spread, LEAST, strict=True)) / len(LEAST)
        told = (away - NOTHING) / (SOMETHING - NOTHING)
        odds = np.where(mine, np.clip(told, LOW, HIGH) * (enough / (1.0 + restless))[:, None], odds)
    return np.asarray(odds, dtype=np.float32)


def _strip(layer: Map, first: NDArray[np.intp], last: NDArray[np.intp]) -> tuple[Map, Map]:
    """Mean and spread of a layer between two columns of each row, smoothed down the rows."""
    count = last - first
    along = np.arange(max(1, int(count.max())))
    within = along < count[:, None]
    columns = np.minimum(first[:, None] + along, layer.shape[1] - 1)
    values = np.where(within, np.take_along_axis(layer, columns, axis=1), np.float32(0.0))
    mean, square = (
        _down((taken.sum(axis=1, dtype=np.float64) / np.maximum(count, 1)).astype(np.float32))
        for taken in (values, values * values)
    )
    return mean, np.sqrt(np.maximum(square - mean * mean, 0.0))


def _down(values: Map) -> Map:
    return np.asarray(cv2.GaussianBlur(values[:, None], (1, 0), sigmaX=0.01, sigmaY=2.5)[:, 0], dtype=np.float32)


def _away(layers: list[Map], mean: tuple[Map, ...], spread: tuple[Map, ...], shade: NDArray[np.bool_]) -> Map:
    """Distance of each pixel from the ground of its row, in spreads; a mere shadow is near."""
    light, ground = layers[0] + 16.0, mean[0][:, None] + 16.0
    dimmed = np.where(shade, np.clip(light / ground, DEEPEST, 1.0), 1.0)
    total = ((np.abs(light - dimmed * ground) + SHADE / 2 * (1.0 - dimmed) * ground) ** 2) / (
        spread[0][:, None] ** 2 + LEAST[0] ** 2
    )
    tinted = (TINT * (1.0 - dimmed)) ** 2
    for k in (1, 2):
        total += (layers[k] - dimmed * mean[k][:, None]) ** 2 / (spread[k][:, None] ** 2 + LEAST[k] ** 2 + tinted)
    rough = np.maximum(layers[3] - mean[3][:, None], 0.0)
    total += rough**2 / (spread[3][:, None] ** 2 + LEAST[3] ** 2)
    return np.asarray(np.sqrt(total), dtype=np.float32)
