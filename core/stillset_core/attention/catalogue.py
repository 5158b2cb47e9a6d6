"""Every check in order of strength: code, sentence for the documentation, and the function.

Adding a check is one function in the file of its family and one line here.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from stillset_core.attention import balance, coverage, decline, instrument, load, pain, set_up
from stillset_core.attention.item import AttentionItem, Watched

__all__ = ["ATHLETE_CHECKS", "CATALOGUE", "INSTRUMENT_CHECK", "Check"]


@dataclass(frozen=True, slots=True)
class Check:
    """One check: its code, what it reports, and what clears an item of it, with settings of the protocol in braces."""

    code: str
    sentence: str
    clears: str


AthleteCheck = Callable[[Watched], Iterable[AttentionItem]]

INSTRUMENT_CHECK = Check(
    instrument.INSTRUMENT_SHIFT,
    "Athletes measured on one instrument shifted together, unlike the others: check the instrument.",
    "The instrument is checked and set right, and four weeks of its readings no longer differ from the others.",
)

ATHLETE_CHECKS: tuple[tuple[Check, AthleteCheck], ...] = (
    (
        Check(
            pain.PAIN_WITH_FALLING,
            "Pain at or above pain_caution_score in an athlete whose strength falls.",
            "Pain stated below {pain_caution_score}, or strength that is no longer falling.",
        ),
        pain.pain_with_falling,
    ),
    (
        Check(
            pain.PAIN_AT_STOP,
            "Pain at or above pain_stop_score: stop and refer to a qualified clinician.",
            "A lower score stated and 7 days without one at or above {pain_stop_score}, or 14 days without any.",
        ),
        pain.pain_at_stop,
    ),
    (
        Check(
            decline.STRENGTH_FALLING,
            "A side whose state is falling, or for which a decline call stands.",
            "A fall beyond {smallest_change_percent} % less than 90 % sure, and no call that stands.",
        ),
        decline.strength_falling,
    ),
    (
        Check(
            balance.RATIO_OUTSIDE,
            "Squeeze ÷ spread of a side outside the athlete's usual band, beyond noise.",
            "Readings that bring the ratio back into the usual band, or a band that has moved with it.",
        ),
        balance.ratio_outside_usual,
    ),
    (
        Check(
            balance.SIDE_GAP_OUTSIDE,
            "Side gap of a direction outside the athlete's usual band, beyond noise.",
            "Readings that bring the gap back into the usual band, or a band that has moved with it.",
        ),
        balance.side_gap_outside_usual,
    ),
    (
        Check(
            balance.SIDE_GAP_WIDENING,
            "The stronger side's lead grew over eight weeks by the smallest change and beyond noise.",
            "Readings that bring the lead back to within {smallest_change_percent} % of that of eight weeks ago.",
        ),
        balance.side_gap_widening,
    ),
    (
        Check(
            pain.PAIN_RISING,
            "The mean pain score of two weeks is at least 1 above that of the six weeks before.",
            "A mean score of two weeks less than 1 above that of the six weeks before.",
        ),
        pain.pain_rising,
    ),
    (
        Check(
            pain.PAIN_AT_CAUTION,
            "Pain at or above pain_caution_score, or present without a score.",
            "A later statement below {pain_caution_score}, or 14 days without any.",
        ),
        pain.pain_at_caution,
    ),
    (
        Check(
            set_up.SET_UP_DRIFT,
            "The latest sets all lie on one side of the standard position, within tolerance.",
            "A set at the standard position, or the position measured again; 14 days without a set.",
        ),
        set_up.set_up_drift,
    ),
    (
        Check(
            set_up.POSITION_OFTEN_OFF,
            "Several sets lately were not in the standard position.",
            "Fewer than 3 sets out of position within 14 days.",
        ),
        set_up.position_often_off,
    ),
    (
        Check(
            load.LOAD_JUMP,
            "The last whole week held at least twice the mean of the athlete's four weeks before, and a minute more.",
            "The next whole week, unless it is again twice the mean of the four before it.",
        ),
        load.load_jump,
    ),
    (
        Check(
            coverage.ONLY_AT_LEAST,
            "Only lower bounds for four weeks: ask for one maximal set.",
            "One set planned at {min_intended_percent} % or more that counts.",
        ),
        coverage.only_at_least,
    ),
    (
        Check(
            coverage.NO_READING_LATELY,
            "No reading has counted for longer than overdue_days.",
            "One set that counts, or a break on file.",
        ),
        coverage.no_reading_lately,
    ),
    (
        Check(
            coverage.MANY_SET_ASIDE,
            "At least half of what was logged lately was set aside.",
            "Less than half of what is logged in 28 days set aside.",
        ),
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
