"""Attention items and coverage as rows."""

from stillset_core.attention import AttentionItem
from stillset_core.coverage import Coverage
from stillset_core.protocol import Protocol
from stillset_service.views.spelling import Json, series_json, spelled_time

__all__ = ["attention_json", "coverage_json", "expected_false_calls_json"]

SEASON_WEEKS = 40
"""What the protocol's false_calls_per_season counts over."""


def attention_json(item: AttentionItem) -> Json:
    """Give one thing to look at."""
    return {
        "rule": item.rule,
        "athlete": item.athlete,
        "direction": None if item.direction is None else item.direction.value,
        "side": None if item.side is None else item.side.value,
        "text": item.text,
        "evidence": dict(item.evidence),
        "since": None if item.since is None else item.since.isoformat(),
        "clears": item.clears,
    }


def expected_false_calls_json(athletes: int, protocol: Protocol) -> Json:
    """Give how many calls of a decline to expect among athletes without one, over a season and in a week."""
    per_season = athletes * protocol.false_calls_per_season
    return {
        "athletes": athletes,
        "season_weeks": SEASON_WEEKS,
        "per_season": per_season,
        "per_week": per_season / SEASON_WEEKS,
    }


def coverage_json(athlete: str, name: str | None, coverage: Coverage) -> Json:
    """Give how well one series of one athlete is covered."""
    series = (
        {"position": None, "instrument_kind": None, "unit": None}
        if coverage.series is None
        else series_json(coverage.series)
    )
    return {
        "athlete": athlete,
        "name": name,
        **series,
        "last_reading_at": spelled_time(coverage.last_reading_at),
        "days_since": coverage.days_since,
        "readings": coverage.readings,
        "at_least": coverage.at_least,
        "set_aside": coverage.set_aside,
        "readings_per_week": coverage.readings_per_week,
        "overdue": coverage.overdue,
    }
