"""What was done to a collection, by whom and when; and taking a change back, which is a change like any other."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from weftglass.cabinet.mapping import BY_KIND
from weftglass.desk.collection import Collection
from weftglass.desk.sightings import section_settled
from weftglass.desk.wording import signature
from weftglass.errors import InputError
from weftglass.records import Change, Record, SightingRecord

BOOKKEEPING = frozenset({"version", "changed_at", "created_at"})


@dataclass(frozen=True)
class FieldChange:
    """One field that a change set: its name and its JSON value before and after (None where there was nothing)."""

    field: str
    before: Any
    after: Any


def history_of(collection: Collection, piece_id: str | None = None) -> list[Change]:
    """Every change of a piece and what belongs to it, or of the whole collection, oldest first."""
    with collection.cabinet.reading() as reader:
        return reader.history(piece=piece_id)


def fields_changed(change: Change) -> tuple[FieldChange, ...]:
    """What a change set, field by field, version and times left out."""
    before: dict[str, Any] = {} if change.before is None else json.loads(change.before)
    after: dict[str, Any] = json.loads(change.after)

    def each() -> Iterator[FieldChange]:
        for name, value in after.items():
            if name not in BOOKKEEPING and before.get(name) != value:
                yield FieldChange(name, before.get(name), value)

    return tuple(each())


def record_after(change: Change) -> Record:
    """The record as a change left it."""
    record: Record = BY_KIND[change.kind].record_in(change.after)
    return record


def undo_change(collection: Collection, number: int, *, who: str) -> Record:
    """
    Take a change back: the record becomes what it was before it, as a new change.

    Parameters
    ----------
    number : int
        Of the change, in the history.

    Returns
    -------
    Record
        As it is now stored; a record that the change had added is withdrawn.

    Raises
    ------
    InputError
        If the record was changed again since (take that back first), or is a finding or a photograph.
    """
    with collection.cabinet.writing(signature(who)) as draft:
        change = draft.change(number)
        mapper = BY_KIND[change.kind]
        if mapper.record.FINAL:
            raise InputError("undo", "change", number, mapper.record.FINAL)
        current: Record = draft.get(mapper.record, change.record)
        if current != mapper.record_in(change.after):
            raise InputError("undo", "change", number, f"the last change of {change.kind} {change.record}")
        earlier: Record = replace(current, withdrawn=True) if change.before is None else mapper.record_in(change.before)
        undone = draft.put(replace(earlier, version=current.version), "undone")
        if isinstance(undone, SightingRecord):
            section_settled(collection, draft, undone)
        return undone
