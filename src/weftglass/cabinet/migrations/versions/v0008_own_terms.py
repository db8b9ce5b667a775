"""Words of the collection's own for coverings."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from weftglass.cabinet.schema import Moment

revision = "0008"
down_revision = "0007"


def upgrade() -> None:
    """Add the table."""
    op.create_table(
        "own_term",
        sa.Column("id", sa.String(length=120), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", Moment(), nullable=False),
        sa.Column("changed_at", Moment(), nullable=False),
        sa.Column("withdrawn", sa.Boolean(), nullable=False),
        sa.Column("term_kind", sa.Text(), nullable=False),
        sa.Column("term", sa.Text(), nullable=False),
        sa.Column("definition", sa.Text(), nullable=False),
        sa.Column("also", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_own_term")),
    )
