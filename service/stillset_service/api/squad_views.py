"""Reading views of a squad: the board, norms, attention, coverage and the squad's own error."""

from collections.abc import Sequence
from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import Response

from stillset_core.attention import CATALOGUE
from stillset_core.coverage import Coverage
from stillset_core.norms import Measure, Norm, norms_of
from stillset_core.records import STRENGTHS
from stillset_core.squad_error import SquadError, squad_errors
from stillset_service.api.answers import Table, answer_table, documented, once_each
from stillset_service.api.flat import LEVEL_COLUMNS, SERIES_COLUMNS
from stillset_service.api.formats import Column, flags, lists, reals, texts, wholes
from stillset_service.api.opened import open_squad
from stillset_service.api.resources import Reader
from stillset_service.api.windows import TableQuery
from stillset_service.views.answered import AnsweredItem, answered, answered_json
from stillset_service.views.attention import coverage_json, expected_false_calls_json
from stillset_service.views.board import BoardEntry, board_row, coverages
from stillset_service.views.error import error_json
from stillset_service.views.norms import PERCENTILES, norm_json
from stillset_service.views.planning import coverage_outlook_json
from stillset_service.views.spelling import Json

__all__ = ["ATTENTION", "BOARD", "COVERAGE", "ERROR", "NORMS", "router"]

router = APIRouter(
    prefix="/v1/squads/{ref}", dependencies=[Depends(once_each)], responses=documented(), tags=["reading"]
)

_MEASURE = {measure: place for place, measure in enumerate(Measure)}
_RANK = {check.code: rank for rank, check in enumerate(CATALOGUE)}


def _under(place: str, columns: tuple[Column, ...]) -> tuple[Column, ...]:
    """Name columns as members of an inner object."""
    return tuple(Column(f"{place}.{column.name}", column.kind) for column in columns)


_SIDES = [(direction, side) for direction in ("squeeze", "spread") for side in ("left", "right")]
_BAND_COLUMNS = (*reals("usual_low", "usual_high"), *texts("state"))
_RATIO_COLUMNS = (*reals("value", "low", "high"), *_BAND_COLUMNS)
_GAP_COLUMNS = (
    *reals("percent", "low", "high"),
    *texts("formula", "stronger"),
    *flags("beyond_noise"),
    *reals("consistent_percent"),
    *wholes("consistent_sessions"),
    *texts("in_words"),
    *_BAND_COLUMNS,
)

BOARD: Table[BoardEntry] = Table(
    "board",
    (
        *texts("athlete", "id", "name", "squad", "role", "dominant_side", "as_of", "last_reading_at"),
        *wholes("last_reading_age_days"),
        *texts("position.name"),
        *reals("position.knee_angle_deg"),
        *texts("instrument_kind", "unit"),
        *wholes("readings", "at_least"),
        *(column for direction, side in _SIDES for column in _under(f"{direction}.{side}", LEVEL_COLUMNS)),
        *(column for side in ("left", "right") for column in _under(f"ratio.{side}", _RATIO_COLUMNS)),
        *(column for direction in ("squeeze", "spread") for column in _under(f"side_gap.{direction}", _GAP_COLUMNS)),
        *texts(*(f"states.{direction}.{side}" for direction, side in _SIDES)),
        *texts("pain.performed_at"),
        *reals("pain.score"),
        *flags("pain.present"),
        *texts("pain.site", "pain.when", "pain.set_id", "load.week"),
        *wholes("load.reps"),
        *reals("load.hold_s", "load.impulse_n_s", "load.hard_s"),
        *lists("attention"),
    ),
    lambda entry: (entry.book.athlete.ref,),
)
ATTENTION: Table[AnsweredItem] = Table(
    "attention",
    (
        *texts("rule", "athlete", "direction", "side", "text"),
        *lists("evidence"),
        *texts("since", "clears"),
        *lists("answer"),
    ),
    # Strongest first, as the core ranks them; what is snoozed last.
    lambda one: (
        int(one.snoozed),
        _RANK[one.item.rule],
        int(one.item.doubtful),
        -float(one.item.weight),
        one.item.athlete or "",
        str(one.item.direction or ""),
        str(one.item.side or ""),
        one.item.text,
    ),
)
_OUTLOOK = ("detectable_percent", "interval_half_width_percent")
COVERAGE: Table[tuple[BoardEntry, Coverage]] = Table(
    "coverage",
    (
        *texts("athlete", "name", "position.name"),
        *reals("position.knee_angle_deg"),
        *texts("instrument_kind", "unit", "last_reading_at"),
        *wholes("days_since", "readings", "at_least", "set_aside"),
        *reals("readings_per_week"),
        *flags("overdue"),
        *reals("counting_sets_per_week", *_OUTLOOK),
        *reals(*(f"one_more_set.{member}" for member in _OUTLOOK)),
    ),
    lambda row: (row[0].book.athlete.ref, str(row[1].series or "")),
)
NORMS: Table[Norm] = Table(
    "norms",
    (
        *SERIES_COLUMNS,
        *texts("role", "measure", "measure_unit", "direction", "side"),
        *wholes("athletes"),
        *reals(*(f"{place}{end}" for place in PERCENTILES for end in ("", "_low", "_high"))),
        *lists("each", "outside_references"),
    ),
    lambda norm: (
        str(norm.series),
        _MEASURE[norm.measure],
        str(norm.direction or ""),
        str(norm.side or ""),
        norm.role is not None,
        norm.role or "",
    ),
)
ERROR: Table[SquadError] = Table(
    "error",
    (
        *texts("instrument_kind", "unit", "role", "direction", "side"),
        *wholes("athletes", "pairs"),
        *reals("within_days", "assumed_cv_percent"),
        *reals("level", "typical_error", "typical_error_low", "typical_error_high"),
        *reals("cv_percent", "cv_low_percent", "cv_high_percent", "mean_change_percent"),
        *reals("mdc95_down_percent", "mdc95_up_percent", "mdc90_down_percent", "mdc90_up_percent"),
        *reals("smallest_worthwhile_percent", "icc", "icc_low", "icc_high"),
    ),
    lambda error: (
        error.group.instrument_kind.value,
        error.group.quantity.value,
        STRENGTHS.index((error.group.direction, error.group.side)),
        error.group.role is not None,
        error.group.role or "",
    ),
)


