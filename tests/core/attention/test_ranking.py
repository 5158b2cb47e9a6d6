"""The list as a whole: complete, in order, and the same whatever comes first."""

import re
from datetime import date

from stillset_core.attention import CATALOGUE, attention_of, attention_of_squad
from stillset_core.attention.instrument import INSTRUMENT_SHIFT
from stillset_core.periods import Period, PeriodKind
from stillset_core.records import Direction, Pain, Side

FALLING = {(Direction.SQUEEZE, Side.LEFT): {}}


def test_every_check_has_a_code_of_its_own_and_a_sentence():
    codes = [check.code for check in CATALOGUE]
    assert len(set(codes)) == len(codes) == 15
    for check in CATALOGUE:
        assert re.fullmatch(r"[a-z-]+", check.code)
        assert check.sentence.endswith(".")
        assert check.clears.endswith(".")


def test_every_item_says_what_would_clear_it_at_the_clubs_own_marks(watched, a_set):
    one = watched(a_set(2, pain=Pain(score=3)), pain_caution_score=2)
    (item,) = attention_of("MB-07", one.state, one.protocol)
    assert item.clears == "A later statement below 2, or 14 days without any."
    assert all(check.clears.format_map(one.protocol.settings()) for check in CATALOGUE)


def test_a_running_injury_or_break_is_on_every_sentence_and_in_the_evidence(watched, a_set):
    one = watched(a_set(2, pain=Pain(score=3)))
    periods = [
        Period(PeriodKind.REHABILITATION, date(2026, 9, 20)),
        Period(PeriodKind.INJURY, date(2026, 9, 1), date(2026, 9, 19)),
        Period(PeriodKind.COMPETITION, date(2026, 9, 1)),
    ]
    (item,) = attention_of("MB-07", one.state, one.protocol, periods)
    assert item.text.endswith("force may be limited by it. On file: rehabilitation since 2026-09-20.")
    assert item.evidence["periods"] == ("rehabilitation since 2026-09-20",)
    assert attention_of_squad({"MB-07": one.state}, one.protocol, {"MB-07": periods}) == (item,)
    assert "On file" not in attention_of("MB-07", one.state, one.protocol, periods[1:])[0].text


def test_pain_with_falling_strength_comes_first_and_missing_readings_late(watched, a_set, a_trend):
    one = watched(a_set(20), a_set(2, pain=Pain(score=7), hold_s=1.0), trends=[a_trend(FALLING)])
    rules = [item.rule for item in attention_of("MB-07", one.state, one.protocol)]
    assert rules == ["pain-with-falling-strength", "pain-at-stop", "strength-falling", "no-reading-lately"]


def test_the_squads_list_holds_each_athletes_items_in_order_of_strength(watched, a_set):
    scores = {"MB-01": 2, "MB-02": 9, "MB-03": 4, "MB-04": 7}
    states = {ref: watched(a_set(2, pain=Pain(score=score))).state for ref, score in scores.items()}
    protocol = watched().protocol
    ranked = attention_of_squad(states, protocol)
    assert [item.athlete for item in ranked] == ["MB-02", "MB-04", "MB-03", "MB-01"]
    assert attention_of_squad(dict(reversed(states.items())), protocol) == ranked


def test_an_instrument_in_question_stands_before_the_declines_measured_on_it(watched, a_set, a_trend):
    def athlete(number, serial, factor):
        sets = [a_set(day, serial=serial, force=300 + number) for day in range(75, 205, 8)]
        sets += [a_set(day, serial=serial, force=(300 + number) * factor) for day in range(2, 27, 4)]
        falling = {(Direction.SQUEEZE, Side.LEFT): {"change_percent": -20.0 if serial == "F-02" else -6.0}}
        return watched(*sets, trends=[a_trend(falling)] if number % 4 < 2 else []).state

    states = {f"MB-{n:02d}": athlete(n, f"F-0{n % 2 + 1}", 0.9 if n % 2 else 1.0) for n in range(12)}
    ranked = attention_of_squad(states, watched().protocol)
    assert (ranked[0].rule, ranked[0].evidence["serial"]) == (INSTRUMENT_SHIFT, "F-02")
    falling = [item for item in ranked if item.rule == "strength-falling"]
    assert [item.evidence.get("instrument_in_question") for item in falling] == [None] * 3 + ["F-02"] * 3
    assert falling[-1].weight > falling[0].weight
    assert falling[-1].text.endswith("Measured on instrument F-02, which is itself in question.")


def test_a_squad_without_athletes_has_nothing_to_look_at(watched):
    assert attention_of_squad({}, watched().protocol) == ()
