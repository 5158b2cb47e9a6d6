"""The check itself tells a right answer from a wrong one."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from stillset_demo.answers import Answers
from stillset_demo.check import check_season, false_alarms, interval_coverage, stories_found, wrong_standings
from stillset_demo.truth import COLUMNS, Kind


def side(level=300.0, half_width=0.05, **members):
    interval = {"low": None, "high": None}
    if level is not None:
        interval = {"low": level * np.exp(-half_width), "high": level * np.exp(half_width)}
    return {"level": level, **interval, "state": "holding", "at_least": 250.0} | members


def body(as_of, sides):
    series = {"readings": 20, "at_least": 5, "squeeze": {}, "spread": {}}
    for (direction, which), one in zip(COLUMNS, sides, strict=True):
        series[direction][which] = one
    return {"as_of": f"{as_of.isoformat()}T23:00:00+00:00", "series": [series]}


def bodies_at(truth, ref, days, **members):
    return [
        body(truth.date_of(day), [side(np.exp(level), **members) for level in truth.levels[ref][day]]) for day in days
    ]


def answers(**members):
    return replace(Answers(trends={}, sets=[], attention=[]), **members)


def finding(truth, kind, **members):
    found = [one for one in stories_found(truth, answers(**members)) if one.kind is kind]
    return found[0]


def test_intervals_around_the_truth_cover_it(season):
    coverage = interval_coverage(season.truth, {"MB-01": bodies_at(season.truth, "MB-01", [100, 200])})
    assert (coverage.inside, coverage.intervals) == (8, 8)
    assert coverage.share == 1
    assert coverage.mean_error == pytest.approx(0, abs=1e-12)


def test_intervals_beside_the_truth_do_not_cover_it(season):
    sides = [side(float(np.exp(level + 0.1))) for level in season.truth.levels["MB-01"][100]]
    coverage = interval_coverage(season.truth, {"MB-01": [body(season.truth.date_of(100), sides)]})
    assert (coverage.inside, coverage.intervals) == (0, 4)
    assert coverage.mean_error == pytest.approx(0.1)


def test_first_weeks_missing_levels_and_false_instruments_are_left_out_of_the_coverage(season):
    trends = {
        "MB-01": [*bodies_at(season.truth, "MB-01", [10]), body(season.truth.date_of(100), [side(None)] * 4)],
        "MB-03": bodies_at(season.truth, "MB-03", [100]),
    }
    coverage = interval_coverage(season.truth, trends)
    assert coverage.intervals == 0
    assert coverage.share == 0


def test_a_decline_is_found_on_the_side_where_it_was_planted(season):
    (story,) = [one for one in season.truth.stories if one.athletes == ("MB-15",)]
    when = season.truth.date_of(story.onset + 30)
    falling, holding = side(state="falling"), side()
    right = {"MB-15": [body(when, [holding, falling, holding, holding])]}
    left = {"MB-15": [body(when, [falling, holding, falling, falling])]}
    found = {
        name: stories_found(season.truth, answers(trends=trends))[1]
        for name, trends in (("right", right), ("left", left))
    }
    assert found["right"].planted_in == ("MB-15",)
    assert found["right"].found
    assert found["right"].days == 30
    assert not found["left"].found
    assert found["left"].days is None


def test_a_fall_before_the_onset_does_not_count_as_found(season):
    before = season.truth.date_of(100)
    trends = {"MB-15": [body(before, [side(state="falling")] * 4)]}
    assert not stories_found(season.truth, answers(trends=trends))[1].found


def test_bounds_alone_show_the_athlete_who_never_goes_to_the_maximum(season):
    end = season.truth.date_of(279)
    bounds = {"MB-11": [body(end, [side(None, state="too_few")] * 4)]}
    level = {"MB-11": [body(end, [side(300.0, state="too_few")] * 4)]}
    assert finding(season.truth, Kind.NEVER_MAXIMAL, trends=bounds).found
    assert not finding(season.truth, Kind.NEVER_MAXIMAL, trends=level).found
    assert not finding(
        season.truth, Kind.NEVER_MAXIMAL, trends={"MB-11": [{"as_of": end.isoformat(), "series": []}]}
    ).found


@pytest.mark.parametrize(
    ("kind", "rule", "ref", "serial"),
    [
        (Kind.BAR_MOVED, "set-up-drift", "MB-19", "F-02"),
        (Kind.INSTRUMENT_DRIFT, "instrument-check-overdue", "MB-03", "F-03"),
    ],
)
def test_set_up_and_instrument_are_found_by_their_cautions(season, kind, rule, ref, serial):
    def row(days, caution):
        return {
            "client_ref": "x",
            "athlete": ref,
            "performed_at": f"{season.truth.date_of(days).isoformat()}T18:00:00+02:00",
            "instrument": {"serial": serial},
            "standings": [
                {"direction": "squeeze", "standing": "counts", "reasons": [], "cautions": [{"rule": caution}]}
            ],
        }

    assert finding(season.truth, kind, sets=[row(100, rule), row(260, rule)]).shown_on == season.truth.date_of(260)
    assert not finding(season.truth, kind, sets=[row(100, rule)]).found
    assert not finding(season.truth, kind, sets=[row(260, "not-zeroed")]).found


def test_attention_names_a_story_by_rule_and_by_athlete_or_instrument(season):
    items = [
        {"rule": "strength-falling", "athlete": "MB-07", "text": "..."},
        {"rule": "strength-falling", "athlete": "MB-01", "text": "..."},
        {"rule": "instrument-shift", "athlete": None, "text": "Instrument F-03 reads lower."},
        {"rule": "only-at-least", "athlete": "MB-19", "text": "..."},
    ]
    found = stories_found(season.truth, answers(attention=items))
    assert [one.attention for one in found] == [("strength-falling",), (), (), (), (), ("instrument-shift",)]


def test_a_spell_of_a_quiet_athlete_falling_is_one_false_alarm(season):
    truth = season.truth
    states = ["holding", "falling", "falling", "holding", "falling"]
    days = [60, 74, 88, 102, 116]
    spells = [
        body(truth.date_of(day), [side(state=state), side(), side(), side()])
        for day, state in zip(days, states, strict=True)
    ]
    alarms = false_alarms(truth, {"MB-01": spells, "MB-07": spells})
    assert [(one.athlete, one.direction, one.side, one.since) for one in alarms] == [
        ("MB-01", "squeeze", "left", truth.date_of(74)),
        ("MB-01", "squeeze", "left", truth.date_of(116)),
    ]
    level = truth.levels["MB-01"][:, 0]
    assert alarms[0].true_percent == pytest.approx(100 * np.expm1(level[74] - level[:42].mean()))


def test_a_wrong_standing_a_wrong_reason_and_a_missing_answer_are_told(season):
    deserved = season.truth.deserved

    def row(ref, standing=None, rule=None):
        return {
            "client_ref": ref,
            "standings": [
                {
                    "direction": one.direction,
                    "standing": standing or one.standing,
                    "reasons": [{"rule": rule or one.rule}] if rule or one.rule else [],
                    "cautions": [],
                }
                for one in deserved[ref]
            ],
        }

    rows = [row(ref) for ref in deserved]
    assert wrong_standings(season.truth, rows) == ()
    counting = next(place for place, ref in enumerate(deserved) if deserved[ref][0].standing == "counts")
    warm_up = next(place for place, ref in enumerate(deserved) if deserved[ref][0].rule == "warm-up")
    refs = list(deserved)
    rows[counting] = row(refs[counting], standing="at_least", rule="effort-unknown")
    rows[warm_up] = row(refs[warm_up], rule="hold-too-short")
    missing = rows.pop()
    wrong = wrong_standings(season.truth, rows)
    assert {one.client_ref for one in wrong} == {refs[counting], refs[warm_up], missing["client_ref"]}
    assert {one.given for one in wrong} == {"at_least: effort-unknown", "set_aside: hold-too-short", "missing"}
    assert {one.deserved for one in wrong} >= {"counts", "set_aside: warm-up"}


def test_an_empty_service_misses_every_story(season):
    report = check_season(season.truth, answers())
    assert len(report.missed) == len(season.truth.stories)
    assert report.coverage.intervals == 0
    assert len(report.wrong_standings) == sum(len(directions) for directions in season.truth.deserved.values())


def test_dates_outside_the_season_are_kept_within_it(season):
    truth = season.truth
    assert truth.day(truth.first_day - timedelta(days=3)) == 0
    assert truth.day(date(2030, 1, 1)) == 279
