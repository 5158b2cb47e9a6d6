"""Post or check a file of sets in batches, and say what became of each."""

from collections.abc import Callable
from dataclasses import dataclass, field

import httpx
from rich.progress import Progress
from rich.table import Table

from stillset_service.commands.doors import Door, asked
from stillset_service.commands.set_files import Item, batches

__all__ = ["Posted", "checked_table", "post", "post_all", "refused_table"]

OUTCOMES = ("stored", "new", "seen", "conflict", "invalid")
REFUSED = frozenset({"conflict", "invalid"})
MOST_SHOWN = 50
"""Refused sets shown at most; a file in the wrong shape would fill the screen."""


@dataclass(slots=True)
class Posted:
    """What became of the sets of a file, in its order; in a dry run, what would become of them."""

    dry_run: bool
    results: list[tuple[Item, dict[str, object]]] = field(default_factory=list)

    @property
    def refused(self) -> list[tuple[Item, dict[str, object]]]:
        """Those that were not taken."""
        return [(item, result) for item, result in self.results if result["outcome"] in REFUSED]

    @property
    def summary(self) -> str:
        """Say in one line how many of each."""
        outcomes = [self.word(result) for _, result in self.results]
        counts = ", ".join(f"{outcomes.count(word)} {word}" for word in OUTCOMES if word in outcomes)
        return f"{len(outcomes)} set{'' if len(outcomes) == 1 else 's'}: {counts}."

    def word(self, result: dict[str, object]) -> str:
        """Say what became of a set; nothing is stored in a dry run, where it is only new."""
        outcome = str(result["outcome"])
        return "new" if self.dry_run and outcome == "stored" else outcome


async def post(door: Door, items: list[Item], bar: Progress, *, dry_run: bool) -> Posted:
    """Post the sets of a file with a progress bar."""
    task = bar.add_task("Checking" if dry_run else "Loading", total=len(items))
    async with door.open() as client:
        return await post_all(client, items, lambda count: bar.advance(task, count), dry_run=dry_run)


async def post_all(
    client: httpx.AsyncClient, items: list[Item], advance: Callable[[int], None], *, dry_run: bool
) -> Posted:
    """Post sets in batches; what was taken before a failure is seen again, not doubled, by a second run."""
    posted = Posted(dry_run)
    for batch in batches(items):
        answer = await asked(client, _request(client, batch, dry_run=dry_run))
        posted.results += zip(batch, answer.json()["results"], strict=True)
        advance(len(batch))
    return posted


def refused_table(posted: Posted) -> Table:
    """List the sets that were refused, and why."""
    table = Table("place", "client_ref", "outcome", "why", title="Refused")
    for item, result in posted.refused[:MOST_SHOWN]:
        table.add_row(str(item.place), _text(result["client_ref"]), posted.word(result), why(result["problem"]))
    rest = len(posted.refused) - MOST_SHOWN
    if rest > 0:
        table.caption = f"and {rest} more"
    return table


def checked_table(posted: Posted) -> Table:
    """List every set with its standings and reasons, or why it would be refused."""
    table = Table("place", "client_ref", "outcome", "direction", "standing", "why")
    for item, result in posted.results:
        head = (str(item.place), _text(result["client_ref"]), posted.word(result))
        standings = result["standings"]
        if not isinstance(standings, list) or not standings:
            table.add_row(*head, "", "", why(result["problem"]))
            continue
        for standing in standings:
            texts = [remark["text"] for remark in [*standing["reasons"], *standing["cautions"]]]
            table.add_row(*head, standing["direction"], standing["standing"], " ".join(texts))
            head = ("", "", "")
    return table


def why(problem: object) -> str:
    """Put a problem into words: each fault on a line, with the member that it is about."""
    if not isinstance(problem, dict):
        return ""
    faults = [
        f"{error.get('pointer', '')}: {error['detail']}".removeprefix(": ") for error in problem.get("errors", [])
    ]
    return "\n".join(faults) or str(problem.get("detail", ""))


def _request(client: httpx.AsyncClient, batch: list[Item], *, dry_run: bool) -> httpx.Request:
    return client.build_request(
        "POST",
        "/v1/sets/batch",
        params={"dry_run": "true"} if dry_run else None,
        content=b"\n".join(item.text for item in batch),
        headers={"Content-Type": "application/x-ndjson"},
    )


def _text(value: object) -> str:
    return "" if value is None else str(value)
