"""Attention items in the words of the pages: one lookout for each athlete or instrument, strongest first."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from stillset_core.attention import AttentionItem
from stillset_core.numbers import MISSING
from stillset_service.pages import addresses
from stillset_service.pages.wording import code_words, day_words

__all__ = ["ItemWords", "Lookout", "item_words", "lookouts_of"]


@dataclass(frozen=True, slots=True)
class ItemWords:
    """An attention item as a sentence with its evidence."""

    rule: str
    text: str
    since: str
    evidence: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Lookout:
    """Whom or what to look at, with every sentence about it."""

    who: str
    href: str
    items: tuple[ItemWords, ...]


def lookouts_of(items: Sequence[AttentionItem], names: Mapping[str, str]) -> list[Lookout]:
    """Gather the items by whom they are about, keeping the place of the strongest.

    An item about an instrument leads to the athletes measured on it.
    """
    gathered: dict[tuple[str, str], list[ItemWords]] = {}
    for item in items:
        if item.athlete is None:
            serial = str(item.evidence.get("serial", ""))
            about = f"Instrument {serial}", addresses.board({"q": serial})
        else:
            about = names.get(item.athlete, item.athlete), addresses.athlete(item.athlete)
        gathered.setdefault(about, []).append(item_words(item))
    return [Lookout(who, href, tuple(words)) for (who, href), words in gathered.items()]


def item_words(item: AttentionItem) -> ItemWords:
    """Put one attention item into words."""
    evidence = tuple((code_words(key), _evidence(value)) for key, value in item.evidence.items())
    since = "" if item.since is None else f"since {day_words(item.since)}"
    return ItemWords(code_words(item.rule), item.text, since, evidence)


def _evidence(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.4g}"
    if isinstance(value, tuple):
        return ", ".join(_evidence(part) for part in value)
    return MISSING if value is None else str(value)
