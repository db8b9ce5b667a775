"""Bulges over a thing beside the piece are cut off an outline; those of the covering stay."""

from __future__ import annotations

import numpy as np
import pytest

from weftglass.photos.ledge import without_false_bulges
from weftglass.photos.rows import dense

BODY, WALL, BOOK = (40.0, 15.0, 20.0), (75.0, 0.0, 5.0), (20.0, 2.0, 2.0)
BULGE = (250, 330)


def outlined(*sides: str) -> np.ndarray:
    """A body 240 wide and 600 tall from (180, 100), standing out by 12 between two rows on some of its sides."""
    low, high = BULGE
    left = [(180, 700), (180, high), (168, high - 8), (168, low + 8), (180, low), (180, 100)]
    right = [(420, 100), (420, low), (432, low + 8), (432, high - 8), (420, high), (420, 700)]
    plain = {"left": [(180, 700), (180, 100)], "right": [(420, 100), (420, 700)]}
    bulging = {"left": left, "right": right}
    corners = [xy for side in ("right", "left") for xy in (bulging if side in sides else plain)[side]]
    return dense(np.array(corners, dtype=np.float64))


def picture(*, books: bool) -> np.ndarray:
    """The body before a wall, or with a book on either side that reaches beyond the bulge, above and below."""
    lab = np.full((800, 600, 3), WALL, dtype=np.float32)
    if books:
        lab[180:520, 100:500] = BOOK
    else:
        lab[BULGE[0] : BULGE[1], 168:433] = BODY
    lab[100:701, 180:421] = BODY
    return lab


@pytest.mark.parametrize("sides", [("left",), ("right",), ("left", "right")])
def test_bulge_over_a_book_is_cut_off(sides: tuple[str, ...]) -> None:
    cut = without_false_bulges(outlined(*sides), picture(books=True))
    assert cut is not None
    assert (float(cut[:, 0].min()), float(cut[:, 0].max())) == pytest.approx((180.0, 420.0), abs=0.5)
    assert (float(cut[:, 1].min()), float(cut[:, 1].max())) == pytest.approx((100.0, 700.0), abs=0.5)


def test_band_of_the_covering_stays() -> None:
    assert without_false_bulges(outlined("left", "right"), picture(books=False)) is None


def test_what_lies_between_two_dents_stays() -> None:
    """An outline that strays into the weave has no edge there either: nothing more is cut off it."""
    outline = outlined().copy()
    for low, high in ((300, 340), (480, 520)):
        dented = (outline[:, 0] > 400) & (outline[:, 1] > low) & (outline[:, 1] < high)
        outline[dented, 0] -= 12
    assert without_false_bulges(outline, picture(books=False)) is None


def test_outline_without_a_bulge_stays() -> None:
    assert without_false_bulges(outlined(), picture(books=True)) is None


def test_collar_on_a_narrow_neck_stays() -> None:
    """Clear glass has faint edges: where the piece is narrow, nothing is cut off."""
    half = np.r_[np.full(120, 40.0), np.full(30, 50.0), np.full(60, 40.0), np.full(390, 120.0)]
    y = np.arange(100.0, 700.0)
    outline = np.vstack([np.column_stack([300 + half, y]), np.column_stack([300 - half, y])[::-1]])
    assert without_false_bulges(dense(outline), np.full((800, 600, 3), WALL, dtype=np.float32)) is None
