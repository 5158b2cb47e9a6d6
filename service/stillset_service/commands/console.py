"""Talking to the person at the terminal: answers on stdout, progress and errors on stderr.

Exit codes of every command:

====  ==============================================================
0     Done.
1     Done, but some sets were refused (invalid or conflicting).
2     Wrong usage, or a file that cannot be read.
3     The service or the store cannot be reached, or refused the key.
====  ==============================================================
"""

from enum import IntEnum

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

from stillset_core.errors import StillsetError

__all__ = ["CommandError", "ExitCode", "answers", "notes", "progress"]

_WIDE = 200
"""Columns of a table that goes to a file or a pipe, where nothing needs to be folded."""


class ExitCode(IntEnum):
    """How a command ended."""

    DONE = 0
    SOME_REFUSED = 1
    USAGE = 2
    UNREACHABLE = 3


class CommandError(StillsetError):
    """A command cannot go on; its text is the one line that the person sees."""

    def __init__(self, sentence: str, code: ExitCode = ExitCode.USAGE) -> None:
        super().__init__(" ".join(sentence.split()))
        self.code = code


def answers() -> Console:
    """Give the console for what was asked for."""
    console = Console(highlight=False, markup=False)
    return console if console.is_terminal else Console(highlight=False, markup=False, width=_WIDE)


def notes() -> Console:
    """Give the console for what goes on meanwhile."""
    return Console(stderr=True, highlight=False, markup=False)


def progress() -> Progress:
    """Give a progress bar on stderr; silent where nobody watches."""
    console = notes()
    return Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
        console=console,
        disable=not console.is_terminal,
    )
