"""A box drawn round the piece: what lies about it is ground, and what is found in it nearly fills it, or is doubted."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from tests.photos.projector import BOTTLE, FINER, Shot
from weftglass.errors import InputError
from weftglass.photos import Photograph, trace_outline
from weftglass.photos.agreement import fills, same, spike_cut_off, with_doubts
from weftglass.photos.graph_cut import cut_of_box
from weftglass.photos.patches import filled, overlap, resized
from weftglass.photos.rows import dense
from weftglass.photos.silhouette import DOUBTFUL, NOTHING_FOUND, Silhouette

SHOT = Shot(700, 190, tilt_deg=5, focal_px=1500, size=(700, 933))
FINE = SHOT.mask(BOTTLE)
TRUE = FINE[FINER // 2 :: FINER, FINER // 2 :: FINER] > 0
TOP, FOOT = (int(row) for row in np.flatnonzero(TRUE.any(axis=1))[[0, -1]])
LEFT, RIGHT = (int(column) for column in np.flatnonzero(TRUE.any(axis=0))[[0, -1]])
MIDDLE = (LEFT + RIGHT) / 2
Y, X = np.mgrid[0 : SHOT.size[1], 0 : SHOT.size[0]]
STRAW = np.array([1.0, 0.8, 0.55])
GLASS = (30.0, 60.0, 35.0)


def box_about(margin: int) -> tuple[int, int, int, int]:
    return LEFT - margin, TOP - margin, RIGHT + margin, FOOT + margin


def mask_of(box: tuple[int, int, int, int]) -> np.ndarray:
    x0, y0, x1, y1 = box
    mask = np.zeros(TRUE.shape, dtype=bool)
    mask[y0 : y1 + 1, x0 : x1 + 1] = True
    return mask


def painted(ground: np.ndarray, surface: np.ndarray) -> Photograph:
    """The bottle of a surface before a ground, both (height, width, 3), with grain."""
    share = cv2.resize(FINE, SHOT.size, interpolation=cv2.INTER_AREA).astype(np.float64)[:, :, None] / 255
    canvas = ground * (1 - share) + surface * share + np.random.default_rng(3).normal(0, 2.5, ground.shape)
    return Photograph(np.clip(cv2.GaussianBlur(canvas, (0, 0), 0.7), 0, 255).astype(np.uint8), SHOT.focal_35mm)


def weave(across: float, down: float) -> np.ndarray:
    return np.asarray((114 + 45 * np.sign(np.sin(X * across) * np.sin(Y * down)))[:, :, None] * STRAW)


def woven_before_woven(rim_mm: float) -> Photograph:
    """Dark glass above a straw covering, on straw matting."""
    rim = SHOT.pixel(np.array(0.0), np.array(rim_mm), np.array(0.0))[1]
    return painted(weave(0.31, 0.23), np.where((rim > Y)[:, :, None], GLASS, weave(0.5, 0.5)))


def outlined(half: np.ndarray, y: np.ndarray, confidence: float) -> Silhouette:
    polygon = dense(np.vstack([np.column_stack([MIDDLE + half, y]), np.column_stack([MIDDLE - half, y])[::-1]]))
    return Silhouette(polygon, filled(polygon, TRUE.shape), confidence)


ROWS = np.arange(TOP, FOOT, dtype=float)
HALF = (TRUE[TOP:FOOT].sum(axis=1) / 2).astype(float)


@pytest.mark.parametrize("rim_mm", [120.0, 150.0])
def test_a_covering_like_its_ground_is_not_left_out_of_a_box(rim_mm: float) -> None:
    """Colours lead to the dark glass alone, and are sure of it; it leaves the box half empty."""
    found = trace_outline(woven_before_woven(rim_mm), box=box_about(25))
    assert overlap(found.mask, TRUE) > 0.92
    assert np.ptp(found.polygon_px[:, 1]) == pytest.approx(FOOT - TOP, rel=0.03)


def test_what_leaves_a_box_half_empty_is_doubted() -> None:
    """Whoever draws a box over half the wall means more than the bottle that is found in it."""
    far = Shot(1700, 190, tilt_deg=5, focal_px=1500, size=SHOT.size)
    fine = far.mask(BOTTLE)
    true = fine[FINER // 2 :: FINER, FINER // 2 :: FINER] > 0
    y, x = np.nonzero(true)
    pixels = np.where(true[:, :, None], weave(0.9, 0.9) - 60, np.full((*true.shape, 3), (205.0, 200.0, 190.0)))
    photo = Photograph(np.clip(cv2.GaussianBlur(pixels, (0, 0), 0.7), 0, 255).astype(np.uint8), SHOT.focal_35mm)
    close, wide = (trace_outline(photo, box=(x.min() - m, y.min() - m, x.max() + m, y.max() + m)) for m in (20, 110))
    assert overlap(close.mask, true) > 0.95
    assert close.warnings == ()
    assert wide.warnings == (DOUBTFUL,)


def test_a_cut_of_a_box_finds_a_piece_of_several_colours_before_stripes() -> None:
    stripes = np.where(((X // 40) % 2 == 0)[:, :, None], (150.0, 70.0, 80.0), (110.0, 115.0, 140.0))
    photo = painted(stripes, np.where((Y < 300)[:, :, None], GLASS, weave(0.5, 0.5)))
    for margin in (4, 25):
        cut = cut_of_box(photo.pixels, mask_of(box_about(margin)))
        assert cut is not None
        assert overlap(resized(cut, TRUE.shape), TRUE) > 0.93


def test_a_cut_of_a_box_is_not_told_where_it_is_not_clear() -> None:
    """A red cloth under the bottle, within the box alone, may as well be the piece's."""
    wall = np.full((*TRUE.shape, 3), (120.0, 125.0, 130.0))
    loose = box_about(90)
    x0, _, x1, y1 = loose
    wall[FOOT - 200 : y1 - 2, x0 + 2 : x1 - 2] = (150.0, 40.0, 40.0)
    photo = painted(wall, weave(0.5, 0.5))
    assert cut_of_box(photo.pixels, mask_of(loose)) is None
    assert cut_of_box(photo.pixels, np.ones(TRUE.shape, dtype=bool)) is None


