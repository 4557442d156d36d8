"""Messages that wait to be sent, and the ledger of those that were."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    op.create_table(
        "outbox",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("recipient", sa.String, nullable=False),
        sa.Column("kind", sa.String, nullable=False),
        sa.Column("subject", sa.String, nullable=False),
        sa.Column("message_id", sa.String, nullable=False),
        sa.Column("message", sa.LargeBinary),
        sa.Column("state", sa.String, nullable=False),
        sa.Column("enqueued_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("expires_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("next_try_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("claimed_until", sa.DateTime(timezone=True)),
        sa.Column("claimed_by", sa.String, nullable=False),
        sa.Column("tries", sa.Integer, nullable=False),
        sa.Column("doubts", sa.Integer, nullable=False),
        sa.Column("closed_at", sa.DateTime(timezone=True)),
        sa.Column("problem", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_outbox"),
        sa.UniqueConstraint(
            "recipient", "kind", "subject", name="uq_outbox_recipient_kind_subject"
        ),
    )
    op.create_index("ix_outbox_state_next_try_at", "outbox", ["state", "next_try_at"])
