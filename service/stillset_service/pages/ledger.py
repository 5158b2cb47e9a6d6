"""The ledger of an athlete's sets: newest first, with every reason and caution in words."""

from collections.abc import Sequence
from dataclasses import dataclass

from stillset_core.judging.outcome import Bound, Counted, DirectionOutcome, Outcome, Standing
from stillset_core.numbers import MISSING, number
from stillset_core.records import Position, Rep, SetRecord, SideForce
from stillset_service.books import SetStatus
from stillset_service.pages import addresses
from stillset_service.pages.wording import code_words, day_words, joined, plain_number, standing_words
from stillset_service.views.sets import SetSeen

__all__ = ["PAGE_LENGTH", "LedgerEntry", "LedgerPage", "ledger_page", "position_words"]

PAGE_LENGTH = 40
"""Sets on one page of the ledger (a choice, no source)."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """One direction of a set: its standing, what was read, and why."""

    direction: str
    standing: str
    words: str
    read: str
    reasons: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LedgerEntry:
    """One set in words; ``cautions`` are those of every direction."""

    part: str
    day: str
    time: str
    status: str
    verdicts: tuple[Verdict, ...]
    cautions: tuple[str, ...]
    setup: str
    instrument: str
    pain: str
    note: str
    reps_words: str
    reps: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class LedgerPage:
    """One page of the ledger and how it lies among the others."""

    entries: tuple[LedgerEntry, ...]
    count: int
    number: int
    pages: int


def ledger_page(seen: Sequence[SetSeen], standing: Standing | None, number_of_page: int, part: str = "") -> LedgerPage:
    """Give one page of the sets of a standing, newest first; a page beyond the last is the last.

    ``part`` names an entry that the page has to show, whatever its number.
    """
    chosen = sorted(
        (one for one in seen if one.has(standing)), key=lambda one: (one.at, one.stored.client_ref), reverse=True
    )
    pages = max(1, -(-len(chosen) // PAGE_LENGTH))
    if part:
        parts = [addresses.set_part(one.stored.client_ref) for one in chosen]
        number_of_page = parts.index(part) // PAGE_LENGTH + 1 if part in parts else 1
    at = min(max(number_of_page, 1), pages)
    entries = tuple(_entry(one) for one in chosen[(at - 1) * PAGE_LENGTH : at * PAGE_LENGTH])
    return LedgerPage(entries, len(chosen), at, pages)


def _entry(seen: SetSeen) -> LedgerEntry:
    record = seen.stored.record
    status = "" if seen.stored.status is SetStatus.ACTIVE else seen.stored.status.value
    shared = _shared_cautions(seen.outcome)
    return LedgerEntry(
        part=addresses.set_part(record.client_ref),
        day=day_words(record.performed_at),
        time=f"{record.performed_at:%H:%M}",
        status=status,
        verdicts=tuple(_verdict(record, outcome, shared) for outcome in seen.outcome),
        cautions=shared,
        setup=position_words(record.position),
        instrument=joined((code_words(record.instrument.kind.value), record.instrument.serial or "")),
        pain=_pain(record),
        note=record.note or "",
        reps_words=f"{len(record.reps)} reps, held {number(seen.load.hold_s, 's')}"
        + ("" if seen.load.impulse_n_s is None else f", {number(seen.load.impulse_n_s, 'N.s')}"),
        reps=tuple(_rep(rep, record) for rep in record.reps),
    )


def _shared_cautions(outcomes: Outcome) -> tuple[str, ...]:
    """Give the cautions that every direction of a set has, in the order of the first."""
    if not outcomes:
        return ()
    others = [{caution.text for caution in outcome.cautions} for outcome in outcomes]
    return tuple(caution.text for caution in outcomes[0].cautions if all(caution.text in texts for texts in others))


def _verdict(record: SetRecord, outcome: DirectionOutcome, shared: tuple[str, ...]) -> Verdict:
    return Verdict(
        direction=outcome.direction.value,
        standing=outcome.standing.value,
        words=standing_words(outcome.standing),
        read=_read(record, outcome),
        reasons=tuple(reason.text for reason in outcome.reasons),
        cautions=tuple(caution.text for caution in outcome.cautions if caution.text not in shared),
    )


def _read(record: SetRecord, outcome: DirectionOutcome) -> str:
    """Say what the direction is worth: the values behind the trend, or the bounds."""
    unit = record.quantity.value
    if isinstance(outcome.reading, Counted):
        values = (outcome.reading.adjusted_left, outcome.reading.adjusted_right)
    elif isinstance(outcome.reading, Bound):
        values = (outcome.reading.left, outcome.reading.right)
    else:
        return ""
    sides = [f"{side} {number(value, unit)}" for side, value in zip("LR", values, strict=True) if value is not None]
    return joined(sides)


def _pain(record: SetRecord) -> str:
    pain = record.pain
    if pain is None:
        return ""
    stated = number(pain.score, "score") if pain.score is not None else ("yes, no score" if pain.present else "no")
    when = "" if pain.when.value == "during" else f" ({code_words(pain.when.value)})"
    return f"pain {stated}{when}" + (f", {pain.site}" if pain.site else "")


def position_words(position: Position) -> str:
    """Write what is stated about a position."""
    return joined(
        (
            code_words(position.name),
            "" if position.knee_angle_deg is None else f"knee {plain_number(position.knee_angle_deg)}°",
            "" if position.bar_height is None else f"bar {plain_number(position.bar_height)}",
            "" if position.foot_mark is None else f"foot mark {position.foot_mark}",
        )
    )


def _rep(rep: Rep, record: SetRecord) -> tuple[str, ...]:
    unit = record.quantity.value
    planned = MISSING if rep.intended_percent is None else f"{plain_number(rep.intended_percent)} %"
    start = MISSING if rep.started_s is None else number(rep.started_s, "s")
    return (
        rep.direction.value,
        start,
        number(rep.hold_s, "s"),
        planned,
        _force(rep.left, unit),
        _force(rep.right, unit),
    )


def _force(force: SideForce | None, unit: str) -> str:
    if force is None:
        return MISSING
    return number(force.peak, unit) + ("" if force.mean is None else f" (mean {number(force.mean, unit)})")
