"""Clubs, their keys, and the record of who changed what."""

from sqlalchemy import BigInteger, LargeBinary, Text
from sqlmodel import Field, SQLModel

__all__ = ["ApiKey", "Audit", "Club"]


class Club(SQLModel, table=True):
    """A club: the border that no query crosses."""

    __tablename__ = "club"

    id: str = Field(sa_type=Text, primary_key=True)
    slug: str = Field(sa_type=Text, unique=True)
    name: str = Field(sa_type=Text)
    created_us: int = Field(sa_type=BigInteger)


class ApiKey(SQLModel, table=True):
    """A key, kept as the SHA-256 of its secret (256 random bits: nothing to guess, so no slow hash is needed)."""

    __tablename__ = "api_key"

    id: str = Field(sa_type=Text, primary_key=True)
    club_id: str = Field(sa_type=Text, foreign_key="club.id", index=True)
    name: str = Field(sa_type=Text)
    scopes: str = Field(sa_type=Text)
    secret_sha256: bytes = Field(sa_type=LargeBinary)
    created_us: int = Field(sa_type=BigInteger)
    revoked_us: int | None = Field(default=None, sa_type=BigInteger)


class Audit(SQLModel, table=True):
    """One change: who, when, what. ``athlete_id`` lets an erasure find what tells about a person."""

    __tablename__ = "audit"

    id: str = Field(sa_type=Text, primary_key=True)
    club_id: str = Field(sa_type=Text, foreign_key="club.id", index=True)
    at_us: int = Field(sa_type=BigInteger)
    key_id: str | None = Field(default=None, sa_type=Text)
    action: str = Field(sa_type=Text)
    athlete_id: str | None = Field(default=None, sa_type=Text, index=True)
    detail: str = Field(sa_type=Text)
