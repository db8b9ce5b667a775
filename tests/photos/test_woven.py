"""The woven body of a piece among things that are larger, brighter or more colourful, but bare of fine detail."""

from __future__ import annotations

from functools import cache

import cv2
import numpy as np

from tests.photos.projector import BOTTLE, FINER, Shot
from weftglass.photos import Photograph, trace_outline
from weftglass.photos.woven import core_of, woven_body

SHOT = Shot(700, 190, tilt_deg=5, focal_px=1100, size=(700, 933))
WOVEN_TO_MM = 185.0


@cache
def silhouette() -> np.ndarray:
    return SHOT.mask(BOTTLE)[FINER // 2 :: FINER, FINER // 2 :: FINER] > 0


def on_a_dark_shelf(light: float = 1.0) -> np.ndarray:
    """
    A dark bottle under a net of dark strands on a dark shelf, pale books to the right of it, uint8.

    Its left half lies in shadow, the less light the deeper.
    """
    width, height = SHOT.size
    chance = np.random.default_rng(8)
    y, x = np.mgrid[0:height, 0:width].astype(float)
    shelf = np.full((height, width, 3), 24.0) * np.array([0.8, 0.9, 1.2])
    for left, wide, top, colour in ((470, 70, 250, (190, 170, 130)), (540, 90, 150, (200, 180, 140))):
        shelf[top : height - 180, left : left + wide] = colour
    shelf[height - 180 :] = (70, 45, 30)
    middle = float(np.nonzero(silhouette())[1].mean())
    shade = np.where(x < middle, light, 1.0)[:, :, None]
    glass = np.full((height, width, 3), 20.0) * np.array([0.9, 1.2, 0.9])
    row = SHOT.pixel(np.array(0.0), np.array(WOVEN_TO_MM), np.array(0.0))[1]
    strands = ((x + y) % 22 < 7) | ((x - y) % 22 < 7)
    piece = np.where((strands & (y > row))[:, :, None], np.array([75.0, 55.0, 40.0]), glass) * shade
    share = cv2.resize(SHOT.mask(BOTTLE), SHOT.size, interpolation=cv2.INTER_AREA).astype(float)[:, :, None] / 255
    sharp = cv2.GaussianBlur(shelf, (0, 0), 3.0) * (1 - share) + piece * share + chance.normal(0, 1.0, shelf.shape)
    return np.clip(cv2.GaussianBlur(sharp, (0, 0), 0.7), 0, 255).astype(np.uint8)


def body_in(pixels: np.ndarray) -> np.ndarray | None:
    found = woven_body(pixels, np.ones(pixels.shape[:2], dtype=bool))
    if found is None:
        return None
    return cv2.resize(found.astype(np.uint8), SHOT.size, interpolation=cv2.INTER_NEAREST) > 0


def test_woven_body_is_the_netted_part_and_none_of_the_books() -> None:
    for light in (1.0, 0.6):
        found = body_in(on_a_dark_shelf(light))
        assert found is not None
        assert np.mean(silhouette()[found]) > 0.8
        middle = np.nonzero(found)[1].mean()
        assert abs(middle - np.nonzero(silhouette())[1].mean()) < 0.06 * np.ptp(np.nonzero(silhouette())[1])


def test_core_of_a_body_lies_within_the_piece() -> None:
    found = woven_body(on_a_dark_shelf(), np.ones(silhouette().shape, dtype=bool))
    assert found is not None
    core = cv2.resize(core_of(found).astype(np.uint8), SHOT.size, interpolation=cv2.INTER_NEAREST) > 0
    assert core.sum() > 0.3 * silhouette().sum()
    assert np.mean(silhouette()[core]) > 0.99


def test_woven_body_is_none_where_nothing_is_fine_or_everything_is() -> None:
    flat = np.full((*silhouette().shape, 3), 128, dtype=np.uint8)
    assert body_in(flat) is None
    noise = np.random.default_rng(5).integers(0, 255, flat.shape).astype(np.uint8)
    assert body_in(noise) is None


def test_woven_body_stays_within_a_box() -> None:
    inside = np.zeros(silhouette().shape, dtype=bool)
    inside[:, 460:] = True  # the books alone
    found = woven_body(on_a_dark_shelf(), inside)
    assert found is None or not found[:, : found.shape[1] // 2].any()


def test_trace_outline_finds_the_netted_bottle_and_not_the_books() -> None:
    found = trace_outline(Photograph(on_a_dark_shelf(), SHOT.focal_35mm))
    both = (found.mask & silhouette()).sum() / (found.mask | silhouette()).sum()
    assert both > 0.94
    assert found.warnings == ()
