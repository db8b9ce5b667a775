"""Outlines: kept, measured anew with every change, and refused with the part that is wrong."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from PIL import Image

from tests.desk.conftest import BAR, BOTTLE, picture
from weftglass.desk import (
    Collection,
    add_photos_to_piece,
    create_piece,
    evidence_of,
    get_piece_dossier,
    get_view,
    identify_piece,
    mark_bare,
    outlines,
    propose_bare,
    propose_outline,
    record_sighting,
    rework_view,
    scale_of,
    scale_record,
    set_scale,
    withdraw_sighting,
)
from weftglass.errors import ChangedMeanwhile, InputError
from weftglass.photos.bar_within import INSIDE
from weftglass.records import KnownHeight, Piece, View


def test_outline_is_found_and_kept(collection: Collection, view: View) -> None:
    """Without a scale it stands unmeasured; the drawn bottle is found to within a few pixels."""
    found = propose_outline(collection, view.id, who="Mira", version=view.version)
    x, y = zip(*found.polygon, strict=True)
    for value, wanted in ((min(x), 200), (max(x), 400), (min(y), 120), (max(y), 850)):
        assert value == pytest.approx(wanted, abs=4)
    assert (found.polygon_by, found.measured) == ("found", None)
    assert get_view(collection, view.id).view == found


def test_base_that_the_frame_cuts_off_is_noticed(collection: Collection, piece: Piece) -> None:
    """The bottle's lower half is not on the picture: the view says so, and the top is not accused."""
    written = io.BytesIO()
    with Image.open(io.BytesIO(picture())) as whole:
        whole.crop((0, 0, 600, 600)).save(written, "PNG")
    (added,) = add_photos_to_piece(collection, piece.id, [("cut.png", written.getvalue())], who="Mira")
    found = propose_outline(collection, added.id, who="Mira")
    assert (found.base_unseen, found.top_unseen) == (True, False)


def test_outline_is_measured_once_there_is_a_scale(measured: View) -> None:
    """The drawn body is 200 pixels wide and 0.4 mm each: 80 mm across, seen from near a little less."""
    assert measured.measured is not None
    assert 2 * max(half for _, half in measured.measured.points) == pytest.approx(80, rel=0.02)
    assert measured.polygon_by == "hand"
    assert measured.measured.points[0][0] == 0.0


def test_known_height_scales_instead_of_a_bar(collection: Collection, measured: View) -> None:
    """One scale takes the place of the other."""
    view = set_scale(collection, measured.id, KnownHeight(250.0, 2.0), who="Mira")
    assert view.measured is not None
    assert view.scale_bar is None
    assert view.measured.height_mm == pytest.approx(250, abs=0.5)
    without = set_scale(collection, measured.id, None, who="Mira")
    assert (without.measured, scale_of(without)) == (None, None)


@pytest.mark.parametrize("scale", [BAR, KnownHeight(231.0, 1.5), None], ids=["bar", "height", "none"])
def test_scale_comes_back_from_its_record(collection: Collection, view: View, scale: Any) -> None:
    """What the workbench is told it can send back."""
    assert scale_of(set_scale(collection, view.id, scale, who="Mira")) == scale
    assert scale_of(rework_view(collection, view.id, {"scale": scale_record(scale)}, who="Mira")) == scale


def test_marked_ranges_keep_their_place_when_the_scale_changes(collection: Collection, measured: View) -> None:
    """About twice as tall by a new scale: their heights grow with it; a new outline leaves them alone."""
    mark_bare(collection, measured.id, [[240, 280], [200, 250]], who="Mira")
    doubled = rework_view(collection, measured.id, {"scale": {**(scale_record(BAR) or {}), "mm": 400.0}}, who="Mira")
    assert len(doubled.bare) == 1  # the two overlapped
    assert measured.measured is not None
    assert doubled.measured is not None
    taller = doubled.measured.points[-1][0] / measured.measured.points[-1][0]
    assert taller == pytest.approx(2.0, rel=0.06)
    assert doubled.bare[0] == pytest.approx((200 * taller, 280 * taller), abs=0.01)
    assert rework_view(collection, measured.id, {"polygon": BOTTLE[:-1]}, who="Mira").bare == doubled.bare


