"""Fine detail of a picture held against its light: the same in the shade, next to none where there is but an edge."""

from __future__ import annotations

from functools import cache

import cv2
import numpy as np
import pytest

from tests.photos.projector import BOTTLE, FINER, Shot
from weftglass.photos import Photograph
from weftglass.photos.fine_detail import edges_against_light, gathered, in_three_widths, with_chroma
from weftglass.photos.searches import by_colours, by_detail, by_edges
from weftglass.photos.woven import woven_body

SHOT = Shot(500, 175, tilt_deg=5, focal_px=1100, size=(700, 933))
WOVEN_TO_MM = 185.0


@cache
def silhouette() -> np.ndarray:
    return SHOT.mask(BOTTLE)[FINER // 2 :: FINER, FINER // 2 :: FINER] > 0


def checked(light: float) -> np.ndarray:
    """Checks of two greys on the left, one grey on the right, in so much light, uint8."""
    y, x = np.mgrid[0:400, 0:500]
    fine = np.where((x // 6 + y // 6) % 2 == 0, 190.0, 120.0)
    grey = np.where(x < 250, fine, 155.0)[:, :, None].repeat(3, axis=2) * light
    return np.clip(grey + np.random.default_rng(2).normal(0, 0.5, grey.shape), 0, 255).astype(np.uint8)


def before_books(light: float = 0.3) -> np.ndarray:
    """
    A dark green bottle, woven over below its neck, in dim light; behind its neck a gap between two books, uint8.

    The gap is twice as wide as the neck, and its sides are stronger edges. A cloth of the weave's colour hangs beside.
    """
    width, height = SHOT.size
    y, x = np.mgrid[0:height, 0:width].astype(float)
    middle = float(np.nonzero(silhouette())[1].mean())
    rows = np.nonzero(silhouette())[0]
    top, table = int(rows.min()), int(rows.max()) - 70
    row = SHOT.pixel(np.array(0.0), np.array(WOVEN_TO_MM), np.array(0.0))[1]
    ground = np.full((height, width, 3), 60.0)
    half = 2.2 * float(np.count_nonzero(silhouette()[top + 60])) / 2
    for left, right, colour in ((0.0, middle - half, (90, 130, 110)), (middle + half, width, (80, 120, 150))):
        ground[(x >= left) & (x < right) & (y > top - 6) & (y < table)] = colour
    ground[(np.abs(x - middle) < half) & (y > top - 6) & (y < table)] = (14, 14, 16)
    ground[y >= table] = (150, 140, 130)
    ground[(x > middle + 60) & (x < middle + 260) & (y > table - 260)] = (160, 70, 55)
    streaks = 0.75 + 0.5 * np.sin((x - middle) * 0.45) ** 2
    glass = streaks[:, :, None] * np.array([34.0, 60.0, 28.0])
    weave = np.where(((x // 5 + y // 4) % 2 == 0)[:, :, None], [200.0, 90.0, 70.0], [120.0, 50.0, 40.0])
    piece = np.where((y > row)[:, :, None], weave, glass)
    share = cv2.resize(SHOT.mask(BOTTLE), SHOT.size, interpolation=cv2.INTER_AREA).astype(float)[:, :, None] / 255
    shown = (ground * (1 - share) + piece * share) * light
    noise = np.random.default_rng(8).normal(0, 0.7, shown.shape)
    return np.clip(cv2.GaussianBlur(shown, (0, 0), 0.7) + noise, 0, 255).astype(np.uint8)


def overlap(mask: np.ndarray) -> float:
    return float((mask & silhouette()).sum() / (mask | silhouette()).sum())


def test_edges_against_light_are_nearly_the_same_in_half_the_light() -> None:
    bright, dim = (edges_against_light(checked(light))[40:-40, 40:210].mean() for light in (1.0, 0.5))
    assert bright > 0.5
    assert dim == pytest.approx(bright, rel=0.2)


def test_gathered_leaves_a_weave_and_takes_a_lone_edge_off() -> None:
    edges = edges_against_light(checked(1.0))
    detail = gathered(edges, 2.5, 9)
    lone = np.zeros_like(edges)
    lone[:, 200:202] = 1.0
    ridge = gathered(lone, 2.5, 9)
    assert detail[100:300, 60:190].min() > 0.4
    assert detail[100:300, 300:450].max() < 0.05
    assert ridge.max() < 0.25 * cv2.GaussianBlur(lone, (0, 0), 2.5).max() + 0.1


def test_a_body_is_160_in_pictures_of_detail_whatever_its_light() -> None:
    core = np.zeros((40, 50), dtype=bool)
    core[10:30, 6:19] = True
    for light in (1.0, 0.4):
        shown = in_three_widths(edges_against_light(checked(light)), core)
        assert shown.shape == (400, 500, 3)
        assert np.median(shown[150:250, 80:180].reshape(-1, 3), axis=0) == pytest.approx([160] * 3, abs=12)
        assert shown[150:250, 330:450].max() < 110


def test_pictures_of_detail_without_a_body_and_of_one_colour_are_pictures() -> None:
    nothing = np.zeros((40, 50), dtype=bool)
    flat = np.full((300, 200, 3), 128, dtype=np.uint8)
    edges = edges_against_light(flat)
    for made in (in_three_widths(edges, nothing), with_chroma(edges, nothing, flat)):
        assert made.shape == (300, 200, 3)
        assert made.dtype == np.uint8
        assert np.ptp(made[20:-20, 20:-20, :2]) == 0


def test_with_chroma_tells_smooth_coloured_glass_from_a_grey_wall() -> None:
    picture = np.full((300, 400, 3), 120, dtype=np.uint8)
    picture[:, 200:] = (30, 110, 40)
    shown = with_chroma(edges_against_light(picture), np.zeros((3, 4), dtype=bool), picture)
    assert np.median(shown[:, 220:, 2]) > np.median(shown[:, :180, 2]) + 80


def test_a_dim_neck_before_books_is_found_by_fine_detail_where_colours_and_edges_take_the_gap() -> None:
    photo = Photograph(before_books(), SHOT.focal_35mm)
    everywhere = np.ones(silhouette().shape, dtype=bool)
    body = woven_body(photo.pixels, everywhere)
    assert body is not None
    assert overlap(by_detail(photo, everywhere, body).mask) > 0.95
    assert max(overlap(by(photo, everywhere).mask) for by in (by_colours, by_edges)) < 0.9
