"""The whole round from turned photographs of a painted vessel: turns, girth, light, seams against the paint."""

from __future__ import annotations

import io
from functools import cache

import numpy as np
import pytest
from PIL import Image
from scipy.ndimage import gaussian_filter

from tests.photos.painted import photographed
from tests.photos.projector import Shot
from tests.photos.test_unroll import standing
from weftglass.errors import InputError
from weftglass.photos.rollout import TurnedView, roll_out
from weftglass.photos.rollout_picture import BandMark, picture_bytes, ruled_picture
from weftglass.photos.turns import masked_correlation
from weftglass.photos.wall import wall_of
from weftglass.vessels import Section

POT = np.array([[0.0, 40.0], [60.0, 45.0], [110.0, 40.0], [120.0, 36.0]])
SHOT = Shot(distance_mm=520, height_mm=90, tilt_deg=4, roll_deg=0.6, focal_px=1000, size=(260, 320))
OFF_DEG = np.array([0.0, 1.4, -0.9, 0.6, -1.7, 1.1, 0.4, -1.2])
SPOTS = gaussian_filter(np.random.default_rng(5).normal(size=(120, 280)), 1.2, mode="wrap")
SPOTS /= SPOTS.std()


def paint(around, z):
    """Five dark blocks, a red band, stitches that repeat 70 times round, and the unevenness of natural strands."""
    turn = np.mod(around, 360) / 360
    light = 0.62 + 0.05 * np.sin(2 * np.pi * 70 * turn) * np.sin(2 * np.pi * z / 3)
    light = light + 0.04 * SPOTS[(z.astype(int)).clip(0, 119), (turn * 280).astype(int) % 280]
    colours = np.stack([light, light * 0.85, light * 0.6], axis=-1)
    block = (np.mod(turn * 5 + 0.2, 1) < 0.4) & (z > 40) & (z < 70)
    colours = np.where(block[..., None], colours * [0.35, 0.3, 0.3], colours)
    return np.where(((z > 85) & (z < 91))[..., None], colours * [0.9, 0.4, 0.35], colours)


TURNS = 45.0 * np.arange(8)


@cache
def round_pictures() -> tuple[np.ndarray, ...]:
    """One round of the pot, each turn a little off; made once, read-only."""
    pictures = tuple(photographed(SHOT, POT, paint, turn, shade=0.25) for turn in TURNS + OFF_DEG)
    for picture in pictures:
        picture.setflags(write=False)
    return pictures


@pytest.fixture(scope="module")
def views() -> list[TurnedView]:
    return [TurnedView(picture, standing(SHOT, 120.0), t) for picture, t in zip(round_pictures(), TURNS, strict=True)]


@pytest.fixture(scope="module")
def rolled(views):
    """The outline given is 2 % too wide, as a silhouette over bulging strands may be."""
    return roll_out(views, POT * [1, 1.02], heights_mm=(5, 115))


def test_true_turns_are_found_from_the_overlaps(rolled):
    off = rolled.turn_deg - (45.0 * np.arange(8) + OFF_DEG)
    assert np.abs(off).max() < 0.5, off


def test_girth_is_put_right_by_closing_the_round(rolled):
    assert rolled.girth_mm == pytest.approx(2 * np.pi * 45, rel=0.01)
    assert rolled.closing == pytest.approx(-0.02, abs=0.012)


def test_the_lamp_leaves_no_trace_in_the_round(rolled):
    """Shading of a quarter either way is taken out to a few per cent, stretch by stretch, against the paint itself."""
    rows = (rolled.height_mm > 95) & (rolled.height_mm < 108)
    around = (np.arange(rolled.picture.shape[1]) + 0.5) / rolled.picture.shape[1] * 360 - 180
    truth = paint(*np.broadcast_arrays(around[None, :], rolled.height_mm[rows][:, None]))
    ratio = rolled.picture[rows].astype(float).mean(axis=(0, 2)) / truth.mean(axis=(0, 2))
    coarse = np.array([part.mean() for part in np.array_split(ratio, 24)])
    assert coarse.std() / coarse.mean() < 0.025


def test_no_seam_shows_more_than_other_lines_do(rolled):
    assert rolled.seam_ratio < 1.1


def test_blocks_lie_evenly_round(rolled):
    rows = (rolled.height_mm > 45) & (rolled.height_mm < 65)
    dark = rolled.picture[rows].astype(float).mean(axis=(0, 2)) < 110
    start = np.flatnonzero(dark & ~np.roll(dark, 1))
    assert len(start) == 5
    np.testing.assert_allclose(np.diff(start) / rolled.px_per_mm, rolled.girth_mm / 5, rtol=0.02)


def test_one_photograph_gives_its_part_and_says_how_sure_each_place_is(views):
    one = roll_out(views[:1], POT, heights_mm=(5, 115), px_per_mm=2)
    assert not one.round
    assert 0.25 < one.seen.mean() < 0.36  # 60 degrees either way is a third
    assert np.all(one.picture[~one.seen] == 255)
    assert np.isnan(one.place_sd_mm[0])
    assert one.place_sd_mm[np.isfinite(one.place_sd_mm)].max() < 3


