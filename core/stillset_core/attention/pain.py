"""Pain: at the club's caution and stop marks, and together with strength that falls.

The tool reports what was stated and says whom to ask. The bands that the default stop mark follows
(Thorborg et al. 2017, Br J Sports Med 51:594-599) were made with straight legs and a long lever.
"""

import math
from collections.abc import Iterator, Sequence
from datetime import timedelta

from stillset_core.attention.decline import falling_sides
from stillset_core.attention.item import AttentionItem, Evidence, Watched
from stillset_core.numbers import day, number
from stillset_core.pain import PainEntry
from stillset_core.rfc3339 import spelled

__all__ = [
    "PAIN_AT_CAUTION",
    "PAIN_AT_STOP",
    "PAIN_RISING",
    "PAIN_WITH_FALLING",
    "pain_at_caution",
    "pain_at_stop",
    "pain_rising",
    "pain_with_falling",
]

PAIN_AT_CAUTION = "pain-at-caution"
PAIN_AT_STOP = "pain-at-stop"
PAIN_RISING = "pain-rising"
PAIN_WITH_FALLING = "pain-with-falling-strength"

RECENT = timedelta(days=14)
"""Older statements say nothing about today."""
STOP_STANDS = timedelta(days=7)
"""A score at the stop mark stands this long, even if a later one is lower."""
BEFORE = timedelta(days=56)
"""How far back the scores before the recent ones are averaged."""
SMALLEST_RISE = 1.0
"""Points by which the mean score must have risen to be called up: common practice, no source."""
FEWEST_SCORES = 3
"""Scores on either side of a rise over weeks."""
REFER = "stop and refer to a qualified clinician"


def pain_at_stop(watched: Watched) -> Iterator[AttentionItem]:
    """Report pain at or above the stop mark: latest statement of the last 14 days, or any of the last 7."""
    entry = _at_stop(watched)
    if entry is None:
        return
    mark = watched.protocol.pain_stop_score
    yield AttentionItem(
        rule=PAIN_AT_STOP,
        athlete=watched.athlete,
        direction=None,
        side=None,
        text=f"{_stated(entry)}, at or above the club's stop mark of {number(mark, 'score')}: {REFER}.",
        evidence=_evidence(watched, entry) | {"mark": mark},
        since=_run_start(watched.state.pain, entry, mark).performed_at.date(),
        weight=entry.score or 0.0,
    )


def pain_at_caution(watched: Watched) -> Iterator[AttentionItem]:
    """Report pain at or above the caution mark, or present without a score, in the latest statement.

    Silent where a stronger item says it: at the stop mark, together with falling strength, or rising over weeks.
    """
    entry = _at_caution(watched)
    if entry is None or _at_stop(watched) is not None or falling_sides(watched) or _rose(watched):
        return
    mark = watched.protocol.pain_caution_score
    yield AttentionItem(
        rule=PAIN_AT_CAUTION,
        athlete=watched.athlete,
        direction=None,
        side=None,
        text=f"{_stated(entry)}{_rise(watched)}; force may be limited by it.",
        evidence=_evidence(watched, entry) | {"mark": mark},
        since=_run_start(watched.state.pain, entry, mark).performed_at.date(),
        weight=entry.score or 0.0,
    )


def pain_rising(watched: Watched) -> Iterator[AttentionItem]:
    """Report that the mean score of the last two weeks is at least a point above that of the six weeks before.

    At least three scores lie on either side. Silent where a stronger item says it: at the stop mark, or together
    with falling strength.
    """
    recent, before = _means(watched)
    if recent is None or before is None or not _rose(watched) or _at_stop(watched) is not None:
        return
    latest = watched.state.pain[-1]
    if falling_sides(watched) and _at_caution(watched) is not None:
        return
    yield AttentionItem(
        rule=PAIN_RISING,
        athlete=watched.athlete,
        direction=None,
        side=None,
        text=f"{_stated(latest)}{_rise(watched)}; force may be limited by it.",
        evidence=_evidence(watched, latest),
        since=_scores(watched, timedelta(0), RECENT)[0].performed_at.date(),
        weight=recent - before,
    )


