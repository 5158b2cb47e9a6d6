"""The squad's own error, read as any client would."""

import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

SQUAD = "/v1/squads/first-team"
FIRST = datetime(2026, 3, 2, 17, tzinfo=UTC)
FIGURES = (
    *("level", "typical_error", "typical_error_low", "typical_error_high", "cv_percent", "cv_low_percent"),
    *("cv_high_percent", "mean_change_percent", "mdc95_down_percent", "mdc95_up_percent", "mdc90_down_percent"),
    *("mdc90_up_percent", "smallest_worthwhile_percent", "icc", "icc_low", "icc_high"),
)


@pytest.fixture(scope="module")
def squad(shared_api, set_of):
    """Give six more athletes of two roles with fourteen sets each; true error 5.6 %."""
    rng = np.random.default_rng(7)
    for n in range(6):
        ref, level = f"E-{n}", 300 * math.exp(0.15 * (n - 2.5))
        shared_api.make_athlete(ref, role="wing" if n < 4 else "back")
        sets = []
        for day in range(0, 42, 3):
            peak = (level * np.exp(rng.normal(0, math.hypot(0.052, 0.02), 4))).tolist()
            reps = [
                {"direction": direction, "hold_s": 5, "left": {"peak": left}, "right": {"peak": right}}
                for direction, left, right in (("squeeze", *peak[:2]), ("spread", *peak[2:]))
                for _ in range(3)
            ]
            sets.append(set_of(day, athlete=ref, at=FIRST + timedelta(days=day), client_ref=f"{ref}-{day}", reps=reps))
        shared_api.post(*sets)
    return shared_api


def test_a_squad_without_pairs_has_no_row(api, set_of) -> None:
    api.post(set_of(0))
    assert api.items(f"{SQUAD}/error") == []


def test_each_direction_and_side_has_a_row_for_the_squad_and_for_each_role(squad) -> None:
    rows = squad.items(f"{SQUAD}/error")
    assert [(row["direction"], row["side"], row["role"]) for row in rows] == [
        (direction, side, role)
        for direction in ("squeeze", "spread")
        for side in ("left", "right")
        for role in (None, "back", "wing")
    ]
    assert {(row["instrument_kind"], row["unit"], row["within_days"]) for row in rows} == {("fixed-frame", "N", 7)}
    assert [(row["athletes"], row["pairs"]) for row in rows[:3]] == [(6, 42), (2, 14), (4, 28)]


def test_the_error_is_given_with_its_interval_in_the_unit_and_in_percent(squad) -> None:
    row = squad.items(f"{SQUAD}/error")[0]
    assert set(row) == {
        *("instrument_kind", "unit", "role", "direction", "side", "athletes", "pairs", "within_days"),
        *("assumed_cv_percent", *FIGURES),
    }
    assert row["cv_low_percent"] < 5.73 < row["cv_high_percent"]
    assert row["assumed_cv_percent"] == pytest.approx(5.729478, abs=1e-6)
    for end in ("", "_low", "_high"):
        assert row[f"typical_error{end}"] == pytest.approx(row["level"] * row[f"cv{end}_percent"] / 100)
    error = math.log1p(row["cv_percent"] / 100)
    assert row["mdc95_up_percent"] == pytest.approx(100 * math.expm1(1.96 * math.sqrt(2) * error))
    assert row["mdc90_down_percent"] == pytest.approx(100 * math.expm1(-1.645 * math.sqrt(2) * error))
    assert row["mdc95_down_percent"] < row["mdc90_down_percent"] < 0 < row["mdc90_up_percent"] < row["mdc95_up_percent"]
    assert row["icc_low"] < row["icc"] < row["icc_high"] < 1
    # Levels 15 % apart: SD 0.281 on the log scale.
    assert row["smallest_worthwhile_percent"] == pytest.approx(100 * math.expm1(0.2 * 0.281), rel=0.15)


def test_a_role_of_two_athletes_is_counted_and_says_nothing(squad) -> None:
    row = squad.items(f"{SQUAD}/error")[1]
    assert (row["role"], row["athletes"], row["pairs"]) == ("back", 2, 14)
    assert [row[name] for name in FIGURES] == [None] * len(FIGURES)


def test_from_and_to_choose_the_readings(squad) -> None:
    row = squad.items(f"{SQUAD}/error?from=2026-03-02&to=2026-03-14")[0]
    assert row["pairs"] == 12
    assert squad.items(f"{SQUAD}/error?as_of=2026-03-14")[0] == row
    assert squad.items(f"{SQUAD}/error?to=2026-03-04") == []


def test_pages_put_together_are_the_whole_table(squad) -> None:
    first = squad.get(f"{SQUAD}/error?limit=5")
    rows = first.json()["items"]
    address = first.links["next"]["url"]
    while address:
        page = squad.get(address)
        rows += page.json()["items"]
        address = page.links.get("next", {}).get("url")
    assert rows == squad.items(f"{SQUAD}/error")


def test_the_view_is_described_for_machines(squad) -> None:
    operation = squad.get("/openapi.json").json()["paths"][f"{SQUAD.replace('first-team', '{ref}')}/error"]["get"]
    assert "typical error" in operation["description"]
    assert {"200", "304", "401", "404", "406", "422"} <= set(operation["responses"])
