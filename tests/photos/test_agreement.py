"""Which of several outlines of one piece stands: one that another way of looking confirms, then the likelier shape."""

from __future__ import annotations

import numpy as np
import pytest

from weftglass.photos import Photograph
from weftglass.photos.agreement import Cuts, chosen
from weftglass.photos.odd_shape import overhang
from weftglass.photos.patches import filled, overlap
from weftglass.photos.rows import dense
from weftglass.photos.silhouette import DOUBTFUL, Silhouette
from weftglass.vessels import FormLibrary

HEIGHT, WIDTH, TOP, FOOT, MIDDLE = 500, 400, 100, 440, 200
SHOULDER = 240
Y = np.arange(TOP, FOOT, dtype=float)
BOTTLE = np.interp(Y, [TOP, 200, 260, FOOT], [24, 24, 80, 80])


def outlined(half: np.ndarray, y: np.ndarray = Y) -> np.ndarray:
    return dense(np.vstack([np.column_stack([MIDDLE + half, y]), np.column_stack([MIDDLE - half, y])[::-1]]))


def silhouette(half: np.ndarray, confidence: float, y: np.ndarray = Y) -> Silhouette:
    polygon = outlined(half, y)
    return Silhouette(polygon, filled(polygon, (HEIGHT, WIDTH)), confidence)


def photograph(behind: np.ndarray = BOTTLE) -> Photograph:
    """The bottle, dark before a pale wall; behind it a greyer thing of other half-widths."""
    pixels = np.full((HEIGHT, WIDTH, 3), (210, 205, 195), dtype=np.uint8)
    pixels[filled(outlined(behind), (HEIGHT, WIDTH))] = (130, 120, 100)
    pixels[filled(outlined(BOTTLE), (HEIGHT, WIDTH))] = (60, 50, 40)
    return Photograph(pixels)


def body() -> np.ndarray:
    mask = filled(outlined(BOTTLE), (HEIGHT, WIDTH))
    mask[:SHOULDER] = False
    return mask


def cuts(woven: np.ndarray, colour: Silhouette, detail: Silhouette) -> Cuts:
    return Cuts(np.ones((HEIGHT, WIDTH), dtype=bool), woven, colour, detail)


def alike(one: Silhouette, other: Silhouette) -> bool:
    """The same but for a few pixels: what is taken is brought closer to the edges."""
    return overlap(one.mask, other.mask) > 0.92


NECK_OF_BOOKS = np.where(Y < 200, 44.0, np.maximum(BOTTLE, 44.0))
HANGING_OVER = np.where(Y < 200, 60.0, BOTTLE)
NO_NECK = Y >= SHOULDER
NOTHING = Silhouette(np.zeros((0, 2)), np.zeros((HEIGHT, WIDTH), dtype=bool), 0.0)


def test_an_outline_that_colours_or_detail_confirm_stands_and_is_sure() -> None:
    found, same = silhouette(BOTTLE, 0.5), silhouette(BOTTLE * 1.01, 0.6)
    other = silhouette(NECK_OF_BOOKS, 0.9)
    for cut, detail in ((same, other), (other, same), (same, NOTHING)):
        stands = chosen(photograph(), found, found, cuts(body(), cut, detail))
        assert stands.polygon_px is found.polygon_px
        assert stands.confidence >= 0.55
        assert stands.warnings == ()


def test_two_cuts_that_agree_outweigh_what_was_found_first() -> None:
    cut, detail = silhouette(BOTTLE, 0.6), silhouette(BOTTLE * 1.01, 0.6)
    stands = chosen(photograph(), silhouette(NECK_OF_BOOKS, 0.8), NOTHING, cuts(body(), cut, detail))
    assert stands.polygon_px is cut.polygon_px


def test_an_outline_that_stands_alone_gives_way_to_fine_detail() -> None:
    found, detail = silhouette(NECK_OF_BOOKS, 0.8), silhouette(BOTTLE, 0.7)
    photo = photograph(NECK_OF_BOOKS)
    assert alike(chosen(photo, found, NOTHING, cuts(body(), NOTHING, detail)), detail)
    assert chosen(photo, found, found, cuts(body(), NOTHING, detail)) is found
    assert chosen(photo, found, NOTHING, cuts(body(), NOTHING, silhouette(BOTTLE, 0.5))) is found


