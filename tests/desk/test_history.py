"""Taking changes back."""

from __future__ import annotations

import pytest

from weftglass.desk import (
    Collection,
    accept_finding,
    edit_piece,
    fields_changed,
    get_piece,
    get_view,
    history_of,
    mark_bare,
    record_measurement,
    record_sighting,
    undo_change,
    withdraw_piece,
)
from weftglass.errors import InputError
from weftglass.records import MeasurementRecord, Piece, View


def test_changed_fields_are_told(collection: Collection, piece: Piece) -> None:
    """Only what a person changed, not versions and times."""
    edit_piece(collection, piece.id, {"maker": "Oda", "technique": "twining"}, who="Mira")
    (change,) = fields_changed(history_of(collection, piece.id)[-1])
    assert (change.field, change.before, change.after) == ("maker", "", "Oda")


def test_undo_brings_the_earlier_record_back_as_a_new_change(collection: Collection, piece: Piece) -> None:
    """And the undoing can be undone."""
    edit_piece(collection, piece.id, {"maker": "Oda"}, who="Mira")
    undo_change(collection, history_of(collection, piece.id)[-1].number, who="Tove")
    assert get_piece(collection, piece.id).maker == ""
    last = history_of(collection, piece.id)[-1]
    assert (last.who, last.deed, get_piece(collection, piece.id).version) == ("Tove", "undone", 3)
    undo_change(collection, last.number, who="Mira")
    assert get_piece(collection, piece.id).maker == "Oda"


def test_undo_of_a_withdrawal_and_of_an_addition(collection: Collection, piece: Piece) -> None:
    """What was taken out comes back; what was added is withdrawn, never erased."""
    withdraw_piece(collection, piece.id, who="Mira")
    undo_change(collection, history_of(collection, piece.id)[-1].number, who="Mira")
    assert not get_piece(collection, piece.id).withdrawn
    record_measurement(collection, piece.id, "weight", "8120 g", who="Mira")
    undone = undo_change(collection, history_of(collection, piece.id)[-1].number, who="Mira")
    assert isinstance(undone, MeasurementRecord)
    assert (undone.withdrawn, undone.value) == (True, 8120.0)


def test_undo_of_a_section_that_was_seen_measures_the_photographs_anew(collection: Collection, measured: View) -> None:
    """Taken back, the profile is the one of before; taken back again, the one of a square body."""
    record_sighting(collection, measured.piece, "section", "square", who="Mira")
    square = get_view(collection, measured.id).view.measured
    assert square != measured.measured
    for expected in (measured.measured, square):
        last = [one for one in history_of(collection, measured.piece) if one.kind == "sighting"][-1]
        undo_change(collection, last.number, who="Tove")
        assert get_view(collection, measured.id).view.measured == expected


def test_undo_restores_a_measured_view_exactly(collection: Collection, measured: View) -> None:
    """Outline, scale and profile come back as they were."""
    mark_bare(collection, measured.id, [[250, 290]], who="Mira")
    undo_change(collection, history_of(collection, measured.piece)[-1].number, who="Mira")
    back = get_view(collection, measured.id).view
    assert (back.bare, back.measured, back.polygon) == ((), measured.measured, measured.polygon)


def test_undo_is_refused_when_later_work_stands_on_it(collection: Collection, piece: Piece) -> None:
    """The later change has to go first."""
    edit_piece(collection, piece.id, {"maker": "Oda"}, who="Mira")
    number = history_of(collection, piece.id)[-1].number
    edit_piece(collection, piece.id, {"place": "Ebb"}, who="Mira")
    with pytest.raises(InputError, match="last change of piece"):
        undo_change(collection, number, who="Mira")
    with pytest.raises(InputError, match="number of a change"):
        undo_change(collection, 999, who="Mira")


def test_findings_and_photographs_are_not_taken_back(collection: Collection, measured: View) -> None:
    """A finding is superseded; a photograph stays."""
    accept_finding(collection, measured.piece, who="Mira")
    by_kind = {change.kind: change.number for change in history_of(collection)}
    for kind in ("finding", "photograph"):
        with pytest.raises(InputError, match=kind):
            undo_change(collection, by_kind[kind], who="Mira")
