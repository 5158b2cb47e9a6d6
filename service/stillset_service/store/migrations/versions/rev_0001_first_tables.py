"""The first tables."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make every table."""
    op.create_table(
        "club",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("slug", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("created_us", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("slug"),
    )
    op.create_table(
        "api_key",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("club_id", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("scopes", sa.Text(), nullable=False),
        sa.Column("secret_sha256", sa.LargeBinary(), nullable=False),
        sa.Column("created_us", sa.BigInteger(), nullable=False),
        sa.Column("revoked_us", sa.BigInteger(), nullable=True),
        sa.ForeignKeyConstraint(
            ["club_id"],
            ["club.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_api_key_club_id", "api_key", ["club_id"], unique=False)
    op.create_table(
        "audit",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("club_id", sa.Text(), nullable=False),
        sa.Column("at_us", sa.BigInteger(), nullable=False),
        sa.Column("key_id", sa.Text(), nullable=True),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("athlete_id", sa.Text(), nullable=True),
        sa.Column("detail", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["club_id"],
            ["club.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_audit_athlete_id", "audit", ["athlete_id"], unique=False)
    op.create_index("ix_audit_club_id", "audit", ["club_id"], unique=False)
    op.create_table(
        "protocol_version",
        sa.Column("club_id", sa.Text(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.Column("settings", sa.Text(), nullable=False),
        sa.Column("saved_us", sa.BigInteger(), nullable=False),
        sa.Column("key_id", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["club_id"],
            ["club.id"],
        ),
        sa.PrimaryKeyConstraint("club_id", "version"),
    )
    op.create_table(
        "squad",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("club_id", sa.Text(), nullable=False),
        sa.Column("ref", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("created_us", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["club_id"],
            ["club.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("club_id", "ref"),
    )
    op.create_table(
        "athlete",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("club_id", sa.Text(), nullable=False),
        sa.Column("ref", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=True),
        sa.Column("squad_id", sa.Text(), nullable=True),
        sa.Column("role", sa.Text(), nullable=True),
        sa.Column("dominant_side", sa.Text(), nullable=True),
        sa.Column("sex", sa.Text(), nullable=True),
        sa.Column("born", sa.Text(), nullable=True),
        sa.Column("archived", sa.Boolean(), nullable=False),
        sa.Column("revision", sa.BigInteger(), nullable=False),
        sa.Column("reload_revision", sa.BigInteger(), nullable=False),
        sa.Column("created_us", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["club_id"],
            ["club.id"],
        ),
        sa.ForeignKeyConstraint(
            ["squad_id"],
            ["squad.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("club_id", "ref"),
    )
    op.create_index("ix_athlete_squad_id", "athlete", ["squad_id"], unique=False)
    op.create_table(
        "period",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("club_id", sa.Text(), nullable=False),
        sa.Column("athlete_id", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("from_date", sa.Text(), nullable=False),
        sa.Column("to_date", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["athlete_id"],
            ["athlete.id"],
        ),
        sa.ForeignKeyConstraint(
            ["club_id"],
            ["club.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_period_athlete_id", "period", ["athlete_id"], unique=False)
    op.create_table(
        "standard_position",
        sa.Column("athlete_id", sa.Text(), nullable=False),
        sa.Column("valid_from", sa.Text(), nullable=False),
        sa.Column("club_id", sa.Text(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("saved_us", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["athlete_id"],
            ["athlete.id"],
        ),
        sa.ForeignKeyConstraint(
            ["club_id"],
            ["club.id"],
        ),
        sa.PrimaryKeyConstraint("athlete_id", "valid_from"),
    )
    op.create_table(
        "stored_set",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("club_id", sa.Text(), nullable=False),
        sa.Column("athlete_id", sa.Text(), nullable=False),
        sa.Column("client_ref", sa.Text(), nullable=False),
        sa.Column("status", sa.Text(), nullable=False),
        sa.Column("revision", sa.BigInteger(), nullable=False),
        sa.Column("received_us", sa.BigInteger(), nullable=False),
        sa.Column("key_id", sa.Text(), nullable=False),
        sa.Column("first_athlete_id", sa.Text(), nullable=False),
        sa.Column("record", sa.LargeBinary(), nullable=False),
        sa.Column("document", sa.LargeBinary(), nullable=False),
        sa.Column("first_answer", sa.LargeBinary(), nullable=False),
        sa.Column("first_document", sa.LargeBinary(), nullable=True),
        sa.ForeignKeyConstraint(
            ["athlete_id"],
            ["athlete.id"],
        ),
        sa.ForeignKeyConstraint(
            ["club_id"],
            ["club.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("club_id", "client_ref"),
    )
    op.create_index("ix_stored_set_athlete_revision", "stored_set", ["athlete_id", "revision"], unique=False)
    op.create_index(
        "ix_stored_set_moved",
        "stored_set",
        ["first_athlete_id"],
        unique=False,
        sqlite_where=sa.text("athlete_id <> first_athlete_id"),
        postgresql_where=sa.text("athlete_id <> first_athlete_id"),
    )
    op.create_table(
        "set_version",
        sa.Column("set_id", sa.Text(), nullable=False),
        sa.Column("number", sa.BigInteger(), nullable=False),
        sa.Column("club_id", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("key_id", sa.Text(), nullable=False),
        sa.Column("at_us", sa.BigInteger(), nullable=False),
        sa.Column("athlete_id_before", sa.Text(), nullable=False),
        sa.Column("document_before", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(
            ["club_id"],
            ["club.id"],
        ),
        sa.ForeignKeyConstraint(
            ["set_id"],
            ["stored_set.id"],
        ),
        sa.PrimaryKeyConstraint("set_id", "number"),
    )
    op.create_index("ix_set_version_athlete_id_before", "set_version", ["athlete_id_before"], unique=False)


def downgrade() -> None:
    """Drop every table, dependents first."""
    for table in (
        "set_version",
        "stored_set",
        "standard_position",
        "period",
        "athlete",
        "squad",
        "protocol_version",
        "audit",
        "api_key",
        "club",
    ):
        op.drop_table(table)
