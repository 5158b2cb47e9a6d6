"""The query parameters of the reading views: times, pages, filters, and nothing else.

``from`` and ``to`` choose rows; ``as_of`` chooses the moment of knowledge. A bare date is midnight
UTC. An unknown parameter is refused, so that a misspelt filter is never silently dropped.
"""

import re
from collections import Counter
from datetime import UTC, datetime, time
from typing import Annotated

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PlainValidator, WithJsonSchema

from stillset_core.judging.outcome import Standing
from stillset_core.rfc3339 import parse_full_date, parse_instant

__all__ = [
    "Moment",
    "StandingQuery",
    "TableQuery",
    "TrendQuery",
    "ViewQuery",
    "computable",
    "parse_moment",
    "repeated",
    "whole_number",
]

MAX_LIMIT = 1000
DEFAULT_LIMIT = 200

_BARE_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_UNENCODED_PLUS = re.compile(r" (?=\d{2}:\d{2}$)", re.ASCII)

_EARLIEST = datetime(1900, 1, 1, tzinfo=UTC)
_LATEST = datetime(9000, 1, 1, tzinfo=UTC)


def parse_moment(text: object) -> datetime:
    """Return the instant that a query parameter names, in UTC.

    Parameters
    ----------
    text : object
        RFC 3339 time with an offset, or a bare date, which is midnight UTC. A ``+`` that was not
        percent-encoded arrives as a space and is taken for the ``+`` that it was.

    Raises
    ------
    ValueError
        When the text is neither; pydantic turns it into a fault of the parameter.
    """
    if not isinstance(text, str):
        raise TypeError("A time is text.")
    if _BARE_DATE.fullmatch(text):
        return datetime.combine(parse_full_date(text), time(), UTC)
    try:
        return parse_instant(_UNENCODED_PLUS.sub("+", text)).astimezone(UTC)
    except OverflowError as error:
        raise ValueError("lies outside the calendar") from error


def whole_number(text: object) -> object:
    """Refuse every spelling of a whole number but plain digits."""
    if isinstance(text, str) and not re.fullmatch(r"\d{1,6}", text, re.ASCII):
        raise ValueError(f"A whole number from 1 to {MAX_LIMIT} is needed.")
    return text


def _yes_or_no(text: object) -> bool:
    if text in {True, "true"}:
        return True
    if text in {False, "false"}:
        return False
    raise ValueError("Either true or false is needed.")


# The schemas leave out null, which a query cannot spell.
Moment = Annotated[
    datetime | None,
    PlainValidator(parse_moment),
    WithJsonSchema({"anyOf": [{"type": "string", "format": "date-time"}, {"type": "string", "format": "date"}]}),
]
YesOrNo = Annotated[bool, PlainValidator(_yes_or_no), WithJsonSchema({"type": "boolean"})]
Cursor = Annotated[
    str | None,
    Field(description="From the link to the next page.", max_length=2000),
    WithJsonSchema({"type": "string"}),
]
WithStanding = Annotated[Standing | None, WithJsonSchema({"enum": [standing.value for standing in Standing]})]


class ViewQuery(BaseModel):
    """What every reading view takes."""

    model_config = ConfigDict(extra="forbid")

    from_: Annotated[Moment, Field(alias="from", description="First instant of the rows, included.")] = None
    to: Annotated[Moment, Field(description="End of the rows, not included.")] = None
    as_of: Annotated[Moment, Field(description="The state as known from sets performed up to then.")] = None

    @property
    def holds_nothing(self) -> bool:
        """Whether no row can lie between ``from`` and ``to``."""
        return self.from_ is not None and self.to is not None and self.from_ >= self.to

    def holds(self, at: datetime) -> bool:
        """Whether a row of this instant was asked for."""
        return (self.from_ is None or at >= self.from_) and (self.to is None or at < self.to)


class TableQuery(ViewQuery):
    """A reading view that is a table, given in pages."""

    limit: Annotated[int, Field(ge=1, le=MAX_LIMIT), BeforeValidator(whole_number)] = DEFAULT_LIMIT
    cursor: Cursor = None


class StandingQuery(TableQuery):
    """A table whose rows have a standing."""

    standing: WithStanding = None


class TrendQuery(ViewQuery):
    """The trend, with its history when asked for."""

    history: YesOrNo = False


def computable(as_of: datetime) -> datetime:
    """Return ``as_of`` drawn in to where weeks can be added and taken away; no set lies outside."""
    return min(max(as_of, _EARLIEST), _LATEST)


def repeated(names: list[str]) -> list[str]:
    """Return the parameters given more than once: which one is meant is unclear."""
    return [name for name, times in Counter(names).items() if times > 1]
