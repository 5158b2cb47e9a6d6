"""Every rule and caution of the API contract, through the service, at and beyond its limit."""

from typing import Any

import pytest
from outsider import Club, a_set, rep


def judged(club: Club, document: dict[str, object], direction: str = "squeeze") -> Any:
    answer = club.api.post("/v1/sets", json=document)
    assert answer.status_code == 201, answer.text
    (standing,) = [s for s in answer.json()["standings"] if s["direction"] == direction]
    return standing


def verdict(standing: Any) -> tuple[str, list[str]]:
    return standing["standing"], [reason["rule"] for reason in standing["reasons"]]


POSITION = {"name": "supine-bent-knee"}


@pytest.mark.parametrize(
    ("changes", "standing", "rules"),
    [
        ({}, "counts", []),
        ({"position": POSITION | {"knee_angle_deg": 65}}, "counts", []),
        ({"position": POSITION | {"knee_angle_deg": 55}}, "counts", []),
        ({"position": POSITION | {"knee_angle_deg": 65.1}}, "set_aside", ["knee-angle-off"]),
        ({"position": POSITION | {"bar_height": 34.5}}, "counts", []),
        ({"position": POSITION | {"bar_height": 33.4}}, "set_aside", ["bar-height-off"]),
        ({"position": POSITION | {"knee_angle_deg": 60, "bar_height": 36}}, "set_aside", ["bar-height-off"]),
        ({"position": POSITION | {"knee_angle_deg": 70, "bar_height": 34}}, "set_aside", ["knee-angle-off"]),
        ({"position": POSITION}, "set_aside", ["position-unverified"]),
        ({"position": POSITION | {"foot_mark": "C"}}, "set_aside", ["position-unverified"]),
        ({"position": POSITION | {"knee_angle_deg": 60, "foot_mark": "D"}}, "set_aside", ["other-position"]),
        ({"position": {"name": "seated", "knee_angle_deg": 60}}, "set_aside", ["other-position"]),
        ({"position": POSITION | {"knee_angle_deg": 60, "hip_angle_deg": 10, "arms": "up"}}, "counts", []),
        ({"purpose": "warm-up"}, "set_aside", ["warm-up"]),
        ({"purpose": "test"}, "counts", []),
        ({"intended_percent": 95}, "counts", []),
        ({"intended_percent": 94.9}, "at_least", ["planned-below-maximal"]),
        ({"intended_percent": ...}, "at_least", ["effort-unknown"]),
        ({"intended_percent": 80, "purpose": "warm-up"}, "set_aside", ["warm-up", "planned-below-maximal"]),
        ({"reps": [rep(hold_s=3)]}, "counts", []),
        ({"reps": [rep(hold_s=2.99)]}, "set_aside", ["hold-too-short"]),
        ({"reps": [rep(hold_s=10)]}, "counts", []),
        ({"reps": [rep(hold_s=10.01)]}, "set_aside", ["hold-too-long"]),
        ({"instrument": {"kind": "hand-held"}}, "set_aside", ["other-instrument"]),
        ({"reps": [rep(left=5000)]}, "counts", []),
        ({"reps": [rep(left=5000.1)]}, "set_aside", ["out-of-range"]),
        ({"reps": [rep(intended_percent=50), rep()]}, "counts", []),
        ({"reps": [rep(intended_percent=50), rep(hold_s=1)]}, "at_least", ["planned-below-maximal"]),
        ({"performed_at": "2019-12-31T23:30:00+02:00"}, "set_aside", ["no-standard-position"]),
        ({"performed_at": "2020-01-01T00:00:00+14:00"}, "counts", []),
    ],
)
def test_a_set_gets_the_standing_of_the_contract(
    club: Club, changes: dict[str, object], standing: str, rules: list[str]
) -> None:
    got, reasons = verdict(judged(club, a_set(club.athlete(), **changes)))
    assert (got, sorted(reasons)) == (standing, sorted(rules))


def test_without_a_standard_position_nothing_counts(club: Club) -> None:
    assert verdict(judged(club, a_set(club.athlete(position=False)))) == ("set_aside", ["no-standard-position"])


def test_torque_and_pressure_have_their_own_range(club: Club) -> None:
    ref = club.athlete()
    assert verdict(judged(club, a_set(ref, unit="N.m", reps=[rep(left=1500)])))[0] == "counts"
    assert verdict(judged(club, a_set(ref, unit="Nm", reps=[rep(left=1501)])))[1] == ["out-of-range"]
    assert verdict(judged(club, a_set(ref, unit="kPa", reps=[rep(left=201)])))[1] == ["out-of-range"]
    standing = judged(club, a_set(ref, unit="mmHg", reps=[rep(left=240, right=None)]))
    assert standing["reading"]["left"] == pytest.approx(240 * 133.322387415)
    assert standing["reading"]["unit"] == "Pa"
    assert standing["reading"]["right"] is None
    assert [caution["rule"] for caution in standing["cautions"]] == ["one-side-only"]


