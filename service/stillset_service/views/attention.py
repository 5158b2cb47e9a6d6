"""Attention items and coverage as rows."""

from stillset_core.attention import AttentionItem
from stillset_core.coverage import Coverage
from stillset_service.views.spelling import Json, series_json, spelled_time

__all__ = ["attention_json", "coverage_json"]


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