def pain_with_falling(watched: Watched) -> Iterator[AttentionItem]:
    """Report pain at or above the caution mark in an athlete whose strength falls: the strongest item."""
    falling = falling_sides(watched)
    stop = _at_stop(watched)
    entry = stop or _at_caution(watched)
    if entry is None or not falling:
        return
    mark = watched.protocol.pain_caution_score
    names = tuple(f"{side.value} {direction.value}" for direction, side in falling)
    advice = REFER if stop else "ask a qualified clinician"
    yield AttentionItem(
        rule=PAIN_WITH_FALLING,
        athlete=watched.athlete,
        direction=falling[0][0] if len({direction for direction, _ in falling}) == 1 else None,
        side=falling[0][1] if len({side for _, side in falling}) == 1 else None,
        text=f"{_stated(entry)}{_rise(watched)}, while strength falls ({', '.join(names)}): {advice}.",
        evidence=_evidence(watched, entry) | {"mark": mark, "falling": names},
        since=_run_start(watched.state.pain, entry, mark).performed_at.date(),
        weight=entry.score or 0.0,
    )


def _at_stop(watched: Watched) -> PainEntry | None:
    """Latest statement at the stop mark that stands."""
    for back, entry in enumerate(reversed(watched.state.pain)):
        stands = RECENT if back == 0 else STOP_STANDS
        if entry.reaches(watched.protocol.pain_stop_score) and watched.age(entry.performed_at) <= stands:
            return entry
    return None


def _at_caution(watched: Watched) -> PainEntry | None:
    """Latest statement, if it is recent and cautions."""
    latest = watched.state.pain[-1] if watched.state.pain else None
    if latest is None or watched.age(latest.performed_at) > RECENT:
        return None
    return latest if _cautions(latest, watched.protocol.pain_caution_score) else None


def _cautions(entry: PainEntry, mark: float) -> bool:
    return entry.present is True or entry.reaches(mark)


def _run_start(pain: Sequence[PainEntry], entry: PainEntry, mark: float) -> PainEntry:
    """First statement of the unbroken run at or above the mark that leads up to this one."""
    start = entry
    for earlier in reversed(pain[: pain.index(entry)]):
        if not _cautions(earlier, mark):
            break
        start = earlier
    return start


def _stated(entry: PainEntry) -> str:
    score = "Pain without a score" if entry.score is None else f"Pain {number(entry.score, 'score')}"
    site = f" ({entry.site})" if entry.site else ""
    when = {"during": "during the set of", "after": "after the set of", "next-day": "the day after the set of"}
    return f"{score}{site} {when[entry.when.value]} {day(entry.performed_at)}"


def _means(watched: Watched) -> tuple[float | None, float | None]:
    """Mean stated score of the recent statements, and of those in the weeks before them."""
    return _mean(_scores(watched, timedelta(0), RECENT)), _mean(_scores(watched, RECENT, BEFORE))


def _scores(watched: Watched, after: timedelta, until: timedelta) -> list[PainEntry]:
    """Statements with a score of an age beyond ``after`` (or 0) up to ``until``, oldest first."""
    ages = [(watched.age(entry.performed_at), entry) for entry in watched.state.pain if entry.score is not None]
    return [entry for age, entry in ages if (after < age or not after) and age <= until]


def _mean(entries: Sequence[PainEntry]) -> float | None:
    scores = [entry.score for entry in entries if entry.score is not None]
    return math.fsum(scores) / len(scores) if scores else None


def _rose(watched: Watched) -> bool:
    """Whether the mean score rose by a point over weeks, with enough scores on either side."""
    few = min(len(_scores(watched, timedelta(0), RECENT)), len(_scores(watched, RECENT, BEFORE)))
    return few >= FEWEST_SCORES and bool(_rise(watched))


def _rise(watched: Watched) -> str:
    """Say that pain rose, where the mean score of the last two weeks is well above that of the six before."""
    recent, before = _means(watched)
    if recent is None or before is None or recent - before < SMALLEST_RISE:
        return ""
    return (
        f", up from a mean of {number(before, 'score')} in the six weeks before"
        f" to {number(recent, 'score')} in the last two"
    )


def _evidence(watched: Watched, entry: PainEntry) -> dict[str, Evidence]:
    recent, before = _means(watched)
    return {
        "score": entry.score,
        "present": entry.present,
        "site": entry.site,
        "when": entry.when.value,
        "performed_at": spelled(entry.performed_at),
        "client_ref": entry.client_ref,
        "mean_last_2_weeks": recent,
        "mean_6_weeks_before": before,
    }
