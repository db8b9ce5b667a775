"""Numbers taken from a piece with a tape, callipers, a balance or an ear, each with its uncertainty."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from weftglass.errors import InputError
from weftglass.evidence.reading import Record, need_text, refuse_unknown
from weftglass.vessels.fields import number_of

KNOWN = frozenset({"what", "value", "unit", "sd", "z", "covered"})


@dataclass(frozen=True)
class Kind:
    """What a kind of measurement is taken in, its range, and a fair standard deviation when none is given."""

    unit: str
    low: float
    high: float
    default_sd: float
    relative_sd: float
    needs_height: bool
    words: str


KINDS: dict[str, Kind] = {
    "height": Kind("mm", 5, 2000, 1.0, 0.003, False, "height over all"),
    "weight": Kind("g", 1, 100_000, 5.0, 0.005, False, "weight as it stands"),
    "capacity": Kind("ml", 1, 100_000, 5.0, 0.02, False, "capacity by dry filling"),
    "tone": Kind("Hz", 20, 5000, 1.0, 0.01, False, "tone of the vessel"),
    "lip_diameter": Kind("mm", 5, 300, 0.5, 0.0, False, "diameter across the lip"),
    "bore": Kind("mm", 2, 280, 0.5, 0.0, False, "bore of the mouth"),
    "neck_diameter": Kind("mm", 5, 300, 0.8, 0.0, False, "diameter of the neck"),
    "base_diameter": Kind("mm", 5, 1000, 1.5, 0.0, False, "diameter of the base"),
    "body_width": Kind("mm", 5, 1000, 1.0, 0.0, False, "width of the body"),
    "body_depth": Kind("mm", 5, 1000, 1.0, 0.0, False, "depth of the body"),
    "girth": Kind("mm", 15, 4000, 3.0, 0.0, True, "girth by tape"),
    "cover_thickness": Kind("mm", 0, 120, 0.5, 0.0, True, "thickness of the covering by probe"),
}


@dataclass(frozen=True)
class Measurement:
    """
    One measured number.

    Parameters
    ----------
    what : str
        One of `KINDS`: height, weight, capacity, tone, lip_diameter, bore, neck_diameter, base_diameter, body_width,
        body_depth, girth, cover_thickness.
    value : float
        In the unit of the kind: mm, g, ml or Hz.
    sd : float
        Standard deviation in the same unit, above 0.
    z_mm : float or None
        Height above the standing plane, mm; needed for girth and cover_thickness.
    covered : bool
        True when taken over the covering, false when on the glass itself (a bare lip, base or neck).
    """

    what: str
    value: float
    sd: float
    z_mm: float | None = None
    covered: bool = True

    @property
    def unit(self) -> str:
        """Unit of value and sd."""
        return KINDS[self.what].unit

    @property
    def item(self) -> str:
        """The name this measurement goes by in an explanation."""
        at = "" if self.z_mm is None else f" at {self.z_mm:g} mm"
        return f"{self.what.replace('_', ' ')}{at} {self.value:g} {self.unit}"

    @classmethod
    def from_record(cls, record: Record, where: str, field: str) -> Measurement:
        """
        Read the contract's form; the unit must be the kind's own (conversion happens where people type).

        Raises
        ------
        InputError
            Unknown kind, wrong unit, value out of range, sd not above 0, or a missing height z.

        Examples
        --------
        >>> Measurement.from_record({"what": "weight", "value": 812, "unit": "g", "sd": 5}, "here", "m").item
        'weight 812 g'
        """
        refuse_unknown(record, KNOWN, where, field)
        what = need_text(record.get("what"), where, f"{field}.what", "one of: " + ", ".join(KINDS))
        kind = KINDS.get(what)
        if kind is None:
            raise InputError(where, f"{field}.what", what, "one of: " + ", ".join(KINDS))
        unit = record.get("unit", kind.unit)
        if unit != kind.unit:
            raise InputError(where, f"{field}.unit", unit, f"{kind.unit} for {what}")
        bounds = f"a number from {kind.low:g} to {kind.high:g}, in {kind.unit}"
        value = number_of(record.get("value"), where, f"{field}.value", bounds, low=kind.low, high=kind.high)
        sd_words = f"a number above 0, in {kind.unit}"
        sd = number_of(record.get("sd", default_sd(what, value)), where, f"{field}.sd", sd_words, high=kind.high)
        if sd <= 0:
            raise InputError(where, f"{field}.sd", sd, sd_words)
        z = record.get("z")
        if z is None and kind.needs_height:
            raise InputError(where, f"{field}.z", z, "the height it was taken at, in mm above the standing plane")
        height = (
            None if z is None else number_of(z, where, f"{field}.z", "a height from 0 to 2000, in mm", low=0, high=2000)
        )
        covered = record.get("covered", _covered_by_default(what))
        if not isinstance(covered, bool):
            raise InputError(where, f"{field}.covered", covered, "true or false")
        return cls(what, value, sd, height, covered)

    def to_record(self) -> dict[str, Any]:
        """The contract's form; `from_record` reads it back to an equal measurement."""
        record: dict[str, Any] = {"what": self.what, "value": self.value, "unit": self.unit, "sd": self.sd}
        if self.z_mm is not None:
            record["z"] = self.z_mm
        if self.covered != _covered_by_default(self.what):
            record["covered"] = self.covered
        return record


def default_sd(what: str, value: float) -> float:
    """
    A fair standard deviation for a careful amateur reading of this kind, in its unit.

    Common practice, no source: callipers half a millimetre, tape three, a kitchen balance five grams.

    Examples
    --------
    >>> default_sd("weight", 2000.0)
    11.180339887498949
    """
    kind = KINDS[what]
    return float((kind.default_sd**2 + (kind.relative_sd * value) ** 2) ** 0.5)


def _covered_by_default(what: str) -> bool:
    return what not in ("lip_diameter", "bore", "capacity", "tone")
