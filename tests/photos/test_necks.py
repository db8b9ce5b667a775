"""Necks of bare glass: faint before an even backdrop, or before a gap between books that is wider than they are."""

from __future__ import annotations

from functools import cache

import cv2
import numpy as np

from tests.photos.projector import BOTTLE, FINER, Shot
from weftglass.photos import Photograph, trace_outline
from weftglass.photos.appearance import features_of
from weftglass.photos.backdrop import backdrop_of
from weftglass.photos.thing_behind import thing_behind

SHOT = Shot(700, 190, tilt_deg=5, focal_px=1500, size=(700, 933))
BARE_FROM_MM = 185.0
FloatArray = np.ndarray


def row_at(height_mm: float) -> int:
    return int(SHOT.pixel(np.array(0.0), np.array(height_mm), np.array(0.0))[1])


@cache
def across() -> FloatArray:
    """How far left and right of the axis each pixel lies, in half-widths of the silhouette of its row; (h, w)."""
    true = silhouette()
    columns = np.arange(true.shape[1])[None, :]
    wide = np.maximum(true.sum(axis=1), 1)[:, None]
    middle = (true * columns).sum(axis=1)[:, None] / wide
    return np.asarray(2 * (columns - middle) / wide)


@cache
def silhouette() -> np.ndarray:
    return SHOT.mask(BOTTLE)[FINER // 2 :: FINER, FINER // 2 :: FINER] > 0


def photograph(ground: FloatArray, glass: FloatArray, chance: np.random.Generator) -> Photograph:
    """A bottle woven over below its neck before a ground, its bare glass as given; all (h, w, 3)."""
    width, height = SHOT.size
    share = cv2.resize(SHOT.mask(BOTTLE), SHOT.size, interpolation=cv2.INTER_AREA).astype(np.float64)[:, :, None] / 255
    y, x = np.mgrid[0:height, 0:width]
    weave = 110 + 45 * np.sign(np.sin(x * 0.9) * np.sin(y * 0.9 + 0.5 * np.floor(x / 3.5)))
    woven = weave[:, :, None] * np.array([1.0, 0.8, 0.55])
    surface = np.where((y < row_at(BARE_FROM_MM))[:, :, None], glass, woven)
    canvas = ground * (1 - share) + surface * share + chance.normal(0, 2.0, (height, width, 3))
    return Photograph(np.clip(cv2.GaussianBlur(canvas, (0, 0), 0.7), 0, 255).astype(np.uint8), SHOT.focal_35mm)


@cache
def before_a_wall() -> tuple[Photograph, np.ndarray]:
    """Clear glass, two streaks of light on it, before a wall of nearly its colour that darkens to the left."""
    width, height = SHOT.size
    light = np.linspace(60, 130, width)[None, :, None] * np.linspace(1.1, 0.9, height)[:, None, None]
    wall = light * np.array([0.92, 1.0, 0.9])
    streaks = (np.abs(np.abs(across()) - 0.3) < 0.12)[:, :, None]
    glass = np.where(streaks, wall + 60.0, wall * np.array([0.93, 0.9, 0.93]))
    return photograph(wall, glass, np.random.default_rng(7)), silhouette()


@cache
def before_a_gap() -> tuple[Photograph, np.ndarray]:
    """Dark glass before the dark gap between two books on a shelf: as upright and as symmetric as a neck."""
    width, height = SHOT.size
    shelf = np.full((height, width, 3), (58.0, 48.0, 40.0))
    top, table = row_at(330.0), row_at(70.0)
    middle = int(np.mean(np.flatnonzero(silhouette().any(axis=0))[[0, -1]]))
    shelf[top:table] = (120.0, 62.0, 48.0)
    shelf[top:table, middle - 48 : middle + 52] = (22.0, 20.0, 20.0)
    shelf[table:] = (150.0, 110.0, 80.0)
    glass = np.where((np.abs(across()) > 0.75)[:, :, None], (44.0, 64.0, 50.0), (34.0, 52.0, 40.0))
    return photograph(shelf, glass, np.random.default_rng(8)), silhouette()


@cache
def before_a_vase() -> tuple[Photograph, np.ndarray]:
    """Clear glass before a vase out of focus: as symmetric as the bottle, about the same axis, wider than its neck."""
    width, height = SHOT.size
    middle = float(np.mean(np.flatnonzero(silhouette().any(axis=0))[[0, -1]]))
    rows, top, foot = np.arange(height), row_at(310.0), row_at(120.0)
    half = np.where((rows >= top) & (rows < foot), 60.0 + 45.0 * np.sin(np.pi * (rows - top) / (foot - top)), 0.0)
    vase = (np.abs(np.arange(width)[None, :] - middle) < half[:, None]).astype(float)
    share = cv2.GaussianBlur(vase, (0, 0), 3.0)[:, :, None]
    ground = np.array((78.0, 96.0, 112.0)) * (1 - share) + np.array((122.0, 84.0, 132.0)) * share
    ground[row_at(60.0) :] = (110.0, 80.0, 55.0)
    border, streak = (np.abs(across()) > 0.86)[:, :, None], (np.abs(across() + 0.35) < 0.1)[:, :, None]
    glass = np.where(border, 0.55 * ground, np.where(streak, ground + 60.0, 0.9 * ground))
    return photograph(ground, glass, np.random.default_rng(9)), silhouette()


def overlap(one: np.ndarray, other: np.ndarray) -> float:
    return float((one & other).sum() / (one | other).sum())


def upper(mask: np.ndarray) -> np.ndarray:
    return mask[: row_at(BARE_FROM_MM)]


def test_trace_outline_finds_clear_glass_around_the_light_on_it() -> None:
    """Brighter than the glass's own border are the streaks within it, and the wall is darker on the left."""
    photo, true = before_a_wall()
    found = trace_outline(photo)
    assert overlap(upper(found.mask), upper(true)) > 0.96
    assert found.warnings == ()


def test_trace_outline_ends_at_the_lip_and_not_at_the_top_of_the_gap_behind_it() -> None:
    photo, true = before_a_gap()
    found = trace_outline(photo)
    assert overlap(upper(found.mask), upper(true)) > 0.96
    assert found.warnings == ()


def test_trace_outline_follows_clear_glass_and_not_the_vase_out_of_focus_behind_it() -> None:
    """By colours the vase is the better neck, and a cut by colours loses the glass: edges in focus decide."""
    photo, true = before_a_vase()
    found = trace_outline(photo)
    assert overlap(upper(found.mask), upper(true)) > 0.95
    assert overlap(found.mask, true) > 0.98
    assert found.warnings == ()


def test_backdrop_tells_glass_from_a_wall_that_changes_slowly() -> None:
    photo, true = before_a_wall()
    told = backdrop_of(features_of(photo.pixels), *axis_and_half(true), rows_with(true))
    neck = slice(rows_with(true)[0], row_at(BARE_FROM_MM))
    assert told.seen[neck].all()
    inside = np.abs(across()[neck]) < 0.9
    outside = (np.abs(across()[neck]) > 1.15) & (np.abs(across()[neck]) < 3)
    assert (told.odds[neck][inside] > 0).mean() > 0.75  # not where a streak of light borders on glass
    assert (told.odds[neck][outside] < 0).mean() > 0.98
    assert not told.seen[rows_with(true)[1] - 50 :].any()


def test_backdrop_is_not_seen_in_rows_with_other_things_on_one_side() -> None:
    photo, true = before_a_wall()
    cluttered = photo.pixels.copy()
    book = slice(row_at(270.0), row_at(230.0))
    cluttered[book, :280] = (150, 60, 40)
    told = backdrop_of(features_of(cluttered), *axis_and_half(true), rows_with(true))
    assert not told.seen[book].any()
    assert told.seen[row_at(215.0) : row_at(200.0)].all()


def test_backdrop_of_noise_or_of_nothing_beside_the_piece_tells_nothing() -> None:
    true = silhouette()
    noise = np.random.default_rng(5).integers(0, 256, (*true.shape, 3)).astype(np.uint8)
    for pixels, half in ((noise, 1.0), (before_a_wall()[0].pixels, 20.0)):
        axis, widths = axis_and_half(true)
        told = backdrop_of(features_of(pixels), axis, half * widths, rows_with(true))
        assert not told.seen.any()
        assert (told.odds < 0).all()


def test_thing_behind_is_the_gap_and_none_of_the_bottle() -> None:
    photo, true = before_a_gap()
    middle = int(np.mean(np.flatnonzero(true.any(axis=0))[[0, -1]]))
    taken = true.copy()
    taken[row_at(329.0) : row_at(BARE_FROM_MM), middle - 48 : middle + 52] = True
    thing = thing_behind(outline_of(taken), photo.pixels)
    assert thing is not None
    assert (thing & true).sum() < 0.01 * true.sum()
    gap = taken & ~true
    assert (thing & gap).sum() > 0.8 * gap.sum()


def test_thing_behind_is_none_within_the_bottle_s_own_outline() -> None:
    for photo, true in (before_a_gap(), before_a_wall()):
        assert thing_behind(outline_of(true), photo.pixels) is None


def test_thing_behind_is_none_where_clear_glass_shows_the_wall_above_something_in_the_neck() -> None:
    """As a book in front of a dark wall the same would be a thing behind the lip."""
    width, height = SHOT.size
    inner = (np.abs(across()) < 0.5)[:, :, None] & (np.arange(height) > row_at(235.0))[:, None, None]
    glass = np.where(inner, (120.0, 110.0, 90.0), (190.0, 192.0, 188.0))
    seen = []
    for level in (200.0, 60.0):
        wall = np.full((height, width, 3), level)
        seen.append(thing_behind(outline_of(silhouette()), photograph(wall, glass, np.random.default_rng(9)).pixels))
    assert seen[0] is None
    assert seen[1] is not None


def outline_of(mask: np.ndarray) -> FloatArray:
    found, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    return np.asarray(found[0][:, 0], dtype=np.float64)


def rows_with(true: np.ndarray) -> tuple[int, int]:
    rows = np.flatnonzero(true.any(axis=1))
    return int(rows[0]), int(rows[-1])


def axis_and_half(true: np.ndarray) -> tuple[FloatArray, FloatArray]:
    first, last = rows_with(true)
    rows = np.clip(np.arange(len(true)), first, last)
    columns = np.arange(true.shape[1])[None, :]
    wide = true.sum(axis=1)[rows]
    return (true * columns).sum(axis=1)[rows] / wide, wide / 2
