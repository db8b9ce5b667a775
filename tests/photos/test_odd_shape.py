"""What no vessel looks like is doubted: a ruler, a body that steps inward."""

from __future__ import annotations

import numpy as np
import pytest

from tests.photos.projector import BOTTLE, Shot
from weftglass.photos import Photograph, trace_outline
from weftglass.photos.odd_shape import is_strip, steps_inward
from weftglass.photos.outline import _by_edges_or_not
from weftglass.photos.silhouette import Silhouette, _is_half, _just_beyond


@pytest.mark.parametrize("tilt_deg", [0.0, 10.0])
def test_a_bottle_is_neither_strip_nor_stepped(tilt_deg: float) -> None:
    outline = Shot(700, 140 + 700 * np.tan(np.radians(tilt_deg)), tilt_deg=tilt_deg, focal_px=1900).silhouette(BOTTLE)
    assert not is_strip(outline)
    assert not steps_inward(outline)


def test_steps_inward_where_books_on_both_sides_end() -> None:
    outline = Shot(700, 190, focal_px=1900).silhouette(BOTTLE)
    swallowed = outline.copy()
    among = (outline[:, 1] > 800) & (outline[:, 1] < 950)
    swallowed[among, 0] += 25 * np.sign(outline[among, 0] - 599.5)
    assert steps_inward(swallowed)


def test_a_round_base_seen_from_above_is_no_step() -> None:
    y = np.arange(500.0)
    half = np.where(y < 120, 40.0, 100.0) * (1.0 - np.clip((y - 400.0) / 101.0, 0.0, 1.0) ** 2) ** 0.7
    assert not steps_inward(np.vstack([np.column_stack([half, y]), np.column_stack([-half, y])[::-1]]))


def test_trace_outline_of_a_ruler_alone_is_doubtful() -> None:
    chance = np.random.default_rng(3)
    canvas = np.full((800, 600, 3), (90.0, 100.0, 120.0)) + chance.normal(0, 2, (800, 600, 3))
    canvas[200:620, 250:330] = 235
    for k in range(0, 380, 40):
        canvas[220 + k : 240 + k, 270:300] = 25
    found = trace_outline(Photograph(np.clip(canvas, 0, 255).astype(np.uint8)))
    assert found.found
    assert found.confidence <= 0.4
    assert any("doubtful" in text for text in found.warnings)


def test_a_ruler_is_a_strip_with_a_book_of_its_width_above_it() -> None:
    y = np.arange(400.0)
    half = np.where(y < 120, 50.0 - 0.05 * y, 53.0)
    assert is_strip(np.vstack([np.column_stack([half, y]), np.column_stack([-half, y])[::-1]]))


def test_an_outline_longer_than_any_vessel_is_a_strip_whatever_its_corners() -> None:
    y = np.arange(400.0)
    half = 22.0 * np.clip(np.minimum(y / 40, (399 - y) / 80), 0.2, 1.0) ** 0.5
    assert is_strip(np.vstack([np.column_stack([half, y]), np.column_stack([-half, y])[::-1]]))
    assert not is_strip(np.vstack([np.column_stack([2 * half, y]), np.column_stack([-2 * half, y])[::-1]]))


@pytest.mark.parametrize("book", [False, True])
def test_trace_outline_that_goes_on_in_a_thing_above_the_lip_is_doubtful(book: bool) -> None:
    """The same flat dark bottle on a pale wall, with nothing and with a block of its colour right above its lip."""
    chance = np.random.default_rng(5)
    canvas = np.full((900, 640, 3), (214.0, 206.0, 190.0)) + chance.normal(0, 2, (900, 640, 3))
    rows = np.arange(300, 800)
    half = np.interp(rows, [300, 420, 500, 799], [26, 26, 95, 95])
    for y, wide in zip(rows, half, strict=True):
        canvas[y, round(320 - wide) : round(320 + wide)] = (70, 45, 30)
    if book:
        canvas[150:300, 240:400] = (70, 45, 30)
    found = trace_outline(Photograph(np.clip(canvas, 0, 255).astype(np.uint8)))
    assert any("doubtful" in text for text in found.warnings) is book
    assert (found.confidence <= 0.4) is book


def sought(confidence: float, *, odd: bool = False) -> Silhouette:
    """An outline of some confidence."""
    return Silhouette(np.zeros((3, 2)), np.zeros((1, 1), dtype=bool), confidence, odd=odd)


NOTHING = Silhouette(np.zeros((0, 2)), np.zeros((1, 1), dtype=bool), 0.0)


@pytest.mark.parametrize(
    ("by_colours", "by_edges", "taken"),
    [
        (sought(0.37), sought(0.40, odd=True), "colours"),
        (sought(0.40, odd=True), sought(0.20), "edges"),
        (sought(0.35, odd=True), sought(0.40, odd=True), "edges"),
        (sought(0.40), sought(0.42), "edges"),
        (sought(0.50), sought(0.55), "colours"),
        (sought(0.50), sought(0.62), "edges"),
        (NOTHING, sought(0.40, odd=True), "edges"),
        (sought(0.40, odd=True), NOTHING, "colours"),
    ],
)
def test_the_shape_of_a_vessel_comes_before_confidence(
    by_colours: Silhouette, by_edges: Silhouette, taken: str
) -> None:
    """A ruler that is found a little more surely than the bottle beside it is not taken for the piece."""
    assert _by_edges_or_not(by_colours, by_edges) is (by_colours if taken == "colours" else by_edges)


def test_half_a_piece_is_told_by_the_other_half_beyond_its_side() -> None:
    """One side of the outline then is no edge; a whole piece is told apart on both."""
    piece = np.zeros((120, 90), dtype=bool)
    piece[15:105, 25:66] = True
    odds = np.where(piece, 2.0, -2.0).astype(np.float32)
    left, right = piece.copy(), piece.copy()
    left[:, 45:], right[:, :45] = False, False
    assert not _is_half(piece, _just_beyond(piece), odds)
    assert _is_half(left, _just_beyond(left), odds)
    assert _is_half(right, _just_beyond(right), odds)


def test_what_is_long_and_has_no_neck_is_a_strip_whatever_its_corners() -> None:
    """A ruler before a book that is a little narrower at its top."""
    y = np.arange(450.0)
    half = np.where(y < 90, 38.0, 50.0) * np.clip(0.3 + y / 20, 0.3, 1.0)
    assert is_strip(np.vstack([np.column_stack([half, y]), np.column_stack([-half, y])[::-1]]))
    short = np.vstack([np.column_stack([half, 0.8 * y]), np.column_stack([-half, 0.8 * y])[::-1]])
    assert not is_strip(short)
