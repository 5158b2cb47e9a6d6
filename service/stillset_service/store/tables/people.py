"""Squads, athletes, their standard positions and their periods."""

from sqlalchemy import BigInteger, Boolean, Text, UniqueConstraint
from sqlmodel import Field, SQLModel

__all__ = ["Athlete", "Period", "Squad", "StandardPositionRow"]


class Squad(SQLModel, table=True):
    """A squad of a club."""

    __tablename__ = "squad"
    __table_args__ = (UniqueConstraint("club_id", "ref"),)

    id: str = Field(sa_type=Text, primary_key=True)
    club_id: str = Field(sa_type=Text, foreign_key="club.id")
    ref: str = Field(sa_type=Text)
    name: str = Field(sa_type=Text)
    created_us: int = Field(sa_type=BigInteger)


class Athlete(SQLModel, table=True):
    """An athlete.

    ``revision`` grows with every write that can change anything derived of the athlete; ``reload_revision`` is the
    revision at which a set last left this athlete, so that a copy older than that is not brought up to date row by row.
    """

    __tablename__ = "athlete"
    __table_args__ = (UniqueConstraint("club_id", "ref"),)

    id: str = Field(sa_type=Text, primary_key=True)
    club_id: str = Field(sa_type=Text, foreign_key="club.id")
    ref: str = Field(sa_type=Text)
    name: str | None = Field(default=None, sa_type=Text)
    squad_id: str | None = Field(default=None, sa_type=Text, foreign_key="squad.id", index=True)
    role: str | None = Field(default=None, sa_type=Text)
    dominant_side: str | None = Field(default=None, sa_type=Text)
    sex: str | None = Field(default=None, sa_type=Text)
    born: str | None = Field(default=None, sa_type=Text)
    archived: bool = Field(default=False, sa_type=Boolean)
    revision: int = Field(default=0, sa_type=BigInteger)
    reload_revision: int = Field(default=0, sa_type=BigInteger)
    created_us: int = Field(sa_type=BigInteger)


class StandardPositionRow(SQLModel, table=True):
    """A standard position from a date on, as it was put."""

    __tablename__ = "standard_position"

    athlete_id: str = Field(sa_type=Text, foreign_key="athlete.id", primary_key=True)
    valid_from: str = Field(sa_type=Text, primary_key=True)
    club_id: str = Field(sa_type=Text, foreign_key="club.id")
    document: str = Field(sa_type=Text)
    saved_us: int = Field(sa_type=BigInteger)


class Period(SQLModel, table=True):
    """A dated span of an athlete; an open end is null."""

    __tablename__ = "period"

    id: str = Field(sa_type=Text, primary_key=True)
    club_id: str = Field(sa_type=Text, foreign_key="club.id")
    athlete_id: str = Field(sa_type=Text, foreign_key="athlete.id", index=True)
    kind: str = Field(sa_type=Text)
    from_date: str = Field(sa_type=Text)
    to_date: str | None = Field(default=None, sa_type=Text)
    note: str | None = Field(default=None, sa_type=Text)


class AttentionAnswerRow(SQLModel, table=True):
    """What was answered to an attention item. It is about an athlete or, without one, about an instrument's serial."""

    __tablename__ = "attention_answer"

    id: str = Field(sa_type=Text, primary_key=True)
    club_id: str = Field(sa_type=Text, foreign_key="club.id", index=True)
    athlete_id: str | None = Field(default=None, sa_type=Text, foreign_key="athlete.id", index=True)
    rule: str = Field(sa_type=Text)
    direction: str | None = Field(default=None, sa_type=Text)
    side: str | None = Field(default=None, sa_type=Text)
    serial: str | None = Field(default=None, sa_type=Text)
    answer: str = Field(sa_type=Text)
    text: str | None = Field(default=None, sa_type=Text)
    until_date: str | None = Field(default=None, sa_type=Text)
    key_id: str = Field(sa_type=Text)
    at_us: int = Field(sa_type=BigInteger)
