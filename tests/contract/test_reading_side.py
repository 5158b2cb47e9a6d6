"""The reading side: tables, cursors, formats, trend, balance, load, pain, as the API contract has them."""

import csv
import io
from datetime import UTC, datetime, timedelta
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from outsider import Club, a_set, rep

L_MEMBERS = {
    "level",
    "low",
    "high",
    "weekly_percent",
    "change_percent",
    "change_low",
    "change_high",
    "probability_below",
    "probability_above",
    "state",
    "at_least",
}
READING_COLUMNS = [
    "set_id",
    "client_ref",
    "performed_at",
    "direction",
    "standing",
    "left",
    "right",
    "adjusted_left",
    "adjusted_right",
    "unit",
    "maximal_reps",
    "position",
    "knee_angle_deg",
    "instrument_kind",
]
START = datetime(2026, 3, 2, 10, tzinfo=UTC)


def season(club: Club, ref: str, days: int = 60, step: int = 3, **changes: object) -> list[dict[str, object]]:
    documents = [
        a_set(
            ref,
            performed_at=(START + timedelta(days=day)).isoformat(),
            reps=[rep(left=300 + day % 7, right=290), rep("spread", left=310, right=305 + day % 5)],
            **changes,
        )
        for day in range(0, days, step)
    ]
    answer = club.api.post("/v1/sets/batch", json=documents).json()
    assert answer["counts"]["stored"] == len(documents), answer
    return documents


def items(club: Club, address: str, **query: object) -> list[dict[str, Any]]:
    answer = club.api.get(address, params=query)
    assert answer.status_code == 200, answer.text
    return answer.json()["items"]


def test_readings_have_the_columns_of_the_contract_oldest_first(club: Club) -> None:
    ref = club.athlete()
    season(club, ref)
    club.post(a_set(ref, performed_at="2026-06-01T10:00:00Z", intended_percent=60))
    rows = items(club, f"/v1/athletes/{ref}/readings")
    assert list(rows[0]) == READING_COLUMNS or set(rows[0]) == set(READING_COLUMNS)
    assert [row["performed_at"] for row in rows] == sorted(row["performed_at"] for row in rows)
    assert len(rows) == 41
    assert {row["standing"] for row in items(club, f"/v1/athletes/{ref}/readings", standing="at_least")} == {"at_least"}
    text = club.api.get(f"/v1/athletes/{ref}/readings", headers={"Accept": "text/csv"})
    assert text.headers["content-type"].startswith("text/csv")
    table = list(csv.DictReader(io.StringIO(text.text)))
    assert set(table[0]) == set(READING_COLUMNS)
    assert [float(row["left"]) for row in table] == [row["left"] for row in rows]


def test_a_row_is_given_once_whatever_arrives_in_between(club: Club) -> None:
    ref = club.athlete()
    season(club, ref)
    for address in (f"/v1/athletes/{ref}/sets", f"/v1/athletes/{ref}/readings"):
        before = [row.get("set_id", row.get("id")) for row in items(club, address, limit=1000)]
        seen: list[str] = []
        answer = club.api.get(address, params={"limit": 7, "from": "2026-01-01"})
        turn = 0
        while True:
            seen += [row.get("set_id", row.get("id")) for row in answer.json()["items"]]
            if "next" not in answer.links:
                break
            turn += 1
            new = (START + timedelta(days=turn, hours=5)).isoformat()
            club.post(a_set(ref, performed_at=new))
            following = answer.links["next"]["url"]
            assert "limit=7" in following
            assert "from=2026-01-01" in following
            answer = club.api.get(following)
        assert [one for one in seen if one in before] == before
        if "readings" not in address:
            assert len(seen) == len(set(seen))


@pytest.mark.parametrize(
    "query",
    [
        "limit=0",
        "limit=1001",
        "limit=x",
        "cursor=nonsense",
        "what=1",
        "standing=fine",
        "from=yesterday",
        "history=true",
    ],
)
def test_a_wrong_query_parameter_is_named(club: Club, query: str) -> None:
    answer = club.api.get(f"/v1/athletes/{club.athlete()}/readings?{query}")
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["parameter"] == query.split("=", maxsplit=1)[0]


def test_from_after_to_is_empty_and_bounds_are_half_open(club: Club) -> None:
    ref = club.athlete()
    season(club, ref, days=9)
    sets = f"/v1/athletes/{ref}/sets"
    assert items(club, sets, **{"from": "2027-01-01", "to": "2026-01-01"}) == []
    day = START + timedelta(days=3)
    assert len(items(club, sets, **{"from": day.isoformat(), "to": (day + timedelta(days=3)).isoformat()})) == 1
    assert len(items(club, sets, to="2026-03-05")) == 1
    assert len(items(club, sets, as_of=day.isoformat())) == 2


