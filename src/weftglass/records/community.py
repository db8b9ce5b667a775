"""Communities of makers as the user defines them, and published holdings known by their totals."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from weftglass.errors import InputError
from weftglass.records.shared import Record
from weftglass.records.wording import LONG, SHORT, words

EARLIEST, LATEST = 1000, 2200
MOST = 100
SIGNED, DATED, PICTORIAL = "signed", "dated", "pictorial"
COUNTED: dict[str, tuple[str, ...]] = {
    "signed": (SIGNED,),
    "dated": (DATED,),
    "pictorial": (PICTORIAL,),
    "signed and dated": (SIGNED, DATED),
    "signed and pictorial": (SIGNED, PICTORIAL),
    "dated and pictorial": (DATED, PICTORIAL),
    "signed, dated and pictorial": (SIGNED, DATED, PICTORIAL),
}
"""What published holdings may be counted by: a signature, a date worked in, a pictorial design, and combinations."""


@dataclass(frozen=True, kw_only=True)
class Community(Record):
    """
    A group of makers; nothing is built in, and every word is the user's.

    Parameters
    ----------
    name : str
        The name used in this collection.
    own_name : str
        The name the community uses for itself.
    other_names : tuple of str
        Further names and spellings; a piece under any of them belongs here.
    language : str
        Language of the community.
    place : str
        Where, in words.
    point : (latitude, longitude) or None
        Degrees, north and east positive.
    within_km : float or None
        How far the place may be from the point.
    years : (first, last) or None
        Years in which it is known to have covered vessels.
    traits : tuple of (trait, value)
        What its work is known to show.
    restricted : str
        What may not be published and why, in words; empty where nothing is.
    restricted_designs : tuple of str
        Words of designs whose pieces and pictures stay out of anything published.
    source, remark, by : str
        Where this is known from, further notes, and who wrote it.
    """

    KIND: ClassVar[str] = "community"
    PLURAL: ClassVar[str] = "communities"

    name: str
    own_name: str = ""
    other_names: tuple[str, ...] = ()
    language: str = ""
    place: str = ""
    point: tuple[float, float] | None = None
    within_km: float | None = None
    years: tuple[int, int] | None = None
    traits: tuple[tuple[str, str], ...] = ()
    restricted: str = ""
    restricted_designs: tuple[str, ...] = ()
    source: str = ""
    remark: str = ""
    by: str = ""

    @property
    def about(self) -> str:
        """Its name."""
        return self.name

    @property
    def all_names(self) -> tuple[str, ...]:
        """Every name it goes by."""
        return tuple(dict.fromkeys(name for name in (self.name, self.own_name, *self.other_names) if name))

    def goes_by(self, name: str) -> bool:
        """True when a name, however it is capitalised, is one of its own."""
        return name.casefold().strip() in {own.casefold() for own in self.all_names}

    def keeps_back(self, design: str) -> bool:
        """True when a piece with this design must stay out of anything published."""
        return any(words.casefold() in design.casefold() for words in self.restricted_designs)

    def check_fields(self, where: str) -> None:
        """Names, years and place are such as a person could have entered."""
        words(self.name, where, "name", needed=True)
        for field in ("own_name", "language", "place", "by"):
            words(getattr(self, field), where, field)
        for field in ("restricted", "source", "remark"):
            words(getattr(self, field), where, field, longest=LONG)
        for field in ("other_names", "restricted_designs", "traits"):
            if len(getattr(self, field)) > MOST:
                raise InputError(where, field, len(getattr(self, field)), f"at most {MOST}")
        for field in ("other_names", "restricted_designs"):
            for text in getattr(self, field):
                words(text, where, field, needed=True)
        for trait, value in self.traits:
            words(trait, where, "traits", needed=True)
            words(value, where, "traits", needed=True)
        if self.years is not None and not EARLIEST <= self.years[0] <= self.years[1] <= LATEST:
            raise InputError(where, "years", self.years, f"two years from {EARLIEST} to {LATEST}, the earlier first")
        if self.point is not None and not (abs(self.point[0]) <= 90 and abs(self.point[1]) <= 180):
            raise InputError(where, "point", self.point, "latitude -90 to 90 and longitude -180 to 180, in degrees")
        if self.within_km is not None and not 0 <= self.within_km <= 20_000:
            raise InputError(where, "within_km", self.within_km, "a distance from 0 to 20000 km")


@dataclass(frozen=True, kw_only=True)
class PublishedHolding(Record):
    """
    A published or counted holding of somebody else's, known by totals only.

    Parameters
    ----------
    name : str
        Whose it is.
    source : str
        Where it is published, or who counted it.
    pieces : int
        Covered pieces in it whose records would say so.
    counts : tuple of (what, how many)
        Of `COUNTED`; what is not named was not counted.
    by : str
    """

    KIND: ClassVar[str] = "published holding"
    PLURAL: ClassVar[str] = "published-holdings"

    name: str
    source: str
    pieces: int
    counts: tuple[tuple[str, int], ...] = ()
    by: str = ""

    @property
    def about(self) -> str:
        """Whose it is."""
        return self.name

    @property
    def counted(self) -> Mapping[str, int]:
        """How many of each kind that was counted."""
        return dict(self.counts)

    def check_fields(self, where: str) -> None:
        """Counts are of known kinds and no more than there are pieces."""
        words(self.name, where, "name", needed=True)
        words(self.source, where, "source", longest=SHORT, needed=True)
        words(self.by, where, "by")
        if not 1 <= self.pieces <= 1_000_000:
            raise InputError(where, "pieces", self.pieces, "a number of pieces from 1 to 1000000")
        for kind, count in self.counts:
            if kind not in COUNTED:
                raise InputError(where, "counts", kind, "one of: " + "; ".join(COUNTED))
            if not 0 <= count <= self.pieces:
                raise InputError(where, kind, count, f"from 0 to the number of pieces, {self.pieces}")
