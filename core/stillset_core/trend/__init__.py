"""The trend engine: readings of one series to levels, changes, states and calls of a decline."""

from stillset_core.trend.between import Between, between
from stillset_core.trend.calling import DeclineCall
from stillset_core.trend.change import State
from stillset_core.trend.history import trend_of, warm_up
from stillset_core.trend.level import Level, level_of
from stillset_core.trend.result import DirectionTrend, FilteredHistory, SeriesTrend, SideTrend, SmoothedHistory

__all__ = [
    "Between",
    "DeclineCall",
    "DirectionTrend",
    "FilteredHistory",
    "Level",
    "SeriesTrend",
    "SideTrend",
    "SmoothedHistory",
    "State",
    "between",
    "level_of",
    "trend_of",
    "warm_up",
]
