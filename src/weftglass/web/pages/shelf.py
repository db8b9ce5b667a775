"""Facts of the shelf: the pieces as pictures or as a list, with search, filters and order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from weftglass.desk import SORTS, ShelfRow
from weftglass.desk.explaining import CLEAR
from weftglass.web.door import FormFault
from weftglass.web.limits import MAX_FILE_BYTES
from weftglass.web.pages.addresses import photo_address, piece_address
from weftglass.web.pages.forms import FilterFacts
from weftglass.web.pages.wording import chance_words, day_text, percent_text

STATES = (("", "any"), ("settled", "accepted"), ("open", "still open"), ("bare", "nothing traced yet"))
STATE_WORDS = {"settled": "finding accepted", "open": "still open", "bare": "nothing traced yet"}
STATUSES = (("", "all"), ("owned", "owned"), ("offered", "offered by somebody"), ("withdrawn", "taken off the shelf"))
PAGE_LENGTH = 240
DEFAULT_SORT = "changed"


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
    filters: tuple[FilterFacts, ...]
    narrowed: bool
    pictures_href: str
    list_href: str
    before_href: str
    next_href: str
    csv_href: str
    json_href: str
    file_limit: str
    fault: FormFault | None


def shelf_facts(
    rows: Sequence[ShelfRow], total: int, asked: Mapping[str, str], fault: FormFault | None = None
) -> ShelfFacts:
    """
    The shelf for what was asked.

    Parameters
    ----------
    rows : sequence of ShelfRow
        Pieces that answer to the words searched for, in the order asked for.
    total : int
        How many pieces the collection holds.
    asked : mapping
        ``state``, ``technique``, ``status``, ``sort``, ``q``, ``as`` and ``from`` of the address.
    """
    kept = wanted_rows(rows, asked)
    start = _start(asked, len(kept))
    shown = kept[start : start + PAGE_LENGTH]
    end = start + len(shown)
    whole = {"as": "list"} if asked.get("as") == "list" else {}
    keep = {key: asked[key] for key in ("q", "state", "technique", "status", "sort") if asked.get(key)}
    many = f"{total} piece{'s' if total != 1 else ''}"
    return ShelfFacts(
        tuple(standing_piece(row) for row in shown),
        total == 0 and not kept and not asked.get("status"),
        _count(kept, many, total, start, end),
        asked.get("as") == "list",
        asked.get("q", ""),
        (
            FilterFacts("state", "Finding", STATES, asked.get("state", "")),
            FilterFacts("technique", "Covering", _techniques(rows), asked.get("technique", "")),
            FilterFacts("status", "Whose", STATUSES, asked.get("status", "")),
            FilterFacts("sort", "Order", tuple(SORTS.items()), asked.get("sort") or DEFAULT_SORT),
        ),
        bool(set(keep) - {"sort"}),
        _with(keep, {}),
        _with(keep, {"as": "list"}),
        _with(keep, whole | {"from": str(max(0, start - PAGE_LENGTH))}) if start else "",
        _with(keep, whole | {"from": str(end)}) if end < len(kept) else "",
        _with(keep, {}, "/shelf.csv"),
        _with(keep, {}, "/shelf.json"),
        f"{MAX_FILE_BYTES // 2**20} MB each",
        fault,
    )


def wanted_rows(rows: Sequence[ShelfRow], asked: Mapping[str, str]) -> list[ShelfRow]:
    """The rows that pass the filters of the address."""
    return [
        row
        for row in rows
        if asked.get("state", "") in ("", state_of(row))
        and asked.get("technique", "") in ("", row.piece.technique)
        and asked.get("status", "") in ("", row.piece.status, "withdrawn")
    ]


def standing_piece(row: ShelfRow) -> StandingPiece:
    """One piece in words."""
    piece, state = row.piece, state_of(row)
    covering = ", ".join(text for text in (piece.technique, piece.material) if text)
    picture = "" if row.cover is None else photo_address(row.cover.photo, "small")
    changed = day_text(piece.changed_at.astimezone())
    words = STATE_WORDS[state]
    return StandingPiece(
        piece.name, piece_address(piece.id), picture, vessel_words(row), covering, state, words, changed
    )


def state_of(row: ShelfRow) -> str:
    """How far the finding is: settled, open, or bare (nothing to reason from yet)."""
    if row.answer is None:
        return "bare"
    return "settled" if row.answer.accepted else "open"


def vessel_words(row: ShelfRow) -> str:
    """What is inside so far, no surer than it is."""
    answer = row.answer
    if answer is None:
        return "vessel not yet looked for"
    if answer.accepted:
        return answer.name
    again = "; evidence changed since" if answer.stale else ""
    if answer.probability < CLEAR:
        return f"not clear yet; likeliest {answer.name} ({percent_text(answer.probability)}){again}"
    return f"{chance_words(answer.probability)} {answer.name} ({percent_text(answer.probability)}){again}"


def _count(kept: Sequence[ShelfRow], many: str, total: int, start: int, end: int) -> str:
    if len(kept) > PAGE_LENGTH:
        return f"{start + 1} to {end} of {len(kept)} pieces"
    return many if len(kept) == total else f"{len(kept)} of {many}"


def _start(asked: Mapping[str, str], count: int) -> int:
    text = asked.get("from", "0")
    start = int(text) if text.isdecimal() and len(text) < 9 else 0
    return start if start < count else 0


def _techniques(rows: Sequence[ShelfRow]) -> tuple[tuple[str, str], ...]:
    names = sorted({row.piece.technique for row in rows if row.piece.technique})
    return (("", "any"), *((name, name) for name in names))


def _with(keep: Mapping[str, str], more: Mapping[str, str], address: str = "/") -> str:
    asked = {**keep, **more}
    return f"{address}?{urlencode(asked)}" if asked else address