def test_rest_is_measured_from_the_end_of_the_latest_maximal_rep_of_the_direction(club: Club) -> None:
    ref = club.athlete()
    fine = [rep(started_s=0), rep("spread", started_s=10), rep(started_s=25)]
    assert judged(club, a_set(ref, reps=fine))["reading"]["maximal_reps"] == 2
    hasty = [rep(started_s=0), rep(started_s=24.9)]
    standing = judged(club, a_set(ref, reps=hasty, performed_at="2026-09-15T17:00:00Z"))
    assert standing["standing"] == "counts"
    assert standing["reading"]["maximal_reps"] == 1
    light_between = [rep(started_s=0), rep(started_s=10, intended_percent=50), rep(started_s=26)]
    standing = judged(club, a_set(ref, reps=light_between, performed_at="2026-09-16T17:00:00Z"))
    assert standing["reading"]["maximal_reps"] == 2
    unordered = [rep(started_s=24), rep(started_s=0, hold_s=1)]
    standing = judged(club, a_set(ref, reps=unordered, performed_at="2026-09-17T17:00:00Z"))
    assert standing["standing"] == "counts"


def test_freshness_counts_hard_seconds_earlier_in_the_session(club: Club) -> None:
    ref = club.athlete()
    club.post(a_set(ref, performed_at="2026-09-14T10:00:00Z", intended_percent=80, reps=[rep("spread", hold_s=90)]))
    club.post(a_set(ref, performed_at="2026-09-14T10:10:00Z", intended_percent=79, reps=[rep(hold_s=60)]))
    club.post(a_set(ref, performed_at="2026-09-14T10:20:00Z", intended_percent=..., reps=[rep(hold_s=60)]))
    assert verdict(judged(club, a_set(ref, performed_at="2026-09-14T13:19:59Z")))[0] == "counts"
    late = judged(club, a_set(ref, performed_at="2026-09-14T13:30:00Z"))
    assert verdict(late) == ("set_aside", ["not-fresh"])
    assert (late["reasons"][0]["seen"], late["reasons"][0]["needed"]) == (95, 90)
    assert verdict(judged(club, a_set(ref, performed_at="2026-09-14T16:30:00Z")))[0] == "counts"


def test_a_session_ref_joins_whatever_the_gap_and_is_never_bridged(club: Club) -> None:
    ref = club.athlete()
    club.post(a_set(ref, performed_at="2026-09-14T08:00:00Z", session_ref="day", reps=[rep(hold_s=91)]))
    assert verdict(judged(club, a_set(ref, performed_at="2026-09-14T18:00:00Z", session_ref="day")))[1] == ["not-fresh"]
    assert verdict(judged(club, a_set(ref, performed_at="2026-09-14T08:30:00Z")))[0] == "counts"


def test_at_least_carries_the_highest_bound_of_each_side(club: Club) -> None:
    reps = [rep(left=200, right=210, intended_percent=75), rep(left=220, right=190, intended_percent=75)]
    standing = judged(club, a_set(club.athlete(), intended_percent=..., reps=reps))
    assert standing["reading"] == {"left": 220.0, "right": 210.0, "unit": "N", "bound": True}


def test_best_and_mean_of_peak_and_mean(club: Club) -> None:
    ref = club.athlete()
    reps = [
        rep(left={"peak": 300, "mean": 270}, right={"peak": 280, "mean": 260}),
        rep(left={"peak": 320, "mean": 265}, right=None),
    ]
    standing = judged(club, a_set(ref, reps=reps))
    assert (standing["reading"]["left"], standing["reading"]["right"]) == (320.0, 280.0)
    assert standing["reading"]["maximal_reps"] == 2
    club.protocol(summary="mean", value="mean")
    at = "2026-09-20T17:00:00Z"
    standing = judged(club, a_set(ref, reps=reps, performed_at=at))
    assert (standing["reading"]["left"], standing["reading"]["right"]) == (267.5, 260.0)
    assert standing["reading"]["adjusted_left"] == pytest.approx(267.5)
    assert verdict(judged(club, a_set(ref, performed_at="2026-09-22T17:00:00Z"))) == ("set_aside", ["no-mean"])


