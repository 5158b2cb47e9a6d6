"""Builders for judging: a set that counts without a word, altered only in what a test is about."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime

import pytest

from stillset_core.judging.context import NO_SET_UP, SetContext, SetUp
from stillset_core.judging.judge import judge
from stillset_core.judging.outcome import DirectionOutcome, Outcome
from stillset_core.protocol import Protocol, parse_protocol
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

POSITION = Position("supine-bent-knee", knee_angle_deg=60.0, bar_height=34.0, foot_mark="C")
STANDARD = StandardPosition(POSITION, InstrumentKind.FIXED_FRAME, date(2026, 7, 1))
REP = Rep(
    Direction.SQUEEZE,
    hold_s=5.0,
    left=SideForce(312.0, 287.0),
    right=SideForce(298.0, 271.0),
    intended_percent=100.0,
)
SET = SetRecord(
    client_ref="set-1",
    athlete="MB-07",
    performed_at=datetime.fromisoformat("2026-09-14T17:32:05+02:00"),
    position=POSITION,
    instrument=Instrument(InstrumentKind.FIXED_FRAME),
    quantity=Quantity.FORCE,
    reps=(REP,),
)


@pytest.fixture
def a_rep() -> Callable[..., Rep]:
    """Build a maximal squeeze of 5 s, with changes."""

    def build(**changes: object) -> Rep:
        return replace(REP, **changes)  # type: ignore[arg-type]  # the changes are typed by their use

    return build


@pytest.fixture
def a_set() -> Callable[..., SetRecord]:
    """Build a set of one maximal squeeze in the standard position, with changes."""

    def build(position: dict[str, object] | None = None, **changes: object) -> SetRecord:
        moved = replace(POSITION, **(position or {}))  # type: ignore[arg-type]  # typed by use
        return replace(SET, position=moved, **changes)  # type: ignore[arg-type]  # typed by use

    return build


@pytest.fixture
def a_standard() -> Callable[..., StandardPosition]:
    """Build the standard position, with changes of its position."""

    def build(**changes: object) -> StandardPosition:
        moved = replace(POSITION, **changes)  # type: ignore[arg-type]  # typed by use
        return replace(STANDARD, position=moved)

    return build


@pytest.fixture
def judged() -> Callable[..., Outcome]:
    """Judge a set under the default protocol with the settings given, against the standard position."""

    def run(
        record: SetRecord,
        standard: StandardPosition | None = STANDARD,
        prior_hard_s: float = 0.0,
        set_up: SetUp = NO_SET_UP,
        **settings: object,
    ) -> Outcome:
        protocol = parse_protocol(settings) if settings else Protocol()
        return judge(SetContext(record, standard, protocol, prior_hard_s, set_up))

    return run


@pytest.fixture
def judged_one(judged: Callable[..., Outcome]) -> Callable[..., DirectionOutcome]:
    """Judge a set of one direction and give that direction's outcome."""

    def run(*args: object, **kwargs: object) -> DirectionOutcome:
        (only,) = judged(*args, **kwargs)
        return only

    return run
