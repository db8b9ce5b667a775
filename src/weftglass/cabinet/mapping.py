"""One mapper a record: which row class keeps it, and how each becomes the other."""

from __future__ import annotations

import json
from dataclasses import dataclass, fields
from functools import cache
from typing import Any, Generic, TypeVar

from weftglass.cabinet.schema import (
    CataloguePageRow,
    CommunityRow,
    ExaminationRow,
    FindingRow,
    InquiryRow,
    MeasurementRow,
    OfferRow,
    OwnFormRow,
    OwnTermRow,
    PhotoRow,
    PieceRow,
    PlaceRow,
    PublishedHoldingRow,
    RecordRow,
    SightingRow,
    ValuationRow,
    ViewRow,
    WeaveStudyRow,
)
from weftglass.records import (
    CataloguePage,
    Community,
    Examination,
    Finding,
    Inquiry,
    MeasurementRecord,
    Offer,
    OwnForm,
    OwnTerm,
    Photo,
    Piece,
    Place,
    PublishedHolding,
    Record,
    SightingRecord,
    Valuation,
    View,
    WeaveStudy,
    from_plain,
    to_plain,
)

R = TypeVar("R", bound=Record)


@dataclass(frozen=True)
class Mapper(Generic[R]):
    """
    Between a record and its row: the same names, but the column of a link is called ``…_id``.

    Parameters
    ----------
    record, row : type
    """

    record: type[R]
    row: type[RecordRow]

    def columns_of(self, record: R) -> dict[str, Any]:
        """Column values of a record."""
        values = {}
        for field in fields(record):
            value = getattr(record, field.name)
            if isinstance(value, tuple) or hasattr(value, "__dataclass_fields__"):
                value = to_plain(value)
            values[_column(record, field.name)] = value
        return values

    def record_of(self, row: RecordRow) -> R:
        """The record in a row."""
        plain = {name: getattr(row, column) for name, column in _columns(self.record)}
        return from_plain(self.record, plain, f"stored {self.record.KIND} {row.id}")

    def text_of(self, record: R) -> str:
        """The record as JSON, for the history."""
        return json.dumps(to_plain(record), ensure_ascii=False, allow_nan=False)

    def record_in(self, text: str) -> R:
        """The record in a history entry."""
        return from_plain(self.record, json.loads(text), f"history of a {self.record.KIND}")


class SightingMapper(Mapper[SightingRecord]):
    """The height range of a sighting is two columns."""

    def columns_of(self, record: SightingRecord) -> dict[str, Any]:
        """Column values of a sighting."""
        values = super().columns_of(record)
        values.pop("z_mm")
        low, high = record.z_mm or (None, None)
        return values | {"z_low_mm": low, "z_high_mm": high}

    def record_of(self, row: RecordRow) -> SightingRecord:
        """The sighting in a row."""
        assert isinstance(row, SightingRow)
        plain = {name: getattr(row, column) for name, column in _columns(SightingRecord) if name != "z_mm"}
        plain["z_mm"] = None if row.z_low_mm is None else [row.z_low_mm, row.z_high_mm]
        return from_plain(SightingRecord, plain, f"stored sighting {row.id}")


@cache
def _columns(record: type[Record]) -> tuple[tuple[str, str], ...]:
    """Each field of a record with its column."""
    return tuple((field.name, _column(record, field.name)) for field in fields(record))


def _column(record: Record | type[Record], name: str) -> str:
    return f"{name}_id" if name in record.LINKS else name


MAPPERS: tuple[Mapper[Any], ...] = (
    Mapper(Piece, PieceRow),
    Mapper(Photo, PhotoRow),
    Mapper(View, ViewRow),
    Mapper(MeasurementRecord, MeasurementRow),
    SightingMapper(SightingRecord, SightingRow),
    Mapper(Finding, FindingRow),
    Mapper(OwnForm, OwnFormRow),
    Mapper(Community, CommunityRow),
    Mapper(PublishedHolding, PublishedHoldingRow),
    Mapper(Offer, OfferRow),
    Mapper(Inquiry, InquiryRow),
    Mapper(Valuation, ValuationRow),
    Mapper(Place, PlaceRow),
    Mapper(Examination, ExaminationRow),
    Mapper(WeaveStudy, WeaveStudyRow),
    Mapper(OwnTerm, OwnTermRow),
    Mapper(CataloguePage, CataloguePageRow),
)
"""All kinds of records, each after the kinds it links to. A new kind is one line here; see docs/architecture.md."""

BY_RECORD: dict[type[Record], Mapper[Any]] = {mapper.record: mapper for mapper in MAPPERS}
BY_KIND: dict[str, Mapper[Any]] = {mapper.record.KIND: mapper for mapper in MAPPERS}


def piece_of(record: Record) -> str:
    """Id of the piece a record belongs to; empty for photographs and forms."""
    return record.id if isinstance(record, Piece) else str(getattr(record, "piece", ""))
