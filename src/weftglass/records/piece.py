"""A piece: one covered vessel, owned or on offer, with what its catalogue entry says."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from weftglass.records.shared import Record

STATUSES = ("owned", "offered")

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
