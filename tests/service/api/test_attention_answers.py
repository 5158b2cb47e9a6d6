"""Answers to attention items: what is taken, what is kept, and what they do to the list."""

from datetime import UTC, datetime, timedelta

import pytest

ANSWERS = "/v1/attention/answers"
TODAY = datetime.now(UTC).date()
PAIN = {"athlete": "MB-07", "rule": "pain-at-caution"}


def snoozed(days: int, **changes: object) -> dict[str, object]:
    return PAIN | {"answer": "snoozed", "until": str(TODAY + timedelta(days=days))} | changes


@pytest.fixture
def hurting(club, make_set):
    """A club whose athlete states pain lately, and has another item after it."""
    club.post("/v1/squads", {"ref": "first"}, 201)
    club.athlete("MB-07", squad="first")
    at = (datetime.now(UTC) - timedelta(hours=1)).isoformat()
    other = {"name": "supine-straight-leg"}
    club.post_set(make_set("MB-07", performed_at=at, pain={"score": 3}, position=other))
    return club


def listed(club, path: str = "/v1/athletes/MB-07/attention") -> list[tuple[str, str | None]]:
    return [(row["rule"], row["answer"] and row["answer"]["answer"]) for row in club.items(path)]


def test_an_answer_is_given_back_kept_and_shown_with_its_item(hurting) -> None:
    assert listed(hurting) == [("pain-at-caution", None), ("no-reading-lately", None)]
    text = "A kick in Tuesday's match."
    made = hurting.post(ANSWERS, PAIN | {"answer": "explained", "text": text}, 201)
    place = {"athlete": "MB-07", "rule": "pain-at-caution", "direction": None, "side": None, "serial": None}
    assert made.items() > (place | {"answer": "explained", "text": text, "until": None}).items()
    assert made["key"] == hurting.key.split("_")[1]
    assert hurting.items(ANSWERS) == [made]
    for path in ("/v1/athletes/MB-07/attention", "/v1/squads/first/attention"):
        first = hurting.items(path)[0]
        assert first["answer"] == {name: made[name] for name in ("id", "answer", "text", "until", "at", "key")}
    assert hurting.items("/v1/squads/first/board")[0]["attention"][0]["answer"]["text"] == text
    assert hurting.items("/v1/audit")[-1]["action"] == "attention.answer"


def test_the_latest_answer_stands_and_the_others_are_kept(hurting) -> None:
    for body in (PAIN | {"answer": "seen"}, snoozed(3), PAIN | {"answer": "seen"}):
        hurting.post(ANSWERS, body, 201)
    assert listed(hurting)[0] == ("pain-at-caution", "seen")
    assert [row["answer"] for row in hurting.items(ANSWERS)] == ["seen", "snoozed", "seen"]


def test_a_snoozed_item_comes_last_until_its_date_and_changes_no_number(hurting) -> None:
    before = [hurting.get(f"/v1/athletes/MB-07/{view}") for view in ("trend", "pain", "load")]
    hurting.post(ANSWERS, snoozed(3), 201)
    assert listed(hurting) == [("no-reading-lately", None), ("pain-at-caution", "snoozed")]
    assert listed(hurting, "/v1/squads/first/attention")[-1] == ("pain-at-caution", "snoozed")
    later = [f"/v1/athletes/MB-07/attention?as_of={TODAY + timedelta(days=days)}T12:00:00Z" for days in (2, 3)]
    assert listed(hurting, later[0])[-1] == ("pain-at-caution", "snoozed")
    assert listed(hurting, later[1])[0] == ("pain-at-caution", None)
    assert [hurting.get(f"/v1/athletes/MB-07/{view}") for view in ("trend", "pain", "load")] == before


def test_an_answer_is_of_its_own_athlete_rule_direction_and_side_only(hurting) -> None:
    hurting.athlete("MB-08", squad="first")
    hurting.post(ANSWERS, snoozed(3, side="left"), 201)
    hurting.post(ANSWERS, snoozed(3, athlete="MB-08"), 201)
    assert listed(hurting)[0] == ("pain-at-caution", None)


def test_a_moment_before_the_answer_does_not_know_it(hurting) -> None:
    hurting.post(ANSWERS, PAIN | {"answer": "seen"}, 201)
    earlier = (datetime.now(UTC) - timedelta(minutes=30)).isoformat().replace("+00:00", "Z")
    assert listed(hurting, f"/v1/athletes/MB-07/attention?as_of={earlier}")[0] == ("pain-at-caution", None)


def test_tags_change_with_an_answer_also_to_an_instrument(hurting) -> None:
    path = "/v1/squads/first/attention"

    def tag() -> str:
        return hurting.send("GET", path).headers["ETag"]

    tags = [tag()]
    hurting.post(ANSWERS, {"rule": "instrument-shift", "serial": "F-03", "answer": "seen"}, 201)
    tags.append(tag())
    hurting.post(ANSWERS, PAIN | {"answer": "seen"}, 201)
    tags.append(tag())
    assert len(set(tags)) == 3
    assert hurting.send("GET", path, headers={"If-None-Match": tags[2]}).status_code == 304


