"""A top that is no vessel's, or at which the picture shows no edge, is doubted, and the height says by how much."""

from __future__ import annotations

import numpy as np
import pytest

from tests.photos.projector import BOTTLE, Shot
from weftglass.photos import MeasuredOutline, measure_outline, scale_from_bar
from weftglass.photos.rows import dense
from weftglass.photos.top_edge import doubted_top
from weftglass.vessels import FormLibrary

SHOT = Shot(900, 225, tilt_deg=5)
BOOK = np.vstack([BOTTLE, [[285.5, 40], [310, 40]]])


def picture(profile: np.ndarray, shown: int) -> np.ndarray:
    """Pixels of a silhouette against black, its lightness as given."""
    mask = SHOT.mask(profile)[::4, ::4] > 127
    return np.repeat(np.where(mask, shown, 40).astype(np.uint8)[..., None], 3, axis=2)


def measured(profile: np.ndarray, pixels: np.ndarray | None = None) -> MeasuredOutline:
    scale = scale_from_bar(*SHOT.bar(), 100, in_axis_plane=True)
    return measure_outline(
        SHOT.silhouette(profile), scale=scale, focal_35mm=SHOT.focal_35mm, image_size=SHOT.size, pixels=pixels
    )


def test_doubted_top_of_a_book_above_the_lip_is_said_and_the_height_is_open_down_to_the_lip() -> None:
    found = measured(BOOK)
    assert any("widens as no vessel does" in text for text in found.warnings)
    assert found.height_mm - 2 * found.axis["height_sd_mm"] < 285


def test_doubted_top_is_none_on_the_bottle_itself() -> None:
    outline = dense(SHOT.silhouette(BOTTLE))
    assert doubted_top(outline, None) is None
    assert doubted_top(outline, picture(BOTTLE, 160)) is None
    assert not any("no vessel" in text or "no edge" in text for text in measured(BOTTLE).warnings)


def test_doubted_top_where_the_picture_shows_no_edge() -> None:
    found = doubted_top(dense(SHOT.silhouette(BOTTLE)), picture(BOTTLE, 41))
    assert found is not None
    assert "no edge" in found.why


@pytest.mark.parametrize("turn_deg", [0.0, 90.0])
def test_doubted_top_doubts_no_form_of_the_library(turn_deg: float) -> None:
    """Stoppered globes and trumpet lips included, as they are seen from far."""
    for form in FormLibrary.starter():
        z, half = form.silhouette(turn_deg).points.T
        assert (
            doubted_top(dense(np.vstack([np.column_stack([half, -z]), np.column_stack([-half, -z])[::-1]])), None)
            is None
        )


def test_doubted_top_where_the_outline_is_narrower_than_any_neck() -> None:
    """A book's thin border followed down to the shoulder of a bottle whose dark neck was not seen."""
    half = np.r_[np.full(40, 4.5), np.full(10, 3.0), np.full(50, 50.0)]
    y = np.arange(100.0)
    found = doubted_top(np.vstack([np.column_stack([half, y]), np.column_stack([-half, y])[::-1]]), None)
    assert found is not None
    assert "narrower than any vessel's neck" in found.why
    assert 0.4 <= found.open_by <= 0.5
    half[:50] = 6.0  # a slim neck
    assert doubted_top(np.vstack([np.column_stack([half, y]), np.column_stack([-half, y])[::-1]]), None) is None
