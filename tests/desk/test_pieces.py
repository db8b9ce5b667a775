"""Taking pieces up, editing them, the shelf and the dossier."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import event

from tests.desk.conftest import picture
from weftglass.desk import (
    Collection,
    accept_finding,
    best_of,
    count_pieces,
    create_piece,
    edit_piece,
    get_piece_dossier,
    history_of,
    identify_piece,
    list_pieces,
    record_measurement,
    restore_piece,
    withdraw_piece,
)
from weftglass.errors import ChangedMeanwhile, InputError
from weftglass.records import Piece, View


def test_piece_is_taken_up_with_its_photographs(collection: Collection, piece: Piece) -> None:
    """The first photograph is the front, the id comes from the name, and all of it is signed."""
    dossier = get_piece_dossier(collection, piece.id)
    assert (piece.id, piece.technique, piece.version) == ("willow-bottle", "twining", 1)
    assert [(one.view.role, one.photo.name) for one in dossier.views] == [("front", "front.jpg")]
    assert [(c.who, c.deed, c.kind) for c in dossier.history] == [("Mira", "added", "piece"), ("Mira", "added", "view")]
    assert dossier.history[0].at == piece.created_at


def test_nothing_is_taken_up_when_one_file_is_no_picture(collection: Collection) -> None:
    """Neither the piece nor the good photograph beside the bad one."""
    with pytest.raises(InputError, match=r"letter\.txt"):
        create_piece(collection, "Jar", who="Mira", photos=[("a.jpg", picture()), ("letter.txt", b"Dear Oda")])
    assert list_pieces(collection) == []
    assert history_of(collection) == []
    assert list((collection.path / "photos").iterdir()) == []


def test_same_name_gets_another_id(collection: Collection, piece: Piece) -> None:
    """Ids are never used twice, also not of withdrawn pieces."""
    withdraw_piece(collection, piece.id, who="Mira")
    assert create_piece(collection, "Willow Bottle!", who="Mira").id == "willow-bottle-2"
    with pytest.raises(InputError, match="no other piece"):
        create_piece(collection, "Jar", who="Mira", piece_id="willow-bottle")


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"name": ""}, "name"),
        ({"name": "x" * 201}, "name"),
        ({"notes": "a\0b"}, "notes"),
        ({"maker": "\ud800"}, "maker"),
        ({"status": "lost"}, "status"),
        ({"colour": "red"}, "colour"),
        ({"maker": 7}, "maker"),
    ],
)
def test_wrong_field_is_refused_by_name(
    collection: Collection, piece: Piece, fields: dict[str, Any], field: str
) -> None:
    """The field is named and the piece stays as it was."""
    with pytest.raises(InputError) as caught:
        edit_piece(collection, piece.id, fields, who="Mira")
    assert caught.value.field == field
    assert get_piece_dossier(collection, piece.id).piece == piece


def test_only_given_fields_are_changed(collection: Collection, piece: Piece) -> None:
    """Editing one field leaves the others."""
    edited = edit_piece(collection, piece.id, {"maker": " Oda \r\n"}, who="Tove", version=1)
    assert (edited.maker, edited.technique, edited.version) == ("Oda", "twining", 2)
    with pytest.raises(ChangedMeanwhile):
        edit_piece(collection, piece.id, {"maker": "Ilse"}, who="Mira", version=1)


@pytest.mark.parametrize("who", ["", "  ", "x" * 101])
def test_change_without_a_name_is_refused(collection: Collection, who: str) -> None:
    """Every change is signed."""
    with pytest.raises(InputError, match="who"):
        create_piece(collection, "Jar", who=who)


def test_withdrawn_piece_leaves_the_shelf_and_comes_back(collection: Collection, piece: Piece) -> None:
    """Taking out is a change like any other."""
    withdraw_piece(collection, piece.id, who="Mira")
    assert list_pieces(collection) == []
    assert [row.piece.id for row in list_pieces(collection, withdrawn=True)] == [piece.id]
    restore_piece(collection, piece.id, who="Mira")
    assert [row.piece.id for row in list_pieces(collection)] == [piece.id]
    assert [c.deed for c in history_of(collection, piece.id)][-2:] == ["withdrawn", "brought back"]


@pytest.mark.parametrize(
    ("sort", "order"),
    [
        ("name", ["Ärmel jar", "Jar 2", "Jar 10"]),
        ("newest", ["Jar 2", "Ärmel jar", "Jar 10"]),
        ("changed", ["Jar 10", "Jar 2", "Ärmel jar"]),
        ("community", ["Jar 10", "Ärmel jar", "Jar 2"]),
    ],
)
def test_shelf_is_sorted_as_people_sort(collection: Collection, sort: str, order: list[str]) -> None:
    """Numbers by value, accents aside, empty communities last."""
    first = create_piece(collection, "Jar 10", who="Mira", community="Ebb")
    create_piece(collection, "Ärmel jar", who="Mira", community="Flow")
    create_piece(collection, "Jar 2", who="Mira")
    edit_piece(collection, first.id, {"maker": "Oda"}, who="Mira")
    assert [row.piece.name for row in list_pieces(collection, sort=sort)] == order


def test_shelf_is_searched_and_filtered(collection: Collection, piece: Piece) -> None:
    """Words and status narrow it; a query of mere signs does not."""
    create_piece(collection, "Flask", who="Mira", status="offered")
    assert [row.piece.name for row in list_pieces(collection, "TWIN will")] == ["Willow bottle"]
    assert [row.piece.name for row in list_pieces(collection, status="offered")] == ["Flask"]
    assert len(list_pieces(collection, '"*"')) == 2
    with pytest.raises(InputError, match="sort"):
        list_pieces(collection, sort="weight")


def test_shelf_row_follows_the_answer(collection: Collection, measured: View) -> None:
    """None, then the engine's latest, out of date once something changes, then the accepted one."""
    assert list_pieces(collection)[0].answer is None
    answer = identify_piece(collection, measured.piece)
    row = list_pieces(collection)[0].answer
    assert row is not None
    form, probability = best_of(answer)
    assert (row.form, row.accepted, row.stale) == (form, False, False)
    assert row.probability == pytest.approx(probability)
    edit_piece(collection, measured.piece, {"notes": "dusty"}, who="Mira")
    assert not (list_pieces(collection)[0].answer or row).stale
    edit_piece(collection, measured.piece, {"technique": "coiling"}, who="Mira")
    assert (list_pieces(collection)[0].answer or row).stale
    identify_piece(collection, measured.piece)
    record_measurement(collection, measured.piece, "weight", "800 g", who="Mira")
    assert (list_pieces(collection)[0].answer or row).stale
    accept_finding(collection, measured.piece, who="Mira")
    accepted = list_pieces(collection, sort="sure")[0]
    assert accepted.answer is not None
    assert (accepted.answer.accepted, accepted.answer.stale) == (True, False)
    assert accepted.cover is not None
    assert (accepted.cover.photo, accepted.views) == (measured.photo, 1)


