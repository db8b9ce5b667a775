"""Communities of makers, and published holdings known by their totals."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from weftglass.cabinet.schema import Moment

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Add both tables."""
    op.create_table(
        "community",
        *_record_columns(),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("own_name", sa.Text(), nullable=False),
        sa.Column("other_names", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("language", sa.Text(), nullable=False),
        sa.Column("place", sa.Text(), nullable=False),
        sa.Column("point", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("within_km", sa.Double(), nullable=True),
        sa.Column("years", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("traits", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("restricted", sa.Text(), nullable=False),
        sa.Column("restricted_designs", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("remark", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_community")),
    )
    op.create_table(
        "published_holding",
        *_record_columns(),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("pieces", sa.Integer(), nullable=False),
        sa.Column("counts", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_published_holding")),
    )


def _record_columns() -> list[sa.Column[object]]:
    return [
        sa.Column("id", sa.String(length=120), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", Moment(), nullable=False),
        sa.Column("changed_at", Moment(), nullable=False),
        sa.Column("withdrawn", sa.Boolean(), nullable=False),
    ]
