"""What a collection holds, as frozen records: pieces, photographs, views, readings, findings and all changes."""

from weftglass.records.change import Change
from weftglass.records.finding import Finding
from weftglass.records.form import OwnForm
from weftglass.records.photo import Photo
from weftglass.records.piece import PIECE_FIELDS, STATUSES, Piece
from weftglass.records.plain import from_plain, to_plain
from weftglass.records.reading import HOW_TAKEN, MeasurementRecord, SightingRecord
from weftglass.records.shared import BEGINNING, Record
from weftglass.records.view import (
    ROLES,
    KnownHeight,
    MeasuredProfile,
    ScaleBar,
    View,
    evidence_view,
    turn_deg,
    turn_role,
)

__all__ = [
    "BEGINNING",
    "HOW_TAKEN",
    "PIECE_FIELDS",
    "ROLES",
    "STATUSES",
    "Change",
    "Finding",
    "KnownHeight",
    "MeasuredProfile",
    "MeasurementRecord",
    "OwnForm",
    "Photo",
    "Piece",
    "Record",
    "ScaleBar",
    "SightingRecord",
    "View",
    "evidence_view",
    "from_plain",
    "to_plain",
    "turn_deg",
    "turn_role",
]
