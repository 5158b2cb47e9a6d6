"""What the charts of a series show, from sets that are made for the question."""

from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from stillset_core.pipeline import AthleteHistory, derive
from stillset_core.protocol import Protocol
from stillset_core.records import (
    Direction,
    Instrument,
    InstrumentKind,
    Pain,
    Position,
    Quantity,
    Rep,
    SetRecord,
    SideForce,
    StandardPosition,
)
from stillset_service.books import PeriodFacts
from stillset_service.pages.chart_data import chart_data
from stillset_service.pages.chart_spec import THEMES, WIDTHS, compiled, drawn, filled

FIRST = datetime(2026, 3, 2, 18, 30, tzinfo=timezone(timedelta(hours=2)))
AS_OF = datetime(2026, 4, 30, 23, 59, tzinfo=UTC)
PLACE = Position("supine-bent-knee", knee_angle_deg=60)
DAY_MS = 86_400_000


def rep(peak=300.0, *, hold_s=5.0, right=True, planned=100.0, direction=Direction.SQUEEZE):
    force = SideForce(peak)
    return Rep(direction, hold_s, left=force, right=force if right else None, intended_percent=planned)


def a_set(day, *reps, pain=None, kind=InstrumentKind.FIXED_FRAME, quantity=Quantity.FORCE):
    return SetRecord(
        client_ref=f"set-{day}",
        athlete="A",
        performed_at=FIRST + timedelta(days=day),
        position=PLACE,
        instrument=Instrument(kind),
        quantity=quantity,
        reps=reps or (rep(),),
        pain=pain,
    )


def charts(*records, kind=InstrumentKind.FIXED_FRAME, periods=(), span="all"):
    standard = StandardPosition(PLACE, kind, date(2026, 1, 1))
    state = derive(AthleteHistory(records, (standard,), Protocol(), None), AS_OF)
    return chart_data(state, state.trends[0], periods, Protocol(), span)


def wall(at):
    return at.replace(tzinfo=UTC).timestamp() * 1000


def test_each_standing_has_its_own_marks():
    data = charts(a_set(0), a_set(3, rep(280, planned=80)), a_set(6, rep(290, hold_s=1)))
    assert [(row["side"], row["value"]) for row in data.rows["squeeze_at_least"]] == [("left", 280), ("right", 280)]
    assert [row["value"] for row in data.rows["squeeze_set_aside"]] == [290, 290]
    assert len(data.rows["squeeze_counts"]) == 2


def test_a_mark_says_its_standing_and_every_reason():
    data = charts(a_set(0), a_set(6, rep(hold_s=1)))
    say = data.rows["squeeze_set_aside"][0]["say"]
    assert say.startswith("8 Mar 2026, squeeze left: set aside")
    assert "Held 1.0 s" in say


def test_a_mark_stands_at_the_local_time_of_the_set():
    data = charts(a_set(0))
    assert data.rows["squeeze_counts"][0]["at"] == wall(FIRST)


def test_a_side_that_was_not_measured_has_no_mark():
    data = charts(a_set(0, rep(right=False)))
    assert [row["side"] for row in data.rows["squeeze_counts"]] == ["left"]


def test_pressure_is_drawn_in_kilopascals():
    cuff = InstrumentKind.PRESSURE_CUFF
    data = charts(
        *(a_set(day, rep(21_000.0), kind=cuff, quantity=Quantity.PRESSURE) for day in range(0, 30, 3)), kind=cuff
    )
    assert data.unit == "kPa"
    low, high = data.force["squeeze"]
    assert 10 < low < 21 < high < 30
    assert " kPa" in data.rows["squeeze_counts"][0]["say"]


def test_a_direction_without_values_borrows_the_range_of_the_other():
    force = charts(a_set(0)).force
    assert force["spread"] == force["squeeze"]
    assert force["squeeze"][0] > 100


