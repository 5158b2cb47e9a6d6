"""The scopes of a key, and what a verified key gives access to."""

from dataclasses import dataclass
from enum import StrEnum

__all__ = ["Access", "Scope"]


class Scope(StrEnum):
    """What a key may do: post and mend sets, read everything, or everything else."""

    WRITE = "sets:write"
    READ = "read"
    MANAGE = "manage"


@dataclass(frozen=True, slots=True)
class Access:
    """A verified key: the club it opens, its own id for the record of changes, and its scopes."""

    club_id: str
    key_id: str
    scopes: frozenset[Scope]
