"""Answers to attention items."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table of answers."""
    op.create_table(
        "attention_answer",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("club_id", sa.Text(), nullable=False),
        sa.Column("athlete_id", sa.Text(), nullable=True),
        sa.Column("rule", sa.Text(), nullable=False),
        sa.Column("direction", sa.Text(), nullable=True),
        sa.Column("side", sa.Text(), nullable=True),
        sa.Column("serial", sa.Text(), nullable=True),
        sa.Column("answer", sa.Text(), nullable=False),
        sa.Column("text", sa.Text(), nullable=True),
        sa.Column("until_date", sa.Text(), nullable=True),
        sa.Column("key_id", sa.Text(), nullable=False),
        sa.Column("at_us", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["athlete_id"], ["athlete.id"]),
        sa.ForeignKeyConstraint(["club_id"], ["club.id"]),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_attention_answer_athlete_id", "attention_answer", ["athlete_id"], unique=False)
    op.create_index("ix_attention_answer_club_id", "attention_answer", ["club_id"], unique=False)


def downgrade() -> None:
    """Drop the table of answers."""
    op.drop_table("attention_answer")
