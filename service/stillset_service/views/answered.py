"""Attention items with what was last answered to them.

An answer changes no number and hides nothing: snoozed items come last until their date. It lapses when the item
newly begins, that is on a later day than the answer was given, and a snooze also when its date is reached.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from stillset_core.attention import AttentionItem
from stillset_service import clock
from stillset_service.store.attention_answers import AttentionAnswer
from stillset_service.views.attention import attention_json
from stillset_service.views.spelling import Json

__all__ = ["AnswerKind", "AnsweredItem", "answer_row_json", "answered", "answered_json"]


class AnswerKind(StrEnum):
    """What can be answered to an attention item."""

    SEEN = "seen"
    EXPLAINED = "explained"
    SNOOZED = "snoozed"


@dataclass(frozen=True, slots=True)
class AnsweredItem:
    """An item with the answer that stands, if there is one."""

    item: AttentionItem
    answer: AttentionAnswer | None

    @property
    def snoozed(self) -> bool:
        """Whether it is put off for now."""
        return self.answer is not None and self.answer.answer == AnswerKind.SNOOZED


def answered(
    items: Iterable[AttentionItem], answers: Iterable[AttentionAnswer], as_of: datetime
) -> tuple[AnsweredItem, ...]:
    """Put the answers to their items, snoozed items last and otherwise in the order given.

    Parameters
    ----------
    items : iterable of AttentionItem
    answers : iterable of AttentionAnswer
        Of the club, oldest first; those given later than ``as_of`` are not known yet.
    as_of : datetime
        The moment of the items.
    """
    until = clock.microseconds(as_of)
    latest = {_place_of_answer(one): one for one in answers if one.at_us <= until}
    found = [_answered(item, latest.get(_place_of_item(item)), as_of) for item in items]
    return tuple(sorted(found, key=lambda one: one.snoozed))


def answered_json(one: AnsweredItem) -> Json:
    """Give an item with its answer."""
    answer = one.answer
    row = None if answer is None else answer_row_json(answer)
    shown = None if row is None else {name: row[name] for name in ("id", "answer", "text", "until", "at", "key")}
    return attention_json(one.item) | {"answer": shown}


def answer_row_json(answer: AttentionAnswer) -> Json:
    """Give an answer by itself, with the place of its item."""
    return {
        "id": answer.id,
        "athlete": answer.athlete,
        "rule": answer.rule,
        "direction": answer.direction,
        "side": answer.side,
        "serial": answer.serial,
        "answer": answer.answer,
        "text": answer.text,
        "until": None if answer.until is None else answer.until.isoformat(),
        "at": clock.spelled(answer.at_us),
        "key": answer.key_id,
    }


def _answered(item: AttentionItem, answer: AttentionAnswer | None, as_of: datetime) -> AnsweredItem:
    if answer is None or (item.since is not None and item.since > clock.instant(answer.at_us).date()):
        return AnsweredItem(item, None)
    over = answer.until is not None and answer.until <= as_of.date()
    return AnsweredItem(item, None if over else answer)


def _place_of_answer(answer: AttentionAnswer) -> Sequence[str | None]:
    return (answer.athlete, answer.rule, answer.direction, answer.side, answer.serial)


def _place_of_item(item: AttentionItem) -> Sequence[str | None]:
    serial = None if item.athlete is not None else str(item.evidence["serial"])
    direction = None if item.direction is None else item.direction.value
    return (item.athlete, item.rule, direction, None if item.side is None else item.side.value, serial)
