"""Pages of the catalogue."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from weftglass.cabinet.schema import Moment

revision = "0009"
down_revision = "0008"


def upgrade() -> None:
    """Add the table."""
    op.create_table(
        "catalogue_page",
        sa.Column("id", sa.String(length=120), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", Moment(), nullable=False),
        sa.Column("changed_at", Moment(), nullable=False),
        sa.Column("withdrawn", sa.Boolean(), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("remark", sa.Text(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("exhibits", sa.JSON(none_as_null=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_catalogue_page")),
    )
