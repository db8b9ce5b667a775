"""The tables, one row class a record; rows never leave this package."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import JSON, Dialect, ForeignKey, Index, MetaData, String, Text
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column
from sqlalchemy.types import TypeDecorator

NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_name)s",
    "uq": "uq_%(table_name)s_%(column_0_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s",
    "pk": "pk_%(table_name)s",
}


class Moment(TypeDecorator[datetime]):
    """A time in UTC as text of fixed width, so that it sorts and reads the same on every database."""

    impl = String(27)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> str | None:
        """To text."""
        if value is None:
            return None
        return value.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")

    def process_result_value(self, value: Any | None, dialect: Dialect) -> datetime | None:
        """From text."""
        return None if value is None else datetime.fromisoformat(value)


class Base(DeclarativeBase):
    """Base of all rows."""

    metadata = MetaData(naming_convention=NAMES)
    type_annotation_map = {  # noqa: RUF012 - SQLAlchemy reads it as a class attribute
        datetime: Moment(),
        str: Text(),
        list[Any]: JSON(none_as_null=True),
        dict[str, Any]: JSON(none_as_null=True),
    }


class RecordRow(Base):
    """Columns that every record has."""

    __abstract__ = True

    id: Mapped[str] = mapped_column(String(120), primary_key=True)
    version: Mapped[int]
    created_at: Mapped[datetime]
    changed_at: Mapped[datetime]
    withdrawn: Mapped[bool]


class PieceRow(RecordRow):
    """A piece; ``search_text`` is what the search looks through, accents folded."""

    __tablename__ = "piece"

    name: Mapped[str]
    community: Mapped[str]
    maker: Mapped[str]
    place: Mapped[str]
    made: Mapped[str]
    technique: Mapped[str]
    material: Mapped[str]
    design: Mapped[str]
    glass: Mapped[str]
    acquired_on: Mapped[str]
    price: Mapped[str]
    source: Mapped[str]
    kept: Mapped[str]
    condition: Mapped[str]
    notes: Mapped[str]
    caution: Mapped[str]
    status: Mapped[str]
    search_text: Mapped[str] = mapped_column(default="")


class PhotoRow(RecordRow):
    """A photograph file."""

    __tablename__ = "photo"

    name: Mapped[str]
    format: Mapped[str]
    size_bytes: Mapped[int]
    width_px: Mapped[int]
    height_px: Mapped[int]
    focal_35mm: Mapped[float | None]
    taken: Mapped[str | None]
    warnings: Mapped[list[Any]]


class ViewRow(RecordRow):
    """A view; geometry is JSON, since nobody searches by it."""

    __tablename__ = "view"

    piece_id: Mapped[str] = mapped_column(ForeignKey("piece.id"), index=True)
    photo_id: Mapped[str] = mapped_column(ForeignKey("photo.id"), index=True)
    role: Mapped[str]
    caption: Mapped[str]
    box: Mapped[list[Any] | None]
    polygon: Mapped[list[Any]]
    polygon_by: Mapped[str]
    scale_bar: Mapped[dict[str, Any] | None]
    known_height: Mapped[dict[str, Any] | None]
    axis: Mapped[list[Any] | None]
    bare: Mapped[list[Any]]
    left_out: Mapped[list[Any]]
    base_unseen: Mapped[bool]
    top_unseen: Mapped[bool]
    measured: Mapped[dict[str, Any] | None]
    trace_warnings: Mapped[list[Any]]


class MeasurementRow(RecordRow):
    """A measurement."""

    __tablename__ = "measurement"

    piece_id: Mapped[str] = mapped_column(ForeignKey("piece.id"), index=True)
    what: Mapped[str]
    value: Mapped[float]
    sd: Mapped[float]
    z_mm: Mapped[float | None]
    covered: Mapped[bool]
    typed: Mapped[str]
    how: Mapped[str]
    by: Mapped[str]
    remark: Mapped[str]


class SightingRow(RecordRow):
    """A sighting."""

    __tablename__ = "sighting"

    piece_id: Mapped[str] = mapped_column(ForeignKey("piece.id"), index=True)
    feature: Mapped[str]
    value: Mapped[str]
    sure: Mapped[float]
    z_low_mm: Mapped[float | None]
    z_high_mm: Mapped[float | None]
    face: Mapped[str | None]
    by: Mapped[str]
    remark: Mapped[str]


class FindingRow(RecordRow):
    """A finding with its frozen evidence and answer."""

    __tablename__ = "finding"

    piece_id: Mapped[str] = mapped_column(ForeignKey("piece.id"), index=True)
    subject: Mapped[str]
    form: Mapped[str | None]
    conclusion: Mapped[str]
    probability: Mapped[float]
    unlisted: Mapped[float]
    who: Mapped[str]
    remark: Mapped[str]
    evidence: Mapped[str]
    answer: Mapped[str]
    engine_version: Mapped[str]
    library_version: Mapped[str]
    superseded_by: Mapped[str | None] = mapped_column(ForeignKey("finding.id", deferrable=True, initially="DEFERRED"))


class OwnFormRow(RecordRow):
    """A form of the owner's own."""

    __tablename__ = "own_form"

    entry: Mapped[str]
    origin: Mapped[str]
    by: Mapped[str]


