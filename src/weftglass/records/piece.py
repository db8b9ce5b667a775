"""A piece: one covered vessel, owned or on offer, with what its catalogue entry says."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

from weftglass.errors import InputError
from weftglass.records.shared import Record
from weftglass.records.wording import LONG, SHORT, words

STATUSES = ("owned", "offered")
PIECE_ID = re.compile(r"[a-z0-9]([a-z0-9.-]{0,98}[a-z0-9])?")
LONG_FIELDS = frozenset({"glass", "condition", "notes", "caution", "design"})

PIECE_FIELDS: dict[str, str] = {
    "name": "what you call it",
    "community": "community of its makers",
    "maker": "maker",
    "place": "place of making",
    "made": "when the covering was made",
    "technique": "technique of the covering",
    "material": "material of the covering",
    "design": "design, signature or date worked into the covering",
    "glass": "notes on the glass",
    "acquired_on": "when it was acquired",
    "price": "what was paid, or is asked, with its currency",
    "source": "whom or where it came from",
    "kept": "where it is kept",
    "condition": "condition",
    "notes": "notes",
    "caution": "handling caution",
    "status": "owned or offered",
}
"""Fields a person fills in, each with its label; all are text, empty where not known."""


@dataclass(frozen=True, kw_only=True)
class Piece(Record):
    """
    One covered vessel; text is empty where something is not known.

    Parameters
    ----------
    name : str
        What the owner calls it.
    community, maker, place, made : str
        Who made the covering, where and when, in the owner's words.
    technique, material, design : str
        How it is worked, of what, and what is worked into it (a picture, a signature, a date).
    glass : str
        Notes on the glass.
    acquired_on, price, source, kept : str
        When, for how much (with currency) and from whom it was acquired, and where it is kept.
    condition, notes, caution : str
        State, free notes, and what to mind when handling it (unknown contents, old pesticides, broken glass).
    status : str
        ``owned`` or ``offered``.
    """

    KIND: ClassVar[str] = "piece"
    PLURAL: ClassVar[str] = "pieces"

    name: str
    community: str = ""
    maker: str = ""
    place: str = ""
    made: str = ""
    technique: str = ""
    material: str = ""
    design: str = ""
    glass: str = ""
    acquired_on: str = ""
    price: str = ""
    source: str = ""
    kept: str = ""
    condition: str = ""
    notes: str = ""
    caution: str = ""
    status: str = "owned"

    @property
    def about(self) -> str:
        """Its name."""
        return self.name

    def check_fields(self, where: str) -> None:
        """Its id fits an address, and every field is text a person could have typed."""
        check_piece_id(self.id, where)
        checked_fields({name: getattr(self, name) for name in PIECE_FIELDS}, where)


def check_piece_id(piece_id: str, where: str) -> None:
    """Refuse an id of a piece that would not fit an address or a file's name."""
    if not PIECE_ID.fullmatch(piece_id):
        raise InputError(where, "id", piece_id, "1 to 100 small letters, digits, hyphens and dots")


def checked_fields(fields: Mapping[str, Any], where: str) -> dict[str, Any]:
    """
    Some of `PIECE_FIELDS` as typed, read.

    Raises
    ------
    InputError
        If one is no field of a piece, too long, or has a value it cannot have.
    """
    values: dict[str, Any] = {}
    for name, value in fields.items():
        if name not in PIECE_FIELDS:
            raise InputError(where, name, value, "left out, or one of: " + ", ".join(PIECE_FIELDS))
        longest = LONG if name in LONG_FIELDS else SHORT
        values[name] = words(value, where, name, longest=longest, needed=name == "name")
    if values.get("status", "owned") not in STATUSES:
        raise InputError(where, "status", values["status"], " or ".join(STATUSES))
    return values
