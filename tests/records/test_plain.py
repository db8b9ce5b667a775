"""Records as JSON and back."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.records.strategies import BY_KIND, changes
from weftglass.errors import InputError
from weftglass.records import Change, Piece, Record, View, from_plain, to_plain


@settings(max_examples=50, deadline=None)
@given(st.data())
@pytest.mark.parametrize("kind", BY_KIND, ids=lambda kind: kind.KIND)
def test_record_comes_back_equal_through_json(kind: type[Record], data: st.DataObject) -> None:
    """Writing a record as JSON text and reading it loses nothing."""
    record = data.draw(BY_KIND[kind])
    text = json.dumps(to_plain(record), allow_nan=False)
    assert from_plain(kind, json.loads(text), "test") == record


@settings(max_examples=50, deadline=None)
@given(changes)
def test_change_comes_back_equal_through_json(change: Change) -> None:
    """The history is written out and loaded without loss."""
    assert from_plain(Change, json.loads(json.dumps(to_plain(change))), "test") == change


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"name": 7}, "name"),
        ({"version": True}, "version"),
        ({"version": 1.5}, "version"),
        ({"created_at": "yesterday"}, "created_at"),
        ({"created_at": "2026-01-01T00:00:00"}, "created_at"),
        ({"colour": "red"}, "colour"),
        ({"withdrawn": None}, "withdrawn"),
    ],
)
def test_piece_is_refused_when_a_field_is_of_a_wrong_type(changed: dict[str, Any], field: str) -> None:
    """The error names the field."""
    plain = to_plain(Piece(id="p", name="Willow")) | changed
    with pytest.raises(InputError) as caught:
        from_plain(Piece, plain, "pieces.jsonl line 1")
    assert (caught.value.where, caught.value.field) == ("pieces.jsonl line 1", field)


def test_missing_field_is_named() -> None:
    """A record without its name is refused, not given one."""
    with pytest.raises(InputError, match="name is left out"):
        from_plain(Piece, {"id": "p"}, "here")


@pytest.mark.parametrize(
    ("bad", "field"),
    [
        ([[0, 1], [2]], "polygon[1]"),
        ([[0, "x"]], "polygon[0][1]"),
        ("none", "polygon"),
        ([[0, float("inf")]], "polygon[0][1]"),
    ],
)
def test_geometry_is_refused_with_the_place_in_the_list(bad: Any, field: str) -> None:
    """Nested lists name the entry at fault."""
    plain = to_plain(View(id="v", piece="p", photo="f")) | {"polygon": bad}
    with pytest.raises(InputError) as caught:
        from_plain(View, plain, "here")
    assert caught.value.field == field
