"""Measurements and sightings as they were taken down: by whom, how, and whether they still stand."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any, ClassVar

from weftglass.errors import InputError
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
    PLURAL: ClassVar[str] = "measurements"
    LINKS: ClassVar[Mapping[str, str]] = {"piece": "piece"}
    IS_EVIDENCE: ClassVar[bool] = True

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

    @property
    def about(self) -> str:
        """What was measured."""
        return self.what

    def check_fields(self, where: str) -> None:
        """It is a measurement the engine takes."""
        plain: Mapping[str, Any] = {"what": self.what, "value": self.value, "sd": self.sd, "z": self.z_mm}
        _named(partial(Measurement.from_record, plain), where)


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
    PLURAL: ClassVar[str] = "sightings"
    LINKS: ClassVar[Mapping[str, str]] = {"piece": "piece"}
    IS_EVIDENCE: ClassVar[bool] = True

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

    @property
    def about(self) -> str:
        """What was seen."""
        return self.value

    def check_fields(self, where: str) -> None:
        """It is a sighting the engine takes."""
        z = None if self.z_mm is None else list(self.z_mm)
        plain: Mapping[str, Any] = {"feature": self.feature, "value": self.value, "sure": self.sure, "z": z}
        _named(partial(Sighting.from_record, plain), where)


def _named(read: Callable[[str, str], object], where: str) -> None:
    try:
        read(where, "")
    except InputError as fault:
        raise InputError(where, fault.field.lstrip("."), fault.value, fault.expected) from None
