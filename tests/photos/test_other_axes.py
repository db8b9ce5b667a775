"""Half a piece that was found by itself is exchanged for the whole, which lies about another axis."""

from __future__ import annotations

from functools import cache

import numpy as np

from weftglass.photos import Photograph, Silhouette
from weftglass.photos.patches import filled
from weftglass.photos.rows import dense
from weftglass.photos.searches import about_other_axes

MIDDLE, TOP, FOOT = 330, 200, 760


@cache
def photo() -> Photograph:
    """A pale body with a dark neck, its left lit, on a brown table before a dark wall."""
    chance = np.random.default_rng(6)
    canvas = np.full((900, 640, 3), (46.0, 50.0, 48.0))
    canvas[560:] = (150.0, 118.0, 84.0)
    y, x = np.mgrid[0:900, 0:640]
    lit = 1.0 + 0.12 * np.clip((MIDDLE - x) / 110, -1, 1)
    woven = (200.0 + 22.0 * np.sign(np.sin(x * 0.8) * np.sin(y * 0.8)))[..., None] * (1.0, 0.86, 0.66) * lit[..., None]
    canvas = np.where(piece()[..., None], np.where((y < 340)[..., None], (40.0, 52.0, 44.0), woven), canvas)
    return Photograph(np.clip(canvas + chance.normal(0, 2, canvas.shape), 0, 255).astype(np.uint8))


@cache
def piece() -> np.ndarray:
    half = np.interp(np.arange(900), [TOP, 320, 390, FOOT - 30, FOOT], [26, 26, 110, 105, 90])
    mask = np.abs(np.arange(640)[None, :] - MIDDLE) < half[:, None]
    mask[:TOP], mask[FOOT:] = False, False
    return mask


def found_as(left: float, right: float, confidence: float) -> Silhouette:
    """A box from one column to another that was taken for the piece."""
    polygon = dense(np.array([[left, 350.0], [right, 350.0], [right, FOOT], [left, FOOT]]), 400)
    return Silhouette(polygon, filled(polygon, (900, 640)), confidence)


def overlap(found: Silhouette) -> float:
    return float((found.mask & piece()).sum() / (found.mask | piece()).sum())


def test_the_whole_piece_is_found_from_its_left_or_right_half() -> None:
    everywhere = np.ones((900, 640), dtype=bool)
    for left, right in ((MIDDLE - 105, MIDDLE), (MIDDLE, MIDDLE + 105)):
        before = found_as(left, right, 0.4)
        assert overlap(before) < 0.5
        assert overlap(about_other_axes(photo(), everywhere, before)) > 0.96


def test_the_outline_stays_where_no_other_is_surer() -> None:
    """Nothing else stands there: what lies about other axes is no piece."""
    before = found_as(MIDDLE - 105, MIDDLE + 105, 0.46)
    alone = np.zeros((900, 640), dtype=bool)
    alone[340:, MIDDLE - 120 : MIDDLE + 120] = True
    plain = Photograph(np.full((900, 640, 3), 120, dtype=np.uint8))
    assert about_other_axes(plain, alone, before) is before
