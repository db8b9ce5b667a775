"""Records to rows and back, through a real database."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import text

from tests.records.strategies import BY_KIND, changes
from weftglass.cabinet import Cabinet
from weftglass.cabinet.mapping import BY_RECORD, MAPPERS
from weftglass.cabinet.schema import RecordRow
from weftglass.records import Change, Record


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Cabinet]:
    """One cabinet for many drawn records; none of them is kept."""
    opened = Cabinet.open(tmp_path_factory.mktemp("cabinet") / "coast")
    yield opened
    opened.close()


@settings(max_examples=30, deadline=None)
@given(st.data())
@pytest.mark.parametrize("kind", BY_KIND, ids=lambda kind: kind.KIND)
def test_record_comes_back_equal_from_the_database(shared: Cabinet, kind: type[Record], data: st.DataObject) -> None:
    """Every field of every kind of record survives its row."""
    record = data.draw(BY_KIND[kind])
    with shared.writing("test") as draft, draft.session.begin_nested() as point:
        draft.session.execute(text("PRAGMA defer_foreign_keys=ON"))
        draft.take_over(record)
        draft.session.expunge_all()
        assert draft.get(kind, record.id) == record
        point.rollback()


@settings(max_examples=30, deadline=None)
@given(changes)
def test_change_comes_back_equal_from_the_database(shared: Cabinet, change: Change) -> None:
    """Every entry of the history survives its row."""
    with shared.writing("test") as draft, draft.session.begin_nested() as point:
        draft.take_over_change(change)
        draft.session.flush()
        draft.session.expunge_all()
        assert draft.change(change.number) == change
        point.rollback()


def test_every_record_has_one_mapper() -> None:
    """A new kind of record cannot be forgotten."""
    assert {mapper.record for mapper in MAPPERS} == set(Record.__subclasses__()) == set(BY_RECORD)
    assert {mapper.row for mapper in MAPPERS} == set(RecordRow.__subclasses__())


def test_links_lead_to_kinds_that_stand_before() -> None:
    """So that a written-out collection can be loaded from its first list to its last; no two lists share a name."""
    known: set[str] = set()
    for mapper in MAPPERS:
        assert set(mapper.record.LINKS.values()) <= known | {mapper.record.KIND}
        assert set(mapper.record.LINKS) <= {field.name for field in fields(mapper.record)}
        known.add(mapper.record.KIND)
    assert len({mapper.record.PLURAL for mapper in MAPPERS}) == len(MAPPERS)
