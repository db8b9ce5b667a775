"""The piece is found alone: without its shadow, scale bar or table; nothing found is an answer, not an error."""

from __future__ import annotations

from functools import cache

import cv2
import numpy as np
import pytest

from tests.photos.projector import BOTTLE, FINER, Shot
from weftglass.errors import InputError
from weftglass.photos import (
    FoundOutline,
    Photograph,
    Silhouette,
    bare_zones,
    outline_from_photograph,
    propose_bare,
    trace_outline,
)

SHOT = Shot(700, 190, tilt_deg=5, focal_px=1500, size=(700, 933))
BAR_CARD = (500, 420, 560, 700)


@cache
def picture(*, seed: int = 4, bare_from_mm: float = 205.0) -> tuple[Photograph, np.ndarray]:
    """A woven bottle with a smooth dark neck, its shadow and a bar, on a sheet of paper; and the true silhouette."""
    chance = np.random.default_rng(seed)
    width, height = SHOT.size
    ground = np.linspace(205, 175, height)[:, None, None] * np.array([1.0, 0.98, 0.95])
    canvas = np.repeat(ground, width, axis=1)
    fine = SHOT.mask(BOTTLE)
    share = cv2.resize(fine, SHOT.size, interpolation=cv2.INTER_AREA).astype(np.float64)[:, :, None] / 255
    shadow = cv2.warpAffine(share[:, :, 0], np.array([[1.0, -0.35, 200.0], [0.0, 0.35, 420.0]]), SHOT.size)
    canvas *= 1 - 0.45 * cv2.GaussianBlur(shadow, (0, 0), 6)[:, :, None]
    x0, y0, x1, y1 = BAR_CARD
    canvas[y0:y1, x0:x1] = 235
    for k in range(0, y1 - y0 - 20, 40):
        canvas[y0 + 10 + k : y0 + 30 + k, x0 + 10 : x0 + 30] = 25
    y, x = np.mgrid[0:height, 0:width]
    weave = 110 + 45 * np.sign(np.sin(x * 0.9) * np.sin(y * 0.9 + 0.5 * np.floor(x / 3.5)))
    woven = weave[:, :, None] * np.array([1.0, 0.8, 0.55])
    glass = np.full((height, width, 3), (30.0, 60.0, 35.0))
    rim_y = SHOT.pixel(np.array(0.0), np.array(bare_from_mm), np.array(0.0))[1]
    surface = np.where((y < rim_y)[:, :, None], glass, woven)
    canvas = canvas * (1 - share) + surface * share + chance.normal(0, 2.5, canvas.shape)
    pixels = np.clip(cv2.GaussianBlur(canvas, (0, 0), 0.7), 0, 255).astype(np.uint8)
    return Photograph(pixels, SHOT.focal_35mm), fine[FINER // 2 :: FINER, FINER // 2 :: FINER] > 0


def banded_before_books() -> tuple[Photograph, np.ndarray]:
    """A brown bottle with a cream band and its dark line on the table; cream books stand close behind both sides."""
    chance = np.random.default_rng(11)
    width, height = SHOT.size
    canvas = np.empty((height, width, 3))
    canvas[:] = (96, 106, 92)
    table = int(SHOT.pixel(np.array(0.0), np.array(60.0), np.array(0.0))[1])
    canvas[table:] = (188, 160, 130)
    y, x = np.mgrid[0:height, 0:width]
    fine = SHOT.mask(BOTTLE)
    true = fine[FINER // 2 :: FINER, FINER // 2 :: FINER] > 0
    left, right = np.flatnonzero(true[table - 20])[[0, -1]]
    for x0, x1, top, book in (
        (left - 13, left + 40, 120, (205, 196, 176)),
        (left - 60, left - 13, 150, (150, 80, 64)),
        (right - 40, right + 14, 140, (198, 186, 160)),
        (right + 14, right + 45, 90, (84, 66, 104)),
    ):
        canvas[table - top : table + 4, x0:x1] = book
    low = np.flatnonzero(true.any(axis=1))[-1]
    shadow = np.roll(true, 5, axis=0) & (y > low - 40)
    canvas *= 1 - 0.9 * cv2.GaussianBlur(shadow.astype(np.float64), (0, 0), 2.0)[:, :, None]
    share = cv2.resize(fine, SHOT.size, interpolation=cv2.INTER_AREA).astype(np.float64)[:, :, None] / 255
    weave = 0.85 + 0.3 * np.sign(np.sin(x * 0.7) * np.sin(y * 0.9))
    band = (y > table - 200) & (y < table - 170)
    colour = np.where(band[:, :, None], (205.0, 196.0, 176.0), (104.0, 66.0, 46.0)) * weave[:, :, None]
    canvas = canvas * (1 - share) + colour * share + chance.normal(0, 2.5, canvas.shape)
    pixels = np.clip(cv2.GaussianBlur(canvas, (0, 0), 0.7), 0, 255).astype(np.uint8)
    return Photograph(pixels, SHOT.focal_35mm), true


@cache
def measured_picture(bare_from_mm: float = 205.0) -> FoundOutline:
    return outline_from_photograph(picture(bare_from_mm=bare_from_mm)[0], scale_bar=(*SHOT.bar(), 100.0))


@cache
def traced_before_books() -> tuple[Silhouette, np.ndarray]:
    """What is found before the books, and the true silhouette."""
    photo, true = banded_before_books()
    return trace_outline(photo), true


def overlap(one: np.ndarray, other: np.ndarray) -> float:
    return float((one & other).sum() / (one | other).sum())


def test_trace_outline_finds_the_piece_without_shadow_bar_or_table() -> None:
    _, true = picture()
    found = measured_picture().silhouette
    x0, y0, x1, y1 = BAR_CARD
    assert overlap(found.mask, true) > 0.96
    assert not found.mask[y0:y1, x0:x1].any()
    assert found.confidence > 0.5
    assert found.warnings == ()


def test_trace_outline_in_a_box_finds_the_same_piece() -> None:
    photo, true = picture()
    found = trace_outline(photo, box=(200, 60, 480, 840))
    assert overlap(found.mask, true) > 0.96


def test_trace_outline_leaves_out_books_of_the_band_s_colour_behind_both_sides() -> None:
    """What looks like the piece at one height is not the piece at another."""
    found, true = traced_before_books()
    assert overlap(found.mask, true) > 0.96
    assert np.ptp(found.polygon_px[:, 0]) == pytest.approx(np.ptp(np.flatnonzero(true.any(axis=0))), rel=0.03)


def test_trace_outline_ends_above_the_dark_line_it_stands_in() -> None:
    found, true = traced_before_books()
    assert found.polygon_px[:, 1].max() == pytest.approx(np.flatnonzero(true.any(axis=1))[-1], abs=2.5)


def test_trace_outline_of_an_empty_picture_is_a_result_with_a_warning() -> None:
    grain = np.random.default_rng(1).normal(180, 2, (400, 300, 3))
    found = trace_outline(Photograph(np.clip(grain, 0, 255).astype(np.uint8)))
    assert found.confidence < 0.5
    assert any("by hand" in text for text in found.warnings)


def test_trace_outline_of_a_tiny_picture_does_not_fail() -> None:
    found = trace_outline(Photograph(np.full((16, 16, 3), 90, np.uint8)))
    assert not found.found


@pytest.mark.parametrize("box", [(10, 10, 12, 300), (5000, 0, 6000, 900), (0, 0, float("nan"), 90)])
def test_trace_outline_refuses_what_is_no_box(box: tuple[float, ...]) -> None:
    with pytest.raises(InputError) as refused:
        trace_outline(picture()[0], box=box)
    assert refused.value.field == "box"


def test_outline_from_photograph_measures_what_it_found() -> None:
    silhouette, measured = measured_picture()
    assert 2 * measured.points[:, 1].max() == pytest.approx(90.0, rel=0.03)
    assert abs(measured.height_mm - 285.0) < 2.5 * measured.axis["height_sd_mm"]
    np.testing.assert_array_equal(measured.polygon_px, silhouette.polygon_px)


def test_propose_bare_finds_the_glass_neck_above_the_weave() -> None:
    photo, _ = picture()
    _, measured = measured_picture()
    ((low, high),) = propose_bare(photo, measured)
    assert low == pytest.approx(205.0, abs=10)
    assert high == pytest.approx(measured.height_mm, abs=0.1)
    assert 0 < bare_zones(photo, measured)[0].confidence <= 0.95


def test_propose_bare_proposes_nothing_where_the_weave_reaches_the_top() -> None:
    photo, _ = picture(bare_from_mm=400.0)
    _, measured = measured_picture(400.0)
    assert propose_bare(photo, measured) == ()


def test_outline_from_photograph_needs_a_scale() -> None:
    with pytest.raises(InputError, match="scale bar or a known height"):
        outline_from_photograph(picture()[0])
