"""Long work behind the pages: one job at a time on a thread of its own, with progress.

A job outlives the page that asked for it. Its record lies in a folder beside the book, so that a
server started again can say which work was cut off; what a job has found so far is in its record
too, and nothing found is lost when it is stopped. One server works for a book at a time: a second
one would call the first one's unfinished jobs interrupted.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import json
import logging
import queue
import re
import secrets
import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final, Literal

from headwright.errors import HeadwrightError, RecordError

__all__ = ["ENDED", "Job", "JobRunner", "Work"]

State = Literal["waiting", "running", "done", "cancelled", "failed", "interrupted"]
ENDED: Final = frozenset({"done", "cancelled", "failed", "interrupted"})

MOST_KEPT: Final = 60
"""Records kept; older ones are thrown away."""

MOST_WAITING: Final = 20
_LARGEST_RECORD: Final = 16 * 1024 * 1024
_NAME: Final = re.compile(r"[0-9a-f]{16}")

Tell = Callable[[int, int], None]
Asked = Callable[[], bool]
Work = Callable[[Tell, Asked], "Mapping[str, Any] | None"]
"""Does the work: tells how far it is, asks whether to stop, returns what it found as plain data."""

_LOG: Final = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Job:
    """What is known of a job.

    Attributes:
        name: sixteen hexadecimal digits.
        sort: what kind of work, such as ``power``.
        subject: tag of the record it is about.
        asked: what was asked, plain data; two jobs with the same question are one.
        state: where it stands.
        done: steps done.
        wanted: steps in all; 0 while nobody knows.
        started: when it was asked for, ISO 8601, UTC.
        ended: when it ended; empty before.
        message: why it failed.
        page: address of the page that shows it.
        found: what it found, plain data; None before.
    """

    name: str
    sort: str
    subject: str
    asked: Mapping[str, Any]
    state: State = "waiting"
    done: int = 0
    wanted: int = 0
    started: str = ""
    ended: str = ""
    message: str = ""
    page: str = ""
    found: Mapping[str, Any] | None = field(default=None, repr=False)

    @property
    def is_over(self) -> bool:
        """Tell whether nothing more will happen to it."""
        return self.state in ENDED

    def progress(self) -> dict[str, Any]:
        """Return where it stands as plain data, without what it found."""
        return {
            "job": self.name,
            "sort": self.sort,
            "subject": self.subject,
            "asked": dict(self.asked),
            "state": self.state,
            "done": self.done,
            "wanted": self.wanted,
            "started": self.started,
            "ended": self.ended,
            "message": self.message,
            "page": self.page,
        }


def _now() -> str:
    return dt.datetime.now(dt.UTC).isoformat(timespec="seconds")


class JobRunner:
    """Runs jobs one after another, and remembers them."""

    def __init__(self, book: Path) -> None:
        """Keep the records beside ``book``; nothing is read or started before it is needed."""
        self._folder = book.with_name(f"{book.name}.jobs")
        self._lock = threading.RLock()
        self._jobs: dict[str, Job] | None = None
        self._work: queue.Queue[tuple[str, Work]] = queue.Queue()
        self._stops: dict[str, threading.Event] = {}
        self._thread: threading.Thread | None = None
        self._closed = threading.Event()

    @property
    def is_closed(self) -> bool:
        """Tell whether the server is going down."""
        return self._closed.is_set()

    def start(
        self, sort: str, subject: str, asked: Mapping[str, Any], work: Work, *, page: str = ""
    ) -> Job:
        """Put a job in the queue, or return the one that is at the same question already.

        Args:
            sort: what kind of work.
            subject: tag of the record it is about.
            asked: the question, plain data.
            work: does it, on the runner's thread.
            page: address of the page that shows it.

        Raises:
            RuntimeError: the server is going down, or too much is waiting.
        """
        with self._lock:
            jobs = self._loaded()
            for job in jobs.values():
                if not job.is_over and (job.sort, job.subject, job.asked) == (
                    sort,
                    subject,
                    asked,
                ):
                    return job
            if self.is_closed or sum(not job.is_over for job in jobs.values()) >= MOST_WAITING:
                raise RuntimeError("no more work can be taken on now")
            job = Job(secrets.token_hex(8), sort, subject, dict(asked), started=_now(), page=page)
            self._stops[job.name] = threading.Event()
            self._keep(job)
            self._work.put((job.name, work))
            if self._thread is None:
                self._thread = threading.Thread(target=self._run, name="jobs", daemon=True)
                self._thread.start()
            return job

    def get(self, name: str) -> Job | None:
        """Return a job; None where there is none of that name."""
        with self._lock:
            return self._loaded().get(name)

    def all(self) -> Sequence[Job]:
        """Return every job, the newest first."""
        with self._lock:
            return sorted(
                self._loaded().values(), key=lambda job: (job.started, job.name), reverse=True
            )

    def latest(self, sort: str, subject: str, asked: Mapping[str, Any]) -> Job | None:
        """Return the job that was last at a question."""
        with self._lock:
            # The dictionary keeps the order they were asked in.
            for job in reversed(self._loaded().values()):
                if (job.sort, job.subject, job.asked) == (sort, subject, asked):
                    return job
        return None

    def cancel(self, name: str) -> Job | None:
        """Ask a job to stop. One that waits is over at once; one that runs ends its step first."""
        with self._lock:
            job = self._loaded().get(name)
            if job is None or job.is_over:
                return job
            self._stops[name].set()
            if job.state == "waiting":
                job = replace(job, state="cancelled", ended=_now())
                self._keep(job)
            return job

    def close(self, seconds: float = 5.0) -> None:
        """Stop everything; what was unfinished is called interrupted."""
        self._closed.set()
        with self._lock:
            for stop in self._stops.values():
                stop.set()
            thread = self._thread
        if thread is not None:
            thread.join(seconds)
        with self._lock:
            if self._jobs is None:
                return
            for job in list(self._jobs.values()):
                if not job.is_over:
                    self._keep(replace(job, state="interrupted", ended=_now()))

    def _run(self) -> None:
        while not self.is_closed:
            try:
                name, work = self._work.get(timeout=0.5)
            except queue.Empty:
                continue
            self._do(name, work)

    def _do(self, name: str, work: Work) -> None:
        with self._lock:
            job = self._loaded()[name]
            stop = self._stops[name]
            if job.is_over:
                return
            self._keep(replace(job, state="running"))

        def tell(done: int, wanted: int) -> None:
            with self._lock:
                now = self._loaded()[name]
                if not now.is_over:
                    self._loaded()[name] = replace(now, done=done, wanted=wanted)

        found: Mapping[str, Any] | None = None
        message = ""
        state: State
        try:
            found = work(tell, stop.is_set)
            if not stop.is_set():
                state = "done"
            else:
                state = "interrupted" if self.is_closed else "cancelled"
        except RecordError as error:
            state, message = "failed", "; ".join(str(one) for one in error.problems[:20])
        except HeadwrightError as error:
            state, message = "failed", str(error).replace(str(self._folder.parent), "")
        except Exception:  # noqa: BLE001 - a fault must not end the thread; the terminal names it
            _LOG.exception("job %s failed", name)
            state = "failed"
            message = "a fault in the program; the terminal that runs it says more"
        if state == "failed" and stop.is_set():
            state, message = ("interrupted" if self.is_closed else "cancelled"), ""
        with self._lock:
            now = self._loaded()[name]
            if not now.is_over:
                self._keep(
                    replace(now, state=state, message=message[:4000], ended=_now(), found=found)
                )
            del self._stops[name]

    def _loaded(self) -> dict[str, Job]:
        if self._jobs is None:
            self._jobs = {}
            for job in sorted(self._read_all(), key=lambda job: (job.started, job.name)):
                self._jobs[job.name] = job
                if not job.is_over:
                    self._keep(replace(job, state="interrupted", ended=_now()))
        return self._jobs

    def _read_all(self) -> list[Job]:
        try:
            places = list(self._folder.iterdir())
        except OSError:
            return []
        found = [_read(place) for place in places if place.suffix == ".json"]
        return [job for job in found if job is not None]

    def _keep(self, job: Job) -> None:
        """Note a job in memory and beside the book, where that can be written."""
        jobs = self._jobs if self._jobs is not None else {}
        jobs[job.name] = job
        old = [one.name for one in jobs.values() if one.is_over][: max(0, len(jobs) - MOST_KEPT)]
        draft = self._folder / f".{secrets.token_hex(8)}.new"
        body = job.progress() | {"found": None if job.found is None else dict(job.found)}
        try:
            self._folder.mkdir(exist_ok=True)
            draft.write_text(json.dumps(body, allow_nan=False), encoding="utf-8")
            draft.replace(self._folder / f"{job.name}.json")
            for name in old:
                jobs.pop(name, None)
                (self._folder / f"{name}.json").unlink(missing_ok=True)
        except (OSError, ValueError):
            with contextlib.suppress(OSError):
                draft.unlink()


def _read(place: Path) -> Job | None:
    """Read a record; None where it is damaged or none of ours."""
    try:
        if place.stat().st_size > _LARGEST_RECORD or not _NAME.fullmatch(place.stem):
            return None
        body = json.loads(place.read_text(encoding="utf-8"))
        name = body.pop("job")
        job = Job(name=name, **body)
        sound = (
            name == place.stem
            and (job.state in ENDED or job.state in {"waiting", "running"})
            and isinstance(job.asked, dict)
            and all(
                isinstance(text, str) for text in (job.sort, job.subject, job.message, job.page)
            )
            and all(isinstance(text, str) for text in (job.started, job.ended))
            and isinstance(job.done, int)
            and isinstance(job.wanted, int)
            and (job.found is None or isinstance(job.found, dict))
        )
    except (OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None
    return job if sound else None