def test_the_curve_begins_with_the_first_counting_reading_of_a_side_and_ends_now():
    data = charts(a_set(0, rep(planned=80)), *(a_set(day) for day in range(5, 30, 3)))
    levels = [row for row in data.rows["squeeze_levels"] if row["side"] == "left"]
    assert levels[0]["at"] >= wall(FIRST + timedelta(days=5))
    assert levels[-1]["at"] == wall(AS_OF.astimezone(FIRST.tzinfo))
    assert all(row["low"] < row["level"] < row["high"] for row in levels)
    assert not data.rows["spread_levels"]


def test_the_baseline_is_drawn_once_it_is_complete():
    assert not charts(*(a_set(day) for day in range(0, 15, 3))).rows["squeeze_baseline"]
    assert len(charts(*(a_set(day) for day in range(0, 18, 3))).rows["squeeze_baseline"]) == 2


def test_a_yes_to_pain_without_a_score_is_marked_as_such_and_no_answer_is_no_mark():
    data = charts(a_set(0, pain=Pain(present=True)), a_set(3), a_set(6, pain=Pain(score=4.0)))
    assert [(row["scored"], row["say"].partition(": ")[2]) for row in data.rows["pain"]] == [
        (False, "pain yes, no score"),
        (True, "pain 4 of 10"),
    ]


def test_spans_away_from_training_are_shaded_and_an_open_one_ends_now():
    periods = (
        PeriodFacts("1", "injury", date(2026, 4, 1), None, "left groin"),
        PeriodFacts("2", "competition", date(2026, 3, 1), date(2026, 4, 10), None),
        PeriodFacts("3", "break", date(2025, 1, 1), date(2025, 1, 10), None),
    )
    data = charts(a_set(0), periods=periods)
    (injury,) = data.rows["shades"]
    assert injury["to"] == data.span[1]
    assert injury["say"] == "Injury, 1 Apr 2026 to open. left groin"
    (competition,) = data.rows["bars"]
    assert competition["to"] == datetime(2026, 4, 11, tzinfo=UTC).timestamp() * 1000


def test_a_shorter_span_leaves_earlier_marks_out():
    records = [a_set(day) for day in range(-120, 50, 10)]
    everything, twelve_weeks = charts(*records), charts(*records, span="12w")
    assert twelve_weeks.span[1] - twelve_weeks.span[0] == 84 * DAY_MS
    assert 0 < len(twelve_weeks.rows["squeeze_counts"]) < len(everything.rows["squeeze_counts"])
    assert min(row["at"] for row in twelve_weeks.rows["squeeze_counts"]) >= twelve_weeks.span[0]


def test_a_week_of_load_lies_from_its_monday_on():
    data = charts(a_set(0))
    (week,) = data.rows["load"]
    assert week["at"] == datetime(2026, 3, 2, tzinfo=UTC).timestamp() * 1000
    assert week["hold_s"] == 5.0


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("width", WIDTHS)
def test_every_source_of_the_specification_is_filled(theme, width):
    data = charts(*(a_set(day) for day in range(0, 30, 3)))
    named = {source["name"] for source in compiled(theme, width)["data"] if "source" not in source}
    assert set(data.rows) <= named
    spec = filled(data, theme, width)
    values = {source["name"]: source.get("values") for source in spec["data"]}
    assert all(values[name] == rows for name, rows in data.rows.items())
    assert next(signal for signal in spec["signals"] if signal["name"] == "span")["value"] == list(data.span)


def test_filling_leaves_the_compiled_specification_empty():
    filled(charts(a_set(0)), "light", "wide")
    assert not any("values" in source for source in compiled("light", "wide")["data"] if source["name"] == "load")


def test_the_drawn_picture_holds_the_marks_with_their_words():
    picture = drawn(charts(a_set(0), a_set(6, rep(hold_s=1))), "light", "wide")
    assert picture.startswith("<svg")
    assert "squeeze left: set aside" in picture
    assert "<script" not in picture
