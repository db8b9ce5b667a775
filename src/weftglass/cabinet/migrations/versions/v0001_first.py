"""The first schema: pieces, photographs, views, readings, findings, forms, the history and the table of words."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from weftglass.cabinet.migrating import APPLICATION_ID
from weftglass.cabinet.schema import Moment

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Create everything."""
    _create_records()
    _create_views()
    _create_readings()
    _create_findings()
    _create_history()
    if op.get_context().dialect.name == "sqlite":
        op.execute(
            "CREATE VIRTUAL TABLE piece_words USING fts5(piece_id UNINDEXED, words, "
            "tokenize = 'unicode61 remove_diacritics 2')"
        )
        op.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    else:
        op.execute("CREATE INDEX ix_piece_search ON piece USING gin (to_tsvector('simple', search_text))")


def _create_records() -> None:
    op.create_table(
        "piece",
        *_record_columns(),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("community", sa.Text(), nullable=False),
        sa.Column("maker", sa.Text(), nullable=False),
        sa.Column("place", sa.Text(), nullable=False),
        sa.Column("made", sa.Text(), nullable=False),
        sa.Column("technique", sa.Text(), nullable=False),
        sa.Column("material", sa.Text(), nullable=False),
        sa.Column("design", sa.Text(), nullable=False),
        sa.Column("glass", sa.Text(), nullable=False),
        sa.Column("acquired_on", sa.Text(), nullable=False),
        sa.Column("price", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("kept", sa.Text(), nullable=False),
        sa.Column("condition", sa.Text(), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("caution", sa.Text(), nullable=False),
        sa.Column("status", sa.Text(), nullable=False),
        sa.Column("search_text", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_piece")),
    )
    op.create_table(
        "photo",
        *_record_columns(),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("format", sa.Text(), nullable=False),
        sa.Column("size_bytes", sa.Integer(), nullable=False),
        sa.Column("width_px", sa.Integer(), nullable=False),
        sa.Column("height_px", sa.Integer(), nullable=False),
        sa.Column("focal_35mm", sa.Double(), nullable=True),
        sa.Column("taken", sa.Text(), nullable=True),
        sa.Column("warnings", sa.JSON(none_as_null=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_photo")),
    )
    op.create_table(
        "own_form",
        *_record_columns(),
        sa.Column("entry", sa.Text(), nullable=False),
        sa.Column("origin", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_own_form")),
    )


def _create_views() -> None:
    op.create_table(
        "view",
        *_record_columns(),
        sa.Column("piece_id", sa.String(length=120), nullable=False),
        sa.Column("photo_id", sa.String(length=120), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("caption", sa.Text(), nullable=False),
        sa.Column("box", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("polygon", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("polygon_by", sa.Text(), nullable=False),
        sa.Column("scale_bar", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("known_height", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("axis", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("bare", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("left_out", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("measured", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("trace_warnings", sa.JSON(none_as_null=True), nullable=False),
        sa.ForeignKeyConstraint(["photo_id"], ["photo.id"], name=op.f("fk_view_photo_id")),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name=op.f("fk_view_piece_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_view")),
    )
    op.create_index(op.f("ix_view_photo_id"), "view", ["photo_id"], unique=False)
    op.create_index(op.f("ix_view_piece_id"), "view", ["piece_id"], unique=False)


def _create_readings() -> None:
    op.create_table(
        "measurement",
        *_record_columns(),
        sa.Column("piece_id", sa.String(length=120), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("value", sa.Double(), nullable=False),
        sa.Column("sd", sa.Double(), nullable=False),
        sa.Column("z_mm", sa.Double(), nullable=True),
        sa.Column("covered", sa.Boolean(), nullable=False),
        sa.Column("typed", sa.Text(), nullable=False),
        sa.Column("how", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("remark", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name=op.f("fk_measurement_piece_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_measurement")),
    )
    op.create_index(op.f("ix_measurement_piece_id"), "measurement", ["piece_id"], unique=False)
    op.create_table(
        "sighting",
        *_record_columns(),
        sa.Column("piece_id", sa.String(length=120), nullable=False),
        sa.Column("feature", sa.Text(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.Column("sure", sa.Double(), nullable=False),
        sa.Column("z_low_mm", sa.Double(), nullable=True),
        sa.Column("z_high_mm", sa.Double(), nullable=True),
        sa.Column("face", sa.Text(), nullable=True),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("remark", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name=op.f("fk_sighting_piece_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sighting")),
    )
    op.create_index(op.f("ix_sighting_piece_id"), "sighting", ["piece_id"], unique=False)


def _create_findings() -> None:
    op.create_table(
        "finding",
        *_record_columns(),
        sa.Column("piece_id", sa.String(length=120), nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("form", sa.Text(), nullable=True),
        sa.Column("conclusion", sa.Text(), nullable=False),
        sa.Column("probability", sa.Double(), nullable=False),
        sa.Column("unlisted", sa.Double(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("remark", sa.Text(), nullable=False),
        sa.Column("evidence", sa.Text(), nullable=False),
        sa.Column("answer", sa.Text(), nullable=False),
        sa.Column("engine_version", sa.Text(), nullable=False),
        sa.Column("library_version", sa.Text(), nullable=False),
        sa.Column("superseded_by", sa.String(length=120), nullable=True),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name=op.f("fk_finding_piece_id")),
        sa.ForeignKeyConstraint(
            ["superseded_by"],
            ["finding.id"],
            name=op.f("fk_finding_superseded_by"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_finding")),
    )
    op.create_index(op.f("ix_finding_piece_id"), "finding", ["piece_id"], unique=False)


def _create_history() -> None:
    op.create_table(
        "change",
        sa.Column("number", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("deed", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("record", sa.Text(), nullable=False),
        sa.Column("piece", sa.Text(), nullable=False),
        sa.Column("before", sa.Text(), nullable=True),
        sa.Column("after", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_change")),
    )
    op.create_index(op.f("ix_change_piece"), "change", ["piece"], unique=False)
    op.create_index("ix_change_record", "change", ["kind", "record"], unique=False)
    op.create_table(
        "latest_answer",
        sa.Column("piece_id", sa.String(length=120), nullable=False),
        sa.Column("after_change", sa.Integer(), nullable=False),
        sa.Column("library_version", sa.Text(), nullable=False),
        sa.Column("engine_version", sa.Text(), nullable=False),
        sa.Column("covering", sa.Text(), nullable=False),
        sa.Column("form", sa.Text(), nullable=True),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("probability", sa.Double(), nullable=False),
        sa.Column("unlisted", sa.Double(), nullable=False),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name=op.f("fk_latest_answer_piece_id")),
        sa.PrimaryKeyConstraint("piece_id", name=op.f("pk_latest_answer")),
    )


def _record_columns() -> list[sa.Column[object]]:
    return [
        sa.Column("id", sa.String(length=120), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", Moment(), nullable=False),
        sa.Column("changed_at", Moment(), nullable=False),
        sa.Column("withdrawn", sa.Boolean(), nullable=False),
    ]
