"""A club's settings: defaults, limits, faults by pointer, and the form in which they are read back."""

import json
from datetime import date

import pytest

from stillset_core.errors import ProtocolRefused
from stillset_core.protocol import BaselineDates, BaselineReadings, BaselineWeeks, Protocol, parse_protocol


def faults(value):
    with pytest.raises(ProtocolRefused) as refused:
        parse_protocol(value)
    return [(fault.pointer, fault.code) for fault in refused.value.faults]


def test_nothing_at_all_is_all_defaults():
    assert parse_protocol({}) == Protocol()


def test_the_settings_are_those_of_the_contract():
    assert Protocol().settings() == {
        "knee_angle_tolerance_deg": 5,
        "bar_height_tolerance": 0.5,
        "min_intended_percent": 95,
        "min_hold_s": 3,
        "max_hold_s": 10,
        "min_rest_s": 20,
        "max_prior_hard_s": 90,
        "reps_standard": 3,
        "value": "peak",
        "summary": "best",
        "side_gap_formula": "of-stronger",
        "baseline": {"readings": 6},
        "smallest_change_percent": 5,
        "pain_caution_score": 1,
        "pain_stop_score": 6,
        "overdue_days": 14,
        "instrument_check_days": 90,
        "false_calls_per_season": 1.0,
        "trend": {},
    }


@pytest.mark.parametrize(
    "settings",
    [
        {},
        {"baseline": {"weeks": 4}, "value": "mean", "summary": "mean", "side_gap_formula": "log-ratio"},
        {"baseline": {"from": "2026-01-01", "to": "2026-01-31"}, "trend": {"noise_sd": 0.06, "rep_sd": 0.0}},
    ],
)
def test_settings_are_read_back_as_they_were_written(settings):
    protocol = parse_protocol(settings)
    written = json.loads(json.dumps(protocol.settings()))
    assert {name: written[name] for name in settings} == settings
    assert parse_protocol(written) == protocol


def test_null_is_left_out():
    assert parse_protocol({"min_hold_s": None, "baseline": None, "trend": {"noise_sd": None}}) == Protocol()


@pytest.mark.parametrize("whole", [3, 3.0])
def test_a_whole_number_may_be_written_with_a_point(whole):
    assert parse_protocol({"reps_standard": whole}).reps_standard == 3
    assert parse_protocol({"baseline": {"readings": whole}}).baseline == BaselineReadings(readings=3)
    assert parse_protocol({"baseline": {"weeks": whole}}).baseline == BaselineWeeks(weeks=3)


@pytest.mark.parametrize("wrong", [True, "3", 3.5, [3]])
def test_what_only_resembles_a_whole_number_is_refused(wrong):
    assert faults({"reps_standard": wrong}) == [("/reps_standard", "type")]
    assert faults({"baseline": {"readings": wrong}}) == [("/baseline/readings", "type")]


@pytest.mark.parametrize("wrong", [True, "5", [5], {}])
def test_what_only_resembles_a_number_is_refused(wrong):
    assert faults({"min_hold_s": wrong}) == [("/min_hold_s", "type")]


@pytest.mark.parametrize("wrong", [float("nan"), float("inf"), -1, 601])
def test_a_number_beyond_its_limits_is_refused(wrong):
    assert faults({"min_rest_s": 20, "min_hold_s": wrong})[0] == ("/min_hold_s", "value")


def test_every_fault_is_found_by_its_pointer():
    wrong = {
        "knee_angle_tolerance_deg": -1,
        "value": "median",
        "trend": {"noise_sd": 0, "nois_sd": 1},
        "colour": 1,
        "a/b~c": 1,
    }
    assert sorted(faults(wrong)) == [
        ("/a~1b~0c", "unknown-field"),
        ("/colour", "unknown-field"),
        ("/knee_angle_tolerance_deg", "value"),
        ("/trend/nois_sd", "unknown-field"),
        ("/trend/noise_sd", "value"),
        ("/value", "value"),
    ]


@pytest.mark.parametrize("whole", [None, [], "x", 3, True])
def test_settings_are_an_object(whole):
    assert faults(whole) == [("", "type")]


def test_a_longest_hold_below_the_shortest_is_refused():
    assert faults({"min_hold_s": 5, "max_hold_s": 4}) == [("/max_hold_s", "value")]
    assert faults({"min_hold_s": 12}) == [("/max_hold_s", "value")]
    assert parse_protocol({"min_hold_s": 10}).min_hold_s == 10


def test_a_baseline_between_dates_includes_both():
    protocol = parse_protocol({"baseline": {"from": "2026-02-28", "to": "2026-02-28"}})
    assert protocol.baseline == BaselineDates.model_validate({"from": date(2026, 2, 28), "to": date(2026, 2, 28)})


@pytest.mark.parametrize("baseline", [{}, {"days": 3}, 6, "readings", [], True])
def test_a_baseline_of_no_known_form_is_one_fault(baseline):
    assert faults({"baseline": baseline}) == [("/baseline", "value")]


@pytest.mark.parametrize(
    ("baseline", "expected"),
    [
        ({"readings": 0}, [("/baseline/readings", "value")]),
        ({"readings": 6, "weeks": 2}, [("/baseline/weeks", "unknown-field")]),
        ({"from": "2026-01-01"}, [("/baseline/to", "missing")]),
        ({"from": "2026-01-02", "to": "2026-01-01"}, [("/baseline/to", "value")]),
        ({"from": "2026-02-30", "to": "2026-03-01"}, [("/baseline/from", "value")]),
        ({"from": "2026-1-1", "to": "2026-03-01T00:00:00Z"}, [("/baseline/from", "value"), ("/baseline/to", "value")]),
        ({"from": 0, "to": 1}, [("/baseline/from", "type"), ("/baseline/to", "type")]),
    ],
)
def test_a_fault_within_a_baseline_is_found_by_its_pointer(baseline, expected):
    assert faults({"baseline": baseline}) == expected


def test_a_fault_says_what_is_needed_and_what_was_seen():
    with pytest.raises(ProtocolRefused) as refused:
        parse_protocol({"min_hold_s": "4"})
    assert refused.value.faults[0].detail == 'Input should be a valid number; seen "4"'