@router.get("/board")
def board(request: Request, ref: str, query: Annotated[TableQuery, Query()], access: Reader) -> Response:
    """Give one row for each athlete of the squad, by ref."""
    with open_squad(request, access, ref, query) as opened:

        def shape(page: Sequence[BoardEntry]) -> list[Json]:
            return [board_row(entry, opened.answers) for entry in page]

        return answer_table(opened.basis, query, BOARD, lambda: opened.state.entries, shape)


@router.get("/norms")
def norms(request: Request, ref: str, query: Annotated[TableQuery, Query()], access: Reader) -> Response:
    """Give how levels, ratios and side gaps are spread over the squad and over each role; no pass marks.

    Levels also per kg of body mass, where one was stated in the last 26 weeks. ``_low`` and ``_high`` of a percentile
    are the ends of its 95 % interval by order statistics, null where so few athletes do not bound it. ``each`` holds
    every athlete against the median of the others, who alone make that norm; ``robust_z`` counts in 1.4826 of their
    median absolute deviation. Below 5 athletes, or 5 others, nothing is said but how many. ``outside_references``
    are published figures for the same kind of instrument and quantity, in the position that each states.
    """
    with open_squad(request, access, ref, query) as opened:

        def rows() -> tuple[Norm, ...]:
            entries = opened.state.entries
            states = {entry.book.athlete.ref: entry.state for entry in entries}
            roles = {entry.book.athlete.ref: entry.book.athlete.role for entry in entries}
            return norms_of(states, roles)

        return answer_table(opened.basis, query, NORMS, rows, lambda page: [norm_json(norm) for norm in page])


@router.get("/attention")
def attention(request: Request, ref: str, query: Annotated[TableQuery, Query()], access: Reader) -> Response:
    """Give what to look at in the squad today, strongest first, instruments included, with what was answered.

    Snoozed items come last. ``expected_false_calls`` beside the items is how many calls of a decline to expect in a
    squad of this size in which nobody declines, at the protocol's present false_calls_per_season.
    """
    with open_squad(request, access, ref, query) as opened:

        def rows() -> tuple[AnsweredItem, ...]:
            return answered(opened.state.attention, opened.answers, opened.state.as_of)

        def shape(page: Sequence[AnsweredItem]) -> list[Json]:
            return [answered_json(one) for one in page]

        def beside() -> Json:
            return {"expected_false_calls": expected_false_calls_json(len(opened.state.entries), opened.saved.protocol)}

        return answer_table(opened.basis, query, ATTENTION, rows, shape, beside)


@router.get("/coverage")
def coverage(request: Request, ref: str, query: Annotated[TableQuery, Query()], access: Reader) -> Response:
    """Give how recent and how many the readings of each athlete are, by series, and what they would show.

    ``detectable_percent`` is the smallest decline of both sides of a direction, coming over 21 days, that such
    logging would call within 3 weeks with 80 % power; null with fewer than 4 sets in that time. ``one_more_set`` is
    the same with one more counting set a week. ``POST /v1/plan`` answers for any rhythm and says the terms.
    """
    with open_squad(request, access, ref, query) as opened:

        def rows() -> list[tuple[BoardEntry, Coverage]]:
            return [(entry, one) for entry in opened.state.entries for one in coverages(entry, opened.saved)]

        def shape(page: Sequence[tuple[BoardEntry, Coverage]]) -> list[Json]:
            protocol = opened.saved.protocol
            return [
                coverage_json(entry.book.athlete.ref, entry.book.athlete.name, one)
                | coverage_outlook_json(one, entry.state, protocol)
                for entry, one in page
            ]

        return answer_table(opened.basis, query, COVERAGE, rows, shape)


@router.get("/error")
def error(request: Request, ref: str, query: Annotated[TableQuery, Query()], access: Reader) -> Response:
    """Give the squad's own typical error, from the ordinary readings between ``from`` and ``to``.

    One row for each kind of instrument, direction, side and role (null: the whole squad). Pairs are of readings of the
    same athlete and series in different sessions at most ``within_days`` apart, none in two pairs; mean change and the
    engine's drift are removed. ``level`` and ``typical_error`` are in ``unit``; ``cv_percent`` is the same error on the
    log scale, with its 95 % interval, beside ``assumed_cv_percent``, which the trend starts from; ``mdc95`` and
    ``mdc90`` are the minimal detectable changes of a reading against one other; ``smallest_worthwhile_percent`` is 0.2
    of the SD between athletes net of error; ``icc`` is one-way, of a single reading. Null below 5 pairs or 3 athletes,
    and where readings differ no more than by drift.
    """
    with open_squad(request, access, ref, query) as opened:

        def rows() -> tuple[SquadError, ...]:
            entries = opened.state.entries
            readings = {
                entry.book.athlete.ref: [one for one in entry.state.readings if query.holds(one.performed_at)]
                for entry in entries
            }
            roles = {entry.book.athlete.ref: entry.book.athlete.role for entry in entries}
            return squad_errors(readings, roles, opened.saved.protocol)

        return answer_table(opened.basis, query, ERROR, rows, lambda page: [error_json(one) for one in page])
