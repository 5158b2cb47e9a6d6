"""Properties of everything derived: order, batching, repetition, cutting and units change nothing."""

import dataclasses
import json
import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stillset_core.document import parse_set
from stillset_core.history import judge_history
from stillset_core.intake import to_record
from stillset_core.pipeline import AthleteHistory, derive, derive_from_judged
from stillset_core.protocol import Protocol, parse_protocol
from stillset_core.records import Side

AT_MOST = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
AS_OF = datetime(2026, 10, 1, tzinfo=UTC)


def plain(value):
    """Turn a derived value into nested plain values, so that arrays compare too."""
    if dataclasses.is_dataclass(value):
        return {field.name: plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, tuple | list):
        return [plain(one) for one in value]
    return value


def derived(records, positions, protocol, as_of=AS_OF):
    return plain(derive(AthleteHistory(tuple(records), positions, protocol, Side.LEFT), as_of))


@AT_MOST
@given(data=st.data())
def test_the_order_in_which_sets_arrive_changes_nothing(histories, data):
    records, positions, protocol = data.draw(histories())
    shuffled = data.draw(st.permutations(records))
    assert derived(shuffled, positions[::-1], protocol) == derived(records, positions, protocol)


@AT_MOST
@given(data=st.data())
def test_batching_and_repetition_change_nothing(histories, data):
    """Sets are known by client_ref: however they are parted and repeated, the same sets are on file at the end."""
    records, positions, protocol = data.draw(histories())
    sent = data.draw(
        st.permutations(records + data.draw(st.lists(st.sampled_from(records)) if records else st.just([])))
    )
    on_file = {}
    while sent:
        size = data.draw(st.integers(1, len(sent)))
        on_file.update({record.client_ref: record for record in sent[:size]})
        sent = sent[size:]
        state = derived(on_file.values(), positions, protocol)
    if records:
        assert state == derived(records, positions, protocol)


@AT_MOST
@given(data=st.data(), minutes=st.integers(0, 30_000))
def test_the_past_is_the_history_cut_there_whether_judged_before_or_after_the_cut(histories, data, minutes):
    records, positions, protocol = data.draw(histories())
    as_of = datetime(2026, 9, 1, 6, 0, tzinfo=UTC) + timedelta(minutes=minutes)
    known_then = [record for record in records if record.performed_at <= as_of]
    expected = derived(known_then, positions, protocol, as_of)
    assert derived(records, positions, protocol, as_of) == expected
    judged = judge_history(records, positions, protocol)
    assert plain(derive_from_judged(judged, protocol, Side.LEFT, as_of)) == expected


def scaled(record, factor):
    def force(side):
        if side is None:
            return None
        return replace(side, peak=side.peak * factor, mean=None if side.mean is None else side.mean * factor)

    return replace(
        record, reps=tuple(replace(rep, left=force(rep.left), right=force(rep.right)) for rep in record.reps)
    )


@AT_MOST
@given(data=st.data(), factor=st.floats(0.1, 10))
def test_scaling_every_force_scales_every_level_and_changes_no_state(histories, data, factor):
    records, positions, protocol = data.draw(histories())
    moved = parse_protocol({**protocol.settings(), "trend": {"prior_mean_log": math.log(300) + math.log(factor)}})
    before = derive(AthleteHistory(tuple(records), positions, protocol), AS_OF)
    after = derive(AthleteHistory(tuple(scaled(record, factor) for record in records), positions, moved), AS_OF)
    assert len(after.trends) == len(before.trends)
    for one, other in zip(before.trends, after.trends, strict=True):
        np.testing.assert_allclose(other.mean, one.mean + math.log(factor), atol=1e-7)
        np.testing.assert_allclose(other.covariance, one.covariance, atol=1e-7)
        for direction in ("squeeze", "spread"):
            for side in ("left", "right"):
                first, second = getattr(getattr(one, direction), side), getattr(getattr(other, direction), side)
                assert first.state is second.state
                assert (first.level is None) is (second.level is None)
                if first.level is not None:
                    assert second.level == pytest.approx(first.level * factor, rel=1e-6)


# Units

PER_NEWTON = {"N": 1.0, "kN": 1e-3, "kgf": 1 / 9.80665, "[lbf_av]": 1 / 4.4482216152605, "lbf": 1 / 4.4482216152605}


def a_document(day, peak, unit):
    factor = PER_NEWTON[unit]
    return json.dumps(
        {
            "client_ref": f"set-{day}",
            "athlete": "MB-07",
            "performed_at": (datetime(2026, 9, 1, 10, tzinfo=UTC) + timedelta(days=day)).isoformat(),
            "position": {"name": "supine-bent-knee", "knee_angle_deg": 60, "bar_height": 34},
            "instrument": {"kind": "fixed-frame"},
            "unit": unit,
            "intended_percent": 100,
            "reps": [
                {
                    "direction": direction,
                    "hold_s": 5,
                    "left": {"peak": peak * factor, "mean": 0.9 * peak * factor},
                    "right": {"peak": 0.95 * peak * factor},
                }
                for direction in ("squeeze", "spread")
            ],
        }
    )


@AT_MOST
@given(
    peaks=st.lists(st.floats(150, 450), min_size=1, max_size=8),
    units=st.lists(st.sampled_from(sorted(PER_NEWTON)), min_size=8, max_size=8),
)
def test_the_unit_that_a_set_was_written_in_changes_nothing(a_standard, peaks, units):
    def state(in_units):
        records = tuple(
            to_record(parse_set(a_document(day, peak, unit), now=AS_OF), athlete_ref="MB-07")
            for day, (peak, unit) in enumerate(zip(peaks, in_units, strict=False))
        )
        return derive(AthleteHistory(records, (a_standard,), Protocol()), AS_OF)

    newtons, mixed = state(["N"] * 8), state(units)
    assert [[o.standing for o in one.outcome] for one in mixed.judged] == [
        [o.standing for o in one.outcome] for one in newtons.judged
    ]
    (one,), (other,) = newtons.trends, mixed.trends
    np.testing.assert_allclose(other.mean, one.mean, atol=1e-9)
    np.testing.assert_allclose(other.covariance, one.covariance, atol=1e-9)
    assert [week.impulse_n_s for week in mixed.load_weeks] == pytest.approx(
        [week.impulse_n_s for week in newtons.load_weeks]
    )
