"""The thresholds of a call, by counting sets per week and by false calls per athlete and 40 weeks.

Written by ``python tests/benchmarks/calibrate_calls.py`` from simulated athletes without a decline.
"""

SETS_PER_WEEK = (0.5, 1.0, 2.0, 3.0, 4.0)
FALSE_CALLS = (1.0,)
THRESHOLDS = ((2.5,), (2.9,), (3.1,), (3.1,), (3.2,))
"""One row for each number of sets per week, one column for each number of false calls."""
