"""Where glass itself is the outer edge: proposed from how rough the surface is, for a person to correct."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.photos.appearance import features_of
from weftglass.photos.decode import Photograph
from weftglass.photos.measure import MeasuredOutline
from weftglass.photos.rows import rows_of, runs

FloatArray = NDArray[np.float64]

LEVELS = 100
ACROSS = 25
SAMPLE_WIDTH_PX = 160.0
"""The widest part of the piece is brought to so many pixels, which shows the weave and hides its fibres."""

LEAST_RATIO = 1.9
"""Body over top roughness below which the two are not told apart (tuned on made-up pictures; no source)."""


@dataclass(frozen=True)
class BareZone:
    """A proposed height range (mm) where glass is the outer edge, with how sure the proposal is, 0 to 1."""

    low_mm: float
    high_mm: float
    confidence: float


def bare_zones(photo: Photograph, measured: MeasuredOutline) -> tuple[BareZone, ...]:
    """
    Propose bare zones, from the top down.

    A weave is rough at every height; a glass lip and neck are smooth between a few highlights. The heights are split
    once, where the roughness above and below differs most; the part above is proposed if it is much smoother.

    Parameters
    ----------
    photo : Photograph
    measured : MeasuredOutline
        On the same photograph.

    Returns
    -------
    tuple of BareZone
        Empty where nothing is smooth, or where everything is: a vessel without a covering is not told from a smooth
        covering, so that is left to the person.
    """
    rough = _roughness(photo, measured)
    levels = np.log(np.maximum(rough, 0.3))
    split, gain = _split(levels)
    if split is None:
        return ()
    smooth, woven = float(np.median(rough[split:])), float(np.median(rough[:split]))
    ratio = woven / max(smooth, 0.3)
    if ratio < LEAST_RATIO:
        return ()
    top = measured.height_mm
    confidence = float(np.clip(gain * min(1.0, np.log(ratio) / np.log(4.0)), 0.0, 0.95))
    return (BareZone(round(split / LEVELS * top, 1), round(top, 1), round(confidence, 2)),)


def propose_bare(photo: Photograph, measured: MeasuredOutline) -> tuple[tuple[float, float], ...]:
    """Height ranges (low, high) in mm proposed as bare; see `bare_zones`."""
    return tuple((zone.low_mm, zone.high_mm) for zone in bare_zones(photo, measured))


def _roughness(photo: Photograph, measured: MeasuredOutline) -> FloatArray:
    """Median roughness of the surface at each of 100 heights from the base up, highlights outvoted."""
    rows = rows_of(measured.polygon_px, LEVELS)
    factor = min(1.0, SAMPLE_WIDTH_PX / float(np.max(rows.right - rows.left)))
    size = (max(16, round(photo.width_px * factor)), max(16, round(photo.height_px * factor)))
    small = np.asarray(cv2.resize(photo.pixels, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)
    features = features_of(small)
    across = np.linspace(0.2, 0.8, ACROSS)
    x = (rows.left[:, None] + across * (rows.right - rows.left)[:, None]) * factor
    y = np.repeat(rows.y[:, None], ACROSS, axis=1) * factor
    values = cv2.remap(features.rough, x.astype(np.float32), y.astype(np.float32), cv2.INTER_LINEAR)
    return np.asarray(np.median(values, axis=1)[::-1], dtype=np.float64)


def _split(levels: FloatArray) -> tuple[int | None, float]:
    """The level that best parts a rough lower from a smooth upper part, and the share of variance it explains."""
    n = len(levels)
    whole = float(np.sum((levels - levels.mean()) ** 2))
    best, best_share = None, 0.0
    for k in range(n // 3, n - 3):
        below, above = levels[:k], levels[k:]
        if below.mean() <= above.mean():
            continue
        left = float(np.sum((below - below.mean()) ** 2) + np.sum((above - above.mean()) ** 2))
        share = 1 - left / whole if whole > 0 else 0.0
        if share > best_share:
            best, best_share = k, share
    if best is None or not runs(levels[best:] < levels[:best].mean(), 3):
        return None, 0.0
    return best, best_share
