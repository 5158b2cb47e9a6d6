"""The season is the same every time, complete, and varied enough to show every page of the service."""

import json
from collections import Counter
from datetime import UTC, date, datetime, timedelta

from stillset_demo import __main__ as command
from stillset_demo.season import make_season, write_season

END = date(2026, 11, 20)
REP_MEMBERS = ("reps", "trace", "pain", "rpe", "note", "unit", "intended_percent")


def test_the_same_seed_writes_the_same_bytes(tmp_path):
    for name in ("first", "second"):
        write_season(make_season(7, end=END), tmp_path / name)
    for file in ("squad.json", "sets.ndjson", "truth.json"):
        assert (tmp_path / "first" / file).read_bytes() == (tmp_path / "second" / file).read_bytes()


def test_another_seed_makes_another_season(season):
    assert make_season(2027, end=END).sets[0] != season.sets[0]


def test_another_end_changes_nothing_but_the_dates(season):
    later = make_season(2026, end=END + timedelta(days=100))
    assert len(later.sets) == len(season.sets)
    shift = timedelta(days=100)
    for before, after in zip(season.sets, later.sets, strict=True):
        assert {name: before.get(name) for name in REP_MEMBERS} == {name: after.get(name) for name in REP_MEMBERS}
        assert datetime.fromisoformat(after["performed_at"]) - datetime.fromisoformat(before["performed_at"]) == shift


def test_the_squad_is_28_athletes_with_role_and_take_off_leg(season):
    assert [athlete["ref"] for athlete in season.athletes] == [f"MB-{number:02d}" for number in range(1, 29)]
    assert {athlete["role"] for athlete in season.athletes} == {"goalkeeper", "wing", "back", "pivot"}
    assert {athlete["dominant_side"] for athlete in season.athletes} == {"left", "right"}
    assert len({athlete["name"] for athlete in season.athletes}) == 28
    assert {athlete["squad"] for athlete in season.athletes} == {squad["ref"] for squad in season.squads}


def test_every_athlete_has_a_standard_position_from_the_first_day(season):
    assert set(season.standard_positions) == {athlete["ref"] for athlete in season.athletes}
    for document in season.standard_positions.values():
        assert date.fromisoformat(document["valid_from"]) <= season.truth.first_day
        assert document["position"]["knee_angle_deg"] == 60


def test_the_sets_span_forty_weeks_in_order_of_time_and_end_before_the_last_day(season):
    times = [datetime.fromisoformat(one["performed_at"]) for one in season.sets]
    assert times == sorted(times)
    assert times[0].date() == season.truth.first_day == END - timedelta(days=279)
    assert END - timedelta(days=3) < times[-1].date() < END


def test_there_are_about_three_sets_a_week_for_each_athlete(season):
    assert 2800 < len(season.sets) < 3800
    per_athlete = Counter(one["athlete"] for one in season.sets)
    assert len(per_athlete) == 28
    assert min(per_athlete.values()) > 80


def test_client_refs_are_unique(season):
    refs = [one["client_ref"] for one in season.sets]
    assert len(set(refs)) == len(refs)
    assert set(refs) == set(season.truth.deserved)


def test_three_clients_write_in_their_own_ways(season):
    tablet = [one for one in season.sets if "session_ref" in one]
    gym_app = [one for one in season.sets if one["unit"] != "N"]
    frame = [one for one in season.sets if one["unit"] == "N" and "session_ref" not in one]
    assert min(len(tablet), len(gym_app), len(frame)) > 500
    assert {one["unit"] for one in gym_app} == {"kgf", "lbf", "[lbf_av]"}
    assert all("score" in one["pain"] and all("mean" in rep["left"] for rep in one["reps"]) for one in tablet)
    assert all("intended_percent" in one for one in gym_app)
    assert not any("mean" in rep["left"] for one in gym_app for rep in one["reps"])
    assert 0 < sum("pain" in one for one in gym_app) < len(gym_app)
    assert all(set(one["position"]) == {"name", "bar_height"} for one in frame)
    assert any("intended_percent" not in rep for one in frame for rep in one.get("reps", []))
    assert sum(one.get("purpose") == "warm-up" for one in frame) > 100


def test_a_few_sets_are_short_traces(season):
    traces = [one["trace"] for one in season.sets if "trace" in one]
    assert 3 <= len(traces) <= 8
    for trace in traces:
        assert trace["rate_hz"] == 50
        assert len(trace["left"]) == len(trace["right"]) < 60 * 50
        assert max(trace["left"]) > 100
        assert min(trace["left"]) < -100


def test_standings_are_mixed_for_varied_reasons(season):
    deserved = Counter((one.standing, one.rule) for directions in season.truth.deserved.values() for one in directions)
    assert deserved["counts", None] > 2500
    for rule in ("planned-below-maximal", "effort-unknown"):
        assert deserved["at_least", rule] > 50
    for rule in (
        "warm-up",
        "hold-too-short",
        "other-position",
        "bar-height-off",
        "knee-angle-off",
        "position-unverified",
        "not-fresh",
        "other-instrument",
    ):
        assert deserved["set_aside", rule] >= 10, rule


def test_nobody_trains_in_the_breaks(season):
    breaks = [period for _, period in season.periods if period["kind"] == "break" and period["note"] == "club holiday"]
    trained = {datetime.fromisoformat(one["performed_at"]).date() for one in season.sets}
    for period in breaks:
        first, last = date.fromisoformat(period["from"]), date.fromisoformat(period["to"])
        assert not any(first <= day <= last for day in trained)


def test_injury_and_rehabilitation_are_marked_for_the_athlete_of_the_sudden_drop(season):
    spans = {period["kind"]: period for ref, period in season.periods if ref == "MB-22"}
    assert spans["injury"]["to"] < spans["rehabilitation"]["from"]
    assert not any(period["kind"] == "injury" for ref, period in season.periods if ref != "MB-22")


def test_the_command_writes_three_files(tmp_path, monkeypatch):
    monkeypatch.setattr("sys.argv", ["stillset_demo", str(tmp_path / "out"), "--seed", "3", "--end", "2026-06-30"])
    command.main()
    assert {file.name for file in (tmp_path / "out").iterdir()} == {"squad.json", "sets.ndjson", "truth.json"}
    sets = (tmp_path / "out" / "sets.ndjson").read_text().splitlines()
    assert [json.loads(line) for line in sets] == list(make_season(3, end=date(2026, 6, 30)).sets)
    truth = json.loads((tmp_path / "out" / "truth.json").read_text())
    assert len(truth["weeks"]) == 40
    assert len(truth["levels_n"]["MB-01"]["squeeze left"]) == 40


def test_the_command_ends_the_season_today_unless_told_otherwise(tmp_path, monkeypatch):
    monkeypatch.setattr("sys.argv", ["stillset_demo", str(tmp_path)])
    command.main()
    first_day = date.fromisoformat(json.loads((tmp_path / "truth.json").read_text())["first_day"])
    assert datetime.now(UTC).date() - first_day in {timedelta(days=279), timedelta(days=280)}
