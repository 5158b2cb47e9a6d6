"""A client of the public API: posts sets so that a retry can never double one, reads the tables back."""

import gzip
import json
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import islice
from types import TracebackType
from typing import Self

import httpx
from pydantic import BaseModel, JsonValue, TypeAdapter, ValidationError

from stillset_client.errors import ApiError, Problem, ServiceFault, Unreachable, error_for
from stillset_client.retry import asked_wait, may_pass, waits

__all__ = ["BatchResult", "Client"]

Document = Mapping[str, JsonValue]
Row = dict[str, JsonValue]

BATCH_SETS = 500
"""Sets a request when many are posted: well under the service's limit of 5,000, so that a retry costs little."""

_OBJECT: TypeAdapter[Row] = TypeAdapter(Row)


class BatchResult(BaseModel):
    """What became of one set of a batch: stored, seen (already there), conflict or invalid."""

    index: int
    client_ref: str | None
    outcome: str
    id: str | None
    standings: list[Row] | None
    problem: Problem | None


class _BatchAnswer(BaseModel):
    results: list[BatchResult]


class _Page(BaseModel):
    items: list[Row]


class Client:
    """Talks to one stillset service with one key.

    Parameters
    ----------
    url : str
        Address of the service, such as ``http://127.0.0.1:8000``.
    key : str
        A key of that service.
    tries : int
        How often a request is sent at most when the service cannot be reached or is busy. Every
        request of this client is safe to repeat: a set is known by its ``client_ref``.
    transport : httpx.BaseTransport, optional
        For tests: answers without a network.
    sleep : callable, optional
        Waits the given number of seconds between tries.

    Raises
    ------
    ValueError
        The address does not begin with http:// or https://.
    """

    def __init__(
        self,
        url: str,
        key: str,
        *,
        tries: int = 5,
        transport: httpx.BaseTransport | None = None,
        sleep: Callable[[float], object] = time.sleep,
    ) -> None:
        if not url.startswith(("http://", "https://")):
            raise ValueError(f"The address of a service begins with http:// or https://; given: {url}")
        headers = {"Authorization": f"Bearer {key}", "Accept": "application/json"}
        self._http = httpx.Client(base_url=url, headers=headers, timeout=60, transport=transport)
        self._tries = tries
        self._sleep = sleep

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the connections."""
        self._http.close()

    def post_set(self, document: Document, *, dry_run: bool = False) -> Row:
        """Post one set and return the judged set; a set that is already there gives its first answer.

        Raises
        ------
        Conflict
            The client_ref is stored with other content.
        Refused
            The document breaks the contract; the problem names each field.
        ApiError
            Anything else; see :mod:`stillset_client.errors`.
        """
        query = "?dry_run=true" if dry_run else ""
        return _OBJECT.validate_json(self._send("POST", f"/v1/sets{query}", dict(document)).content)

    def post_sets(self, documents: Iterable[Document], *, dry_run: bool = False) -> Iterator[BatchResult]:
        """Post any number of sets in batches and yield one result for each, in their order.

        A set that the service refuses is a result with a problem, not an exception. ``index`` counts
        over the whole call.
        """
        query = "?dry_run=true" if dry_run else ""
        headers = {"Content-Type": "application/x-ndjson", "Content-Encoding": "gzip"}
        remaining = iter(documents)
        done = 0
        while chunk := list(islice(remaining, BATCH_SETS)):
            lines = "\n".join(json.dumps(dict(document), allow_nan=False) for document in chunk)
            body = gzip.compress(lines.encode(), compresslevel=1)
            answer = self._send("POST", f"/v1/sets/batch{query}", body, headers)
            for result in _BatchAnswer.model_validate_json(answer.content).results:
                yield result.model_copy(update={"index": done + result.index})
            done += len(chunk)

    def rows(self, address: str, **query: str | int) -> Iterator[Row]:
        """Yield every row of a table, page by page, such as ``rows("/v1/athletes/MB-07/readings")``."""
        answer = self._send("GET", str(httpx.URL(address, params=query) if query else address))
        while True:
            yield from _Page.model_validate_json(answer.content).items
            following = answer.links.get("next", {}).get("url")
            if following is None:
                return
            answer = self._send("GET", following)

    def get(self, address: str, **query: str | int) -> Row:
        """Return one document, such as ``get("/v1/athletes/MB-07/trend", history="true")``."""
        return _OBJECT.validate_json(
            self._send("GET", str(httpx.URL(address, params=query) if query else address)).content
        )

    def _send(
        self, method: str, address: str, body: Row | bytes | None = None, headers: Mapping[str, str] | None = None
    ) -> httpx.Response:
        """Send a request until it is answered for good."""
        content = json.dumps(body, allow_nan=False).encode() if isinstance(body, dict) else body
        sent_headers = dict(headers or ({"Content-Type": "application/json"} if content is not None else {}))
        pauses = waits(self._tries)
        while True:
            pause = next(pauses, None)
            try:
                response = self._http.request(method, address, content=content, headers=sent_headers)
            except httpx.TransportError as lost:
                if pause is None:
                    raise Unreachable(f"No answer from {self._http.base_url}: {lost}", retryable=True) from lost
            else:
                if response.is_success:
                    return response
                if pause is None or not may_pass(response):
                    raise _error(response)
                pause = asked_wait(response) or pause
            self._sleep(pause)


def _error(response: httpx.Response) -> ApiError:
    """Return the error that a refused response stands for."""
    try:
        return error_for(Problem.model_validate_json(response.content))
    except ValidationError:
        return ServiceFault(f"{response.status_code} without problem details")
