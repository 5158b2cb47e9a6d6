"""Every rule and caution in order: code, standing, one sentence, and the function that judges.

Read by the judge, the API and the documentation. Adding a rule is one function in the file of its
family and one line here.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

from stillset_core.judging import (
    cautions,
    effort,
    freshness,
    hold,
    instrument,
    plausibility,
    position,
    purpose,
    trace_quality,
)
from stillset_core.judging.context import SetContext
from stillset_core.judging.outcome import Remark, Standing
from stillset_core.records import Rep

__all__ = ["CAUTIONS", "DIRECTION_CAUTIONS", "REP_RULES", "RULES", "SET_CAUTIONS", "SET_RULES", "Entry"]

SetCheck = Callable[[SetContext], Remark | None]
RepCheck = Callable[[SetContext, Rep], Remark | None]
DirectionCheck = Callable[[SetContext, Sequence[Rep], Sequence[Rep]], Remark | None]
"""Takes the reps of a direction, and those of them that count."""

Check = TypeVar("Check")


@dataclass(frozen=True, slots=True)
class Entry(Generic[Check]):
    """One rule or caution.

    Attributes
    ----------
    code : str
        The rule's code in the API.
    standing : Standing or None
        The standing that it leads to; None for a caution, which changes no standing.
    sentence : str
        What it asks for, for the documentation.
    check : callable
        Gives a remark where it fires, else None.
    """

    code: str
    standing: Standing | None
    sentence: str
    check: Check


_ASIDE, _AT_LEAST = Standing.SET_ASIDE, Standing.AT_LEAST

SET_RULES: tuple[Entry[SetCheck], ...] = (
    Entry(
        "no-standard-position",
        _ASIDE,
        "The athlete has a standard position that was valid when the set was done.",
        position.no_standard_position,
    ),
    Entry(
        "other-position",
        _ASIDE,
        "The position's name, and the foot mark if both state one, are the standard's.",
        position.other_position,
    ),
    Entry(
        "knee-angle-off",
        _ASIDE,
        "The knee angle, if both state one, lies within knee_angle_tolerance_deg of the standard's.",
        position.knee_angle_off,
    ),
    Entry(
        "bar-height-off",
        _ASIDE,
        "The bar height, if both state one, lies within bar_height_tolerance of the standard's.",
        position.bar_height_off,
    ),
    Entry(
        "position-unverified",
        _ASIDE,
        "A knee angle or a bar height is stated by both the set and the standard position.",
        position.position_unverified,
    ),
    Entry(
        "other-instrument",
        _ASIDE,
        "The instrument is of the kind that the standard position was recorded for.",
        instrument.other_instrument,
    ),
    Entry("warm-up", _ASIDE, "The set's purpose is not warm-up.", purpose.warm_up),
    Entry(
        "not-fresh",
        _ASIDE,
        "Earlier sets of the session held at most max_prior_hard_s seconds at 80 % planned effort or more.",
        freshness.not_fresh,
    ),
    Entry("no-rep-found", _ASIDE, "The trace holds at least one rep.", trace_quality.no_rep_found),
)
"""Rules that judge a set as a whole."""

REP_RULES: tuple[Entry[RepCheck], ...] = (
    Entry(
        "planned-below-maximal",
        _AT_LEAST,
        "The rep was planned at min_intended_percent of maximal or above.",
        effort.planned_below_maximal,
    ),
    Entry("effort-unknown", _AT_LEAST, "The planned effort of the rep is stated.", effort.effort_unknown),
    Entry("hold-too-short", _ASIDE, "The rep was held for at least min_hold_s.", hold.hold_too_short),
    Entry("hold-too-long", _ASIDE, "The rep was held for at most max_hold_s.", hold.hold_too_long),
    Entry(
        "rest-too-short",
        _ASIDE,
        "At least min_rest_s lie between a maximal rep and the maximal rep of its direction before it.",
        freshness.rest_too_short,
    ),
    Entry("trace-clipped", _ASIDE, "The trace does not stay at its extreme.", trace_quality.trace_clipped),
    Entry("trace-gap", _ASIDE, "At most 0.2 s of the trace are missing within the rep.", trace_quality.trace_gap),
    Entry(
        "out-of-range",
        _ASIDE,
        "The peak of a side is at most 5,000 N, 1,500 N·m or 200,000 Pa.",
        plausibility.out_of_range,
    ),
    Entry("no-mean", _ASIDE, "The rep has a mean where the protocol's value is the mean.", plausibility.no_mean),
)
"""Rules that judge each rep."""

SET_CAUTIONS: tuple[Entry[SetCheck], ...] = (
    Entry(
        "pain-during-set",
        None,
        "Pain during the set, from pain_caution_score on or without a score.",
        cautions.pain_during_set,
    ),
    Entry(
        "instrument-check-overdue",
        None,
        "The instrument was last checked more than instrument_check_days before.",
        cautions.instrument_check_overdue,
    ),
    Entry("not-zeroed", None, "The instrument was stated not to be zeroed.", cautions.not_zeroed),
    Entry(
        "set-up-drift",
        None,
        "The last five stated bar heights, or without them knee angles, of the series lie on one side of the"
        " standard by more than half the tolerance.",
        cautions.set_up_drift,
    ),
    Entry(
        "trace-offset",
        None,
        "The trace rests beyond ±10 N, ±3 N·m or ±400 Pa; the offset was subtracted.",
        cautions.trace_offset,
    ),
)
"""Cautions about a set as a whole."""

DIRECTION_CAUTIONS: tuple[Entry[DirectionCheck], ...] = (
    Entry("one-side-only", None, "The reps of the direction measured one side.", cautions.one_side_only),
    Entry("unsteady-hold", None, "The mean of a counting rep is below 0.70 of its peak.", cautions.unsteady_hold),
)
"""Cautions about one direction of a set."""

RULES: tuple[Entry[SetCheck] | Entry[RepCheck], ...] = (*SET_RULES, *REP_RULES)
"""All rules, in the order in which reasons are listed."""
CAUTIONS: tuple[Entry[SetCheck] | Entry[DirectionCheck], ...] = (*SET_CAUTIONS, *DIRECTION_CAUTIONS)
"""All cautions, in the order in which they are listed."""
