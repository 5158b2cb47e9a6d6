"""One whole season of the invented club as documents of the API, with the truth kept beside them."""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from stillset_demo.clients import Document, client_ref, write_set
from stillset_demo.roster import ATHLETES, CLUB, KNEE_ANGLE_DEG, POSITION, SQUAD, Athlete
from stillset_demo.sessions import sets_of
from stillset_demo.slips import Deserved
from stillset_demo.truth import COLUMNS, INJURY_ENDS, REHABILITATION_ENDS, STORIES, Kind, Story, latent_of
from stillset_demo.weeks import AWAY, BREAKS, COMPETITION, DAYS, Span

__all__ = ["Season", "Truth", "make_season", "write_season"]


@dataclass(frozen=True, slots=True)
class Truth:
    """What is really so.

    Attributes
    ----------
    first_day : date
        Day 0 of every ``levels`` array.
    levels : mapping of athlete to ndarray, shape (days, 4)
        Log strength (newtons) per day: squeeze left, squeeze right, spread left, spread right.
    read_offset : mapping of athlete to ndarray, shape (days, 4)
        What a drifting instrument or a moved bar adds to the log values read.
    stories : tuple of Story
        What was planted; days counted from ``first_day``.
    deserved : mapping of client_ref to tuple of Deserved
        The standing that each direction of each set deserves.
    """

    first_day: date
    levels: Mapping[str, NDArray[np.float64]]
    read_offset: Mapping[str, NDArray[np.float64]]
    stories: tuple[Story, ...]
    deserved: Mapping[str, tuple[Deserved, ...]]

    @property
    def quiet(self) -> tuple[str, ...]:
        """Athletes in whom nothing was planted."""
        told = {ref for story in self.stories for ref in story.athletes}
        return tuple(ref for ref in self.levels if ref not in told)

    def day(self, when: date) -> int:
        """Day of the season on which a date falls, kept within the season."""
        return min(max((when - self.first_day).days, 0), DAYS - 1)

    def date_of(self, day: int) -> date:
        """Date of a day of the season."""
        return self.first_day + timedelta(days=day)


MEASURED_ON = date(2025, 7, 1)
"""When the standard positions were measured, unless the season began earlier."""


@dataclass(frozen=True, slots=True)
class Season:
    """The documents that a club would have sent over a season, in the order in which to send them.

    ``standard_positions`` and ``periods`` go with the athlete's ref; ``sets`` are in order of time.
    """

    club: Document
    squads: tuple[Document, ...]
    athletes: tuple[Document, ...]
    standard_positions: Mapping[str, Document]
    periods: tuple[tuple[str, Document], ...]
    sets: tuple[Document, ...]
    truth: Truth


def make_season(seed: int = 2026, *, end: date) -> Season:
    """Make the season that ends on ``end``.

    The same seed gives the same season apart from its dates: every athlete has a stream of random numbers
    of their own, and days are counted from the first day.

    Parameters
    ----------
    seed : int
        Start of the random numbers.
    end : date
        Last day of the season; the last sets are from two days before it.

    Returns
    -------
    Season
    """
    first_day = end - timedelta(days=DAYS - 1)
    levels: dict[str, NDArray[np.float64]] = {}
    read_offset: dict[str, NDArray[np.float64]] = {}
    deserved: dict[str, tuple[Deserved, ...]] = {}
    sets: list[tuple[datetime, str, Document]] = []
    for athlete in ATHLETES:
        rng = np.random.default_rng([seed, athlete.number])
        latent = latent_of(athlete, rng)
        levels[athlete.ref], read_offset[athlete.ref] = latent.level, latent.read_offset
        for judged in sets_of(athlete, latent, first_day, rng):
            ref = client_ref(judged.done, seed)
            deserved[ref] = judged.deserved
            sets.append((judged.done.performed_at, athlete.ref, write_set(judged.done, ref, rng)))
    return Season(
        club=dict(CLUB),
        squads=(dict(SQUAD),),
        athletes=tuple(_athlete(athlete) for athlete in ATHLETES),
        standard_positions={
            athlete.ref: _standard_position(athlete, min(first_day, MEASURED_ON)) for athlete in ATHLETES
        },
        periods=tuple(_periods(first_day)),
        sets=tuple(document for _, _, document in sorted(sets, key=lambda one: one[:2])),
        truth=Truth(first_day, levels, read_offset, STORIES, deserved),
    )


