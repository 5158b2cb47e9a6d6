"""The truth is what it says: stories of the planted size, quiet athletes quiet, noise as the engine assumes."""

from dataclasses import replace

import numpy as np
import pytest

from stillset_demo import forces
from stillset_demo.forces import AFTER_MATCH, PlannedHold, holds, session_effect
from stillset_demo.roster import ATHLETES
from stillset_demo.truth import STORIES, Kind, Latent, latent_of
from stillset_demo.weeks import DAYS, MATCHES, days_since_match

BY_REF = {athlete.ref: athlete for athlete in ATHLETES}


def told_and_untold(ref):
    athlete = BY_REF[ref]
    told = latent_of(athlete, np.random.default_rng(1))
    untold = latent_of(replace(athlete, ref="nobody"), np.random.default_rng(1))
    return told, untold


def planted_percent(ref, day):
    told, untold = told_and_untold(ref)
    level = np.expm1(told.level[day] - untold.level[day])
    read = np.expm1(told.read_offset[day] - untold.read_offset[day])
    return 100 * level, 100 * read


def test_every_kind_of_story_is_planted():
    assert {story.kind for story in STORIES} == set(Kind)
    assert sum(story.kind is Kind.SLOW_DECLINE for story in STORIES) == 2


def test_one_decline_is_of_both_squeezes_and_still_goes_on_in_the_last_week():
    level, read = planted_percent("MB-07", DAYS - 1)
    assert level == pytest.approx([-13, -13, 0, 0])
    assert not read.any()
    assert planted_percent("MB-07", DAYS - 7)[0][0] > -13


def test_one_decline_is_of_one_side_alone():
    assert planted_percent("MB-15", DAYS - 1)[0] == pytest.approx([0, -14, 0, 0])


def test_the_declines_take_ten_weeks_and_bring_rising_pain():
    for story in STORIES:
        if story.kind is Kind.SLOW_DECLINE:
            assert story.complete - story.onset == 70
            pain = told_and_untold(story.athletes[0])[0].pain
            assert pain[story.onset] == 0
            assert pain[story.onset + 35] == pytest.approx(story.pain / 2)
            assert pain[-1] == pytest.approx(story.pain)


def test_the_sudden_drop_is_a_quarter_and_recovers():
    (story,) = [story for story in STORIES if story.kind is Kind.SUDDEN_DROP]
    assert planted_percent("MB-22", story.onset - 1)[0] == pytest.approx([0, 0, 0, 0])
    assert planted_percent("MB-22", story.onset)[0][0] == pytest.approx(-25)
    later = [planted_percent("MB-22", day)[0][0] for day in range(story.onset, DAYS, 20)]
    assert later == sorted(later)
    assert -4 < later[-1] < 0


def test_the_drifting_instrument_reads_low_for_its_five_users_and_nobody_is_weaker():
    users = [athlete.ref for athlete in ATHLETES if athlete.serial == "F-03"]
    assert len(users) == 5
    for ref in users:
        level, read = planted_percent(ref, DAYS - 1)
        assert not level.any()
        assert read == pytest.approx([-7] * 4)


def test_the_moved_bar_is_stated_within_tolerance_and_on_one_side(season):
    (story,) = [story for story in STORIES if story.kind is Kind.BAR_MOVED]
    (ref,) = story.athletes
    standard = season.standard_positions[ref]["position"]["bar_height"]
    onset = season.truth.date_of(story.onset).isoformat()
    stated = [
        one["position"]["bar_height"] - standard
        for one in season.sets
        if one["athlete"] == ref and one["performed_at"] >= onset
    ]
    near = [shift for shift in stated if abs(shift) <= 0.5]
    assert len(near) > 30
    assert all(0.29 < shift < 0.46 for shift in near)


def test_the_athlete_who_never_goes_to_the_maximum_never_does(season):
    planned = [one["intended_percent"] for one in season.sets if one["athlete"] == "MB-11"]
    assert len(planned) > 80
    assert max(planned) <= 90


def test_pain_reaches_the_log(season):
    for ref in ("MB-07", "MB-15"):
        scores = [one["pain"]["score"] for one in season.sets if one["athlete"] == ref]
        assert np.mean(scores[-6:]) >= 3
        assert np.mean(scores[: len(scores) // 2]) < 0.5


def test_quiet_athletes_stay_within_a_few_per_cent_of_where_they_began(season):
    truth = season.truth
    assert len(truth.quiet) == 18
    for ref in truth.quiet:
        level = truth.levels[ref].mean(axis=1)
        assert level[-28:].mean() - level[14:42].mean() > np.log(0.95), ref


def test_the_squad_dips_by_the_published_2_6_percent_for_one_week(season):
    levels = np.mean([season.truth.levels[ref].mean(axis=1) for ref in season.truth.quiet], axis=0)
    week = levels.reshape(40, 7).mean(axis=1)
    assert week[26] - (week[25] + week[27]) / 2 == pytest.approx(np.log(1 - 0.026), abs=0.004)


def test_days_after_a_match_swing_as_published():
    match = min(MATCHES)
    assert [days_since_match(match + days) for days in (1, 2, 3)] == [1, 2, 3]
    assert days_since_match(match) is None
    latent = Latent(np.zeros((DAYS, 4)), np.zeros((DAYS, 4)), np.zeros(DAYS), "", 1.0)
    rng = np.random.default_rng(5)
    for days, swing in AFTER_MATCH.items():
        effects = [session_effect(latent, match + days, rng) for _ in range(4000)]
        assert np.mean(effects) == pytest.approx(swing, abs=0.002)


def test_the_best_of_three_lies_around_the_level_with_the_engine_s_noise(monkeypatch):
    monkeypatch.setattr(forces, "OUTLIER_SHARE", 0.0)
    level = np.log([300.0, 280.0, 290.0, 260.0]) * np.ones((DAYS, 1))
    latent = Latent(level, np.zeros((DAYS, 4)), np.zeros(DAYS), "", 1.0)
    rng = np.random.default_rng(11)
    planned = [PlannedHold("squeeze", 1.0, 100.0, 5.0, 0.0)] * 3
    best = np.array(
        [np.max([hold.peak for hold in holds(latent, 0, 0.0, planned, rng)], axis=0) for _ in range(20_000)]
    )
    residual = np.log(best) - level[0, :2]
    assert residual.mean(axis=0) == pytest.approx([0, 0], abs=0.002)
    assert residual.std(axis=0) == pytest.approx([0.052, 0.052], abs=0.001)
    assert np.corrcoef(residual.T)[0, 1] == pytest.approx(0.5, abs=0.02)
