"""Pictures that do not show everything: ends cut off, a side outside, no size, a section that a person knows."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from tests.photos.projector import BOTTLE, Shot
from weftglass.errors import InputError
from weftglass.photos import MeasuredOutline, SectionHint, Unseen, measure_outline, scale_from_bar

WHOLE = Shot(600, 190, tilt_deg=5)
NO_BASE = Shot(600, 350)
NO_TOP = Shot(600, -60)
NO_RIGHT_SIDE = Shot(600, 190, tilt_deg=5, aside_mm=120)


def measured(shot: Shot, **more: object) -> MeasuredOutline:
    facts = {"focal_35mm": shot.focal_35mm, "image_size": shot.size, "scale": bar(shot)} | more
    return measure_outline(shot.silhouette(BOTTLE), **facts)


def bar(shot: Shot):
    return scale_from_bar(*shot.bar(), 100, in_axis_plane=True)


def box_outline(shot: Shot, half: float, depth_share: float, tall: float) -> np.ndarray:
    """Hull of the eight corners of a box seen square-on."""
    across, back, up = np.meshgrid([-half, half], [-half * depth_share, half * depth_share], [0.0, tall])
    corners = shot.pixel(across.ravel(), up.ravel(), back.ravel())
    return cv2.convexHull(corners.astype(np.float32))[:, 0].astype(np.float64)


def test_measure_outline_counts_from_the_lowest_seen_point_when_the_base_is_cut_off() -> None:
    found = measured(NO_BASE)
    lowest = 350 - 799.5 / 2500 * 600
    assert (found.unseen.base, found.unseen.top) == (True, False)
    assert found.height_mm == pytest.approx(285 - lowest, abs=4)
    z, half = found.points[8:-8].T
    np.testing.assert_allclose(half, np.interp(z + lowest, BOTTLE[:, 0], BOTTLE[:, 1]), atol=2.0)
    assert any("base is not seen" in text for text in found.warnings)
    assert not any("square or flat" in text for text in found.warnings)
    assert found.to_record()["base_unseen"] is True


def test_measure_outline_measures_the_body_when_the_top_is_cut_off() -> None:
    found = measured(NO_TOP)
    assert (found.unseen.base, found.unseen.top) == (False, True)
    assert found.height_mm == pytest.approx(-60 + 799.5 / 2500 * 600, abs=4)
    assert found.points[:, 1].max() == pytest.approx(45, rel=0.025)


def test_measure_outline_takes_the_other_side_where_one_leaves_the_picture() -> None:
    """The piece stands 11 degrees aside; its bar, on the side that the picture shows, faces the camera as it does."""
    on_picture = scale_from_bar(*NO_RIGHT_SIDE.bar(across=-90.0), 100, in_axis_plane=True)
    found = measured(NO_RIGHT_SIDE, scale=on_picture)
    assert found.points[:, 1].max() == pytest.approx(45, rel=0.01)
    assert any("right edge of the picture" in text for text in found.warnings)


def test_measure_outline_believes_a_person_that_the_base_is_hidden() -> None:
    assert measured(WHOLE).unseen == Unseen()
    assert measured(WHOLE, unseen=Unseen(base=True)).unseen.base


def test_measure_outline_without_any_size_keeps_the_shape_and_doubts_the_scale() -> None:
    found = measured(WHOLE, scale=None, shape_only=True)
    assert found.scale_sd > 0.4
    assert 2 * found.points[:, 1].max() / found.height_mm == pytest.approx(90 / 285, rel=0.06)
    assert any("only the shape counts" in text for text in found.warnings)


def test_measure_outline_without_any_size_says_no_millimetres() -> None:
    """By how much a height is uncertain is then a share of it: the millimetres would be those of a guess."""
    for size, unit in (({"scale": None, "shape_only": True}, " % of itself"), ({}, " mm")):
        told = [text for text in measured(WHOLE, focal_35mm=None, **size).warnings if "is uncertain by" in text]
        assert told
        assert all(unit in text for text in told)
        assert all((" mm" in text) is (unit == " mm") for text in told)


def test_measure_outline_does_not_trust_a_height_of_which_a_part_is_seen() -> None:
    assert measured(NO_BASE, scale=None, height_mm=285).scale_sd > 0.25


def test_measure_outline_weighs_bar_and_height_and_is_silent_when_they_agree() -> None:
    both, one = measured(WHOLE, height_mm=285), measured(WHOLE)
    assert both.scale_sd < one.scale_sd
    assert not any("disagree" in text for text in both.warnings)


def test_measure_outline_says_when_bar_and_height_disagree() -> None:
    (said,) = (text for text in measured(WHOLE, height_mm=390).warnings if "disagree" in text)
    assert "390 mm" in said


@pytest.mark.parametrize(("hint", "depth_share"), [("square", 0.6), ("flat:0.4", 0.28)])
def test_measure_outline_uses_the_section_a_person_knows(hint: str, depth_share: float) -> None:
    """Boxes whose corners stand back by what coverings round off."""
    shot = Shot(450, 160, tilt_deg=8)
    outline = box_outline(shot, 40.0, depth_share, 200.0)
    facts = {"scale": bar(shot), "focal_35mm": shot.focal_35mm, "image_size": shot.size, "tilt_deg": 8.0}
    told = measure_outline(outline, section=SectionHint.of(hint), **facts)
    guessed = measure_outline(outline, **facts)
    middle = np.interp(100.0, *told.points.T), np.interp(100.0, *guessed.points.T)
    assert middle[0] == pytest.approx(40.0, rel=0.012)
    assert abs(middle[0] - 40.0) <= abs(middle[1] - 40.0)
    assert np.median(told.sd_mm) < np.median(guessed.sd_mm)
    assert not any("section" in text for text in told.warnings)


def test_section_hint_of_a_turned_piece_has_no_side_nearer_than_the_axis() -> None:
    turned = SectionHint.of("square", turn_deg=30).depth
    assert turned is not None
    assert turned.share == 0.0
    assert turned.sd > SectionHint.of("square", turn_deg=45).depth.sd
    assert SectionHint.of("round").depth is None


@pytest.mark.parametrize("text", ["oblong", "flat:2", "round:0.5", "flat:thin", ""])
def test_section_hint_refuses_what_is_no_section(text: str) -> None:
    with pytest.raises(InputError) as refused:
        SectionHint.of(text)
    assert refused.value.field == "section"
