"""A netted bottle of glass: strands and glass next to each other, which outlines by colour come apart on."""

from __future__ import annotations

from functools import cache

import cv2
import numpy as np

from tests.photos.projector import BOTTLE, FINER, Shot
from weftglass.photos import Photograph, trace_outline
from weftglass.photos.appearance import features_of
from weftglass.photos.graph_cut import cut_about, symmetric_within
from weftglass.photos.stage import Stage
from weftglass.photos.symmetric import SymmetricOutline

SHOT = Shot(700, 190, tilt_deg=5, focal_px=1100, size=(600, 800))


@cache
def silhouette() -> np.ndarray:
    return SHOT.mask(BOTTLE)[FINER // 2 :: FINER, FINER // 2 :: FINER] > 0


@cache
def netted() -> Photograph:
    """Green glass, lighter in its middle, under a net of strands of two colours, before a grey ground that darkens."""
    width, height = SHOT.size
    chance = np.random.default_rng(4)
    y, x = np.mgrid[0:height, 0:width].astype(float)
    ground = (105 + 12 * y / height)[:, :, None] * np.array([0.98, 1.0, 1.06])
    through = 0.5 + 0.3 * np.exp(-(((x - np.mean(np.nonzero(silhouette())[1])) / 40) ** 2))
    glass = through[:, :, None] * np.array([100.0, 140.0, 45.0])
    for colour, slope in (((190.0, 80.0, 50.0), 1.0), ((50.0, 70.0, 150.0), -1.0)):
        strand = (x + slope * y) % 56 < 14
        glass = np.where(strand[:, :, None], colour, glass)
    share = cv2.resize(SHOT.mask(BOTTLE), SHOT.size, interpolation=cv2.INTER_AREA).astype(float)[:, :, None] / 255
    canvas = ground * (1 - share) + glass * share + chance.normal(0, 2.0, (height, width, 3))
    pixels = np.clip(cv2.GaussianBlur(canvas, (0, 0), 0.7), 0, 255).astype(np.uint8)
    return Photograph(pixels, SHOT.focal_35mm)


def everywhere() -> np.ndarray:
    return np.ones(silhouette().shape, dtype=bool)


def body() -> np.ndarray:
    """What is woven over: the silhouette below its neck."""
    y = np.arange(silhouette().shape[0])[:, None]
    return silhouette() & (y > SHOT.pixel(np.array(0.0), np.array(185.0), np.array(0.0))[1])


def overlap(mask: np.ndarray, true: np.ndarray) -> float:
    sized = cv2.resize(mask.astype(np.uint8), true.shape[::-1], interpolation=cv2.INTER_NEAREST) > 0
    return float((sized & true).sum() / (sized | true).sum())


def test_cut_about_finds_the_whole_piece_from_its_body() -> None:
    cut = cut_about(netted().pixels, everywhere(), body())
    assert cut is not None
    assert overlap(cut, silhouette()) > 0.96


def test_cut_about_is_the_same_whatever_was_drawn_by_chance_before() -> None:
    cv2.setRNGSeed(1)
    first = cut_about(netted().pixels, everywhere(), body())
    cv2.setRNGSeed(2)
    second = cut_about(netted().pixels, everywhere(), body())
    assert first is not None
    assert second is not None
    np.testing.assert_array_equal(first, second)


def test_cut_about_is_none_where_there_is_next_to_no_body() -> None:
    assert cut_about(netted().pixels, everywhere(), ~everywhere()) is None
    speck = ~everywhere()
    speck[400:404, 300:304] = True
    assert cut_about(netted().pixels, everywhere(), speck) is None


def test_cut_about_is_none_where_the_piece_goes_on_beyond_what_may_be_looked_at() -> None:
    inside = everywhere()
    inside[:, : int(np.nonzero(silhouette())[1].mean())] = False
    assert cut_about(netted().pixels, inside, body()) is None


def stage() -> Stage:
    features = features_of(netted().pixels)
    unknown = np.zeros(features.shape, dtype=np.float32)
    return Stage(features, unknown, unknown, 1.0, 0.0, SymmetricOutline(0.0, np.zeros(len(unknown), np.int32), 0.0))


def test_symmetric_within_leaves_a_shadow_on_one_side_out() -> None:
    cut = silhouette().copy()
    y, x = np.nonzero(cut)
    cut[y.max() - 20 : y.max(), x.max() : x.max() + 40] = True
    found = symmetric_within(cut, stage(), everywhere())
    assert found is not None
    assert 2 * found.outline.half_width.max() < np.ptp(x) + 6
    assert abs(found.outline.rows[0] - y.min()) < 6


def test_symmetric_within_is_none_for_half_a_piece_or_for_nothing() -> None:
    half = silhouette().copy()
    y, x = np.nonzero(half)
    half[: int(y.mean()), : int(x.mean())] = False
    assert symmetric_within(half, stage(), everywhere()) is None
    assert symmetric_within(~everywhere(), stage(), everywhere()) is None


def test_trace_outline_finds_a_netted_bottle_of_glass() -> None:
    found = trace_outline(netted())
    assert overlap(found.mask, silhouette()) > 0.965
    assert found.warnings == ()
