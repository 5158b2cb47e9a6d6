"""Properties of judging: one way of reaching a standing, and nothing in it but what a rule may see."""

import dataclasses
import subprocess
import sys
import typing
from dataclasses import replace
from types import UnionType

from hypothesis import given, settings
from hypothesis import strategies as st

from stillset_core.history import judge_among, judge_history
from stillset_core.judging.context import SetContext
from stillset_core.session import set_order

AT_MOST = settings(max_examples=150, deadline=None)


@AT_MOST
@given(data=st.data())
def test_a_set_judged_among_the_others_stands_as_in_the_whole_history(histories, data):
    records, positions, protocol = data.draw(histories(20))
    ordered = sorted(records, key=set_order)
    judged = judge_history(records, positions, protocol)
    for place, one in enumerate(judged):
        others = ordered[:place] + ordered[place + 1 :]
        assert judge_among(one.record, others, positions, protocol) == one.outcome


@AT_MOST
@given(data=st.data())
def test_the_order_of_arrival_of_sets_and_positions_changes_nothing(histories, data):
    records, positions, protocol = data.draw(histories())
    shuffled = data.draw(st.permutations(records))
    assert judge_history(shuffled, positions[::-1], protocol) == judge_history(records, positions, protocol)


@AT_MOST
@given(data=st.data())
def test_later_sets_change_no_earlier_standing(histories, data):
    records, positions, protocol = data.draw(histories())
    judged = judge_history(records, positions, protocol)
    for one in judged:
        until = [other for other in records if other.performed_at <= one.record.performed_at]
        known_then = judge_history(until, positions, protocol)
        assert known_then == judged[: len(known_then)]


def with_forces(record, factor):
    """Change every force of a set."""

    def scaled(force):
        if force is None:
            return None
        return replace(force, peak=force.peak * factor, mean=None if force.mean is None else force.mean * factor)

    return replace(
        record, reps=tuple(replace(rep, left=scaled(rep.left), right=scaled(rep.right)) for rep in record.reps)
    )


@AT_MOST
@given(data=st.data(), factor=st.floats(0.05, 3.0))
def test_the_forces_of_other_sets_are_no_matter_of_a_standing(histories, data, factor):
    records, positions, protocol = data.draw(histories())
    before = judge_history(records, positions, protocol)
    for kept in records:
        changed = [record if record is kept else with_forces(record, factor) for record in records]
        after = judge_history(changed, positions, protocol)
        place = [one.record for one in after].index(kept)
        assert after[place].outcome == before[place].outcome


@AT_MOST
@given(data=st.data(), factor=st.floats(0.05, 3.0))
def test_how_high_a_possible_force_is_changes_no_standing(histories, data, factor):
    records, positions, protocol = data.draw(histories())
    before = judge_history(records, positions, protocol)
    after = judge_history([with_forces(record, factor) for record in records], positions, protocol)
    assert [one.outcome for one in map(without_values, after)] == [one.outcome for one in map(without_values, before)]


def without_values(judged):
    """Keep of each direction the standing and the codes: a ratio of forces may differ in its last digit."""
    kept = tuple(
        (outcome.direction, outcome.standing, outcome.reasons, tuple(caution.rule for caution in outcome.cautions))
        for outcome in judged.outcome
    )
    return replace(judged, outcome=kept)


# What a rule may see


def types_within(kind, seen):
    """Collect every class that a value of this type can hold."""
    if kind in seen:
        return seen
    arguments = typing.get_args(kind)
    if arguments:
        for argument in arguments:
            types_within(argument, seen)
    elif isinstance(kind, type) and not isinstance(kind, UnionType):
        seen.add(kind)
        fields = typing.get_type_hints(kind) if dataclasses.is_dataclass(kind) else {}
        for field in fields.values():
            types_within(field, seen)
    return seen


def test_no_history_of_force_has_a_place_in_what_a_rule_sees():
    classes = types_within(SetContext, set())
    ours = {one.__name__ for one in classes if one.__module__.startswith("stillset_core")}
    assert {"SetRecord", "StandardPosition", "Protocol", "SetUp"} <= ours
    assert {one.__module__ for one in classes if one.__module__.startswith("stillset_core")} <= {
        "stillset_core.judging.context",
        "stillset_core.protocol",
        "stillset_core.records",
    }
    # One set's forces, and no sequence of sets: the record is the only thing that holds forces.
    holders = {
        one.__name__
        for one in classes
        if dataclasses.is_dataclass(one) and "SideForce" in str(typing.get_type_hints(one))
    }
    assert holders == {"Rep"}
    assert "SetRecord" not in str(
        {name: kind for name, kind in typing.get_type_hints(SetContext).items() if name != "record"}
    )


JUDGE_WITHOUT = """
import sys
BLOCKED = {"stillset_core.trend", "stillset_core.balance", "stillset_core.load", "stillset_core.attention"}
class Blocker:
    def find_spec(self, name, path=None, target=None):
        if BLOCKED.intersection({name, ".".join(name.split(".")[:2])}):
            raise ImportError(name)
if sys.argv[1] == "blocked":
    sys.meta_path.insert(0, Blocker())
    try:
        import stillset_core.trend
    except ImportError:
        pass
    else:
        raise SystemExit("the trend was not blocked")
from datetime import date, datetime, timedelta
from stillset_core.history import judge_history
from stillset_core.judging.answer import standings_answer
from stillset_core.protocol import Protocol
from stillset_core.records import *
position = Position("supine-bent-knee", 60.0, bar_height=34.0)
standard = StandardPosition(position, InstrumentKind.FIXED_FRAME, date(2026, 1, 1))
start = datetime.fromisoformat("2026-09-01T10:00:00+02:00")
records = [
    SetRecord(f"set-{day}", "MB-07", start + timedelta(days=day), position, Instrument(InstrumentKind.FIXED_FRAME),
              Quantity.FORCE, (Rep(Direction.SQUEEZE, 2.0 + day, SideForce(300.0 - 10 * day), SideForce(290.0),
              intended_percent=None if day == 3 else 100.0),))
    for day in range(10)
]
for one in judge_history(records, (standard,), Protocol()):
    print(standings_answer(one.outcome, one.record.quantity))
"""


def test_standings_are_the_same_without_any_trend_in_reach():
    shown = {
        how: subprocess.run(
            [sys.executable, "-c", JUDGE_WITHOUT, how], capture_output=True, text=True, check=True, timeout=120
        ).stdout
        for how in ("blocked", "whole")
    }
    assert shown["blocked"] == shown["whole"]
    assert {"counts", "at_least", "set_aside"} <= set(shown["whole"].replace("'", " ").split())