def test_an_outline_whose_top_is_doubted_gives_way_to_fine_detail() -> None:
    found, detail = silhouette(NECK_OF_BOOKS, 0.8), silhouette(BOTTLE, 0.7)
    assert alike(chosen(photograph(), found, found, cuts(body(), NOTHING, detail)), detail)


def test_an_outline_that_hangs_over_a_narrower_place_gives_way_to_fine_detail() -> None:
    found, detail = silhouette(HANGING_OVER, 0.8), silhouette(BOTTLE, 0.7)
    assert overhang(found.polygon_px) > 0.5
    assert alike(chosen(photograph(HANGING_OVER), found, found, cuts(body(), NOTHING, detail)), detail)


def test_a_cut_that_is_not_sure_takes_the_place_of_what_is_less_and_stays_doubtful() -> None:
    elsewhere = silhouette(np.full(40, 30.0), 0.38, np.arange(20.0, 60.0))
    cut, less_sure = silhouette(BOTTLE, 0.44), silhouette(BOTTLE, 0.3)
    taken = chosen(photograph(), elsewhere, elsewhere, cuts(body(), cut, NOTHING))
    assert taken.polygon_px is cut.polygon_px
    assert taken.warnings == (DOUBTFUL,)
    kept = chosen(photograph(), elsewhere, elsewhere, cuts(body(), less_sure, NOTHING))
    assert kept.polygon_px is elsewhere.polygon_px


def test_a_covering_without_a_neck_is_not_taken_for_the_whole_by_its_detail() -> None:
    """The cut holds it and the clear glass above it."""
    cylinder = np.interp(Y, [TOP, 200, 220, FOOT], [24, 24, 80, 80])
    below = Y >= SHOULDER
    cut, detail = silhouette(cylinder, 0.45), silhouette(cylinder[below], 0.7, Y[below])
    elsewhere = silhouette(np.full(40, 30.0), 0.38, np.arange(20.0, 60.0))
    assert chosen(photograph(), elsewhere, elsewhere, cuts(body(), cut, detail)).polygon_px is cut.polygon_px


def test_fine_detail_that_lost_a_neck_of_smooth_glass_does_not_take_the_place_of_the_whole() -> None:
    whole, detail = silhouette(BOTTLE, 0.7), silhouette(BOTTLE[NO_NECK], 0.9, Y[NO_NECK])
    assert chosen(photograph(), whole, NOTHING, cuts(body(), NOTHING, detail)) is whole
    elsewhere = silhouette(np.full(40, 30.0), 0.7, np.arange(20.0, 60.0))
    assert chosen(photograph(), elsewhere, elsewhere, cuts(body(), whole, detail)) is whole
    assert alike(chosen(photograph(), elsewhere, elsewhere, cuts(body(), NOTHING, detail)), detail)


def test_a_small_part_of_a_vessel_does_not_take_the_place_of_it() -> None:
    whole = silhouette(BOTTLE, 0.3)
    part = silhouette(BOTTLE[Y < 200], 0.9, Y[Y < 200])
    assert chosen(photograph(), whole, NOTHING, cuts(np.zeros_like(body()), part, part)) is not whole  # both cuts agree
    assert chosen(photograph(), whole, NOTHING, cuts(np.zeros_like(body()), part, NOTHING)) is whole
    assert chosen(photograph(), whole, NOTHING, cuts(np.zeros_like(body()), NOTHING, part)) is whole


@pytest.mark.parametrize("turn_deg", [0.0, 90.0])
def test_few_forms_hang_over_themselves(turn_deg: float) -> None:
    hanging = []
    for form in FormLibrary.starter():
        z, half = form.silhouette(turn_deg).points.T
        hanging.append(overhang(dense(np.vstack([np.column_stack([half, -z]), np.column_stack([-half, -z])[::-1]]))))
    assert np.mean(np.array(hanging) > 0.15) < 0.05
