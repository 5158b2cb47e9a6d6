"""What the query parameters of the reading views take and refuse."""

from datetime import UTC, datetime, timedelta, timezone

import pytest
from pydantic import ValidationError

from stillset_service.api.windows import (
    StandingQuery,
    TableQuery,
    TrendQuery,
    ViewQuery,
    computable,
    parse_moment,
    repeated,
)
from stillset_service.recompute import default_as_of


@pytest.mark.parametrize(
    ("text", "instant"),
    [
        ("2026-09-14", datetime(2026, 9, 14, tzinfo=UTC)),
        ("2026-09-14T17:32:05Z", datetime(2026, 9, 14, 17, 32, 5, tzinfo=UTC)),
        ("2026-09-14t17:32:05z", datetime(2026, 9, 14, 17, 32, 5, tzinfo=UTC)),
        ("2026-09-14T17:32:05+02:00", datetime(2026, 9, 14, 15, 32, 5, tzinfo=UTC)),
        ("2026-09-14T17:32:05 02:00", datetime(2026, 9, 14, 15, 32, 5, tzinfo=UTC)),
        ("2026-09-14T17:32:05-03:30", datetime(2026, 9, 14, 21, 2, 5, tzinfo=UTC)),
        ("2026-09-14T17:32:05.25Z", datetime(2026, 9, 14, 17, 32, 5, 250_000, tzinfo=UTC)),
        ("2026-09-14T17:32:05.1234567Z", datetime(2026, 9, 14, 17, 32, 5, 123_456, tzinfo=UTC)),
    ],
)
def test_a_time_with_an_offset_or_a_bare_date_is_an_instant(text: str, instant: datetime) -> None:
    assert parse_moment(text) == instant


@pytest.mark.parametrize(
    "text",
    [
        "",
        "yesterday",
        "2026-09-14T17:32:05",
        "2026-09-14 17:32:05Z",
        "2026-09-14T17:32Z",
        "2026-13-01",
        "2026-02-30",
        "2026-09-14T25:00:00Z",
        "2026-09-14T17:32:05+25:00",
        "20260914",
        "2026-W38-1",
        "0001-01-01T00:00:00+14:00",
        "٢٠٢٦-09-14",
        "1789407125",
    ],
)
def test_anything_else_is_no_time(text: str) -> None:
    with pytest.raises(ValidationError):
        ViewQuery.model_validate({"as_of": text})


def test_from_is_included_and_to_is_not() -> None:
    query = ViewQuery.model_validate({"from": "2026-09-14", "to": "2026-09-15"})
    start = datetime(2026, 9, 14, tzinfo=UTC)
    tick = timedelta(microseconds=1)
    assert query.holds(start)
    assert not query.holds(start - tick)
    assert query.holds(start + timedelta(days=1) - tick)
    assert not query.holds(start + timedelta(days=1))


def test_from_after_to_holds_nothing() -> None:
    query = ViewQuery.model_validate({"from": "2026-09-15", "to": "2026-09-14"})
    assert not any(query.holds(datetime(2026, 9, 13, tzinfo=UTC) + timedelta(hours=hours)) for hours in range(96))


@pytest.mark.parametrize("limit", ["0", "1001", "-1", "1.0", "ten", "", " 5", "1e2"])
def test_a_limit_outside_1_to_1000_is_refused(limit: str) -> None:
    with pytest.raises(ValidationError):
        TableQuery.model_validate({"limit": limit})


@pytest.mark.parametrize("limit", ["1", "1000"])
def test_a_limit_from_1_to_1000_is_taken(limit: str) -> None:
    assert TableQuery.model_validate({"limit": limit}).limit == int(limit)


def test_the_default_limit_is_200() -> None:
    assert TableQuery().limit == 200


def test_parameters_of_another_view_are_refused() -> None:
    for model, name in ((ViewQuery, "limit"), (TableQuery, "standing"), (StandingQuery, "history"), (TrendQuery, "x")):
        with pytest.raises(ValidationError):
            model.model_validate({name: "1"})


@pytest.mark.parametrize("text", ["yes", "1", "TRUE", "", "on"])
def test_an_unclear_history_is_refused(text: str) -> None:
    with pytest.raises(ValidationError):
        TrendQuery.model_validate({"history": text})


def test_the_default_moment_holds_still_for_a_utc_day() -> None:
    morning = datetime(2026, 9, 14, 0, 0, 1, tzinfo=UTC)
    assert default_as_of(morning, None) == default_as_of(morning + timedelta(hours=23), None)
    assert default_as_of(morning, None) == datetime(2026, 9, 14, 23, 59, 59, 999_999, tzinfo=UTC)


def test_the_default_moment_is_never_before_the_last_set() -> None:
    now = datetime(2026, 9, 14, 12, tzinfo=UTC)
    ahead = datetime(2026, 9, 15, 11, tzinfo=timezone(timedelta(hours=2)))
    assert default_as_of(now, ahead) == ahead
    assert default_as_of(now, now - timedelta(days=9)) == default_as_of(now, None)


def test_far_moments_are_drawn_in_to_where_weeks_can_be_counted() -> None:
    for year in (1, 9999):
        drawn_in = computable(datetime(year, 6, 1, tzinfo=UTC))
        assert drawn_in - timedelta(weeks=5) < drawn_in < drawn_in + timedelta(weeks=5)
    usual = datetime(2026, 9, 14, tzinfo=UTC)
    assert computable(usual) == usual


def test_a_parameter_given_twice_is_named() -> None:
    assert repeated(["limit", "from", "limit"]) == ["limit"]
