"""Views on which base or top is not seen."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    """Add the two marks; until now every view was taken to show the whole piece."""
    for name in ("base_unseen", "top_unseen"):
        op.add_column("view", sa.Column(name, sa.Boolean(), nullable=False, server_default=sa.false()))
