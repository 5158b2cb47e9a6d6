"""Load by week and pain by set."""

from datetime import UTC, datetime

from stillset_core.load import LoadWeek
from stillset_core.pain import PainEntry
from stillset_core.pipeline import AthleteState
from stillset_service.views.spelling import Json, spelled_time

__all__ = ["load_week_json", "pain_json", "week_of", "week_of_state"]


def load_week_json(week: LoadWeek) -> Json:
    """Give the work of one week."""
    return {
        "week": week.week,
        "reps": week.reps,
        "hold_s": week.hold_s,
        "impulse_n_s": week.impulse_n_s,
        "hard_s": week.hard_s,
    }


def week_of(at: datetime) -> str:
    """Name the ISO week of a time by its own calendar date."""
    year, week, _ = at.isocalendar()
    return f"{year:04d}-W{week:02d}"


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
