"""Places on the map, and where the practice was looked for in vain."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from weftglass.cabinet.schema import Moment

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    """Add the table."""
    op.create_table(
        "place",
        sa.Column("id", sa.String(length=120), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", Moment(), nullable=False),
        sa.Column("changed_at", Moment(), nullable=False),
        sa.Column("withdrawn", sa.Boolean(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("point", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("within_km", sa.Double(), nullable=False),
        sa.Column("standing", sa.Text(), nullable=False),
        sa.Column("looked_on", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("remark", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_place")),
    )
