"""The application: wiring only."""

import gc
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from fastapi import FastAPI

from stillset_service import pages
from stillset_service.api import (
    athlete_views,
    athletes,
    attention_answers,
    audit,
    keys,
    one_set,
    periods,
    planning,
    positions,
    protocol,
    sets,
    squad_views,
    squads,
)
from stillset_service.api.head import HeadAsGet
from stillset_service.api.openapi import install_openapi
from stillset_service.api.operations import install_operations
from stillset_service.api.paths import NameablePaths
from stillset_service.api.problems import install_problems
from stillset_service.auth.keys import Keyring
from stillset_service.ingest.queue import SetQueue
from stillset_service.settings import Settings
from stillset_service.store.engine import Store

__all__ = ["create_app"]


def create_app(settings: Settings) -> FastAPI:
    """Make the application over its store, bringing the tables up to date first."""
    store = Store(settings)
    store.upgrade()

    @asynccontextmanager
    async def lifespan(_app: FastAPI) -> AsyncIterator[None]:
        # What is alive now stays alive: leave it out of every collection, and collect seldom.
        gc.collect()
        gc.freeze()
        gc.set_threshold(50_000, 50, 100)
        # A commit in its thread waits this long at most for its turn to begin and to be told (the default is 5 ms).
        sys.setswitchinterval(0.0002)
        yield
        store.close()

    app = FastAPI(
        title="stillset",
        version="1",
        docs_url=None,
        redoc_url=None,
        redirect_slashes=False,
        lifespan=lifespan,
    )
    app.state.settings = settings
    app.state.store = store
    app.state.keyring = Keyring(store, settings.key_cache_s)
    app.state.set_queue = SetQueue(store)
    for part in (
        sets,
        one_set,
        athletes,
        positions,
        periods,
        squads,
        planning,
        protocol,
        keys,
        audit,
        attention_answers,
    ):
        app.include_router(part.router)
    install_problems(app)
    app.add_middleware(NameablePaths)
    app.add_middleware(HeadAsGet)
    install_operations(app)
    for views in (athlete_views, squad_views):
        app.include_router(views.router)
    app.include_router(pages.router)
    install_openapi(app)
    return app
