"""Things seen on a piece: a lip, letters behind openwork, a colour, a scar; each with how sure the eye was."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from weftglass.errors import InputError
from weftglass.evidence.reading import Record, need_range, need_text, refuse_unknown
from weftglass.vessels.fields import number_of

KNOWN = frozenset({"feature", "value", "sure", "z", "face"})

FEATURES: dict[str, str] = {
    "finish": "how the lip is made or what it looks like",
    "closure": "what closes the mouth",
    "colour": "colour of the glass where light passes",
    "base": "what the base shows",
    "letters": "letters on the glass, ? for one unread letter, * for any run of unread letters",
    "seam": "mould seams and where they end",
    "section": "shape of the body seen from above",
    "contents": "what it held",
    "seller": "the seller's own words for the vessel",
    "mark": "a mark on the glass that is no lettering: a registry lozenge, a seal, a date code",
    "statement": "a legal statement or a statement of capacity on the glass or its label",
    "dye": "colours and dyes of the covering",
    "inscription": "a signature, an inscription or a date worked into the covering",
    "documented": "a date from a document: a receipt, a label, a photograph, a letter",
    "collected": "when it is known to have been collected or owned",
    "start": "how the covering begins at the base",
    "rim": "how the covering ends at the neck",
    "lean": "which way the stitches lean: up to the right, up to the left",
    "foundation": "foundation of a coil",
    "splice": "how strands are spliced and their ends hidden",
    "design": "pictures and patterns of the covering",
}
"""Features that may be seen; those after the seller's words serve dating and the question who made it."""


@dataclass(frozen=True)
class Sighting:
    """
    One thing seen.

    Parameters
    ----------
    feature : str
        One of `FEATURES`.
    value : str
        What was seen, in trade words; for letters the reading, with ``?`` and ``*``.
    sure : float
        Probability, above 0 and below or at 1, that the eye was right.
    z_mm : (low, high) or None
        Height range in mm where it was seen.
    face : str or None
        Side of the vessel: front, side, back, base.
    """

    feature: str
    value: str
    sure: float = 0.9
    z_mm: tuple[float, float] | None = None
    face: str | None = None

    @property
    def item(self) -> str:
        """The name this sighting goes by in an explanation."""
        return f"{self.feature} {self.value}"

    @classmethod
    def from_record(cls, record: Record, where: str, field: str) -> Sighting:
        """
        Read the contract's form.

        Raises
        ------
        InputError
            Unknown feature, empty value, or ``sure`` outside (0, 1].

        Examples
        --------
        >>> Sighting.from_record({"feature": "finish", "value": "blob", "sure": 0.9}, "here", "s").item
        'finish blob'
        """
        refuse_unknown(record, KNOWN, where, field)
        names = "one of: " + ", ".join(FEATURES)
        feature = need_text(record.get("feature"), where, f"{field}.feature", names)
        if feature not in FEATURES:
            raise InputError(where, f"{field}.feature", feature, names)
        value = need_text(record.get("value"), where, f"{field}.value", "the thing seen, 1 to 200 characters")
        sure_words = "a probability above 0 and at most 1"
        sure = number_of(record.get("sure", 0.9), where, f"{field}.sure", sure_words, high=1.0)
        if sure <= 0:
            raise InputError(where, f"{field}.sure", sure, sure_words)
        z = record.get("z")
        height = None if z is None else need_range(z, where, f"{field}.z")
        face = record.get("face")
        side = None if face is None else need_text(face, where, f"{field}.face", "front, side, back or base")
        return cls(feature, value, sure, height, side)

    def to_record(self) -> dict[str, Any]:
        """The contract's form; `from_record` reads it back to an equal sighting."""
        record: dict[str, Any] = {"feature": self.feature, "value": self.value, "sure": self.sure}
        if self.z_mm is not None:
            record["z"] = list(self.z_mm)
        if self.face is not None:
            record["face"] = self.face
        return record
