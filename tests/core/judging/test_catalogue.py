"""The catalogue against the codes of the API contract, and each entry against its function."""

from datetime import date

import pytest

from stillset_core.judging.catalogue import CAUTIONS, DIRECTION_CAUTIONS, REP_RULES, RULES, SET_CAUTIONS, SET_RULES
from stillset_core.judging.context import SetContext, SetUp
from stillset_core.judging.judge import judge
from stillset_core.judging.outcome import Standing
from stillset_core.protocol import parse_protocol
from stillset_core.records import Instrument, InstrumentKind, Pain, Purpose, SideForce, TraceFindings

RULE_CODES = [
    "other-position",
    "knee-angle-off",
    "bar-height-off",
    "position-unverified",
    "no-standard-position",
    "warm-up",
    "planned-below-maximal",
    "effort-unknown",
    "hold-too-short",
    "hold-too-long",
    "rest-too-short",
    "not-fresh",
    "other-instrument",
    "trace-clipped",
    "trace-gap",
    "no-rep-found",
    "out-of-range",
    "no-mean",
]
CAUTION_CODES = [
    "pain-during-set",
    "instrument-check-overdue",
    "not-zeroed",
    "one-side-only",
    "unsteady-hold",
    "set-up-drift",
    "trace-offset",
]


def test_the_rules_are_those_of_the_contract():
    assert sorted(entry.code for entry in RULES) == sorted(RULE_CODES)


def test_the_cautions_are_those_of_the_contract():
    assert sorted(entry.code for entry in CAUTIONS) == sorted(CAUTION_CODES)


def test_only_effort_leads_to_at_least_and_no_caution_leads_to_a_standing():
    at_least = {entry.code for entry in RULES if entry.standing is Standing.AT_LEAST}
    assert at_least == {"planned-below-maximal", "effort-unknown"}
    assert {entry.standing for entry in RULES if entry.code not in at_least} == {Standing.SET_ASIDE}
    assert {entry.standing for entry in CAUTIONS} == {None}


@pytest.mark.parametrize("entry", [*RULES, *CAUTIONS], ids=lambda entry: entry.code)
def test_every_entry_has_one_sentence(entry):
    assert entry.sentence.endswith(".")
    assert entry.sentence.count(". ") == 0


@pytest.fixture
def corpus(a_rep, a_set, a_standard):
    """Sets that between them break every rule and raise every caution."""
    reps = (
        a_rep(started_s=0.0),
        a_rep(started_s=6.0, hold_s=2.0, clipped=True, gap=True, left=SideForce(9e9)),
        a_rep(hold_s=20.0, intended_percent=80.0, left=SideForce(100.0, 1.0)),
        a_rep(intended_percent=None),
    )
    wrong = {"name": "seated", "knee_angle_deg": 0.0, "bar_height": 0.0}
    mean = parse_protocol({"value": "mean"})
    overdue = Instrument(InstrumentKind.OTHER, zeroed=False, checked_on=date(2020, 1, 1))
    drift = SetUp(bar_heights=((34.4, 34.0),) * 4)
    return (
        SetContext(a_set(reps=reps, position=wrong, purpose=Purpose.WARM_UP), a_standard(), mean, 100.0),
        SetContext(a_set(reps=(), instrument=overdue, trace=TraceFindings(50.0, None)), a_standard(), mean),
        SetContext(a_set(position={"knee_angle_deg": None, "bar_height": None}), a_standard(), mean),
        SetContext(a_set(pain=Pain(5.0), reps=(a_rep(left=None),)), None, mean),
        SetContext(a_set(position={"bar_height": 34.4}), a_standard(), mean, set_up=drift),
    )


def codes(corpus, entries, *more):
    """Give for each entry the codes of the remarks that its function makes over the corpus."""
    made = {entry.code: set() for entry in entries}
    for context in corpus:
        for entry in entries:
            for arguments in more[0](context) if more else [()]:
                remark = entry.check(context, *arguments)
                if remark is not None:
                    made[entry.code].add(remark.rule)
    return made


def test_every_function_fires_somewhere_and_only_under_the_code_it_is_listed_by(corpus):
    made = {
        **codes(corpus, SET_RULES),
        **codes(corpus, SET_CAUTIONS),
        **codes(corpus, REP_RULES, lambda context: [(rep,) for rep in context.record.reps]),
        **codes(corpus, DIRECTION_CAUTIONS, lambda context: [(context.record.reps, context.record.reps)]),
    }
    assert made == {code: {code} for code in RULE_CODES + CAUTION_CODES}


def test_reasons_and_cautions_stand_in_the_order_of_the_catalogue(corpus):
    order = [entry.code for entry in (*RULES, *CAUTIONS)]
    for context in corpus:
        for outcome in judge(context):
            listed = [remark.rule for remark in (*outcome.reasons, *outcome.cautions)]
            assert listed == sorted(listed, key=order.index)
            assert len(listed) == len(set(listed))
