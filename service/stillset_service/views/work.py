"""Load by week and pain by set."""

from collections.abc import Iterable
from datetime import UTC

from stillset_core.load import LoadWeek, week_of
from stillset_core.load_pattern import LoadPattern, load_patterns
from stillset_core.pain import PainEntry
from stillset_core.pipeline import AthleteState
from stillset_service.views.spelling import Json, spelled_time

__all__ = ["load_rows_json", "load_week_json", "pain_json", "week_of_state"]


def load_week_json(week: LoadWeek) -> Json:
    """Give the work of one week."""
    return {
        "week": week.week,
        "reps": week.reps,
        "hold_s": week.hold_s,
        "impulse_n_s": week.impulse_n_s,
        "hard_s": week.hard_s,
    }


def load_rows_json(weeks: Iterable[LoadWeek], state: AthleteState) -> list[Json]:
    """Give weeks with their patterns, which are of whole weeks: a week that a window cuts has none."""
    patterns = load_patterns(state.judged, state.as_of)
    whole = {week.week: week for week in state.load_weeks}
    none = LoadPattern(None, None, None, None)
    return [_load_row(week, patterns[week.week] if week == whole[week.week] else none) for week in weeks]


def _load_row(week: LoadWeek, pattern: LoadPattern) -> Json:
    return {
        **load_week_json(week),
        "previous_four_weeks_hold_s": pattern.previous_four_weeks_hold_s,
        "change_percent": pattern.change_percent,
        "monotony": pattern.monotony,
        "strain": pattern.strain,
    }


def week_of_state(state: AthleteState) -> LoadWeek:
    """Give the work of the week of ``as_of``; a week without a set is one of no work."""
    week = week_of(state.as_of.astimezone(UTC))
    found = [one for one in state.load_weeks if one.week == week]
    return found[0] if found else LoadWeek(week, 0, 0.0, None, None)


def pain_json(entry: PainEntry, set_id: str, performed_at: str | None = None) -> Json:
    """Give what one set says about pain; ``performed_at`` as it was sent, where that is at hand."""
    return {
        "performed_at": performed_at or spelled_time(entry.performed_at),
        "score": entry.score,
        "present": entry.present,
        "site": entry.site,
        "when": entry.when.value,
        "set_id": set_id,
    }
