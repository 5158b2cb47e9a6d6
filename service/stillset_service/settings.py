"""Settings of one process: where the store lies, where to listen, and the limits on requests.

The command line, and the environment variables that it reads, fill them once at start.
"""

from dataclasses import dataclass

__all__ = ["Settings"]

MEBIBYTE = 1024 * 1024


@dataclass(frozen=True, slots=True)
class Settings:
    """Settings of one process.

    Attributes
    ----------
    database_url : str
        ``sqlite:///path/to/file`` or ``postgresql://user@host/name``.
    host, port : str, int
        Where to listen; 127.0.0.1 only unless told otherwise.
    max_set_bytes, max_trace_set_bytes, max_batch_bytes : int
        Largest body of a set without and with a trace, and of a batch (before and after decompression), in bytes.
    max_batch_sets : int
        Largest number of sets in a batch.
    max_other_bytes : int
        Largest body of every other route, in bytes.
    busy_timeout_ms : int
        How long a writer waits for another process before the store counts as unavailable.
    key_cache_s : float
        How long a verified key is trusted without asking the store; a revocation in this process acts at once.
    """

    database_url: str = "sqlite:///stillset.db"
    host: str = "127.0.0.1"
    port: int = 8000
    max_set_bytes: int = 4 * MEBIBYTE
    max_trace_set_bytes: int = 8 * MEBIBYTE
    max_batch_bytes: int = 32 * MEBIBYTE
    max_batch_sets: int = 5000
    max_other_bytes: int = MEBIBYTE
    busy_timeout_ms: int = 10_000
    key_cache_s: float = 1.0
