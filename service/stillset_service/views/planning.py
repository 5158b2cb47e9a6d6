"""Coverage and plans: what the present rhythm of sets would show, and what another would."""

from dataclasses import replace

from stillset_core.coverage import Coverage
from stillset_core.pipeline import AthleteState
from stillset_core.planning import Habit, Outlook, Question, detection_probability, outlook_of
from stillset_core.protocol import Protocol
from stillset_service.views.spelling import Json

__all__ = ["coverage_outlook_json", "plan_json", "present_noise_scale"]


def present_noise_scale(state: AthleteState) -> float:
    """Give the athlete's noise scale in the series used latest; 1 without one."""
    return state.trends[0].noise_scale if state.trends else 1.0


def coverage_outlook_json(coverage: Coverage, state: AthleteState, protocol: Protocol) -> Json:
    """Give what the counting sets of the last 28 days would show if they go on, and one more a week.

    Two readings, one of each direction, are one set.
    """
    scale = next((trend.noise_scale for trend in state.trends if trend.key == coverage.series), 1.0)
    present = Habit(coverage.readings_per_week / 2, noise_scale=scale)
    now = outlook_of(present, Question(), protocol) if present.sets_per_week > 0 else None
    more = None if coverage.series is None else outlook_of(_one_more(present), Question(), protocol)
    return {"counting_sets_per_week": present.sets_per_week, **_outlook(now), "one_more_set": _outlook(more)}


def plan_json(habit: Habit, question: Question, protocol: Protocol, decline_percent: float | None) -> Json:
    """Give what a habit would show, and one more set a week."""
    asked = None if decline_percent is None else detection_probability(habit, question, protocol, decline_percent)
    return {
        "sets_per_week": habit.sets_per_week,
        "maximal_share": habit.maximal_share,
        "counting_sets_per_week": habit.counting_per_week,
        "noise_scale": habit.noise_scale,
        "weeks": question.weeks,
        "power": question.power,
        "false_calls_per_season": protocol.false_calls_per_season,
        **_outlook(outlook_of(habit, question, protocol)),
        "decline_percent": decline_percent,
        "detection_probability": asked,
        "one_more_set": _outlook(outlook_of(_one_more(habit), question, protocol)),
    }


def _one_more(habit: Habit) -> Habit:
    return replace(habit, sets_per_week=habit.sets_per_week + 1)


def _outlook(outlook: Outlook | None) -> Json:
    return {
        "detectable_percent": None if outlook is None else outlook.detectable_percent,
        "interval_half_width_percent": None if outlook is None else outlook.interval_half_width_percent,
    }
