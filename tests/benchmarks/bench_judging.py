"""Measure judging: ``python tests/benchmarks/bench_judging.py``.

Prints microseconds for one set of six maximal holds with nothing wrong: judged by itself, judged among
a season of others with and without stated bar heights, and as part of a whole history.
"""

import sys
import timeit
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from stillset_core.history import judge_among, judge_history
from stillset_core.judging.context import SetContext
from stillset_core.judging.judge import judge
from stillset_core.protocol import Protocol
from stillset_core.records import (
    Direction,
    Instrument,
    InstrumentKind,
    Position,
    Quantity,
    Rep,
    SetRecord,
    SideForce,
    StandardPosition,
)

SETS = 500
POSITION = Position("supine-bent-knee", knee_angle_deg=60.0, bar_height=34.0)
STANDARD = StandardPosition(POSITION, InstrumentKind.FIXED_FRAME, date(2026, 1, 1))
PROTOCOL = Protocol()
REPS = tuple(
    Rep(direction, 5.0, SideForce(312.0, 287.0), SideForce(298.0, 271.0), pair * 60.0 + place * 10.0, 100.0)
    for pair in range(3)
    for place, direction in enumerate(Direction)
)
SEASON = tuple(
    SetRecord(
        client_ref=f"set-{day:03d}",
        athlete="MB-07",
        performed_at=datetime(2026, 2, 1, 17, tzinfo=UTC) + timedelta(days=day),
        position=POSITION,
        instrument=Instrument(InstrumentKind.FIXED_FRAME),
        quantity=Quantity.FORCE,
        reps=REPS,
    )
    for day in range(SETS)
)
WITHOUT_HEIGHTS = tuple(replace(record, position=replace(POSITION, bar_height=None)) for record in SEASON)


def microseconds(what: Callable[[], object], times: int) -> float:
    """Best of seven runs."""
    return min(timeit.repeat(what, number=times, repeat=7)) / times * 1e6


def main() -> None:
    """Print the table."""
    last, last_without = SEASON[-1], WITHOUT_HEIGHTS[-1]
    context = SetContext(last, STANDARD, PROTOCOL)
    rows = {
        "by itself": microseconds(lambda: judge(context), 2000),
        f"among {SETS}": microseconds(lambda: judge_among(last, SEASON[:-1], (STANDARD,), PROTOCOL), 1000),
        f"among {SETS} without bar heights": microseconds(
            lambda: judge_among(last_without, WITHOUT_HEIGHTS[:-1], (STANDARD,), PROTOCOL), 500
        ),
        f"as one of {SETS} in a history": microseconds(lambda: judge_history(SEASON, (STANDARD,), PROTOCOL), 3) / SETS,
    }
    for name, value in rows.items():
        sys.stdout.write(f"{name:36s}{value:8.1f} us\n")


if __name__ == "__main__":
    main()
