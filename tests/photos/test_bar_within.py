"""An outline that was found and holds its own scale bar may be the ruler's: somebody is asked to look, nothing more."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from weftglass.photos import Photograph, Silhouette, found, outline_from_photograph
from weftglass.photos.bar_within import HARDLY_MORE, INSIDE, OF_RULER, bar_within
from weftglass.photos.scale import scale_from_bar

RULER = np.array([[100.0, 100.0], [140.0, 100.0], [140.0, 500.0], [100.0, 500.0]])
BOTTLE = np.array(
    [[280.0, 60.0], [320.0, 60.0], [320.0, 200.0], [400.0, 260.0], [400.0, 560.0], [200.0, 560.0], [200.0, 260.0],
     [280.0, 200.0]]
)  # fmt: skip


def said(polygon: np.ndarray, *ends: float) -> str | None:
    return bar_within(polygon, scale_from_bar(*ends, 100.0))


def turned(polygon: np.ndarray) -> np.ndarray:
    """The same lying down."""
    return polygon[:, ::-1]


@pytest.mark.parametrize("lying", [False, True])
def test_outline_that_is_hardly_more_than_the_bar_is_told_apart(lying: bool) -> None:
    ends = (102.0, 110.0, 102.0, 490.0)
    outline, bar = (turned(RULER), (ends[1], ends[0], ends[3], ends[2])) if lying else (RULER, ends)
    assert said(outline, *bar) == HARDLY_MORE


def test_bar_inside_a_piece_or_a_part_of_a_strip_asks_to_look() -> None:
    assert said(BOTTLE, 300.0, 90.0, 300.0, 540.0) == INSIDE
    assert said(RULER, 120.0, 200.0, 120.0, 400.0) == INSIDE


@pytest.mark.parametrize(
    "ends",
    [
        (450.0, 100.0, 450.0, 500.0),
        (300.0, 300.0, 300.0, 600.0),
        (210.0, 80.0, 210.0, 540.0),
        (180.0, 400.0, 420.0, 400.0),
    ],
    ids=["beside", "out below", "past the shoulder", "from side to side"],
)
def test_bar_that_reaches_out_says_nothing(ends: tuple[float, float, float, float]) -> None:
    assert said(BOTTLE, *ends) is None


def test_ends_on_the_edge_of_the_outline_are_inside() -> None:
    """The first and last tick of a ruler stand at its ends."""
    assert said(RULER, 99.0, 99.0, 99.0, 501.0) == HARDLY_MORE
    assert said(RULER, 90.0, 100.0, 90.0, 500.0) is None


def test_no_bar_says_nothing() -> None:
    assert bar_within(RULER, None) is None


@pytest.mark.parametrize(
    ("outline", "bar", "told"),
    [
        (RULER, (103, 105, 103, 495, 100), {HARDLY_MORE}),
        (BOTTLE, (300, 100, 300, 500, 100), {INSIDE}),
        (BOTTLE, (500, 100, 500, 500, 100), set()),
    ],
    ids=["the ruler itself", "before the piece", "beside the piece"],
)
def test_whatever_was_found_is_measured_and_told(
    monkeypatch: pytest.MonkeyPatch, outline: np.ndarray, bar: tuple[float, ...], told: set[str]
) -> None:
    """Finding is not what is tried: that a ruler can be found for a piece is in `test_odd_shape`."""
    mask = cv2.fillPoly(np.zeros((640, 640), np.uint8), [outline.astype(np.int32)], 1) > 0
    monkeypatch.setattr(found, "trace_outline", lambda photo, box: Silhouette(outline, mask, 0.9))
    measured = outline_from_photograph(Photograph(np.full((640, 640, 3), 200, np.uint8)), scale_bar=bar).measured
    assert set(OF_RULER) & set(measured.warnings) == told
    assert measured.height_mm > 0
