"""Examinations of a piece's condition."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from weftglass.cabinet.schema import Moment

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Create the table."""
    op.create_table(
        "examination",
        sa.Column("id", sa.String(length=120), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", Moment(), nullable=False),
        sa.Column("changed_at", Moment(), nullable=False),
        sa.Column("withdrawn", sa.Boolean(), nullable=False),
        sa.Column("piece_id", sa.String(length=120), nullable=False),
        sa.Column("on", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("remark", sa.Text(), nullable=False),
        sa.Column("spots", sa.JSON(none_as_null=True), nullable=False),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name=op.f("fk_examination_piece_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_examination")),
    )
    op.create_index(op.f("ix_examination_piece_id"), "examination", ["piece_id"])