def test_dossier_says_what_is_unknown_until_it_is_known(collection: Collection, measured: View) -> None:
    """Answered questions disappear from the list."""
    before = get_piece_dossier(collection, measured.piece).unknown
    record_measurement(collection, measured.piece, "height", "292 mm", who="Mira")
    edit_piece(collection, measured.piece, {"maker": "Oda"}, who="Mira")
    after = get_piece_dossier(collection, measured.piece).unknown
    assert set(before) - set(after) == {"its height over all", "who made it"}
    assert not any("not traced" in words or "scale" in words for words in before)


def test_shelf_asks_the_database_as_often_for_many_pieces_as_for_few(collection: Collection) -> None:
    """A long shelf costs longer answers, never more questions."""
    asked: list[str] = []

    def hear(_connection: object, _cursor: object, statement: str, *_more: object) -> None:
        asked.append(statement)

    def questions() -> int:
        asked.clear()
        list_pieces(collection)
        return len(asked)

    event.listen(collection.cabinet._engine, "before_cursor_execute", hear)
    for number in range(2):
        create_piece(collection, f"jar {number}", who="Mira")
    few = questions()
    for number in range(12):
        create_piece(collection, f"flask {number}", who="Mira")
    assert questions() == few
    assert count_pieces(collection) == len(list_pieces(collection)) == 14
