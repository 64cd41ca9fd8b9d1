"""What a page can ask of a job: how far it is (once, or as it goes), and to stop."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Mapping
from contextlib import asynccontextmanager
from typing import Any, Final, TypeVar

from fastapi import APIRouter, FastAPI, Request
from fastapi.responses import RedirectResponse, Response, StreamingResponse
from pydantic import BaseModel
from starlette.exceptions import HTTPException

from headwright.errors import InputError
from headwright.web.book import book_path
from headwright.web.jobs import Job, JobRunner, Work
from headwright.web.security_forms import SentForm

__all__ = ["begin", "data_router", "jobs_of", "lifespan", "question_sent", "router"]

router = APIRouter(include_in_schema=False)
data_router = APIRouter(prefix="/api/jobs", tags=["long work"])

_LOOK_EVERY: Final = 0.2
_SAY_SOMETHING_EVERY: Final = 15.0


def jobs_of(request: Request) -> JobRunner:
    """Return the runner of this app, made when it is first asked for."""
    state = request.app.state
    if not hasattr(state, "jobs"):
        state.jobs = JobRunner(book_path(request))
    runner: JobRunner = state.jobs
    return runner


Question = TypeVar("Question", bound=BaseModel)


def question_sent(model: type[Question], fields: Mapping[str, str], told: str) -> Question:
    """Read what a form asks of long work.

    Args:
        model: what may be asked.
        fields: of the form; empty ones and those of the forms' own machinery are passed over.
        told: the complaint, naming what may be asked.

    Raises:
        InputError: something else was asked.
    """
    known = {name: text.strip() for name, text in fields.items() if not name.startswith("~")}
    try:
        return model.model_validate({name: text for name, text in known.items() if text})
    except ValueError:
        raise InputError(told) from None


def begin(
    request: Request, sort: str, tag: str, question: Mapping[str, Any], work: Work, page: str
) -> None:
    """Put work in the queue.

    Raises:
        InputError: too much is waiting already.
    """
    try:
        jobs_of(request).start(sort, tag, question, work, page=page)
    except RuntimeError:
        raise InputError(
            f"{sort}: too much work is waiting; let some of it end or stop it"
        ) from None


@asynccontextmanager
async def lifespan(app: FastAPI) -> AsyncIterator[None]:
    """Stop the work when the server goes down."""
    yield
    if hasattr(app.state, "jobs"):
        await asyncio.to_thread(app.state.jobs.close)


def _job(request: Request, name: str) -> Job:
    job = jobs_of(request).get(name)
    if job is None:
        raise HTTPException(404)
    return job


@data_router.get("")
def jobs(request: Request) -> dict[str, Any]:
    """List the long work of this book, newest first."""
    return {"jobs": [job.progress() for job in jobs_of(request).all()]}


@data_router.get("/{name}")
def job(request: Request, name: str) -> dict[str, Any]:
    """Return where a job stands."""
    return _job(request, name).progress()


@router.post("/jobs/{name}/cancel")
def cancel(request: Request, name: str, sent: SentForm) -> Response:
    """Stop a job; what it has found is kept."""
    del sent  # its token was checked
    back = _job(request, name).page
    jobs_of(request).cancel(name)
    ours = back.startswith("/") and not back.startswith(("//", "/\\"))
    return RedirectResponse(back if ours else "/", status_code=303)


@router.get("/jobs/{name}/events")
async def events(request: Request, name: str) -> Response:
    """Send word whenever the job gets on, until it is over."""
    first = _job(request, name)
    runner = jobs_of(request)

    async def words() -> AsyncIterator[str]:
        last: dict[str, Any] = {}
        quiet = 0.0
        job: Job | None = first
        while job is not None:
            now = job.progress()
            if now != last:
                kind = "over" if job.is_over else "progress"
                yield f"event: {kind}\ndata: {json.dumps(now)}\n\n"
                last, quiet = now, 0.0
            elif quiet >= _SAY_SOMETHING_EVERY:
                yield ": still here\n\n"
                quiet = 0.0
            if job.is_over or runner.is_closed or await request.is_disconnected():
                return
            await asyncio.sleep(_LOOK_EVERY)
            quiet += _LOOK_EVERY
            job = runner.get(name)

    return StreamingResponse(words(), media_type="text/event-stream")
