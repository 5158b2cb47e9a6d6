"""Choosing a format, and the same table in each of them."""

import io
import json

import pandas as pd
import pyarrow as pa
import pytest

from stillset_service.api.formats import (
    Format,
    NotAcceptableError,
    body_of,
    flags,
    lists,
    negotiate,
    reals,
    texts,
    wholes,
)

COLUMNS = (
    *texts("name"),
    *wholes("reps"),
    *reals("level", "gap.percent"),
    *flags("gap.beyond_noise"),
    *lists("reasons"),
)
ROWS = [
    {"name": "Odd Reyk", "reps": 3, "level": 312, "gap": {"percent": -4.25, "beyond_noise": True}, "reasons": ["a"]},
    {"name": "=1+1", "reps": None, "level": 0.1 + 0.2, "gap": None, "reasons": []},
    {"name": None, "reps": 0, "level": None, "gap": {"percent": 1e-9, "beyond_noise": False}, "reasons": None},
]


@pytest.mark.parametrize(
    ("accept", "wanted"),
    [
        (None, Format.JSON),
        ("", Format.JSON),
        ("*/*", Format.JSON),
        ("application/*", Format.JSON),
        ("text/*", Format.CSV),
        ("text/csv", Format.CSV),
        ("TEXT/CSV", Format.CSV),
        ("text/csv;charset=utf-8", Format.CSV),
        ("text/csv; q=0.5, application/json; q=0.4", Format.CSV),
        ("application/json;q=0.2, application/vnd.apache.parquet", Format.PARQUET),
        ("application/vnd.apache.arrow.stream, */*;q=0.1", Format.ARROW),
        ("text/csv, */*", Format.CSV),
        ("*/*, text/csv;q=0", Format.JSON),
        ("*/*;q=0.3, application/json;q=0", Format.CSV),
        ("text/html, application/xhtml+xml, */*;q=0.8", Format.JSON),
        ("text/csv;q=0.5, text/csv;header=present;q=1", Format.CSV),
    ],
)
def test_the_best_liked_format_is_chosen(accept: str | None, wanted: Format) -> None:
    assert negotiate(accept) is wanted


@pytest.mark.parametrize(
    "accept", ["text/html", "application/xml, image/*", "application/json;q=0", "nonsense", "*/csv2"]
)
def test_no_format_on_offer_is_not_acceptable(accept: str) -> None:
    with pytest.raises(NotAcceptableError):
        negotiate(accept)


def test_csv_guards_text_that_looks_like_a_formula_but_no_number() -> None:
    rows = [{"name": text, "reps": -3, "level": -0.5} for text in ("=1", "+1", "-1", "@a", "plain", "a=b", "'=1")]
    lines = body_of(rows, COLUMNS[:3], Format.CSV).decode().splitlines()
    assert lines[0] == "name,reps,level"
    assert lines[1:] == [f"{text},-3,-0.5" for text in ("'=1", "'+1", "'-1", "'@a", "plain", "a=b", "'=1")]


def test_csv_quotes_commas_quotes_and_line_ends() -> None:
    body = body_of([{"name": 'a,"b"\r\nc'}], texts("name"), Format.CSV)
    assert body == b'name\r\n"a,""b""\r\nc"\r\n'


def test_every_format_holds_the_same_table() -> None:
    parquet = pd.read_parquet(io.BytesIO(body_of(ROWS, COLUMNS, Format.PARQUET)))
    arrow = pa.ipc.open_stream(body_of(ROWS, COLUMNS, Format.ARROW)).read_all()
    text = pd.read_csv(io.BytesIO(body_of(ROWS, COLUMNS, Format.CSV)))
    assert list(parquet.columns) == arrow.column_names == list(text.columns) == [column.name for column in COLUMNS]
    cells = [
        [column.value(row) for column in COLUMNS] for row in json.loads(body_of(ROWS, COLUMNS, Format.JSON))["items"]
    ]
    assert [list(row.values()) for row in arrow.to_pylist()] == cells
    assert parquet["level"].tolist()[:2] == text["level"].tolist()[:2] == [312.0, 0.1 + 0.2]
    assert text["gap.percent"].tolist()[::2] == [-4.25, 1e-9]


def test_an_empty_table_keeps_its_columns_and_types() -> None:
    table = pa.ipc.open_stream(body_of([], COLUMNS, Format.ARROW)).read_all()
    assert table.num_rows == 0
    assert table.schema.field("level").type == pa.float64()
    assert body_of([], COLUMNS, Format.CSV) == b"name,reps,level,gap.percent,gap.beyond_noise,reasons\r\n"
