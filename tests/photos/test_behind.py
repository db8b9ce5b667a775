"""Letters on the glass behind an open lattice: more is seen together than in any one photograph, and rightly."""

from __future__ import annotations

from functools import cache

import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont

from tests.photos.painted import photographed
from tests.photos.projector import Shot
from tests.photos.test_unroll import standing
from weftglass.errors import InputError
from weftglass.photos.behind import behind_openwork
from weftglass.photos.rollout import TurnedView

COVER_MM = 5.0
OUTER = np.array([[0.0, 46.0], [120.0, 46.0]])
GLASS = OUTER - [0.0, COVER_MM]
SHOT = Shot(distance_mm=520, height_mm=80, tilt_deg=2, focal_px=1500, size=(330, 420))


def _lettering() -> np.ndarray:
    picture = Image.new("L", (700, 240), 0)
    ImageDraw.Draw(picture).text((350, 120), "HARLOW", 255, font=ImageFont.load_default(150), anchor="mm")
    return np.asarray(picture) / 255.0


LETTERS = _lettering()


def glass_paint(around, z):
    """Dark olive glass with paler letters about the front, 20 mm tall."""
    turn = np.mod(around + 180, 360) - 180
    column = np.rint(turn / 100 * 700 + 350).astype(int)
    row = np.rint((75 - z) / 30 * 240).astype(int)
    on = (column >= 0) & (column < 700) & (row >= 0) & (row < 240)
    mark = np.where(on, LETTERS[row.clip(0, 239), column.clip(0, 699)], 0.0)
    return np.array([0.14, 0.16, 0.07]) + mark[..., None] * np.array([0.16, 0.18, 0.12])


def lattice(around, z):
    """1 where a strand lies: two sets of slanting strips, unevenly spaced, about half of the face."""
    first = np.mod(around / 11 + z / 9 + 0.15 * np.sin(np.radians(around * 3)), 1)
    second = np.mod(around / 12 - z / 10 + 0.15 * np.sin(np.radians(around * 2 + 40)), 1)
    return ((first < 0.30) | (second < 0.30)).astype(float)


def strands(around, z):
    light = 0.62 + 0.06 * np.sin(np.radians(around * 17)) + 0.05 * np.sin(z / 3.1 + np.radians(around * 5))
    return light[..., None] * np.array([1.0, 0.85, 0.6])


@cache
def openwork(turn: float) -> np.ndarray:
    """A photograph of the lattice before its glass, turned so far; made once, read-only."""
    through = photographed(SHOT, OUTER, lambda a, z: np.repeat(lattice(a, z)[..., None], 3, axis=-1), turn)
    cover = photographed(SHOT, OUTER, strands, turn)
    glass = photographed(SHOT, GLASS, glass_paint, turn)
    hidden = cv2.GaussianBlur(through.astype(np.float32), (0, 0), 0.6) / 255
    picture = np.rint(cover * hidden + glass * (1 - hidden)).astype(np.uint8)
    picture.setflags(write=False)
    return picture


TURNS = [0.0, 17.0, -15.0, -24.0]
GIVEN = [0.0, 15.0, -15.0, -22.0]


@pytest.fixture(scope="module")
def views() -> list[TurnedView]:
    return [TurnedView(openwork(t), standing(SHOT, 120.0), g) for t, g in zip(TURNS, GIVEN, strict=True)]


@pytest.fixture(scope="module")
def seen(views):
    return behind_openwork(views, OUTER, cover_mm=COVER_MM, heights_mm=(40, 80))


def test_turns_are_found_on_the_covering(seen):
    assert all(one.used for one in seen.placed)
    np.testing.assert_allclose([one.turn_deg for one in seen.placed], TURNS, atol=0.4)


def test_all_together_show_far_more_than_one(seen):
    assert seen.share_one < 0.65
    assert seen.share_all > seen.share_one + 0.2
    assert int(seen.photographs.max()) >= 3


def truth_of(seen) -> np.ndarray:
    columns = seen.picture.shape[1]
    around = (np.arange(columns) - columns // 2) / seen.px_per_mm / (2 * np.pi * 41) * 360
    return glass_paint(*np.broadcast_arrays(around[None, :], seen.height_mm[:, None]))


def test_what_is_shown_is_the_glass_and_not_the_covering(seen):
    truth = truth_of(seen)
    shown = seen.photographs > 0
    off = np.abs(seen.picture.astype(float).mean(axis=2) - 255 * truth.mean(axis=2))[shown]
    assert np.median(off) < 8
    assert np.quantile(off, 0.95) < 45
    front = shown & (np.abs(np.arange(shown.shape[1]) - shown.shape[1] // 2) < 90)[None]
    like = np.corrcoef(seen.picture.mean(axis=2)[front], truth.mean(axis=2)[front])[0, 1]
    assert like > 0.75


def test_the_letters_are_missed_where_the_glass_is_taken_to_lie_at_the_covering(views, seen):
    """Control: without the depth of the covering the photographs do not fall on each other on the glass."""
    flat = behind_openwork(views, OUTER, cover_mm=0.0, heights_mm=(40, 80))
    columns = flat.picture.shape[1]
    around = (np.arange(columns) - columns // 2) / flat.px_per_mm / (2 * np.pi * 46) * 360
    truth = glass_paint(*np.broadcast_arrays(around[None, :], flat.height_mm[:, None])).mean(axis=2)
    front = (flat.photographs > 1) & (np.abs(np.arange(columns) - columns // 2) < 90)[None]
    seen_front = (seen.photographs > 1) & (np.abs(np.arange(seen.picture.shape[1]) - seen.picture.shape[1] // 2) < 90)[
        None
    ]
    flat_like = np.corrcoef(flat.picture.mean(axis=2)[front], truth[front])[0, 1]
    seen_like = np.corrcoef(seen.picture.mean(axis=2)[seen_front], truth_of(seen).mean(axis=2)[seen_front])[0, 1]
    assert seen_like > flat_like + 0.1


def test_impossible_requests_are_refused(views):
    with pytest.raises(InputError, match="photographs"):
        behind_openwork([], OUTER, cover_mm=5, heights_mm=(40, 80))
    with pytest.raises(InputError, match="cover_mm"):
        behind_openwork(views, OUTER, cover_mm=60, heights_mm=(40, 80))
    with pytest.raises(InputError, match="face"):
        behind_openwork(views[:1], OUTER, cover_mm=5, heights_mm=(40, 80), face_deg=180)
