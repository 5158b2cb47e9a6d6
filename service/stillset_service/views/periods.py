"""Periods as the API and the pages show them."""

from stillset_service.store.periods import PeriodFacts
from stillset_service.views.spelling import Json

__all__ = ["period_json"]


def period_json(period: PeriodFacts) -> Json:
    """Give a dated span of an athlete; ``to`` is null while it is open."""
    return {
        "id": period.id,
        "kind": period.kind,
        "from": period.from_date.isoformat(),
        "to": None if period.to_date is None else period.to_date.isoformat(),
        "note": period.note,
    }
