"""What the API answers, as far as the check looks at it: plain JSON with names for its members."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypedDict

__all__ = ["Answers", "AttentionJson", "SeriesJson", "SetJson", "SideJson", "StandingJson", "TrendJson"]


class SideJson(TypedDict):
    """One side of a trend, as far as it is looked at."""

    level: float | None
    low: float | None
    high: float | None
    state: str
    at_least: float | None


class DirectionJson(TypedDict):
    """Left and right of a direction."""

    left: SideJson
    right: SideJson


class SeriesJson(TypedDict):
    """One series of a trend."""

    readings: int
    at_least: int
    squeeze: DirectionJson
    spread: DirectionJson


class TrendJson(TypedDict):
    """Body of ``GET /v1/athletes/{ref}/trend``."""

    as_of: str
    series: Sequence[SeriesJson]


class RemarkJson(TypedDict):
    """A reason or a caution."""

    rule: str


class StandingJson(TypedDict):
    """Standing of one direction of a set."""

    direction: str
    standing: str
    reasons: Sequence[RemarkJson]
    cautions: Sequence[RemarkJson]


class InstrumentJson(TypedDict, total=False):
    """The instrument of a set, as sent."""

    kind: str
    serial: str


class AttentionJson(TypedDict):
    """A row of ``GET /v1/squads/{ref}/board`` or ``.../attention``; an instrument has no athlete."""

    rule: str
    athlete: str | None
    text: str


class SetJson(TypedDict):
    """A row of ``GET /v1/athletes/{ref}/sets``."""

    client_ref: str
    athlete: str
    performed_at: str
    instrument: InstrumentJson
    standings: Sequence[StandingJson]


@dataclass(frozen=True, slots=True)
class Answers:
    """What was read back.

    Attributes
    ----------
    trends : mapping of athlete to sequence of TrendJson
        The same athlete at several ``as_of``, oldest first; the last is the end of the season.
    sets : sequence of SetJson
        All sets of all athletes with their standings.
    attention : sequence of AttentionJson
        What asks for attention in the squad at the end of the season.
    """

    trends: Mapping[str, Sequence[TrendJson]]
    sets: Sequence[SetJson]
    attention: Sequence[AttentionJson]