def test_etags_hold_still_and_differ_by_format(club: Club) -> None:
    ref = club.athlete()
    season(club, ref)
    for view in ("sets", "readings", "trend", "balance", "load", "pain"):
        address = f"/v1/athletes/{ref}/{view}"
        first = club.api.get(address)
        assert first.status_code == 200, first.text
        assert "Accept" in first.headers["vary"]
        again = club.api.get(address, headers={"If-None-Match": first.headers["etag"]})
        assert again.status_code == 304
        assert again.content == b""
        assert again.headers["etag"] == first.headers["etag"]
        if view in ("sets", "readings", "load", "pain"):
            other = club.api.get(address, headers={"Accept": "text/csv"})
            assert other.headers["etag"] != first.headers["etag"]
    tag = club.api.get(f"/v1/athletes/{ref}/readings").headers["etag"]
    club.post(a_set(ref, performed_at="2026-07-01T10:00:00Z"))
    assert club.api.get(f"/v1/athletes/{ref}/readings", headers={"If-None-Match": tag}).status_code == 200
    assert club.api.get(f"/v1/athletes/{ref}/readings", headers={"Accept": "image/png"}).status_code == 406


@pytest.mark.parametrize("kind", ["application/vnd.apache.parquet", "application/vnd.apache.arrow.stream"])
def test_parquet_and_arrow_hold_the_same_table(club: Club, kind: str) -> None:
    ref = club.athlete()
    season(club, ref)
    answer = club.api.get(f"/v1/athletes/{ref}/readings", headers={"Accept": kind})
    assert answer.headers["content-type"] == kind
    buffer = io.BytesIO(answer.content)
    table = pq.read_table(buffer) if kind.endswith("parquet") else pa.ipc.open_stream(buffer).read_all()
    rows = items(club, f"/v1/athletes/{ref}/readings")
    assert table.column("left").to_pylist() == [row["left"] for row in rows]
    assert set(table.column_names) == set(READING_COLUMNS)


def test_an_empty_athlete_has_empty_views(club: Club) -> None:
    ref = club.athlete()
    for view in ("sets", "readings", "load", "pain", "periods"):
        assert items(club, f"/v1/athletes/{ref}/{view}") == []
    assert club.api.get(f"/v1/athletes/{ref}/trend").json()["series"] == []
    assert club.api.get(f"/v1/athletes/{ref}/balance").json()["series"] == []
    assert club.api.get("/v1/athletes/nobody/trend").status_code == 404


def test_the_trend_has_its_members_and_states(club: Club) -> None:
    ref = club.athlete()
    documents = season(club, ref)
    trend = club.api.get(
        f"/v1/athletes/{ref}/trend", params={"as_of": "2026-05-02T00:00:00Z", "history": "true"}
    ).json()
    (series,) = trend["series"]
    assert series["position"] == {"name": "supine-bent-knee", "knee_angle_deg": 60}
    assert (series["instrument_kind"], series["unit"]) == ("fixed-frame", "N")
    assert (series["readings"], series["at_least"]) == (2 * len(documents), 0)
    for direction in ("squeeze", "spread"):
        for side in ("left", "right"):
            level = series[direction][side]
            assert set(level) >= L_MEMBERS | {"history"}
            assert level["low"] < level["level"] < level["high"]
            assert level["state"] in ("holding", "unsure")
            assert level["history"]
            assert set(level["history"][0]) == {"at", "level", "low", "high"}
    early = club.api.get(f"/v1/athletes/{ref}/trend", params={"as_of": (START + timedelta(days=4)).isoformat()}).json()
    level = early["series"][0]["squeeze"]["left"]
    assert level["state"] == "too_few"
    assert level["level"] is not None
    assert level["change_percent"] is None
    assert "history" not in level


def test_only_bounds_give_no_level_but_the_highest_bound(club: Club) -> None:
    ref = club.athlete()
    season(club, ref, intended_percent=70)
    trend = club.api.get(f"/v1/athletes/{ref}/trend", params={"as_of": "2026-05-01T00:00:00Z"}).json()
    level = trend["series"][0]["squeeze"]["left"]
    assert level["level"] is None
    assert level["at_least"] == 306
    assert level["state"] == "too_few"


def test_the_balance_has_its_members(club: Club) -> None:
    ref = club.athlete()
    season(club, ref)
    (series,) = club.api.get(f"/v1/athletes/{ref}/balance").json()["series"]
    ratio, gap = series["ratio"]["left"], series["side_gap"]["squeeze"]
    assert set(ratio) >= {"value", "low", "high", "usual_low", "usual_high", "state"}
    assert ratio["value"] == pytest.approx(303 / 310, abs=0.02)
    assert set(gap) >= {"percent", "low", "high", "formula", "stronger", "beyond_noise"}
    assert gap["formula"] == "of-stronger"
    assert gap["stronger"] == "left"
    assert gap["percent"] > 0
    assert gap["low"] < gap["percent"] < gap["high"]