def test_a_sliver_of_a_box_is_refused_and_a_small_one_holds_no_piece() -> None:
    """What of a box lies in the photograph counts; nothing is made up."""
    wall = np.full((*TRUE.shape, 3), (205.0, 200.0, 190.0))
    photo = painted(wall, np.full_like(wall, 60.0))
    for sliver in ((-60, 10, 1.4, 900), (10, -40, 690, 0.6)):
        with pytest.raises(InputError) as refused:
            trace_outline(photo, box=sliver)
        assert refused.value.field == "box"
    small = trace_outline(photo, box=(300, 300, 317, 317))
    assert small.warnings in ((DOUBTFUL,), (NOTHING_FOUND,))


def test_an_outline_fills_a_box_by_its_height_and_its_width() -> None:
    bottle = outlined(HALF, ROWS, 0.6)
    assert fills(bottle, mask_of(box_about(0)))
    assert fills(bottle, mask_of((LEFT - 80, TOP - 90, RIGHT + 80, FOOT + 90)))
    lower = ROWS > TOP + 0.4 * (FOOT - TOP)
    for part in (lower, ~lower, ROWS > TOP + 0.22 * (FOOT - TOP)):
        assert not fills(outlined(HALF[part], ROWS[part], 0.9), mask_of(box_about(20)))
    assert not fills(outlined(HALF / 4, ROWS, 0.9), mask_of(box_about(20)))
    assert not fills(bottle, mask_of((LEFT - 90, TOP - 10, RIGHT + 5, FOOT + 10)))


def test_unsure_and_neckless_outlines_are_doubted_unless_something_confirmed_them() -> None:
    wall = np.full((*TRUE.shape, 3), (205.0, 200.0, 190.0))
    photo = painted(wall, np.full_like(wall, 60.0))
    assert with_doubts(photo, outlined(HALF, ROWS, 0.56)).warnings == ()
    assert with_doubts(photo, outlined(HALF, ROWS, 0.54)).warnings == (DOUBTFUL,)
    lower = ROWS > TOP + 0.45 * (FOOT - TOP)
    neckless = with_doubts(photo, outlined(HALF[lower], ROWS[lower], 0.9))
    assert neckless.warnings == (DOUBTFUL,)
    assert neckless.confidence < 0.47


def test_a_twig_above_the_lip_is_cut_off_there() -> None:
    """The rest stays as it was; a neck is no spike."""
    wall = np.full((*TRUE.shape, 3), (205.0, 200.0, 190.0))
    photo = painted(wall, np.full_like(wall, 60.0))
    bottle = outlined(HALF, ROWS, 0.8)
    assert spike_cut_off(photo, bottle) is bottle
    twig = np.arange(TOP - 120, TOP, dtype=float)
    spiked = outlined(np.concatenate([np.full(len(twig), 2.5), HALF]), np.concatenate([twig, ROWS]), 0.8)
    cut = spike_cut_off(photo, spiked)
    assert cut.polygon_px[:, 1].min() == pytest.approx(TOP, abs=2.5)
    assert overlap(cut.mask, bottle.mask) > 0.99
    assert cut.confidence == 0.8
    assert not same(spiked, Silhouette(np.zeros((0, 2)), np.zeros(TRUE.shape, dtype=bool), 0.0))
