"""What holds for every table of the reading side: pages, windows, formats, tags and refusals."""

import csv
import io
from datetime import UTC, datetime, timedelta

import pandas as pd
import pyarrow as pa
import pytest

ATHLETE = "/v1/athletes/MB-07"
TABLES = ("sets", "readings", "load", "pain", "periods", "attention")
VIEWS = (*TABLES, "trend", "balance")
SQUAD_VIEWS = ("board", "coverage", "attention", "norms", "error")
ALL = [f"{ATHLETE}/{view}" for view in VIEWS] + [f"/v1/squads/first-team/{view}" for view in SQUAD_VIEWS]
PARQUET = "application/vnd.apache.parquet"
ARROW = "application/vnd.apache.arrow.stream"


@pytest.fixture(scope="module")
def full(shared_api, set_of):
    """Give a club with a season begun, for tests that only read."""
    return filled(shared_api, set_of)


@pytest.fixture
def growing(api, set_of):
    """Give the same to one test alone, which may post."""
    return filled(api, set_of)


def filled(api, set_of):
    api.post(*(set_of(number, pain={"score": number % 3, "site": "=left"}) for number in range(12)))
    api.post(set_of(90, intended_percent=70, at=datetime(2026, 4, 1, 9, tzinfo=UTC)))
    return api


def pages(api, path, between=lambda: None):
    rows = []
    address = path
    while address is not None:
        answer = api.get(address)
        assert answer.status_code == 200, answer.text
        rows += answer.json()["items"]
        address = answer.links.get("next", {}).get("url")
        between()
    return rows


@pytest.mark.parametrize("table", ["sets", "readings", "load", "pain"])
def test_pages_put_together_are_the_whole_table(full, table) -> None:
    whole = full.items(f"{ATHLETE}/{table}?limit=1000")
    assert pages(full, f"{ATHLETE}/{table}?limit=2") == whole
    assert len(whole) > 2


@pytest.mark.parametrize(("table", "identity"), [("sets", "id"), ("readings", "set_id")])
def test_a_row_is_given_once_while_sets_arrive_in_between(growing, set_of, table, identity) -> None:
    before = {(row[identity], row.get("direction")) for row in growing.items(f"{ATHLETE}/{table}")}
    numbers = iter(range(100, 200))

    def arrive() -> None:
        number = next(numbers)
        early, late = datetime(2026, 2, 1, tzinfo=UTC), datetime(2026, 5, 1, tzinfo=UTC)
        growing.post(
            set_of(number, at=early + timedelta(hours=number)),
            set_of(number + 500, at=late + timedelta(hours=number)),
            set_of(number + 900, at=datetime(2026, 3, 8, 17, tzinfo=UTC)),
        )

    given = [(row[identity], row.get("direction")) for row in pages(growing, f"{ATHLETE}/{table}?limit=3", arrive)]
    assert len(given) == len(set(given))
    assert before <= set(given)


def test_the_next_link_keeps_every_parameter(full) -> None:
    as_of = "2026-03-20T12:00:00%2B02:00"
    path = f"{ATHLETE}/readings?limit=3&from=2026-03-04&to=2026-03-18&standing=counts&as_of={as_of}"
    given = pages(full, path)
    assert given == full.items(path.replace("limit=3", "limit=1000"))
    assert {row["standing"] for row in given} == {"counts"}
    assert {row["performed_at"][:10] for row in given} == {f"2026-03-{day:02d}" for day in range(4, 18, 2)}


@pytest.mark.parametrize("path", ALL)
def test_json_csv_parquet_and_arrow_are_the_same_table(full, path) -> None:
    arrow = pa.ipc.open_stream(full.get(path, accept=ARROW).content).read_all()
    parquet = pd.read_parquet(io.BytesIO(full.get(path, accept=PARQUET).content))
    lines = list(csv.reader(io.StringIO(full.get(path, accept="text/csv").text, newline="")))
    assert arrow.column_names == list(parquet.columns) == lines[0]
    assert arrow.num_rows == len(parquet) == len(lines) - 1
    items = full.get(path).json().get("items")
    if items is not None:
        assert arrow.num_rows == len(items)
        columns = {name: items_member(items, name) for name in arrow.column_names}
        for name, expected in columns.items():
            if not any(isinstance(value, list | dict) for value in expected):
                assert arrow[name].to_pylist() == expected, name


def items_member(items, name):
    found = []
    for row in items:
        value = row
        for step in name.split("."):
            value = value.get(step) if isinstance(value, dict) else None
        found.append(value)
    return found


