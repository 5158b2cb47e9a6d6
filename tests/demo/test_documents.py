"""Every document of the season obeys the API contract: by limits written down here again, and by the core."""

import json
import math
import re
from datetime import UTC, date, datetime

import pytest

from stillset_core.document import parse_set

MEMBERS = {
    "client_ref", "athlete", "performed_at", "session_ref", "purpose", "position", "instrument", "unit",
    "intended_percent", "rpe", "reps", "trace", "pain", "body_mass_kg", "note",
}  # fmt: skip
POSITION_MEMBERS = {"name", "knee_angle_deg", "hip_angle_deg", "bar_height", "foot_mark", "arms"}
REP_MEMBERS = {"direction", "hold_s", "left", "right", "started_s", "intended_percent"}
RFC_3339 = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)")
NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)


def is_within(value, low, high):
    return (
        isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value) and low <= value <= high
    )


def assert_head(one):
    assert set(one) <= MEMBERS
    assert 1 <= len(one["client_ref"]) <= 64
    assert re.fullmatch(r"[A-Za-z0-9._-]{1,64}", one["athlete"])
    assert RFC_3339.fullmatch(one["performed_at"])
    assert datetime.fromisoformat(one["performed_at"]) <= NOW
    assert 1 <= len(one.get("session_ref", "x")) <= 64
    assert one.get("purpose", "training") in {"training", "warm-up", "test"}
    assert one["unit"] in {"N", "kgf", "lbf", "[lbf_av]"}
    assert is_within(one.get("rpe", 0), 0, 10)
    assert is_within(one.get("intended_percent", 0), 0, 120)
    assert is_within(one.get("body_mass_kg", 70), 20, 300)
    assert ("reps" in one) != ("trace" in one)


def assert_set_up(one):
    position, instrument = one["position"], one["instrument"]
    assert set(position) <= POSITION_MEMBERS
    assert re.fullmatch(r"[a-z0-9-]{1,40}", position["name"])
    assert is_within(position.get("knee_angle_deg", 0), 0, 150)
    assert is_within(position.get("bar_height", 0), -1000, 1000)
    assert 1 <= len(position.get("foot_mark", "A")) <= 40
    assert set(instrument) <= {"kind", "serial", "zeroed", "checked_on"}
    assert instrument["kind"] in {"fixed-frame", "hand-held"}
    assert isinstance(instrument.get("zeroed", True), bool)
    checked_on = instrument.get("checked_on")
    assert checked_on is None or date.fromisoformat(checked_on) <= datetime.fromisoformat(one["performed_at"]).date()


def assert_rep(rep):
    assert set(rep) <= REP_MEMBERS
    assert rep["direction"] in {"squeeze", "spread"}
    assert is_within(rep["hold_s"], 0.1, 600)
    assert is_within(rep.get("started_s", 0), 0, 86_400)
    assert is_within(rep.get("intended_percent", 0), 0, 120)
    for side in ("left", "right"):
        assert set(rep[side]) <= {"peak", "mean"}
        assert rep[side]["peak"] > 0
        assert 0 <= rep[side].get("mean", 0) <= rep[side]["peak"]


def assert_pain(pain):
    assert set(pain) <= {"score", "present", "site", "when"}
    assert ("score" in pain) != ("present" in pain)
    assert is_within(pain.get("score", 0), 0, 10)
    assert isinstance(pain.get("present", True), bool)
    assert 1 <= len(pain.get("site", "x")) <= 80


def test_every_set_keeps_the_limits_of_the_contract(season):
    for one in season.sets:
        assert_head(one)
        assert_set_up(one)
        assert_pain(one.get("pain", {"score": 0}))
        assert 1 <= len(one.get("reps", [0])) <= 60
        for rep in one.get("reps", []):
            assert_rep(rep)


def test_every_trace_keeps_the_limits_of_the_contract(season):
    for one in season.sets:
        if "trace" in one:
            trace = one["trace"]
            assert set(trace) == {"rate_hz", "left", "right"}
            assert is_within(trace["rate_hz"], 20, 5000)
            assert len(trace["left"]) == len(trace["right"]) <= 600 * trace["rate_hz"]
            assert all(math.isfinite(sample) for side in ("left", "right") for sample in trace[side])


def test_the_core_reads_every_set(season):
    for one in season.sets:
        document = parse_set(json.dumps(one), now=NOW)
        assert document.verbatim() == one


@pytest.mark.parametrize("unit", ["kgf", "lbf", "[lbf_av]"])
def test_the_gym_app_means_the_same_forces_as_the_frame(season, unit):
    newtons = {"kgf": 9.80665, "lbf": 4.4482216152605, "[lbf_av]": 4.4482216152605}[unit]
    peaks = [rep["left"]["peak"] * newtons for one in season.sets if one["unit"] == unit for rep in one["reps"]]
    assert all(50 < peak < 700 for peak in peaks)
    assert 150 < sorted(peaks)[len(peaks) // 2] < 450


def test_periods_and_athletes_keep_the_words_of_the_contract(season):
    refs = {athlete["ref"] for athlete in season.athletes}
    for ref, period in season.periods:
        assert ref in refs
        assert set(period) == {"kind", "from", "to", "note"}
        assert period["kind"] in {"injury", "rehabilitation", "break", "baseline", "competition"}
        assert date.fromisoformat(period["from"]) <= date.fromisoformat(period["to"])
    for athlete in season.athletes:
        assert set(athlete) == {"ref", "name", "squad", "role", "dominant_side", "sex", "born"}
        assert date.fromisoformat(athlete["born"]) < season.truth.first_day
