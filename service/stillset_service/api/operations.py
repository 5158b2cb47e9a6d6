"""Whether the service is alive and ready, and its numbers for Prometheus."""

import threading
import time
from functools import cache

from fastapi import APIRouter, FastAPI, Request
from fastapi.responses import JSONResponse, PlainTextResponse, Response
from prometheus_client import CONTENT_TYPE_LATEST, CollectorRegistry, Counter, Histogram, generate_latest
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from stillset_core.trend import warm_up
from stillset_service.store.engine import Store, fetch_one

__all__ = ["CountedRequests", "Metrics", "engine", "install_operations"]

router = APIRouter(tags=["operations"])


class Metrics:
    """What is counted; each application has its own, so that two in one process do not mix."""

    def __init__(self) -> None:
        self.registry = CollectorRegistry()
        self.requests = Counter(
            "stillset_requests", "Requests answered.", ("method", "route", "status"), registry=self.registry
        )
        self.seconds = Histogram("stillset_request_seconds", "Seconds to answer.", ("route",), registry=self.registry)
        self.sets = Counter("stillset_sets", "Sets posted, by outcome.", ("outcome",), registry=self.registry)


class CountedRequests:
    """Counts requests around an application. Plain ASGI: it costs a request next to nothing."""

    def __init__(self, app: ASGIApp, metrics: Metrics) -> None:
        self._app = app
        self._metrics = metrics

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request through, and count it by the route that took it, never by its path."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        started = time.perf_counter()
        status = "500"

        async def counting(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = str(message["status"])
            await send(message)

        try:
            await self._app(scope, receive, counting)
        finally:
            route = getattr(scope.get("route"), "path", "none")
            self._metrics.requests.labels(_method(scope["method"]), route, status).inc()
            self._metrics.seconds.labels(route).observe(time.perf_counter() - started)


def install_operations(app: FastAPI) -> None:
    """Add the routes of this module, count requests, and compile the engine beside the first requests."""
    app.state.metrics = Metrics()
    app.add_middleware(CountedRequests, metrics=app.state.metrics)
    app.include_router(router)
    engine()


@router.get("/healthz")
def healthz() -> JSONResponse:
    """Say that the process answers."""
    return JSONResponse({"status": "ok"})


@router.get("/readyz", responses={503: {"description": "The store does not answer."}})
def readyz(request: Request) -> JSONResponse:
    """Say that the store answers; without it, 503. The engine may still be compiling: a reading view waits for it."""
    store: Store = request.app.state.store
    with store.read() as connection:
        fetch_one(connection, "SELECT version_num FROM alembic_version")
    return JSONResponse({"status": "ok", "store": "ok", "engine": "compiling" if engine().is_alive() else "ok"})


@router.get("/metrics", response_class=PlainTextResponse)
def metrics(request: Request) -> Response:
    """Give the counts in Prometheus' text format."""
    counted: Metrics = request.app.state.metrics
    return Response(generate_latest(counted.registry), media_type=CONTENT_TYPE_LATEST)


@cache
def engine() -> threading.Thread:
    """Begin to compile the engine, once in a process."""
    compiling = threading.Thread(target=warm_up, name="warm-up", daemon=True)
    compiling.start()
    return compiling


_METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"})


def _method(sent: str) -> str:
    """Keep the number of series small, whatever a client sends as its method."""
    return sent if sent in _METHODS else "other"