def test_the_lamp_is_taken_off_one_photograph_too(views):
    one = roll_out(views[:1], POT, heights_mm=(95, 108), px_per_mm=2)
    columns = np.flatnonzero(one.seen.all(axis=0))
    line = one.picture[:, columns].astype(float).mean(axis=(0, 2))
    around = (columns + 0.5) / one.picture.shape[1] * 360 - 180
    truth = paint(*np.broadcast_arrays(around[None, :], one.height_mm[:, None])).mean(axis=(0, 2))
    ratio = np.array([part.mean() for part in np.array_split(line / truth, 10)])
    assert ratio.std() / ratio.mean() < 0.04  # painted with a quarter either way


def face_paint(around, z):
    """A square piece: blocks every 20 mm of the way along its faces, on uneven ground; each face its own shade."""
    turn = np.mod(around + 45, 360)
    face = (turn // 90).astype(int)
    along = face * 80 + 40 + 40 * np.tan(np.radians(np.mod(turn, 90) - 45))
    light = 0.6 + 0.05 * SPOTS[(z.astype(int)).clip(0, 119), (along / 320 * 280).astype(int) % 280] + 0.02 * face
    colours = np.stack([light, light * 0.85, light * 0.6], axis=-1)
    block = (np.mod(along, 20) < 8) & (z > 40) & (z < 70)
    return np.where(block[..., None], colours * 0.3, colours)


def test_a_square_piece_has_its_faces_side_by_side_in_true_mm():
    """Eight turns that are off by up to 1.7 degrees; blocks every 20 mm along the four faces and round the corners."""
    box = np.array([[0.0, 40.0], [110.0, 40.0], [120.0, 38.0]])
    turns = 45.0 * np.arange(8)
    pictures = [photographed(SHOT, box, face_paint, t + o, square=True) for t, o in zip(turns, OFF_DEG, strict=True)]
    seen = [TurnedView(picture, standing(SHOT, 120.0), t) for picture, t in zip(pictures, turns, strict=True)]
    found = roll_out(seen, box, heights_mm=(10, 105), section=Section("square", corner=0.02), px_per_mm=2)
    assert found.girth_mm == pytest.approx(320, rel=0.01)
    rows = (found.height_mm > 45) & (found.height_mm < 65)
    dark = found.picture[rows].astype(float).mean(axis=(0, 2)) < 90
    start = np.flatnonzero(dark & ~np.roll(dark, 1)) / found.px_per_mm
    assert len(start) == 16
    np.testing.assert_allclose(np.diff(start), 20, atol=1.6)
    assert np.diff(start).std() < 0.8


def test_pictures_carry_their_scale_and_rulers(views):
    one = roll_out(views[:1], POT, heights_mm=(5, 115), px_per_mm=2)
    ruled = ruled_picture(one, [BandMark(20, 60, "band", (100.0,))])
    for kind in ("PNG", "TIFF"):
        again = Image.open(io.BytesIO(picture_bytes(ruled, kind)))
        assert again.info["dpi"][0] == pytest.approx(2 * 25.4, rel=1e-3)
    pixels = np.asarray(ruled)
    foot = pixels[10 + one.picture.shape[0] + 4].mean(axis=1) < 128
    ticks = np.flatnonzero(foot)
    assert np.allclose(np.diff(ticks), 10)  # 5 mm at 2 pixels per mm


def test_geometry_says_what_each_row_is(views):
    one = roll_out(views[:1], POT, heights_mm=(5, 115), px_per_mm=2)
    table = one.geometry()["rows_every_mm"]
    assert table[0]["height_mm"] > table[-1]["height_mm"]
    at_60 = min(table, key=lambda row: abs(row["height_mm"] - 60))
    assert at_60["girth_mm"] == pytest.approx(2 * np.pi * 45, rel=0.01)


def test_too_few_photographs_or_turns_in_disorder_are_refused(views):
    with pytest.raises(InputError, match="photographs"):
        roll_out(views[:3], POT)
    with pytest.raises(InputError, match="turns"):
        roll_out(views[::-1], POT)


def test_correlation_under_masks_peaks_at_the_true_shift():
    rng = np.random.default_rng(2)
    scene = rng.normal(size=(60, 80))
    one, other = scene[5:45, 10:60], scene[3:43, 14:64]
    good = np.ones_like(one)
    holes = good.copy()
    holes[10:20, 20:30] = 0
    likeness = masked_correlation(one, other, holes, good, (6, 6))
    assert np.unravel_index(np.argmax(likeness), likeness.shape) == (6 + 2, 6 - 4)
    assert likeness.max() == pytest.approx(1, abs=1e-6)


def test_a_grid_for_eight_views_covers_what_it_says():
    wall = wall_of(POT, px_per_mm=2, heights_mm=(10, 100))
    assert wall.height_mm[0] == pytest.approx(10, abs=0.3)
    assert wall.height_mm[-1] == pytest.approx(100, abs=0.8)
