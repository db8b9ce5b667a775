"""Offers, questions put to sellers, and values."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from weftglass.cabinet.schema import Moment

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Add the three tables."""
    _of_a_piece(
        "offer",
        sa.Column("seller", sa.Text(), nullable=False),
        sa.Column("venue", sa.Text(), nullable=False),
        sa.Column("seen_on", sa.Text(), nullable=False),
        sa.Column("amount", sa.Double(), nullable=True),
        sa.Column("currency", sa.Text(), nullable=False),
        sa.Column("said", sa.Text(), nullable=False),
        sa.Column("outcome", sa.Text(), nullable=False),
        sa.Column("paid", sa.Double(), nullable=True),
    )
    _of_a_piece(
        "inquiry",
        sa.Column("question", sa.Text(), nullable=False),
        sa.Column("looks_for", sa.Text(), nullable=False),
        sa.Column("z_mm", sa.Double(), nullable=True),
        sa.Column("asked_on", sa.Text(), nullable=False),
        sa.Column("answer", sa.Text(), nullable=False),
    )
    _of_a_piece(
        "valuation",
        sa.Column("basis", sa.Text(), nullable=False),
        sa.Column("amount", sa.Double(), nullable=False),
        sa.Column("currency", sa.Text(), nullable=False),
        sa.Column("on", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("remark", sa.Text(), nullable=False),
    )


def _of_a_piece(name: str, *columns: sa.Column[object]) -> None:
    op.create_table(
        name,
        sa.Column("id", sa.String(length=120), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", Moment(), nullable=False),
        sa.Column("changed_at", Moment(), nullable=False),
        sa.Column("withdrawn", sa.Boolean(), nullable=False),
        sa.Column("piece_id", sa.String(length=120), nullable=False),
        *columns,
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name=op.f(f"fk_{name}_piece_id")),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{name}")),
    )
    op.create_index(op.f(f"ix_{name}_piece_id"), name, ["piece_id"])
