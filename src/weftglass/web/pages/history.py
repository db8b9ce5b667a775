"""Changes of a piece in words: what was done, by whom, when, and whether it can be undone from here."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from weftglass.desk import fields_changed, record_after
from weftglass.records import PIECE_FIELDS, Change
from weftglass.web.pages.addresses import piece_address
from weftglass.web.pages.wording import FEATURE_WORDS, KIND_WORDS, capital, moment_text

VIEW_WORDS = {
    "polygon": "outline",
    "scale_bar": "scale",
    "known_height": "scale",
    "bare": "bare glass",
    "left_out": "parts left out",
    "axis": "axis",
    "role": "role",
    "caption": "caption",
}


@dataclass(frozen=True)
class ChangeFacts:
    """One line of the history: what, who and when, and where to undo it (empty where it cannot be undone)."""

    words: str
    signed: str
    undo_href: str


def history_facts(changes: Sequence[Change], piece: str) -> tuple[ChangeFacts, ...]:
    """Newest first; only the last change of a record can be undone, and findings and photographs never."""
    last = {(change.kind, change.record): change.number for change in changes}
    return tuple(
        ChangeFacts(
            change_words(change),
            f"{change.who}, {moment_text(change.at.astimezone())}",
            f"{piece_address(piece)}/undo/{change.number}" if _can_be_undone(change, last) else "",
        )
        for change in sorted(changes, key=lambda change: -change.number)
    )


def history_records(changes: Sequence[Change]) -> list[dict[str, Any]]:
    """One flat record a change, the oldest first, for lists."""
    return [
        {
            "number": change.number,
            "at": change.at.isoformat(timespec="seconds"),
            "who": change.who,
            "deed": change.deed,
            "kind": change.kind,
            "record": change.record,
            "words": change_words(change),
        }
        for change in changes
    ]


def change_words(change: Change) -> str:
    """
    A change in one short phrase.

    Examples
    --------
    >>> from datetime import datetime, UTC
    >>> after = '{"what": "height", "value": 231.0, "sd": 1.0}'
    >>> change_words(Change(4, datetime(2026, 1, 1, tzinfo=UTC), "Ada", "added", "measurement", "m", "p", None, after))
    'Measurement added: height over all 231'
    """
    kind = "photograph" if change.kind == "view" and change.deed == "added" else change.kind
    about = _about(change)
    return f"{capital(kind)} {change.deed}" + (f": {about}" if about else "")


def _about(change: Change) -> str:
    after: dict[str, Any] = json.loads(change.after)
    if change.kind == "measurement":
        return f"{KIND_WORDS.get(after['what'], after['what'])} {after['value']:g}"
    if change.kind == "sighting":
        return f"{FEATURE_WORDS.get(after['feature'], after['feature'])} {after['value']}"
    if change.before is None or change.kind not in ("piece", "view"):
        return record_after(change).about
    named = {**VIEW_WORDS, **PIECE_FIELDS} if change.kind == "piece" else VIEW_WORDS
    return ", ".join(dict.fromkeys(named[item.field] for item in fields_changed(change) if item.field in named))


def _can_be_undone(change: Change, last: dict[tuple[str, str], int]) -> bool:
    return not record_after(change).FINAL and last[change.kind, change.record] == change.number