def test_load_and_pain_rows(club: Club) -> None:
    ref = club.athlete()
    club.post(a_set(ref, performed_at="2026-01-01T23:30:00-05:00", pain={"present": True, "site": "left groin"}))
    club.post(a_set(ref, performed_at="2026-01-05T10:00:00Z", pain={"score": 0}, unit="kPa"))
    load = items(club, f"/v1/athletes/{ref}/load")
    assert [row["week"] for row in load] == ["2026-W01", "2026-W02"]
    assert set(load[0]) >= {"week", "reps", "hold_s", "impulse_n_s", "hard_s"}
    assert load[0]["impulse_n_s"] == pytest.approx(5 * 590)
    assert load[0]["hard_s"] is None
    assert load[1]["impulse_n_s"] is None
    pain = items(club, f"/v1/athletes/{ref}/pain")
    assert [(row["score"], row["present"], row["site"], row["when"]) for row in pain] == [
        (None, True, "left groin", "during"),
        (0, None, None, "during"),
    ] or [(row["score"], row["site"], row["when"]) for row in pain] == [
        (None, "left groin", "during"),
        (0, None, "during"),
    ]
    assert set(pain[0]) >= {"performed_at", "score", "present", "site", "when", "set_id"}


def test_positions_part_series_only_by_name_angle_kind_and_quantity(club: Club) -> None:
    ref = club.athlete()
    season(club, ref, days=12)
    club.position(
        ref, valid_from="2026-03-20", position={"name": "supine-bent-knee", "knee_angle_deg": 60, "bar_height": 36}
    )
    club.post(a_set(ref, performed_at="2026-03-21T10:00:00Z"))
    assert len(club.api.get(f"/v1/athletes/{ref}/trend").json()["series"]) == 1
    club.position(ref, valid_from="2026-04-01", position={"name": "supine-bent-knee", "knee_angle_deg": 45})
    club.post(
        a_set(ref, performed_at="2026-04-02T10:00:00Z", position={"name": "supine-bent-knee", "knee_angle_deg": 45})
    )
    assert len(club.api.get(f"/v1/athletes/{ref}/trend").json()["series"]) == 2
    listed = club.api.get(f"/v1/athletes/{ref}/standard-position").json()["items"]
    assert len(listed) == 3


def test_squads_athletes_and_periods(club: Club) -> None:
    api = club.api
    assert api.post("/v1/squads", json={"ref": "first", "name": "First team"}).status_code == 201
    assert api.post("/v1/squads", json={"ref": "first", "name": "Again"}).status_code == 409
    ref = club.athlete(squad="first", role="wing", dominant_side="left")
    assert api.post("/v1/athletes", json={"ref": ref, "name": "Twice"}).status_code == 409
    unknown = api.post("/v1/athletes", json={"ref": "Z", "name": "Z", "squad": "none"})
    assert unknown.status_code == 422
    assert unknown.json()["errors"][0]["pointer"] == "/squad"
    assert api.post("/v1/athletes", json={"ref": "a b", "name": "Z"}).status_code == 422
    assert api.patch(f"/v1/athletes/{ref}", json={"role": "back"}).json()["role"] == "back"
    assert api.get(f"/v1/athletes/{ref}").json()["id"]
    assert ref in [row["ref"] for row in api.get("/v1/athletes?limit=1000").json()["items"]]
    period = api.post(f"/v1/athletes/{ref}/periods", json={"kind": "injury", "from": "2026-02-01", "to": "2026-03-01"})
    assert period.status_code == 201, period.text
    (row,) = items(club, f"/v1/athletes/{ref}/periods")
    assert set(row) == {"id", "kind", "from", "to", "note"}
    season(club, ref, days=30)
    (row,) = items(club, "/v1/squads/first/board")
    assert row["athlete"] == ref or row["ref"] == ref
    assert row["last_reading_at"]
    assert items(club, "/v1/squads/first/coverage")


def test_erasure_leaves_nothing_and_frees_the_client_refs(club: Club) -> None:
    ref = club.athlete()
    document = a_set(ref)
    made = club.post(document)
    export = club.api.get(f"/v1/athletes/{ref}/export")
    assert export.status_code == 200
    assert document["client_ref"] in export.text
    assert club.api.delete(f"/v1/athletes/{ref}").status_code == 204
    assert club.api.get(f"/v1/athletes/{ref}").status_code == 404
    assert club.api.get(f"/v1/sets/{made['id']}").status_code == 404
    club.athlete(ref)
    assert club.post(document)["id"] != made["id"]
