"""Instruments on which the athletes shift together."""

import numpy as np
import pytest

from stillset_core.attention.instrument import instrument_shift, on_serial

BEFORE = range(75, 205, 8)
LATELY = range(2, 27, 4)


@pytest.fixture
def squad(watched, a_set):
    """Athletes on serials; ``lately`` maps a serial to the factor on what it reads lately, ``own`` an athlete's."""

    def build(serials, lately=None, own=None, spread=0.01):
        rng = np.random.default_rng(1)
        athletes = []
        for number, serial in enumerate(serials):
            level = 250.0 + 10 * number
            factor = (lately or {}).get(serial, 1.0) * (own or {}).get(number, 1.0) * np.exp(rng.normal(0, spread))
            noise = np.exp(rng.normal(0, 0.04, (2, 40)))
            sets = [a_set(day, force=level * noise[0, i], serial=serial) for i, day in enumerate(BEFORE)]
            sets += [a_set(day, force=level * factor * noise[1, i], serial=serial) for i, day in enumerate(LATELY)]
            athletes.append(watched(*sets, athlete=f"MB-{number:02d}"))
        return athletes

    return build


def test_a_squad_in_which_nothing_shifts_has_no_instrument_in_question(squad):
    assert not list(instrument_shift(squad(["F-01", "F-02"] * 6)))


def test_the_instrument_that_reads_low_is_named_and_no_athlete_is(squad):
    (item,) = instrument_shift(squad(["F-01", "F-02", "F-03"] * 5, {"F-03": 0.93}))
    assert (item.rule, item.athlete) == ("instrument-shift", None)
    assert item.evidence["serial"] == "F-03"
    assert item.evidence["low"] < -7.0 < item.evidence["high"]
    assert item.evidence["athletes"] == ("MB-02", "MB-05", "MB-08", "MB-11", "MB-14")
    assert item.text.startswith("Instrument F-03: readings of 5 athletes since 2026-09-05 lie −")
    assert item.text.endswith("Check the instrument before reading their trends; last checked on 2026-06-01.")


def test_one_athletes_decline_is_not_laid_on_the_instrument(squad):
    assert not list(instrument_shift(squad(["F-01", "F-02", "F-03"] * 5, own={2: 0.8})))


def test_a_change_of_the_whole_squad_is_not_laid_on_an_instrument(squad):
    everybody = dict.fromkeys(["F-01", "F-02", "F-03"], 0.93)
    assert not list(instrument_shift(squad(["F-01", "F-02", "F-03"] * 5, everybody)))


def test_a_shift_below_3_percent_is_left_alone_however_certain(squad):
    athletes = squad(["F-01", "F-02"] * 20, {"F-02": 0.98}, spread=0.0)
    assert not list(instrument_shift(athletes))


def test_two_athletes_are_too_few_to_judge_an_instrument(squad):
    assert not list(instrument_shift(squad(["F-01"] * 10 + ["F-02"] * 2, {"F-02": 0.85})))


def test_with_one_instrument_only_a_large_shift_counts_and_the_sentence_says_what_else_it_may_be(squad):
    assert not list(instrument_shift(squad(["F-01"] * 8, {"F-01": 0.96})))
    (item,) = instrument_shift(squad(["F-01"] * 8, {"F-01": 0.90}))
    assert "than before" in item.text
    assert "the squad itself may have changed" in item.text


def test_sets_without_a_serial_explain_a_difference_but_are_no_instrument(squad):
    assert not list(instrument_shift(squad([None, "F-01"] * 6, {None: 0.85})))
    (item,) = instrument_shift(squad([None, "F-01"] * 6, {"F-01": 0.85}))
    assert item.evidence["serial"] == "F-01"


def test_two_instruments_that_both_shifted_are_both_named_the_clearer_first(squad):
    found = list(instrument_shift(squad(["F-01", "F-02", "F-03", "F-04"] * 6, {"F-01": 0.85, "F-04": 1.10})))
    assert [item.evidence["serial"] for item in found] == ["F-01", "F-04"]


def test_only_counting_readings_of_the_sides_that_were_measured_are_compared(watched, a_set):
    def athlete(number, serial, factor):
        level = 300 + number
        before = [a_set(day, serial=serial, force=level, left_only=True) for day in (*BEFORE, 40)]
        light = [a_set(day, serial=serial, force=level / 2, intended=50) for day in LATELY]
        lately = [a_set(day + 0.5, serial=serial, force=level * factor, left_only=True) for day in LATELY]
        return watched(*before, *light, *lately, athlete=f"MB-{number:02d}")

    squad = [athlete(n, f"F-0{n % 2 + 1}", 0.9 if n % 2 else 1.0) for n in range(12)]
    (item,) = instrument_shift(squad)
    assert item.evidence["serial"] == "F-02"
    assert item.evidence["difference_percent"] == pytest.approx(-10)


def test_athletes_without_a_past_say_nothing(watched, a_set):
    squad = [watched(*(a_set(day, serial="F-01", force=100 * n + 100) for day in LATELY)) for n in range(6)]
    assert not list(instrument_shift(squad))
    assert not list(instrument_shift([]))


def test_an_athlete_is_on_the_serial_used_most_lately(watched, a_set):
    sets = [a_set(1, serial="F-01"), a_set(2, serial="F-02"), a_set(3, serial="F-02"), a_set(40, serial="F-03")]
    assert on_serial(watched(*sets)) == "F-02"
    assert on_serial(watched(a_set(1, serial=None))) is None
    assert on_serial(watched()) is None
