"""Periods as the API and the pages show them, and as the core takes them."""

from collections.abc import Iterable

from stillset_core.periods import Period, PeriodKind
from stillset_service.store.periods import PeriodFacts
from stillset_service.views.spelling import Json

__all__ = ["period_json", "periods_of"]


def period_json(period: PeriodFacts) -> Json:
    """Give a dated span of an athlete; ``to`` is null while it is open."""
    return {
        "id": period.id,
        "kind": period.kind,
        "from": period.from_date.isoformat(),
        "to": None if period.to_date is None else period.to_date.isoformat(),
        "note": period.note,
    }


def periods_of(facts: Iterable[PeriodFacts]) -> tuple[Period, ...]:
    """Give the spans without what only the club needs."""
    return tuple(Period(PeriodKind(one.kind), one.from_date, one.to_date) for one in facts)
