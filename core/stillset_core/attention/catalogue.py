"""Every check in order of strength: code, sentence for the documentation, and the function.

Adding a check is one function in the file of its family and one line here.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from stillset_core.attention import balance, coverage, decline, instrument, pain, set_up
from stillset_core.attention.item import AttentionItem, Watched

__all__ = ["ATHLETE_CHECKS", "CATALOGUE", "INSTRUMENT_CHECK", "Check"]


@dataclass(frozen=True, slots=True)
class Check:
    """One check: its code, and what it reports, for the documentation."""

    code: str
    sentence: str


AthleteCheck = Callable[[Watched], Iterable[AttentionItem]]

INSTRUMENT_CHECK = Check(
    instrument.INSTRUMENT_SHIFT,
    "Athletes measured on one instrument shifted together, unlike the others: check the instrument.",
)

ATHLETE_CHECKS: tuple[tuple[Check, AthleteCheck], ...] = (
    (
        Check(pain.PAIN_WITH_FALLING, "Pain at or above pain_caution_score in an athlete whose strength falls."),
        pain.pain_with_falling,
    ),
    (
        Check(pain.PAIN_AT_STOP, "Pain at or above pain_stop_score: stop and refer to a qualified clinician."),
        pain.pain_at_stop,
    ),
    (
        Check(decline.STRENGTH_FALLING, "A side whose state is falling, or for which a decline call stands."),
        decline.strength_falling,
    ),
    (
        Check(balance.RATIO_OUTSIDE, "Squeeze ÷ spread of a side outside the athlete's usual band, beyond noise."),
        balance.ratio_outside_usual,
    ),
    (
        Check(balance.SIDE_GAP_OUTSIDE, "Side gap of a direction outside the athlete's usual band, beyond noise."),
        balance.side_gap_outside_usual,
    ),
    (
        Check(pain.PAIN_AT_CAUTION, "Pain at or above pain_caution_score, or present without a score."),
        pain.pain_at_caution,
    ),
    (
        Check(set_up.SET_UP_DRIFT, "The latest sets all lie on one side of the standard position, within tolerance."),
        set_up.set_up_drift,
    ),
    (
        Check(set_up.POSITION_OFTEN_OFF, "Several sets lately were not in the standard position."),
        set_up.position_often_off,
    ),
    (
        Check(coverage.ONLY_AT_LEAST, "Only lower bounds for four weeks: ask for one maximal set."),
        coverage.only_at_least,
    ),
    (
        Check(coverage.NO_READING_LATELY, "No reading has counted for longer than overdue_days."),
        coverage.no_reading_lately,
    ),
    (
        Check(coverage.MANY_SET_ASIDE, "At least half of what was logged lately was set aside."),
        coverage.many_set_aside,
    ),
)
"""Checks of one athlete, strongest first."""

STRONGER_THAN_THE_INSTRUMENT = 2
"""So many checks come before the one of the instruments, which explains the rest."""

CATALOGUE: tuple[Check, ...] = (
    *(check for check, _ in ATHLETE_CHECKS[:STRONGER_THAN_THE_INSTRUMENT]),
    INSTRUMENT_CHECK,
    *(check for check, _ in ATHLETE_CHECKS[STRONGER_THAN_THE_INSTRUMENT:]),
)
"""All checks, strongest first."""