@pytest.mark.parametrize(
    ("changes", "rules"),
    [
        ({"pain": {"score": 0.9}}, []),
        ({"pain": {"score": 1}}, ["pain-during-set"]),
        ({"pain": {"present": True}}, ["pain-during-set"]),
        ({"pain": {"present": False}}, []),
        ({"pain": {"score": 5, "when": "after"}}, []),
        ({"instrument": {"kind": "fixed-frame", "zeroed": False}}, ["not-zeroed"]),
        ({"instrument": {"kind": "fixed-frame", "checked_on": "2026-06-16"}}, []),
        ({"instrument": {"kind": "fixed-frame", "checked_on": "2026-06-15"}}, ["instrument-check-overdue"]),
        ({"instrument": {"kind": "fixed-frame", "checked_on": "2027-06-15"}}, []),
        ({"reps": [rep(left={"peak": 300, "mean": 210})]}, []),
        ({"reps": [rep(left={"peak": 300, "mean": 209.9})]}, ["unsteady-hold"]),
        ({"reps": [rep(right=None)]}, ["one-side-only"]),
    ],
)
def test_cautions_accompany_a_standing_without_changing_it(
    club: Club, changes: dict[str, object], rules: list[str]
) -> None:
    standing = judged(club, a_set(club.athlete(), **changes))
    assert standing["standing"] == "counts"
    assert [caution["rule"] for caution in standing["cautions"]] == rules


def test_set_up_drift_needs_five_heights_on_one_side(club: Club) -> None:
    ref = club.athlete()
    seen = []
    for day, height in enumerate([34.3, 34.3, 34.4, 34.3, 34.3, 34.0], start=1):
        position = POSITION | {"bar_height": height}
        standing = judged(club, a_set(ref, position=position, performed_at=f"2026-09-{day:02d}T10:00:00Z"))
        seen.append("set-up-drift" in [caution["rule"] for caution in standing["cautions"]])
    assert seen == [False, False, False, False, True, False]


def test_a_trace_becomes_reps(club: Club) -> None:
    ref = club.athlete()
    rest, hold = [2.0] * 100, [302.0] * 250
    spread = [-198.0] * 200
    left = rest + hold + rest + spread + rest
    document = a_set(ref, reps=..., trace={"rate_hz": 50, "left": left, "right": left})
    answer = club.post(document)
    squeeze, spread_standing = answer["standings"]
    assert squeeze["standing"] == "set_aside" or squeeze["reading"]["left"] == pytest.approx(300)
    assert answer["load"]["reps"] == 2
    assert answer["load"]["hold_s"] == pytest.approx(9, abs=0.1)
    assert spread_standing["direction"] == "spread"


def test_a_trace_without_a_rep_sets_both_directions_aside(club: Club) -> None:
    document = a_set(club.athlete(), reps=..., trace={"rate_hz": 50, "left": [1.0, 2.0] * 50})
    answer = club.post(document)
    assert [(s["direction"], *verdict(s)) for s in answer["standings"]] == [
        ("squeeze", "set_aside", ["no-rep-found"]),
        ("spread", "set_aside", ["no-rep-found"]),
    ]


def test_a_protocol_preview_says_what_would_change_and_changes_nothing(own_club: Club) -> None:
    club = own_club
    ref = club.athlete()
    made = club.post(a_set(ref, reps=[rep(hold_s=4), rep("spread", hold_s=6)]))
    preview = club.api.put("/v1/protocol?preview=true", json={"min_hold_s": 5})
    assert preview.status_code == 200
    assert preview.json()["changes"] == [{"from": "counts", "to": "set_aside", "count": 1}]
    assert preview.json()["athletes"] == [
        {"athlete": ref, "changes": [{"from": "counts", "to": "set_aside", "count": 1}]}
    ]
    assert club.api.get(f"/v1/sets/{made['id']}").json()["standings"] == made["standings"]
    version = club.api.get("/v1/protocol").json()
    put = club.api.put("/v1/protocol", json={"min_hold_s": 5}).json()
    assert put["version"] != version["version"]
    assert put["settings"]["min_hold_s"] == 5
    assert put["settings"]["max_hold_s"] == 10
    assert set(put) == {"version", "saved_at", "settings"}
    assert len(club.api.get("/v1/protocol/versions").json()["items"]) >= 2
    assert club.api.get(f"/v1/sets/{made['id']}").json()["standings"][0]["standing"] == "set_aside"
    wrong = club.api.put("/v1/protocol", json={"min_hold_s": "5", "trend": {"noise_sd": -1}, "what": 1})
    assert wrong.status_code == 422
    assert {error["pointer"] for error in wrong.json()["errors"]} == {"/min_hold_s", "/trend/noise_sd", "/what"}