class CommunityRow(RecordRow):
    """A community of makers; names, traits and restricted designs are lists that nobody searches by."""

    __tablename__ = "community"

    name: Mapped[str]
    own_name: Mapped[str]
    other_names: Mapped[list[Any]]
    language: Mapped[str]
    place: Mapped[str]
    point: Mapped[list[Any] | None]
    within_km: Mapped[float | None]
    years: Mapped[list[Any] | None]
    traits: Mapped[list[Any]]
    restricted: Mapped[str]
    restricted_designs: Mapped[list[Any]]
    source: Mapped[str]
    remark: Mapped[str]
    by: Mapped[str]


class PublishedHoldingRow(RecordRow):
    """A holding known by totals only."""

    __tablename__ = "published_holding"

    name: Mapped[str]
    source: Mapped[str]
    pieces: Mapped[int]
    counts: Mapped[list[Any]]
    by: Mapped[str]


class OfferRow(RecordRow):
    """What is asked for a piece, and by whom."""

    __tablename__ = "offer"

    piece_id: Mapped[str] = mapped_column(ForeignKey("piece.id"), index=True)
    seller: Mapped[str]
    venue: Mapped[str]
    seen_on: Mapped[str]
    amount: Mapped[float | None]
    currency: Mapped[str]
    said: Mapped[str]
    outcome: Mapped[str]
    paid: Mapped[float | None]


class InquiryRow(RecordRow):
    """A question put to a seller."""

    __tablename__ = "inquiry"

    piece_id: Mapped[str] = mapped_column(ForeignKey("piece.id"), index=True)
    question: Mapped[str]
    looks_for: Mapped[str]
    z_mm: Mapped[float | None]
    asked_on: Mapped[str]
    answer: Mapped[str]


class ValuationRow(RecordRow):
    """What a piece cost or is said to be worth."""

    __tablename__ = "valuation"

    piece_id: Mapped[str] = mapped_column(ForeignKey("piece.id"), index=True)
    basis: Mapped[str]
    amount: Mapped[float]
    currency: Mapped[str]
    on: Mapped[str]
    source: Mapped[str]
    remark: Mapped[str]


class ExaminationRow(RecordRow):
    """An examination of a piece's condition; its spots are JSON, since nobody searches by them."""

    __tablename__ = "examination"

    piece_id: Mapped[str] = mapped_column(ForeignKey("piece.id"), index=True)
    on: Mapped[str]
    by: Mapped[str]
    state: Mapped[str]
    remark: Mapped[str]
    spots: Mapped[list[Any]]


class PlaceRow(RecordRow):
    """A place on the map."""

    __tablename__ = "place"

    name: Mapped[str]
    point: Mapped[list[Any]]
    within_km: Mapped[float]
    standing: Mapped[str]
    looked_on: Mapped[str]
    source: Mapped[str]
    remark: Mapped[str]


class WeaveStudyRow(RecordRow):
    """One count of rows and stitches on one photograph."""

    __tablename__ = "weave_study"

    piece_id: Mapped[str] = mapped_column(ForeignKey("piece.id"), index=True)
    view_id: Mapped[str] = mapped_column(ForeignKey("view.id"), index=True)
    on: Mapped[str]
    by: Mapped[str]
    how: Mapped[str]
    technique: Mapped[str]
    rows_per_cm: Mapped[float | None]
    rows_sd: Mapped[float | None]
    stitches_per_cm: Mapped[float | None]
    stitches_sd: Mapped[float | None]
    lean: Mapped[str]
    box_px: Mapped[list[Any]]
    bar: Mapped[list[Any]]
    taps_px: Mapped[list[Any]]
    remark: Mapped[str]


class OwnTermRow(RecordRow):
    """A word of the collection's own for coverings."""

    __tablename__ = "own_term"

    term_kind: Mapped[str]
    term: Mapped[str]
    definition: Mapped[str]
    also: Mapped[list[Any]]
    source: Mapped[str]


class CataloguePageRow(RecordRow):
    """A page of the catalogue; what it shows is JSON, since nobody searches by it."""

    __tablename__ = "catalogue_page"

    title: Mapped[str]
    remark: Mapped[str]
    place: Mapped[int]
    exhibits: Mapped[list[Any]]


class ChangeRow(Base):
    """One entry of the history."""

    __tablename__ = "change"
    __table_args__ = (Index("ix_change_record", "kind", "record"),)

    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=True)
    at: Mapped[datetime]
    who: Mapped[str]
    deed: Mapped[str]
    kind: Mapped[str]
    record: Mapped[str]
    piece: Mapped[str] = mapped_column(index=True)
    before: Mapped[str | None]
    after: Mapped[str]


class AnswerRow(Base):
    """The latest answer about a piece in brief, for lists; it can be computed again and has no history."""

    __tablename__ = "latest_answer"

    piece_id: Mapped[str] = mapped_column(ForeignKey("piece.id"), primary_key=True)
    after_change: Mapped[int]
    library_version: Mapped[str]
    engine_version: Mapped[str]
    covering: Mapped[str]
    form: Mapped[str | None]
    name: Mapped[str]
    probability: Mapped[float]
    unlisted: Mapped[float]