def write_season(season: Season, folder: Path) -> None:
    """Write the season to a folder: ``squad.json``, ``sets.ndjson`` (one set a line) and ``truth.json``."""
    folder.mkdir(parents=True, exist_ok=True)
    squad = {
        "club": season.club,
        "squads": season.squads,
        "athletes": season.athletes,
        "standard_positions": season.standard_positions,
        "periods": [{"athlete": ref, **period} for ref, period in season.periods],
    }
    _write(folder / "squad.json", json.dumps(squad, indent=1))
    _write(folder / "sets.ndjson", "\n".join(json.dumps(one, separators=(",", ":")) for one in season.sets))
    _write(folder / "truth.json", json.dumps(truth_document(season.truth), indent=1))


def truth_document(truth: Truth) -> Document:
    """Return the truth as JSON: the stories with dates, and one level (newtons) a week for each athlete and side."""
    weeks = range(0, DAYS, 7)
    return {
        "first_day": truth.first_day.isoformat(),
        "stories": [
            {
                "kind": story.kind.value,
                "athletes": list(story.athletes),
                "onset": truth.date_of(story.onset).isoformat(),
                "complete": truth.date_of(story.complete).isoformat(),
                "full_change_percent": round(100 * float(np.expm1(story.size)), 1),
                "moves_the_athlete": story.moves_the_athlete,
            }
            for story in truth.stories
        ],
        "weeks": [truth.date_of(day).isoformat() for day in weeks],
        "levels_n": {
            ref: {
                f"{direction} {side}": [round(float(np.exp(level[day, column])), 1) for day in weeks]
                for column, (direction, side) in enumerate(COLUMNS)
            }
            for ref, level in truth.levels.items()
        },
        "deserved": {
            ref: [{"direction": one.direction, "standing": one.standing, "rule": one.rule} for one in directions]
            for ref, directions in truth.deserved.items()
        },
    }


def _write(path: Path, text: str) -> None:
    path.write_bytes((text + "\n").encode())


def _athlete(athlete: Athlete) -> Document:
    born = date(athlete.born, 1 + athlete.number * 5 % 12, 1 + athlete.number * 11 % 28)
    return {
        "ref": athlete.ref,
        "name": athlete.name,
        "squad": SQUAD["ref"],
        "role": athlete.role,
        "dominant_side": athlete.dominant_side,
        "sex": "female",
        "born": born.isoformat(),
    }


def _standard_position(athlete: Athlete, valid_from: date) -> Document:
    return {
        "position": {
            "name": POSITION,
            "knee_angle_deg": KNEE_ANGLE_DEG,
            "bar_height": athlete.bar_height,
            "foot_mark": athlete.foot_mark,
        },
        "instrument_kind": "fixed-frame",
        "measured_by": "goniometer",
        "valid_from": valid_from.isoformat(),
    }


def _periods(first_day: date) -> Iterator[tuple[str, Document]]:
    def period(kind: str, span: Span, note: str) -> Document:
        first, last = (first_day + timedelta(days=day) for day in (span.first, span.last))
        return {"kind": kind, "from": first.isoformat(), "to": last.isoformat(), "note": note}

    for athlete in ATHLETES:
        yield from ((athlete.ref, period("competition", span, "league")) for span in COMPETITION)
        yield from ((athlete.ref, period("break", span, "club holiday")) for span in BREAKS)
        if athlete.ref in AWAY:
            yield athlete.ref, period("break", AWAY[athlete.ref], "away with the regional selection")
    for story in STORIES:
        if story.kind is Kind.SUDDEN_DROP:
            for ref in story.athletes:
                yield ref, period("injury", Span(story.onset, INJURY_ENDS), "left groin, hurt in a match")
                yield ref, period("rehabilitation", Span(INJURY_ENDS + 1, REHABILITATION_ENDS), "return step by step")
