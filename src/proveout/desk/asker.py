"""Work for one asker, which ends once nobody waits for it any more."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import TypeVar

from fastapi import Request
from fastapi.responses import Response
from starlette.concurrency import run_in_threadpool

from proveout.model.run import Run
from proveout.quantities.errors import Interrupted

Answer = TypeVar("Answer", bound=Response)
GONE = 204  # nobody reads it


async def while_asked(request: Request, work: Callable[[Run], Answer]) -> Answer | Response:
    """The answer that the work gives, in a thread; its run is cancelled when the asker leaves meanwhile."""
    run = Run()
    watch = asyncio.create_task(_cancel_when_gone(request, run))
    try:
        return await run_in_threadpool(work, run)
    except Interrupted:
        return Response(status_code=GONE)
    finally:
        watch.cancel()


async def _cancel_when_gone(request: Request, run: Run) -> None:
    while (await request.receive())["type"] != "http.disconnect":
        pass
    run.cancel()
