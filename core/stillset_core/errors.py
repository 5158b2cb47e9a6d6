"""What can be wrong, as exceptions and as values.

The tree::

    StillsetError
    ├── DocumentRefused     a document from outside breaks the contract; carries every fault found
    └── ProtocolRefused     a club's protocol settings break their limits; carries every fault found

A fault names its field by a JSON Pointer (RFC 6901), so that whoever sent the
document can find it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["DocumentRefused", "Fault", "ProtocolRefused", "StillsetError"]

MAX_FAULTS = 100
"""At most this many faults are reported for one document (contract.md, Problems)."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong with a document.

    Attributes
    ----------
    pointer : str
        RFC 6901 pointer to the member; a missing member is named by the pointer it would have.
    code : str
        Short stable word for the kind of fault, such as ``missing`` or ``unknown-field``.
    detail : str
        One sentence: what was seen and what is needed.
    """

    pointer: str
    code: str
    detail: str


class StillsetError(Exception):
    """Root of every error that stillset raises on purpose."""


class _Refusal(StillsetError):
    """A refusal with its list of faults."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(faults[:MAX_FAULTS])
        super().__init__("; ".join(f"{fault.pointer or '(whole)'}: {fault.detail}" for fault in self.faults))


class DocumentRefused(_Refusal):
    """A document from outside breaks the contract."""


class ProtocolRefused(_Refusal):
    """A club's protocol settings break their limits."""
