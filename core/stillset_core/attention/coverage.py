"""Readings that are missing: none lately, only lower bounds, or most of them set aside."""

from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime, time, timedelta

from stillset_core.attention.item import AttentionItem, Watched
from stillset_core.attention.reasons import by_rule, commonest
from stillset_core.coverage import LATELY, is_overdue
from stillset_core.judged import JudgedSet
from stillset_core.judging.outcome import DirectionOutcome, Standing
from stillset_core.numbers import day, number
from stillset_core.periods import PeriodKind
from stillset_core.rfc3339 import spelled

__all__ = [
    "MANY_SET_ASIDE",
    "NO_READING_LATELY",
    "ONLY_AT_LEAST",
    "many_set_aside",
    "no_reading_lately",
    "only_at_least",
]

MANY_SET_ASIDE = "many-set-aside"
NO_READING_LATELY = "no-reading-lately"
ONLY_AT_LEAST = "only-at-least"

FEWEST_BOUNDS = 4
"""Directions that stood as at_least before a maximal set is asked for."""
FEWEST_ASIDE = 6
"""Directions set aside before their number is remarked on."""
SHARE_ASIDE = 0.5
NEVER = 1e6
"""Days that stand for no reading at all: longer than any club has waited."""
PLANNED_ASIDE = frozenset({"warm-up"})
"""Rules that set aside what was never meant to count."""


def no_reading_lately(watched: Watched) -> Iterator[AttentionItem]:
    """Report that nothing has counted for longer than overdue_days; silent where only_at_least says why.

    Nobody in a break is overdue, and after a break the days count from its end.
    """
    as_of, last = watched.state.as_of, _last_counting(watched)
    waiting = max(filter(None, (last, _break_end(watched))), default=None)
    if not is_overdue(waiting, as_of, watched.protocol) or _bounds_only(watched):
        return
    sets = [one for one in watched.state.judged if last is None or one.record.performed_at > last]
    days = None if last is None else (as_of - last) // timedelta(days=1)
    logged = f"{len(sets)} set{'' if len(sets) == 1 else 's'} logged" if sets else "no set"
    text = f"No reading has counted since {day(last)}, {days} days; {logged} since then."
    if last is None:
        text = f"No reading has counted yet; {logged} so far."
    yield AttentionItem(
        rule=NO_READING_LATELY,
        athlete=watched.athlete,
        direction=None,
        side=None,
        text=text,
        evidence={
            "last_reading_at": None if last is None else spelled(last),
            "days": days,
            "overdue_days": watched.protocol.overdue_days,
            "sets_since": len(sets),
        },
        since=None if last is None else last.date(),
        weight=NEVER if days is None else float(days),
    )


def only_at_least(watched: Watched) -> Iterator[AttentionItem]:
    """Report that sets arrive, but none was planned at maximal: level unknown, one maximal set would do."""
    bounds = _bounds_only(watched)
    if not bounds:
        return
    last = _last_counting(watched)
    first = next(
        one.record.performed_at
        for one in watched.state.judged
        if (last is None or one.record.performed_at > last) and _of(one, Standing.AT_LEAST)
    )
    reasons = Counter(remark.rule for outcome in bounds for remark in outcome.reasons)
    cause = "with unknown effort" if reasons.most_common(1)[0][0] == "effort-unknown" else "planned below maximal"
    yield AttentionItem(
        rule=ONLY_AT_LEAST,
        athlete=watched.athlete,
        direction=None,
        side=None,
        text=(
            f"Only lower bounds since {day(first)}: all {len(bounds)} usable directions of the last"
            f" {LATELY.days} days were {cause}; ask for one maximal set."
        ),
        evidence={
            "at_least": len(bounds),
            "last_reading_at": None if last is None else spelled(last),
            "days": LATELY.days,
            **by_rule(reasons),
        },
        since=first.date(),
        weight=float(len(bounds)),
    )


def many_set_aside(watched: Watched) -> Iterator[AttentionItem]:
    """Report that at least half of what was logged lately was set aside, and the commonest reason."""
    lately = [outcome for one in _lately(watched) for outcome in one.outcome if not PLANNED_ASIDE & _rules(outcome)]
    aside = [outcome for outcome in lately if outcome.standing is Standing.SET_ASIDE]
    if len(aside) < FEWEST_ASIDE or len(aside) < SHARE_ASIDE * len(lately):
        return
    reasons = Counter(rule for outcome in aside for rule in _rules(outcome))
    rule, count = commonest(reasons)
    yield AttentionItem(
        rule=MANY_SET_ASIDE,
        athlete=watched.athlete,
        direction=None,
        side=None,
        text=(
            f"{len(aside)} of {len(lately)} directions of the last {LATELY.days} days were set aside,"
            f" most often by {rule} ({number(count, 'count')})."
        ),
        evidence={
            "set_aside": len(aside),
            "logged": len(lately),
            "days": LATELY.days,
            **by_rule(reasons),
        },
        since=min(one.record.performed_at for one in _lately(watched) if _of(one, Standing.SET_ASIDE)).date(),
        weight=len(aside) / len(lately),
    )


def _lately(watched: Watched) -> list[JudgedSet]:
    return [one for one in watched.state.judged if watched.age(one.record.performed_at) <= LATELY]


def _break_end(watched: Watched) -> datetime | None:
    """Last instant, up to as_of, at which the athlete was in a break."""
    breaks = [period for period in watched.periods if period.kind is PeriodKind.BREAK]
    as_of = watched.state.as_of
    if any(period.runs_on(as_of.date()) for period in breaks):
        return as_of
    ended = [period.until for period in breaks if period.until is not None and period.until < as_of.date()]
    return datetime.combine(max(ended), time.max, UTC) if ended else None


def _last_counting(watched: Watched) -> datetime | None:
    counting = (one.record.performed_at for one in reversed(watched.state.judged) if _of(one, Standing.COUNTS))
    return next(counting, None)


def _bounds_only(watched: Watched) -> list[DirectionOutcome]:
    """Give the at_least directions of the last weeks, if they are enough and nothing counted meanwhile."""
    lately = _lately(watched)
    bounds = [outcome for one in lately for outcome in _of(one, Standing.AT_LEAST)]
    counted = any(_of(one, Standing.COUNTS) for one in lately)
    return [] if counted or len(bounds) < FEWEST_BOUNDS else bounds


def _of(judged: JudgedSet, standing: Standing) -> list[DirectionOutcome]:
    return [outcome for outcome in judged.outcome if outcome.standing is standing]


def _rules(outcome: DirectionOutcome) -> set[str]:
    return {remark.rule for remark in outcome.reasons}