def test_a_csv_cell_that_looks_like_a_formula_is_led_by_an_apostrophe(full) -> None:
    sites = pd.read_csv(io.BytesIO(full.get(f"{ATHLETE}/pain", accept="text/csv").content))["site"]
    assert set(sites) == {"'=left"}
    assert {row["site"] for row in full.items(f"{ATHLETE}/pain")} == {"=left"}


def test_readings_have_exactly_the_columns_of_the_contract(full) -> None:
    names = [
        *("set_id", "client_ref", "performed_at", "direction", "standing", "left", "right", "adjusted_left"),
        *("adjusted_right", "unit", "maximal_reps", "position", "knee_angle_deg", "instrument_kind"),
    ]
    assert full.get(f"{ATHLETE}/readings", accept="text/csv").text.splitlines()[0] == ",".join(names)
    assert set(full.items(f"{ATHLETE}/readings")[0]) == set(names)


@pytest.mark.parametrize("path", ALL)
def test_an_unchanged_view_is_not_sent_again_and_a_changed_one_is(growing, set_of, path) -> None:
    for accept in ("application/json", "text/csv"):
        tag = growing.get(path, accept=accept).headers["ETag"]
        unchanged = growing.get(path, accept=accept, if_none_match=f'"other", W/{tag}')
        assert unchanged.status_code == 304
        assert unchanged.content == b""
        assert unchanged.headers["ETag"] == tag
        assert "Accept" in unchanged.headers["Vary"]
    assert growing.get(path, if_none_match="*").status_code == 304
    growing.post(set_of(50))
    assert growing.get(path, accept="text/csv", if_none_match=tag).status_code == 200


def test_the_tag_of_another_format_does_not_fit(full) -> None:
    tag = full.get(f"{ATHLETE}/sets", accept="text/csv").headers["ETag"]
    assert full.get(f"{ATHLETE}/sets", if_none_match=tag).status_code == 200


@pytest.mark.parametrize("path", ALL)
def test_a_format_that_is_not_on_offer_is_406(full, path) -> None:
    refused = full.get(path, accept="text/html")
    assert refused.status_code == 406
    assert refused.headers["Content-Type"] == "application/problem+json"


@pytest.mark.parametrize("path", ALL)
@pytest.mark.parametrize(
    ("query", "parameter"),
    [
        ("limits=3", "limits"),
        ("as_of=yesterday", "as_of"),
        ("from=2026-03-01T00:00:00", "from"),
        ("to=", "to"),
        ("as_of=2026-03-01&as_of=2026-03-02", "as_of"),
    ],
)
def test_a_query_that_is_not_understood_is_422_and_named(full, path, query, parameter) -> None:
    refused = full.get(f"{path}?{query}")
    assert refused.status_code == 422
    assert [error["parameter"] for error in refused.json()["errors"]] == [parameter]


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize(
    ("query", "parameter"), [("limit=0", "limit"), ("limit=1001", "limit"), ("cursor=abc", "cursor")]
)
def test_a_limit_or_cursor_that_no_page_has_is_422(full, table, query, parameter) -> None:
    refused = full.get(f"{ATHLETE}/{table}?{query}")
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["parameter"] == parameter


@pytest.mark.parametrize(
    "path", [f"{ATHLETE}/trend?limit=3", f"{ATHLETE}/balance?history=true", f"{ATHLETE}/load?standing=counts"]
)
def test_a_parameter_of_another_view_is_422(full, path) -> None:
    assert full.get(path).status_code == 422


@pytest.mark.parametrize("path", ALL)
def test_from_after_to_is_an_empty_200(full, path) -> None:
    answer = full.get(f"{path}?from=2026-03-20&to=2026-03-10")
    assert answer.status_code == 200
    body = answer.json()
    assert body.get("items", body.get("series")) == []


@pytest.mark.parametrize("path", ALL)
def test_any_as_of_is_taken(full, path) -> None:
    for as_of in ("0001-01-01", "1989-12-31", "2031-06-01T00:00:00Z", "9999-12-31T23:59:59.999999Z"):
        assert full.get(f"{path}?as_of={as_of}").status_code == 200, as_of


@pytest.mark.parametrize("ref", ["nobody", "%00", "%FF", "%F0%9F%92%A9", "mb-07", "a" * 3000])
@pytest.mark.parametrize("path", ["/v1/athletes/{}/sets", "/v1/squads/{}/board"])
def test_what_the_club_does_not_have_is_404(full, path, ref) -> None:
    assert full.get(path.format(ref)).status_code == 404


@pytest.mark.parametrize("path", ALL)
def test_a_reading_view_needs_a_key(full, path) -> None:
    refused = full.get(path, authorization="")
    assert refused.status_code == 401
    assert refused.headers["WWW-Authenticate"] == "Bearer"
