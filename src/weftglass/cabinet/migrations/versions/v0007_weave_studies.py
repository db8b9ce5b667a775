"""Weave studies: counts of rows and stitches on photographs."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from weftglass.cabinet.schema import Moment

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    """Add the table."""
    op.create_table(
        "weave_study",
        sa.Column("id", sa.String(length=120), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", Moment(), nullable=False),
        sa.Column("changed_at", Moment(), nullable=False),
        sa.Column("withdrawn", sa.Boolean(), nullable=False),
        sa.Column("piece_id", sa.String(length=120), nullable=False),
        sa.Column("view_id", sa.String(length=120), nullable=False),
        sa.Column("on", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("how", sa.Text(), nullable=False),
        sa.Column("technique", sa.Text(), nullable=False),
        sa.Column("rows_per_cm", sa.Double(), nullable=True),
        sa.Column("rows_sd", sa.Double(), nullable=True),
        sa.Column("stitches_per_cm", sa.Double(), nullable=True),
        sa.Column("stitches_sd", sa.Double(), nullable=True),
        sa.Column("lean", sa.Text(), nullable=False),
        sa.Column("box_px", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("bar", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("taps_px", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("remark", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name=op.f("fk_weave_study_piece_id")),
        sa.ForeignKeyConstraint(["view_id"], ["view.id"], name=op.f("fk_weave_study_view_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_weave_study")),
    )
    op.create_index(op.f("ix_weave_study_piece_id"), "weave_study", ["piece_id"])
    op.create_index(op.f("ix_weave_study_view_id"), "weave_study", ["view_id"])
