"""What a collection holds, as frozen records: pieces, photographs, views, readings, findings and all changes."""

from weftglass.records.catalogue_page import EXHIBITS, CataloguePage, Exhibit
from weftglass.records.change import Change
from weftglass.records.community import COUNTED, Community, PublishedHolding
from weftglass.records.examination import FACES, SPOT_KINDS, STATES, Examination, Spot
from weftglass.records.finding import Finding
from weftglass.records.form import OwnForm
from weftglass.records.offer import OUTCOMES, Inquiry, Offer
from weftglass.records.own_term import OwnTerm
from weftglass.records.photo import FORMATS, Photo
from weftglass.records.piece import LONG_FIELDS, PIECE_FIELDS, STATUSES, Piece, check_piece_id, checked_fields
from weftglass.records.place import STANDINGS, Place
from weftglass.records.plain import from_plain, json_value, to_plain
from weftglass.records.reading import HOW_TAKEN, MeasurementRecord, SightingRecord
from weftglass.records.shared import BEGINNING, Record
from weftglass.records.valuation import BASES, Valuation
from weftglass.records.view import (
    ROLES,
    KnownHeight,
    MeasuredProfile,
    ScaleBar,
    View,
    checked_role,
    evidence_view,
    turn_deg,
    turn_role,
)
from weftglass.records.weave_study import HOW_COUNTED, STUDY_LEANS, WeaveStudy
from weftglass.records.wording import LONG, SHORT, words

__all__ = [
    "BASES",
    "BEGINNING",
    "COUNTED",
    "EXHIBITS",
    "FACES",
    "FORMATS",
    "HOW_COUNTED",
    "HOW_TAKEN",
    "LONG",
    "LONG_FIELDS",
    "OUTCOMES",
    "PIECE_FIELDS",
    "ROLES",
    "SHORT",
    "SPOT_KINDS",
    "STANDINGS",
    "STATES",
    "STATUSES",
    "STUDY_LEANS",
    "CataloguePage",
    "Change",
    "Community",
    "Examination",
    "Exhibit",
    "Finding",
    "Inquiry",
    "KnownHeight",
    "MeasuredProfile",
    "MeasurementRecord",
    "Offer",
    "OwnForm",
    "OwnTerm",
    "Photo",
    "Piece",
    "Place",
    "PublishedHolding",
    "Record",
    "ScaleBar",
    "SightingRecord",
    "Spot",
    "Valuation",
    "View",
    "WeaveStudy",
    "check_piece_id",
    "checked_fields",
    "checked_role",
    "evidence_view",
    "from_plain",
    "json_value",
    "to_plain",
    "turn_deg",
    "turn_role",
    "words",
]
