"""Facts of the shelf: the pieces as pictures or as a list, with search, filters and order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from urllib.parse import urlencode

from weftglass.web.door import FormFault
from weftglass.web.guard import MAX_FILE_BYTES

STATES = (("", "any"), ("settled", "accepted"), ("open", "still open"), ("bare", "nothing traced yet"))
STATE_WORDS = {"settled": "finding accepted", "open": "still open", "bare": "nothing traced yet"}
SORTS = (("changed", "last changed first"), ("name", "by name"), ("vessel", "by vessel"), ("covering", "by covering"))


@dataclass(frozen=True)
class StandingPiece:
    """One piece on the shelf: name, picture, what is inside so far, its covering, and how far its finding is."""

    name: str
    href: str
    picture_href: str
    vessel: str
    covering: str
    state: str
    state_words: str
    changed: str


@dataclass(frozen=True)
class ShelfFacts:
    """The whole shelf as asked for; `empty` is true when the collection holds no piece at all."""

    pieces: tuple[StandingPiece, ...]
    empty: bool
    count: str
    as_list: bool
    query: str
    state: str
    states: tuple[tuple[str, str], ...]
    technique: str
    techniques: tuple[tuple[str, str], ...]
    sort: str
    sorts: tuple[tuple[str, str], ...]
    narrowed: bool
    pictures_href: str
    list_href: str
    csv_href: str
    json_href: str
    file_limit: str
    fault: FormFault | None


@dataclass(frozen=True)
class ShelfRow:
    """What the shelf knows of one piece before it is put into words."""

    piece: StandingPiece
    technique: str
    changed_at: datetime


def shelf_facts(
    rows: Sequence[ShelfRow], total: int, asked: Mapping[str, str], fault: FormFault | None = None
) -> ShelfFacts:
    """The shelf for what was asked; `rows` already answer to the words searched for, `total` counts all pieces."""
    state, technique, sort = asked.get("state", ""), asked.get("technique", ""), asked.get("sort", "") or "changed"
    kept = [row for row in rows if _is_wanted(row, state, technique)]
    techniques = sorted({row.technique for row in rows if row.technique})
    keep = {key: value for key, value in asked.items() if value and key in ("q", "state", "technique", "sort")}
    many = f"{total} piece{'s' if total != 1 else ''}"
    return ShelfFacts(
        tuple(row.piece for row in _sorted(kept, sort)),
        total == 0,
        many if len(kept) == total else f"{len(kept)} of {many}",
        asked.get("as") == "list",
        asked.get("q", ""),
        state,
        STATES,
        technique,
        (("", "any"), *((name, name) for name in techniques)),
        sort,
        SORTS,
        bool(set(keep) - {"sort"}),
        _with(keep, {}),
        _with(keep, {"as": "list"}),
        _with(keep, {}, "/shelf.csv"),
        _with(keep, {}, "/shelf.json"),
        f"{MAX_FILE_BYTES // 2**20} MB each",
        fault,
    )


def _is_wanted(row: ShelfRow, state: str, technique: str) -> bool:
    return (not state or row.piece.state == state) and (not technique or row.technique == technique)


def _sorted(rows: Sequence[ShelfRow], sort: str) -> list[ShelfRow]:
    if sort == "vessel":
        return sorted(rows, key=lambda row: (row.piece.state != "settled", row.piece.vessel.casefold()))
    if sort == "covering":
        return sorted(rows, key=lambda row: (not row.technique, row.technique.casefold(), row.piece.name.casefold()))
    if sort == "name":
        return sorted(rows, key=lambda row: row.piece.name.casefold())
    return sorted(rows, key=lambda row: row.changed_at, reverse=True)


def _with(keep: Mapping[str, str], more: Mapping[str, str], address: str = "/") -> str:
    asked = {**keep, **more}
    return f"{address}?{urlencode(asked)}" if asked else address