def test_rework_is_one_change(collection: Collection, view: View) -> None:
    """Outline, scale and bare glass sent together are saved together."""
    parts = {"polygon": BOTTLE, "scale": scale_record(BAR), "bare": [[230, 290]], "left_out": [[50, 70]]}
    saved = rework_view(collection, view.id, parts, who="Mira", version=1)
    assert saved.version == 2
    with pytest.raises(ChangedMeanwhile):
        rework_view(collection, view.id, {"bare": []}, who="Tove", version=1)
    assert get_view(collection, view.id).view == saved


@pytest.mark.parametrize(
    ("parts", "field"),
    [
        ({"polygon": [[0, 0], [1, 1]]}, "polygon"),
        ({"polygon": [[0, 0], [1, 1], [2]]}, "polygon[2]"),
        ({"polygon": [[0, 0], [1, 1], [2, float("nan")]]}, "polygon[2]"),
        ({"polygon": "round"}, "polygon"),
        ({"scale": {"kind": "guess"}}, "scale"),
        ({"scale": {"kind": "bar", "bar": [1, 2, 3], "mm": 5}}, "scale.bar"),
        ({"scale": {"kind": "bar", "bar": [1, 2, 1, 3], "mm": 5}}, "points"),
        ({"scale": {"kind": "bar", "bar": [1, 2, 1, 300], "mm": 0}}, "the bar's length"),
        ({"scale": {"kind": "height", "mm": 231, "sd_mm": 0}}, "the height's ±"),
        ({"scale": {"kind": "height", "mm": "231"}}, "the height"),
        ({"bare": [[5, 4]]}, "bare[0]"),
        ({"left_out": [[5]]}, "left_out[0]"),
        ({"axis": [[0, 0], [0, 1]]}, "axis"),
        ({"compared": False}, "compared"),
        ({"colour": 1}, "colour"),
    ],
)
def test_wrong_part_is_named_and_nothing_saved(
    collection: Collection, measured: View, parts: dict[str, Any], field: str
) -> None:
    """The view stays as it was."""
    with pytest.raises(InputError) as caught:
        rework_view(collection, measured.id, parts, who="Mira")
    assert caught.value.field == field
    assert str(caught.value).startswith(f"photograph {measured.id}: ")
    assert get_view(collection, measured.id).view == measured


def test_box_outside_the_picture_is_refused(collection: Collection, view: View) -> None:
    """A box has four numbers and lies in the photograph."""
    for box in ([1, 2, 3], [5000, 5000, 6000, 6000]):
        with pytest.raises(InputError, match="box"):
            propose_outline(collection, view.id, who="Mira", box=box)


def test_a_bar_inside_a_found_outline_asks_to_look_and_one_drawn_by_hand_is_believed(
    collection: Collection, view: View
) -> None:
    """The scale is kept and the outline measured; who drew it knows that it is no ruler."""
    propose_outline(collection, view.id, who="Mira")
    beside, inside = ({"kind": "bar", "bar": [x, 400, x, 800], "mm": 160} for x in (500, 300))
    asked = [rework_view(collection, view.id, {"scale": bar}, who="Mira").measured for bar in (beside, inside)]
    assert [INSIDE in one.warnings for one in asked if one is not None] == [False, True]
    drawn = rework_view(collection, view.id, {"polygon": BOTTLE}, who="Mira")
    assert drawn.measured is not None
    assert INSIDE not in drawn.measured.warnings