def test_expected_false_calls_stand_beside_the_items(hurting) -> None:
    hurting.athlete("MB-08", squad="first")
    hurting.athlete("MB-09", squad="first", archived=True)
    hurting.put("/v1/protocol", {"false_calls_per_season": 0.5})
    expected = hurting.get("/v1/squads/first/attention")["expected_false_calls"]
    assert expected == {"athletes": 2, "season_weeks": 40, "per_season": 1.0, "per_week": 0.025}
    csv = hurting.send("GET", "/v1/squads/first/attention", headers={"Accept": "text/csv"}).text
    assert csv.splitlines()[0] == "rule,athlete,direction,side,text,evidence,since,clears,answer"


@pytest.mark.parametrize(
    ("body", "at"),
    [
        (PAIN | {"answer": "explained"}, "/text"),
        (PAIN | {"answer": "explained", "text": "x" * 501}, "/text"),
        (PAIN | {"answer": "snoozed"}, "/until"),
        (snoozed(0), "/until"),
        (snoozed(3, answer="seen"), "/until"),
        (PAIN | {"answer": "forgotten"}, "/answer"),
        ({"rule": "pain-at-caution", "answer": "seen"}, "/athlete"),
        (PAIN | {"answer": "seen", "serial": "F-03"}, "/serial"),
        ({"rule": "instrument-shift", "answer": "seen"}, "/serial"),
        ({"rule": "instrument-shift", "answer": "seen", "serial": "F-03", "athlete": "MB-07"}, "/athlete"),
        (PAIN | {"rule": "no-such-rule", "answer": "seen"}, "/rule"),
        (PAIN | {"athlete": "XX-99", "answer": "seen"}, "/athlete"),
        (PAIN | {"answer": "seen", "mood": "good"}, "/mood"),
    ],
)
def test_what_does_not_fit_together_is_refused_with_its_pointer(hurting, pointers, body, at) -> None:
    problem = hurting.post(ANSWERS, body, 422)
    assert pointers(problem) == [at]
    assert hurting.items(ANSWERS) == []


def test_answering_needs_manage_and_reading_them_read(hurting) -> None:
    reader, sender = hurting.with_scopes("read"), hurting.with_scopes("sets:write")
    reader.post(ANSWERS, PAIN | {"answer": "seen"}, 403)
    sender.post(ANSWERS, PAIN | {"answer": "seen"}, 403)
    sender.get(ANSWERS, 403)
    assert reader.items(ANSWERS) == []


def test_another_clubs_athlete_is_unknown(hurting, service) -> None:
    problem = service.club().post(ANSWERS, PAIN | {"answer": "seen"}, 422)
    assert problem["code"] == "unknown-athlete"


def test_the_history_is_a_table_of_pages_and_windows(hurting) -> None:
    for _ in range(3):
        hurting.post(ANSWERS, PAIN | {"answer": "seen"}, 201)
    first = hurting.send("GET", f"{ANSWERS}?limit=2")
    assert len(first.json()["items"]) == 2
    assert 'rel="next"' in first.headers["Link"]
    assert hurting.items(f"{ANSWERS}?to={TODAY}") == []
    assert len(hurting.items(f"{ANSWERS}?from={TODAY}")) == 3
    rows = hurting.send("GET", ANSWERS, headers={"Accept": "text/csv"}).text.splitlines()
    assert rows[0] == "id,athlete,rule,direction,side,serial,answer,text,until,at,key"
    assert len(rows) == 4
    hurting.get(f"{ANSWERS}?all=true", 422)


def test_periods_are_named_in_attention_and_a_break_is_not_overdue(hurting) -> None:
    hurting.post("/v1/athletes/MB-07/periods", {"kind": "break", "from": str(TODAY - timedelta(days=3))}, 201)
    (row,) = hurting.items("/v1/squads/first/attention")
    assert row["rule"] == "pain-at-caution"
    assert row["text"].endswith(f"On file: break since {TODAY - timedelta(days=3)}.")
    assert hurting.items("/v1/athletes/MB-07/attention") == [row]


def test_the_trend_compares_with_the_level_frozen_at_an_injury(club, make_set, make_rep) -> None:
    club.athlete("MB-07")

    def post(day: int, force: float) -> None:
        at = (datetime(2026, 3, 1, 12, tzinfo=UTC) + timedelta(days=day)).isoformat()
        reps = [make_rep(left=force, right=force)]
        club.post_set(make_set("MB-07", performed_at=at, reps=reps))

    for day in range(0, 40, 4):
        post(day, 300)
    trend = "/v1/athletes/MB-07/trend?as_of=2026-05-30"
    (series,) = club.get(trend)["series"]
    assert series["return"] is None
    club.post("/v1/athletes/MB-07/periods", {"kind": "injury", "from": "2026-04-10"}, 201)
    for day in range(60, 88, 4):
        post(day, 270)
    (series,) = club.get(trend)["series"]
    (then,) = club.get("/v1/athletes/MB-07/trend?as_of=2026-04-09T23:59:59.999999Z")["series"]
    back = series["return"]["squeeze"]["left"]
    frozen = {name: then["squeeze"]["left"][name] for name in ("level", "low", "high")}
    assert series["return"]["injured_on"] == "2026-04-10"
    assert back["baseline"] == frozen
    assert back["percent"] == pytest.approx(100 * series["squeeze"]["left"]["level"] / frozen["level"])
    assert back["low"] < back["percent"] < back["high"]
    assert back["readings_since"] == 7
    assert 1 > back["reached_90"] > back["reached_95"] > back["reached_100"] > 0
    assert series["return"]["spread"] == {"left": None, "right": None}
