"""An examination of a piece's condition: what was found where, on one day, so that later ones can be held beside it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from weftglass.errors import InputError
from weftglass.records.offer import day_of
from weftglass.records.shared import Record
from weftglass.records.wording import LONG, SHORT, words

STATES: dict[str, str] = {
    "sound": "sound",
    "watch": "to be watched",
    "care": "needs care",
    "danger": "in danger",
}
"""How a piece stands as a whole, each with its words, the best first."""

SPOT_KINDS: dict[str, str] = {
    "stain": "stain",
    "fading": "faded colour",
    "wear": "worn",
    "break": "broken strand",
    "loss": "part missing",
    "slack": "slack or detached cover",
    "distortion": "dented or distorted",
    "repair": "repair",
    "insects": "insect holes or frass",
    "mould": "mould",
    "bloom": "powder, bloom or residue",
    "crack": "cracked glass",
    "chip": "chipped glass",
    "label": "label or mark",
    "other": "something else",
}
"""What a spot can be, each with its words."""

FACES: dict[str, str] = {
    "front": "front",
    "right": "right side",
    "back": "back",
    "left": "left side",
    "top": "lip and top, from above",
    "base": "base, from below",
}
"""Where one looks from. The right side is the one on the right hand when the front is looked at."""

MOST_SPOTS = 200
LARGEST_MM = 2000.0


@dataclass(frozen=True)
class Spot:
    """
    One thing found on a piece.

    Parameters
    ----------
    number : int
        From 1; the same spot keeps its number in later examinations.
    kind : str
        One of `SPOT_KINDS`.
    face : str
        One of `FACES`.
    up : float
        0 at the standing plane to 1 at the top, as a share of the piece's height, so that it stays where it is when the
        height is measured anew. On top and base: 0 at the front edge to 1 at the back edge.
    across : float
        -1 at the left edge of what is seen of the face to 1 at its right edge.
    size_mm : float
        Greatest extent in mm, above 0.
    remark : str
    looked_at : bool
        False while it was only taken over from the examination before.
    """

    number: int
    kind: str
    face: str
    up: float
    across: float
    size_mm: float
    remark: str = ""
    looked_at: bool = True

    def check(self, where: str, field: str) -> None:
        """Refuse what could not be a spot; as `Record.check`."""
        if self.number < 1:
            raise InputError(where, f"{field}.number", self.number, "1 or more")
        for name, known in (("kind", SPOT_KINDS), ("face", FACES)):
            if getattr(self, name) not in known:
                raise InputError(where, f"{field}.{name}", getattr(self, name), "one of: " + ", ".join(known))
        if not 0.0 <= self.up <= 1.0:
            raise InputError(where, f"{field}.up", self.up, "a share of the height from 0 to 1")
        if not -1.0 <= self.across <= 1.0:
            raise InputError(where, f"{field}.across", self.across, "from -1 (left edge) to 1 (right edge)")
        if not 0.0 < self.size_mm <= LARGEST_MM:
            raise InputError(where, f"{field}.size_mm", self.size_mm, f"above 0 and at most {LARGEST_MM:.0f}, in mm")
        words(self.remark, where, f"{field}.remark", longest=SHORT)


@dataclass(frozen=True, kw_only=True)
class Examination(Record):
    """
    The condition of a piece on one day.

    Parameters
    ----------
    piece : str
        Id of the piece.
    on : str
        The day, ``YYYY-MM-DD``.
    by : str
        Who looked.
    state : str
        One of `STATES`.
    remark : str
    spots : tuple of Spot
        By number.
    """

    KIND: ClassVar[str] = "examination"
    PLURAL: ClassVar[str] = "examinations"
    LINKS: ClassVar[Mapping[str, str]] = {"piece": "piece"}

    piece: str
    on: str
    by: str
    state: str
    remark: str = ""
    spots: tuple[Spot, ...] = ()

    @property
    def about(self) -> str:
        """Day and state."""
        return f"{self.on}, {STATES.get(self.state, self.state)}"

    def check_fields(self, where: str) -> None:
        """A day that is one, a known state, and spots with numbers of their own."""
        day_of(self.on, where, "on")
        words(self.by, where, "by", longest=100, needed=True)
        if self.state not in STATES:
            raise InputError(where, "state", self.state, "one of: " + ", ".join(STATES))
        words(self.remark, where, "remark", longest=LONG)
        if len(self.spots) > MOST_SPOTS:
            raise InputError(where, "spots", len(self.spots), f"at most {MOST_SPOTS}")
        for i, spot in enumerate(self.spots):
            spot.check(where, f"spots[{i}]")
        if len({spot.number for spot in self.spots}) < len(self.spots):
            raise InputError(where, "spots", [spot.number for spot in self.spots], "each with a number of its own")
