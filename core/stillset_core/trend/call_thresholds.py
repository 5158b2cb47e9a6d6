"""The thresholds of a call, by counting sets per week and by false calls per athlete and 40 weeks.

Written by ``python tests/benchmarks/calibrate_calls.py`` from 3000 simulated seasons without a decline
for each number of sets per week.
"""

SETS_PER_WEEK = (0.5, 1.0, 2.0, 3.0, 4.0)
FALSE_CALLS = (0.1, 0.25, 0.5, 1.0, 2.0)
THRESHOLDS = (
    (3.57, 3.13, 2.82, 2.5, 2.14),
    (3.95, 3.43, 3.04, 2.65, 2.26),
    (4.29, 3.67, 3.21, 2.76, 2.33),
    (4.29, 3.75, 3.26, 2.79, 2.35),
    (4.62, 3.91, 3.37, 2.89, 2.39),
)
"""One row for each number of sets per week, one column for each number of false calls."""
