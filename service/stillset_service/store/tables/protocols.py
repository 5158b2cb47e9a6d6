"""The versions of a club's protocol."""

from sqlalchemy import BigInteger, Text
from sqlmodel import Field, SQLModel

__all__ = ["ProtocolVersion"]


class ProtocolVersion(SQLModel, table=True):
    """One saved version of a club's protocol; the highest is in force."""

    __tablename__ = "protocol_version"

    club_id: str = Field(sa_type=Text, foreign_key="club.id", primary_key=True)
    version: int = Field(sa_type=BigInteger, primary_key=True)
    settings: str = Field(sa_type=Text)
    saved_us: int = Field(sa_type=BigInteger)
    key_id: str | None = Field(default=None, sa_type=Text)
