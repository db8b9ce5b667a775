"""Measurements: taking them down as a person types them, and withdrawing them."""

from __future__ import annotations

import re
from dataclasses import replace

from weftglass import units
from weftglass.cabinet import Draft
from weftglass.desk.collection import Collection
from weftglass.desk.wording import signature
from weftglass.errors import InputError
from weftglass.evidence import KINDS, Measurement, default_sd
from weftglass.records import HOW_TAKEN, SHORT, MeasurementRecord, Piece, words

TRUST = {
    "calliper": 1.0,
    "tape": 2.0,
    "ruler": 2.0,
    "balance": 1.0,
    "measuring jug": 1.0,
    "probe": 1.0,
    "recording": 1.0,
    "seller": 4.0,
    "estimate": 10.0,
}
"""How many times the careful amateur's standard deviation each way of measuring has (common practice, no source)."""

READERS = {"mm": units.length_mm, "g": units.mass_g, "ml": units.volume_ml}
PLAIN = re.compile(r"\s*(\d+(?:[.,]\d+)?)\s*(?:hz)?\s*", re.IGNORECASE)


def record_measurement(
    collection: Collection,
    piece_id: str,
    what: str,
    typed: str,
    *,
    who: str,
    how: str = "",
    sd: str | float | None = None,
    z: str | float | None = None,
    covered: bool | None = None,
    remark: str = "",
) -> MeasurementRecord:
    """
    Take a measurement down.

    Parameters
    ----------
    what : str
        A kind of `weftglass.evidence.KINDS`.
    typed : str
        The number with its unit, as a person types it: ``"12 1/2 in"``, ``"812 g"``, ``"26 imp fl oz"``; a plain
        number is in the unit of the kind (mm, g, ml, Hz).
    how : str
        One of `weftglass.records.HOW_TAKEN`, or empty.
    sd : str, float or None
        Standard deviation, typed with a unit or in the unit of the kind; None: by kind and how it was taken.
    z : str, float or None
        Height above the standing plane, typed with a unit or in mm; needed for girth and cover_thickness.
    covered : bool or None
        Taken over the covering or on the glass; None: what is usual for the kind.

    Raises
    ------
    InputError
        Unknown kind, unreadable or impossible value, or a missing height.
    """
    measurement = read_measurement(what, typed, how=how, sd=sd, z=z, covered=covered)
    with collection.cabinet.writing(signature(who)) as draft:
        return put_measurement(draft, piece_id, measurement, typed, by=signature(who), how=how, remark=remark)


def put_measurement(
    draft: Draft, piece_id: str, measurement: Measurement, typed: str, *, by: str, how: str = "", remark: str = ""
) -> MeasurementRecord:
    """Store a measurement that was read, within a change that stores more."""
    piece = draft.get(Piece, piece_id)
    new = MeasurementRecord(
        id=draft.numbered_id(MeasurementRecord, f"{piece.id}.measurement"),
        piece=piece.id,
        what=measurement.what,
        value=measurement.value,
        sd=measurement.sd,
        z_mm=measurement.z_mm,
        covered=measurement.covered,
        typed=words(typed, "measurement", "value", longest=100),
        how=how,
        by=by,
        remark=words(remark, "measurement", "remark", longest=SHORT),
    )
    return draft.put(new)


def withdraw_measurement(
    collection: Collection, measurement_id: str, *, who: str, version: int | None = None
) -> MeasurementRecord:
    """Say that a measurement does not stand; it is kept and can be brought back."""
    return _set_withdrawn(collection, measurement_id, True, who, version)


def restore_measurement(
    collection: Collection, measurement_id: str, *, who: str, version: int | None = None
) -> MeasurementRecord:
    """Bring a withdrawn measurement back."""
    return _set_withdrawn(collection, measurement_id, False, who, version)


def read_measurement(
    what: str,
    typed: str,
    *,
    how: str = "",
    sd: str | float | None = None,
    z: str | float | None = None,
    covered: bool | None = None,
    where: str = "measurement",
) -> Measurement:
    """A measurement from what a person typed, not stored; parameters as `record_measurement`."""
    if what not in KINDS:
        raise InputError(where, "what", what, "one of: " + ", ".join(KINDS))
    if how and how not in HOW_TAKEN:
        raise InputError(where, "how", how, "one of: " + ", ".join(HOW_TAKEN))
    unit = KINDS[what].unit
    value = in_unit(typed, unit, where, "value")
    spread = default_sd(what, value) * TRUST.get(how, 1.0) if sd in (None, "") else in_unit(sd, unit, where, "sd")
    record = {"what": what, "value": value, "unit": unit, "sd": spread}
    if z not in (None, ""):
        record["z"] = in_unit(z, "mm", where, "z")
    if covered is not None:
        record["covered"] = covered
    try:
        return Measurement.from_record(record, where, "")
    except InputError as fault:
        raise InputError(where, fault.field.lstrip("."), typed_or(fault, typed), fault.expected) from None


def in_unit(typed: object, unit: str, where: str, field: str) -> float:
    """What was typed as a number in a unit (mm, g, ml, Hz); a plain number is in that unit already."""
    if isinstance(typed, int | float) and not isinstance(typed, bool):
        return float(typed)
    if not isinstance(typed, str):
        raise InputError(where, field, typed, f"a number in {unit}")
    plain = PLAIN.fullmatch(typed)
    if unit == "Hz" and plain is None:
        raise InputError(where, field, typed, "a number in Hz, such as 212 or 212.5 Hz")
    if plain is not None and not (unit != "Hz" and "hz" in typed.casefold()):
        if re.fullmatch(r"\d{1,3},\d{3}", plain[1]):
            raise InputError(
                where, field, typed, f"clearer: {plain[1].replace(',', '')} or {plain[1].replace(',', '.')}"
            )
        return float(plain[1].replace(",", "."))
    return READERS[unit](typed, where, field)


def typed_or(fault: InputError, typed: str) -> object:
    """What the person typed, where the fault is with the value itself."""
    return typed if fault.field.lstrip(".") == "value" else fault.value


def _set_withdrawn(
    collection: Collection, measurement_id: str, withdrawn: bool, who: str, version: int | None
) -> MeasurementRecord:
    with collection.cabinet.writing(signature(who)) as draft:
        record = draft.get(MeasurementRecord, measurement_id)
        read = record.version if version is None else version
        deed = "withdrawn" if withdrawn else "brought back"
        return draft.put(replace(record, withdrawn=withdrawn, version=read), deed)
