"""Measurements and sightings as they were taken down: by whom, how, and whether they still stand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from weftglass.evidence import Measurement, Sighting
from weftglass.records.shared import Record

HOW_TAKEN: dict[str, str] = {
    "calliper": "callipers",
    "tape": "tape",
    "ruler": "ruler or stick",
    "balance": "balance",
    "measuring jug": "measuring jug or dry filling",
    "probe": "probe through the covering",
    "recording": "recording of the tone",
    "seller": "the seller's figure",
    "estimate": "estimate by eye",
}
"""Ways of taking a measurement, each with its words."""


@dataclass(frozen=True, kw_only=True)
class MeasurementRecord(Record):
    """
    One measured number of a piece.

    Parameters
    ----------
    piece : str
        Id of the piece.
    what : str
        A kind of `weftglass.evidence.KINDS`.
    value, sd : float
        In the unit of the kind (mm, g, ml, Hz).
    z_mm : float or None
        Height above the standing plane where it was taken.
    covered : bool
        True when taken over the covering, false on the glass itself.
    typed : str
        As the person typed it, "12 1/2 in".
    how : str
        One of `HOW_TAKEN`, or empty where not said.
    by : str
        Who took it down.
    remark : str
    """

    KIND: ClassVar[str] = "measurement"

    piece: str
    what: str
    value: float
    sd: float
    z_mm: float | None = None
    covered: bool = True
    typed: str = ""
    how: str = ""
    by: str = ""
    remark: str = ""

    @property
    def measurement(self) -> Measurement:
        """As evidence."""
        return Measurement(self.what, self.value, self.sd, self.z_mm, self.covered)

    @property
    def unit(self) -> str:
        """Unit of value and sd."""
        return self.measurement.unit


@dataclass(frozen=True, kw_only=True)
class SightingRecord(Record):
    """
    One thing seen on a piece.

    Parameters
    ----------
    piece : str
        Id of the piece.
    feature, value : str
        A feature of `weftglass.evidence.FEATURES` and what was seen.
    sure : float
        Probability, above 0 and at most 1, that the eye was right.
    z_mm : (low, high) or None
        Height range in mm where it was seen.
    face : str or None
        Side of the vessel.
    by, remark : str
    """

    KIND: ClassVar[str] = "sighting"

    piece: str
    feature: str
    value: str
    sure: float = 0.9
    z_mm: tuple[float, float] | None = None
    face: str | None = None
    by: str = ""
    remark: str = ""

    @property
    def sighting(self) -> Sighting:
        """As evidence."""
        return Sighting(self.feature, self.value, self.sure, self.z_mm, self.face)
