"""A place on the map: where the practice is documented, where pieces were found, where it was looked for in vain."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from weftglass.errors import InputError
from weftglass.records.offer import day_of
from weftglass.records.shared import Record
from weftglass.records.wording import LONG, words

STANDINGS: dict[str, str] = {
    "documented": "the practice is documented here",
    "found": "pieces were found here, made we don't know where",
    "not found": "looked for here and not found",
}
"""What a place says; that something was looked for and not found is evidence too."""
FARTHEST_KM = 2000.0


@dataclass(frozen=True, kw_only=True)
class Place(Record):
    """
    A place.

    Parameters
    ----------
    name : str
        As pieces name it.
    point : (float, float)
        Latitude and longitude in degrees, north and east positive.
    within_km : float
        How far off the point may be, or how far the place reaches, km.
    standing : str
        One of `STANDINGS`.
    looked_on : str
        Day it was looked, as 2026-11-25; empty where that does not matter.
    source, remark : str
    """

    KIND: ClassVar[str] = "place"
    PLURAL: ClassVar[str] = "places"
    LINKS: ClassVar[Mapping[str, str]] = {}

    name: str
    point: tuple[float, float]
    within_km: float
    standing: str
    looked_on: str = ""
    source: str = ""
    remark: str = ""

    @property
    def about(self) -> str:
        """Its name and what it says."""
        return f"{self.name}, {self.standing}"

    def check_fields(self, where: str) -> None:
        """Look at the place by itself."""
        words(self.name, where, "name", needed=True)
        words(self.source, where, "source", longest=LONG)
        words(self.remark, where, "remark", longest=LONG)
        latitude, longitude = self.point
        if not (abs(latitude) <= 90 and abs(longitude) <= 180):
            raise InputError(where, "point", self.point, "latitude -90 to 90 and longitude -180 to 180, in degrees")
        if not 0 < self.within_km <= FARTHEST_KM:
            raise InputError(where, "within_km", self.within_km, f"a distance above 0 and at most {FARTHEST_KM:g} km")
        if self.standing not in STANDINGS:
            raise InputError(where, "standing", self.standing, "one of: " + ", ".join(STANDINGS))
        if self.looked_on:
            day_of(self.looked_on, where, "looked_on")
        elif self.standing == "not found":
            raise InputError(where, "looked_on", None, "the day it was looked for, as 2026-11-25")
