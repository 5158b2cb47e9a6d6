"""Sets as they were sent, their later versions, and what is derived from them."""

from sqlalchemy import BigInteger, Index, LargeBinary, Text, UniqueConstraint, text
from sqlmodel import Field, SQLModel

__all__ = ["SetVersion", "StoredSetRow"]

_MOVED = text("athlete_id <> first_athlete_id")


class StoredSetRow(SQLModel, table=True):
    """A set: the document verbatim, with columns only for what is searched.

    ``document`` is the content in force, ``first_document`` the one first taken in where it has been amended since.
    ``record`` is the same set in SI, packed for fast reading; it can be made again from ``document``.
    ``revision`` is the athlete's revision at which this row last changed; ``key_id`` is the key that sent the set.
    """

    __tablename__ = "stored_set"
    __table_args__ = (
        UniqueConstraint("club_id", "client_ref"),
        Index("ix_stored_set_athlete_revision", "athlete_id", "revision"),
        # Almost empty: sets that an amendment gave to another athlete.
        Index("ix_stored_set_moved", "first_athlete_id", sqlite_where=_MOVED, postgresql_where=_MOVED),
    )

    id: str = Field(sa_type=Text, primary_key=True)
    club_id: str = Field(sa_type=Text, foreign_key="club.id")
    athlete_id: str = Field(sa_type=Text, foreign_key="athlete.id")
    client_ref: str = Field(sa_type=Text)
    status: str = Field(sa_type=Text)
    revision: int = Field(sa_type=BigInteger)
    received_us: int = Field(sa_type=BigInteger)
    key_id: str = Field(sa_type=Text)
    first_athlete_id: str = Field(sa_type=Text)
    record: bytes = Field(sa_type=LargeBinary)
    document: bytes = Field(sa_type=LargeBinary)
    first_answer: bytes = Field(sa_type=LargeBinary)
    first_document: bytes | None = Field(default=None, sa_type=LargeBinary)


class SetVersion(SQLModel, table=True):
    """An amendment or a withdrawal: what stood before it, who made it, when and why."""

    __tablename__ = "set_version"

    set_id: str = Field(sa_type=Text, foreign_key="stored_set.id", primary_key=True)
    number: int = Field(sa_type=BigInteger, primary_key=True)
    club_id: str = Field(sa_type=Text, foreign_key="club.id")
    kind: str = Field(sa_type=Text)
    reason: str = Field(sa_type=Text)
    key_id: str = Field(sa_type=Text)
    at_us: int = Field(sa_type=BigInteger)
    athlete_id_before: str = Field(sa_type=Text, index=True)
    document_before: bytes = Field(sa_type=LargeBinary)
