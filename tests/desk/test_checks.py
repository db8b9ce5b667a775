"""Whatever was damaged or edited behind the program's back is found and said."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from weftglass.cabinet.cabinet import FILE_NAME
from weftglass.desk import (
    Collection,
    accept_finding,
    back_up,
    check_collection,
    list_pieces,
    open_collection,
    original_path,
    record_measurement,
)
from weftglass.records import Piece, View


def edited_by_hand(collection: Collection, statement: str) -> None:
    """Run SQL as another program would, foreign keys off."""
    raw = sqlite3.connect(collection.path / FILE_NAME)
    raw.execute(statement)
    raw.commit()
    raw.close()


def test_sound_collection_has_no_oddities(collection: Collection, measured: View) -> None:
    """Nothing is reported where nothing is wrong."""
    record_measurement(collection, measured.piece, "weight", "650 g", who="Mira")
    accept_finding(collection, measured.piece, who="Mira")
    accept_finding(collection, measured.piece, who="Mira")
    assert check_collection(collection) == ()


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        ("UPDATE measurement SET value = 8", "not what its history says"),
        ("UPDATE measurement SET sd = -1", "sd is -1"),
        ("UPDATE piece SET status = 'lost'", "status is 'lost'"),
        ("UPDATE view SET polygon = '[[1]]'", "polygon[0]"),
        ("UPDATE view SET photo_id = 'none'", "refers to a photo that is not there"),
        ("DELETE FROM change WHERE kind = 'piece'", "has no history"),
        ("UPDATE finding SET superseded_by = NULL", "2 findings of Willow bottle (identification) stand at once"),
        ("DELETE FROM measurement", "not what its history says"),
        ("UPDATE change SET kind = 'charm' WHERE number = 1", "charm"),
    ],
)
def test_row_edited_by_hand_is_found(collection: Collection, measured: View, statement: str, said: str) -> None:
    """One serious oddity that says what it is."""
    record_measurement(collection, measured.piece, "weight", "650 g", who="Mira")
    accept_finding(collection, measured.piece, who="Mira")
    accept_finding(collection, measured.piece, who="Mira")
    edited_by_hand(collection, statement)
    odd = [oddity for oddity in check_collection(collection) if said in oddity.sentence]
    assert [oddity.serious for oddity in odd[:1]] == [True]


def test_missing_changed_and_stray_files_are_found(collection: Collection, piece: Piece, view: View) -> None:
    """Photographs are compared with their names, and what does not belong is named."""
    place = original_path(collection, view.photo)
    place.write_bytes(place.read_bytes() + b"x")
    (place.parent / "holiday.jpg").write_bytes(b"x")
    said = [(oddity.serious, oddity.sentence) for oddity in check_collection(collection)]
    assert said == [
        (True, f"The file of photograph front.jpg is not what was handed in: photos/{place.name}."),
        (False, "photos/holiday.jpg belongs to no photograph of the collection."),
    ]
    place.unlink()
    assert any("is missing" in oddity.sentence for oddity in check_collection(collection))


def test_backup_opens_as_a_collection(collection: Collection, measured: View, tmp_path: Path) -> None:
    """Records and photographs are in the copy, and it is sound."""
    back_up(collection, tmp_path / "safe")
    with open_collection(tmp_path / "safe", create=False) as copy:
        assert [row.piece for row in list_pieces(copy)] == [row.piece for row in list_pieces(collection)]
        assert check_collection(copy) == ()
