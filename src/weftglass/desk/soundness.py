"""Whether a record from outside (a written-out collection, a database edited by hand) could have been made here."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

from weftglass.cabinet.photo_files import ENDINGS
from weftglass.desk.photographs import checked_role
from weftglass.desk.pieces import PIECE_ID, checked_fields
from weftglass.errors import InputError
from weftglass.evidence import Evidence, Measurement, Sighting
from weftglass.records import (
    PIECE_FIELDS,
    Finding,
    MeasurementRecord,
    OwnForm,
    Photo,
    Piece,
    Record,
    SightingRecord,
    View,
)
from weftglass.vessels import Form

SHA256 = re.compile(r"[0-9a-f]{64}")
ID = re.compile(r"[^\x00-\x20\x7f/\\]{1,120}")


def check_record(record: Record, where: str) -> None:
    """
    Look at one record by itself.

    Raises
    ------
    InputError
        Names the first field that could not have come from here.
    """
    if not ID.fullmatch(record.id):
        raise InputError(where, "id", record.id, "1 to 120 characters without blanks and slashes")
    if record.version < 1:
        raise InputError(where, "version", record.version, "1 or more")
    _CHECKS[type(record)](record, where)


def _piece(piece: Piece, where: str) -> None:
    if not PIECE_ID.fullmatch(piece.id):
        raise InputError(where, "id", piece.id, "1 to 100 small letters, digits, hyphens and dots")
    checked_fields({name: getattr(piece, name) for name in PIECE_FIELDS}, where)


def _photo(photo: Photo, where: str) -> None:
    if not SHA256.fullmatch(photo.id):
        raise InputError(where, "id", photo.id, "a SHA-256 of 64 hexadecimal digits")
    if photo.format not in ENDINGS:
        raise InputError(where, "format", photo.format, "one of: " + ", ".join(ENDINGS))
    if min(photo.width_px, photo.height_px, photo.size_bytes) < 1:
        raise InputError(where, "width_px", photo.width_px, "a picture with pixels")


def _view(view: View, where: str) -> None:
    checked_role(view.role)
    for name in ("bare", "left_out"):
        for i, (low, high) in enumerate(getattr(view, name)):
            if low >= high:
                raise InputError(where, f"{name}[{i}]", [low, high], "a range [low, high] in mm, the lower first")
    if view.measured is not None and len(view.measured.sd_mm) != len(view.measured.points):
        raise InputError(where, "measured.sd_mm", len(view.measured.sd_mm), "as many as there are points")


def _measurement(record: MeasurementRecord, where: str) -> None:
    plain: Mapping[str, Any] = {"what": record.what, "value": record.value, "sd": record.sd, "z": record.z_mm}
    _named(partial(Measurement.from_record, plain), where)


def _sighting(record: SightingRecord, where: str) -> None:
    z = None if record.z_mm is None else list(record.z_mm)
    plain: Mapping[str, Any] = {"feature": record.feature, "value": record.value, "sure": record.sure, "z": z}
    _named(partial(Sighting.from_record, plain), where)


def _finding(finding: Finding, where: str) -> None:
    for name in ("probability", "unlisted"):
        if not 0.0 <= getattr(finding, name) <= 1.0:
            raise InputError(where, name, getattr(finding, name), "a probability from 0 to 1")
    Evidence.from_record(_json(finding.evidence, where, "evidence"), f"{where} evidence")
    answer = _json(finding.answer, where, "answer")
    if not isinstance(answer, dict) or not isinstance(answer.get("candidates"), list) or "unlisted" not in answer:
        raise InputError(where, "answer", finding.answer, "the record of an answer")


def _form(record: OwnForm, where: str) -> None:
    form = Form.from_record(_json(record.entry, where, "entry"), where)
    if form.id != record.id:
        raise InputError(where, "entry", form.id, f"a form with the id {record.id}")


def _named(read: Callable[[str, str], object], where: str) -> None:
    try:
        read(where, "")
    except InputError as fault:
        raise InputError(where, fault.field.lstrip("."), fault.value, fault.expected) from None


def _json(text: str, where: str, field: str) -> Any:
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        raise InputError(where, field, text, "JSON text") from None


_CHECKS: dict[type[Record], Callable[[Any, str], None]] = {
    Piece: _piece,
    Photo: _photo,
    View: _view,
    MeasurementRecord: _measurement,
    SightingRecord: _sighting,
    Finding: _finding,
    OwnForm: _form,
}
