"""Examinations of a piece: spots keep their number over the years, and what changed is told."""

from __future__ import annotations

from datetime import date

import pytest

from weftglass.desk import (
    Collection,
    accept_finding,
    begin_examination,
    care_list,
    changes_between,
    condition_of,
    create_piece,
    drop_spot,
    edit_examination,
    library_of,
    look_at_spot,
    mark_spot,
    record_measurement,
    undo_change,
    withdraw_examination,
)
from weftglass.errors import ChangedMeanwhile, InputError
from weftglass.records import Examination, Piece, View

SPOT = {"kind": "stain", "face": "front", "up": 0.4, "across": -0.5, "size_mm": 12.0}


@pytest.fixture
def first(collection: Collection, piece: Piece) -> Examination:
    """The first examination, with three spots."""
    one = begin_examination(collection, piece.id, who="Mira", on="2024-05-03", state="sound")
    for size in (12.0, 20.0, 30.0):
        one = mark_spot(collection, one.id, who="Mira", **{**SPOT, "size_mm": size})  # type: ignore[arg-type]
    return one


def again(collection: Collection, first: Examination, on: str = "2026-05-03") -> Examination:
    """A later examination of the same piece."""
    return begin_examination(collection, first.piece, who="Tove", on=on, state="watch")


def test_spots_are_taken_over_as_not_looked_at(collection: Collection, first: Examination) -> None:
    """Nobody is said to have seen what was only copied; the earlier examination stays as it was."""
    later = again(collection, first)
    assert [(spot.number, spot.looked_at) for spot in later.spots] == [(1, False), (2, False), (3, False)]
    assert {change.what for change in changes_between(first, later)} == {"not looked at"}
    assert condition_of(collection, first.piece).examinations == (first, later)


def test_changes_are_told_spot_by_spot(collection: Collection, first: Examination) -> None:
    """Grown, as before within what a ruler tells apart, gone, and new with a number nobody had."""
    later = again(collection, first)
    look_at_spot(collection, later.id, 1, who="Tove", size_mm=16.0)
    look_at_spot(collection, later.id, 2, who="Tove", size_mm=22.0)
    drop_spot(collection, later.id, 3, who="Tove")
    later = mark_spot(collection, later.id, who="Tove", **SPOT)  # type: ignore[arg-type]
    told = [(change.spot.number, change.what) for change in changes_between(first, later)]
    assert told == [(1, "grown"), (2, "same"), (4, "new"), (3, "gone")]


def test_number_of_a_spot_is_never_given_twice(collection: Collection, first: Examination) -> None:
    """Also not after the spot is gone or its examination was taken away."""
    later = again(collection, first)
    later = mark_spot(collection, later.id, who="Tove", **SPOT)  # type: ignore[arg-type]
    withdraw_examination(collection, later.id, who="Tove")
    third = again(collection, first)
    assert [spot.number for spot in third.spots] == [1, 2, 3]
    third = mark_spot(collection, third.id, who="Tove", **SPOT)  # type: ignore[arg-type]
    assert third.spots[-1].number == 5


def test_examination_entered_late_follows_the_one_before_its_day(collection: Collection, first: Examination) -> None:
    """An old note found in a drawer goes where it belongs and takes nothing over from later ones."""
    old = begin_examination(collection, first.piece, who="Mira", on="2019-01-01", state="sound")
    assert old.spots == ()
    assert [one.on for one in condition_of(collection, first.piece).examinations] == ["2019-01-01", "2024-05-03"]


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"kind": "ghost"}, "kind"),
        ({"face": "inside"}, "face"),
        ({"up": 1.2}, "up"),
        ({"across": -1.5}, "across"),
        ({"size_mm": 0.0}, "size_mm"),
        ({"size_mm": float("nan")}, "size_mm"),
    ],
)
def test_wrong_spot_is_refused_with_its_field(
    collection: Collection, first: Examination, wrong: dict[str, object], field: str
) -> None:
    """And nothing of it is kept."""
    with pytest.raises(InputError) as caught:
        mark_spot(collection, first.id, who="Mira", **{**SPOT, **wrong})  # type: ignore[arg-type]
    assert caught.value.field.endswith(field)
    assert condition_of(collection, first.piece).examinations == (first,)


def test_wrong_day_or_state_is_refused(collection: Collection, piece: Piece) -> None:
    """A day to come, no day at all, a state nobody knows."""
    for on, state, field in (("2027-01-01", "sound", "on"), ("May", "sound", "on"), ("2026-01-01", "nice", "state")):
        with pytest.raises(InputError) as caught:
            begin_examination(collection, piece.id, who="Mira", on=on, state=state, today=date(2026, 11, 25))
        assert caught.value.field == field
    assert condition_of(collection, piece.id).examinations == ()


def test_change_of_an_examination_carries_its_version_and_can_be_undone(
    collection: Collection, first: Examination
) -> None:
    """Two windows do not overwrite one another."""
    edit_examination(collection, first.id, who="Mira", state="care", remark="brittle", version=first.version)
    with pytest.raises(ChangedMeanwhile):
        edit_examination(collection, first.id, who="Tove", state="sound", remark="", version=first.version)
    with collection.cabinet.reading() as reader:
        last = reader.history(record=first.id)[-1]
    undo_change(collection, last.number, who="Mira")
    assert condition_of(collection, first.piece).examinations[0].state == "sound"


def test_care_list_has_the_worst_and_the_longest_ago_first(collection: Collection, first: Examination) -> None:
    """What needs care leads, within a state the older look; never examined ones are due and come last."""
    never, poor, newer = (create_piece(collection, name, who="Mira").id for name in ("never", "poor", "newer"))
    begin_examination(collection, poor, who="Mira", on="2026-10-01", state="care")
    begin_examination(collection, newer, who="Mira", on="2026-10-01", state="sound")
    listed = care_list(collection, date(2026, 11, 25))
    assert [one.piece for one in listed] == [poor, first.piece, newer, never]
    assert [one.due for one in listed] == [False, True, False, True]
    assert [one.urgent for one in listed] == [True, False, False, False]
    again(collection, first)
    assert [one.state for one in care_list(collection, date(2026, 11, 25))] == ["care", "watch", "sound", None]


def test_piece_is_drawn_from_the_best_that_is_known(collection: Collection, piece: Piece) -> None:
    """A plain jar without a height, then with one, then the form that was accepted."""
    plain = condition_of(collection, piece.id).silhouette
    assert (plain.height_mm, "plain jar" in plain.drawn_from) == (None, True)
    record_measurement(collection, piece.id, "height", "292 mm", who="Mira")
    assert condition_of(collection, piece.id).silhouette.height_mm == 292.0
    finding = accept_finding(collection, piece.id, who="Mira", form="wine-onion-cont-720ml")
    drawn = condition_of(collection, piece.id).silhouette
    assert library_of(collection)[str(finding.form)].title in drawn.drawn_from
    assert drawn.front[-1][0] == 1.0


def test_piece_is_drawn_from_its_outline_where_there_is_one(collection: Collection, measured: View) -> None:
    """In shares of its height, upward."""
    drawn = condition_of(collection, measured.piece).silhouette
    assert measured.measured is not None
    assert drawn.height_mm == measured.measured.height_mm
    assert drawn.front[0][0] >= 0.0
    assert [up for up, _ in drawn.front] == sorted(up for up, _ in drawn.front)
    assert max(half for _, half in drawn.front) * drawn.height_mm == pytest.approx(40.0, abs=1.5)