def test_bare_glass_is_proposed_and_not_saved(collection: Collection) -> None:
    """A rough body under a smooth neck: the neck is proposed, above the shoulder, and the view stays as it was."""
    with Image.open(io.BytesIO(picture())) as image:
        rough = np.asarray(image, dtype=np.int16).copy()
    stripes = np.where(np.indices((500, 200)).sum(axis=0) // 4 % 2, 60, -40)
    rough[350:850, 200:400] += stripes[..., None].astype(np.int16)
    written = io.BytesIO()
    Image.fromarray(np.clip(rough, 0, 255).astype(np.uint8)).save(written, "PNG")
    piece = create_piece(collection, "Jar", who="Mira", photos=[("rough.png", written.getvalue())])
    view = get_piece_dossier(collection, piece.id).views[0].view
    assert propose_bare(collection, view.id) == ()
    saved = rework_view(collection, view.id, {"polygon": BOTTLE, "scale": scale_record(BAR)}, who="Mira")
    (zone,) = propose_bare(collection, view.id)
    assert saved.measured is not None
    assert zone.low_mm == pytest.approx(200, abs=15)
    assert zone.high_mm == pytest.approx(saved.measured.points[-1][0], abs=1)
    assert get_view(collection, view.id).view == saved


def test_a_section_that_was_seen_measures_the_photographs_anew(collection: Collection, measured: View) -> None:
    """Corners of a flat body stand little before the axis; withdrawn, all is as it was."""
    before = get_view(collection, measured.id).view
    seen = record_sighting(collection, measured.piece, "section", "rectangle", who="Mira")
    flat = get_view(collection, measured.id).view
    withdraw_sighting(collection, seen.id, who="Mira")
    assert before.measured is not None
    assert flat.measured is not None
    assert max(half for _, half in flat.measured.points) > max(half for _, half in before.measured.points)
    assert get_view(collection, measured.id).view.measured == before.measured


def test_marking_glass_measures_nothing_anew_and_a_new_edge_does(
    collection: Collection, measured: View, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Bare and left-out ranges bear on nothing measured; what is measured is as if measured with them."""
    asked: list[str] = []
    measure = outlines.measured_outline

    def counted(view: View, *more: Any) -> Any:
        asked.append(view.id)
        return measure(view, *more)

    monkeypatch.setattr(outlines, "measured_outline", counted)
    marked = rework_view(collection, measured.id, {"bare": [[150, 170]], "left_out": [[20, 30]]}, who="Mira")
    assert asked == []
    assert (marked.bare, marked.left_out) == (((150.0, 170.0),), ((20.0, 30.0),))
    assert marked.measured == measured.measured
    again = rework_view(collection, measured.id, {"polygon": [list(point) for point in measured.polygon]}, who="Mira")
    assert asked == [measured.id]
    assert again.measured == marked.measured


def test_a_bulge_on_one_side_and_what_a_person_leaves_out_are_not_read(collection: Collection, view: View) -> None:
    """A handle on the right of the body: neither side is evidence there."""
    handled = [*BOTTLE[:4], [400, 500], [440, 510], [440, 640], [400, 650], *BOTTLE[4:]]
    parts = {"polygon": handled, "scale": scale_record(BAR), "left_out": [[20, 30]]}
    saved = rework_view(collection, view.id, parts, who="Mira")
    assert saved.measured is not None
    ((low, high),) = saved.measured.bulges
    assert (low, high) == pytest.approx((80, 140), abs=6)
    (outline,) = evidence_of(collection, view.piece).outlines
    assert set(outline.hidden) == {(20.0, 30.0), (low, high)}


def test_an_answer_says_that_it_rests_on_an_outline_in_doubt_until_somebody_compared_it(
    collection: Collection, measured: View
) -> None:
    """Found, doubted, compared, found again and doubted, corrected by hand."""

    def doubts() -> list[str]:
        return [one for one in identify_piece(collection, measured.piece).warnings if "doubts it" in one]

    def doubted() -> None:
        with collection.cabinet.writing("program") as draft:
            seen = draft.get(View, measured.id)
            draft.put(replace(seen, polygon_by="found", trace_warnings=("The outline is doubtful.",)))

    assert doubts() == []
    doubted()
    (sentence,) = doubts()
    assert sentence.startswith("The outline from the front")
    kept = rework_view(collection, measured.id, {"compared": True}, who="Mira")
    assert (kept.trace_warnings, kept.polygon_by) == ((), "found")
    assert kept.measured == measured.measured
    assert doubts() == []
    doubted()
    rework_view(collection, measured.id, {"polygon": [list(point) for point in measured.polygon]}, who="Mira")
    assert doubts() == []
