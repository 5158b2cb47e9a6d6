"""The bare handler of the speed benchmark, a process of its own: it validates a body and does nothing with it.

It reads the body by itself and validates the bytes, which is faster than letting FastAPI do either, and
collects garbage as seldom as the service. ``python tests/benchmarks/speed_bare.py PORT``.
"""

import gc
import sys

import uvicorn
from fastapi import FastAPI, Request, Response
from pydantic import TypeAdapter

from stillset_core.members import SetMembers

VALIDATE = TypeAdapter(SetMembers).validate_json
app = FastAPI()


@app.get("/readyz")
async def ready() -> Response:
    return Response(b'{"engine":"ok"}', media_type="application/json")


@app.post("/v1/sets")
async def one(request: Request) -> Response:
    VALIDATE(await request.body())
    return Response(b"{}", status_code=201, media_type="application/json")


@app.post("/v1/sets/batch")
async def batch(request: Request) -> Response:
    for line in (await request.body()).split(b"\n"):
        VALIDATE(line)
    return Response(b"{}", media_type="application/json")


def main() -> None:
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 50, 100)
    uvicorn.run(app, host="127.0.0.1", port=int(sys.argv[1]), log_level="warning", access_log=False)


if __name__ == "__main__":
    main()
