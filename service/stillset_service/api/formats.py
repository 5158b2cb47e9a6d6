"""Which format a client wants, and a table in that format.

JSON gives rows as nested objects; the flat formats give the same members as columns, an inner
member by its dotted path and a list as JSON text. Numbers are the same to the last digit in all.
"""

import csv
import io
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

import orjson
import pyarrow as pa
import pyarrow.parquet as pq

__all__ = [
    "Column",
    "Format",
    "Json",
    "Kind",
    "NotAcceptableError",
    "body_of",
    "flags",
    "lists",
    "negotiate",
    "reals",
    "texts",
    "wholes",
]

Json = Mapping[str, object]
"""An object ready for JSON: text, numbers, booleans, None, lists and objects of these."""


class Format(StrEnum):
    """Media types of the tables."""

    JSON = "application/json"
    CSV = "text/csv"
    PARQUET = "application/vnd.apache.parquet"
    ARROW = "application/vnd.apache.arrow.stream"


class Kind(StrEnum):
    """What a column holds."""

    TEXT = "text"
    WHOLE = "whole"
    REAL = "real"
    FLAG = "flag"
    LIST = "list"


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a flat table; ``name`` is the dotted path of the member in the JSON row."""

    name: str
    kind: Kind

    def value(self, row: Json) -> object:
        """Return the cell of a row, None where the member or one above it is absent."""
        found: object = row
        for step in self.name.split("."):
            if not isinstance(found, Mapping):
                return None
            found = found.get(step)
        if self.kind is Kind.LIST and found is not None:
            return orjson.dumps(found).decode()
        return found


class NotAcceptableError(Exception):
    """The client takes none of the formats on offer."""


def texts(*names: str) -> tuple[Column, ...]:
    """Return columns of text."""
    return tuple(Column(name, Kind.TEXT) for name in names)


def wholes(*names: str) -> tuple[Column, ...]:
    """Return columns of whole numbers."""
    return tuple(Column(name, Kind.WHOLE) for name in names)


def reals(*names: str) -> tuple[Column, ...]:
    """Return columns of double-precision numbers."""
    return tuple(Column(name, Kind.REAL) for name in names)


def flags(*names: str) -> tuple[Column, ...]:
    """Return columns of yes and no."""
    return tuple(Column(name, Kind.FLAG) for name in names)


def lists(*names: str) -> tuple[Column, ...]:
    """Return columns of lists, which flat formats carry as JSON text."""
    return tuple(Column(name, Kind.LIST) for name in names)


_RANGE = re.compile(r"\s*([\w!#$&^.+-]+|\*)/([\w!#$&^.+-]+|\*)\s*((?:;[^;]*)*)", re.ASCII)
_QUALITY = re.compile(r";\s*q\s*=\s*(0(?:\.\d{0,3})?|1(?:\.0{0,3})?)\s*(?=;|$)", re.ASCII | re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class _Range:
    """One media range of an ``Accept`` header; ``place`` counts from the front."""

    main: str
    sub: str
    quality: float
    place: int

    def fits(self, media: str) -> bool:
        main, sub = media.split("/")
        return self.main in {"*", main} and self.sub in {"*", sub}

    @property
    def exactness(self) -> int:
        return (self.main != "*") + (self.sub != "*")


def negotiate(accept: str | None, offered: Sequence[Format] = tuple(Format)) -> Format:
    """Return the format that the client likes best (RFC 9110, section 12.5.1).

    The most exact range that fits a format gives its quality. Between formats of equal quality the
    more exactly named, then the earlier named, then the earlier offered wins.

    Raises
    ------
    NotAcceptableError
        When no offered format has a quality above 0.
    """
    if accept is None or not accept.strip():
        return offered[0]
    ranges = tuple(_ranges(accept))
    best: tuple[tuple[float, int, int], Format] | None = None
    for media in offered:
        fitting = [one for one in ranges if one.fits(media)]
        if not fitting:
            continue
        chosen = max(fitting, key=lambda one: (one.exactness, -one.place))
        rank = (chosen.quality, chosen.exactness, -chosen.place)
        if chosen.quality > 0 and (best is None or rank > best[0]):
            best = (rank, media)
    if best is None:
        raise NotAcceptableError(accept)
    return best[1]


def _ranges(accept: str) -> Iterable[_Range]:
    for place, text in enumerate(accept.lower().split(",")):
        found = _RANGE.fullmatch(text)
        if found is None:
            continue
        main, sub, parameters = found.groups()
        quality = _QUALITY.search(parameters.rstrip())
        yield _Range(main, sub, float(quality[1]) if quality else 1.0, place)


def body_of(rows: Sequence[Json], columns: Sequence[Column], wanted: Format) -> bytes:
    """Return a table as the body of an answer."""
    if wanted is Format.JSON:
        return orjson.dumps({"items": rows})
    if wanted is Format.CSV:
        return _csv(rows, columns)
    return _arrow(rows, columns, wanted)


def _csv(rows: Sequence[Json], columns: Sequence[Column]) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow([column.name for column in columns])
    writer.writerows([[_cell(column.value(row)) for column in columns] for row in rows])
    return text.getvalue().encode()


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    # A spreadsheet takes text that begins like a formula for one; an apostrophe says that it is text.
    if isinstance(value, str):
        return f"'{value}" if value.startswith(("=", "+", "-", "@")) else value
    return repr(value)


_ARROW_TYPES = {
    Kind.TEXT: pa.string(),
    Kind.WHOLE: pa.int64(),
    Kind.REAL: pa.float64(),
    Kind.FLAG: pa.bool_(),
    Kind.LIST: pa.string(),
}


def _arrow(rows: Sequence[Json], columns: Sequence[Column], wanted: Format) -> bytes:
    arrays = [
        pa.array([_arrow_value(column.value(row), column.kind) for row in rows], type=_ARROW_TYPES[column.kind])
        for column in columns
    ]
    table = pa.Table.from_arrays(arrays, names=[column.name for column in columns])
    sink = io.BytesIO()
    if wanted is Format.PARQUET:
        pq.write_table(table, sink)
    else:
        with pa.ipc.new_stream(sink, table.schema) as stream:
            stream.write_table(table)
    return sink.getvalue()


def _arrow_value(value: object, kind: Kind) -> object:
    # A client may send 312 where another sends 312.5: the column is of doubles all the same.
    return float(value) if kind is Kind.REAL and isinstance(value, int) else value
