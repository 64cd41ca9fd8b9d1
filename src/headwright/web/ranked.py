"""The ranking page: at once for a small rack, as long work for a large one; a page at a time.

A ranking is kept in memory until the book or what was run beside it changes, for the next page and
for what is opened on it.
"""

from __future__ import annotations

import threading
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Final, Literal

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from pydantic import BaseModel, ConfigDict, Field

from headwright import actions
from headwright.errors import InputError
from headwright.views.findings import FindingRow, finding_rows
from headwright.views.ranking import RankingView, ranking_view
from headwright.web.book import PageQuery, book_path, frame_for, open_book_of
from headwright.web.charts_power import JobLine, job_line
from headwright.web.contexts import PageContext, split_findings
from headwright.web.jobs import Asked, Tell, Work
from headwright.web.jobs_pages import begin, jobs_of
from headwright.web.links import Links
from headwright.web.rendering import render
from headwright.web.security_forms import SentForm, form_token

if TYPE_CHECKING:
    from headwright.studies.rank import Ranking

__all__ = ["AT_ONCE", "PAGE_LENGTH", "router"]

router = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)

AT_ONCE: Final = 40
"""Castings ranked while the page is waited for; more are ranked as long work."""
PAGE_LENGTH: Final = 12
"""Castings to a page of the ranking."""
MOST_KEPT: Final = 6
_WITH_ENGINE: Final[Mapping[str, Any]] = {"engine": "yes"}
"""What is asked of long work that runs the engine model for the castings that fit."""


@dataclass(frozen=True, slots=True)
class RankPage(PageContext):
    """The castings for a build, best first; ``view`` is None until they are ranked.

    ``unrun`` counts the castings that fit whose power is still the steady estimate.
    """

    template: ClassVar[str] = "rank.html"
    build: str
    view: RankingView | None
    total: int
    page: int
    pages: int
    length: int
    job: JobLine | None
    address: str
    unrun: int = 0
    engine_job: JobLine | None = None


@dataclass(frozen=True, slots=True)
class GoodPart(PageContext):
    """The good findings of one casting, by themselves."""

    template: ClassVar[str] = "rank_good.html"
    casting: str
    rows: tuple[FindingRow, ...]


@dataclass(frozen=True, slots=True)
class GoodPage(GoodPart):
    """The same as a page of its own, where no script runs."""

    template: ClassVar[str] = "rank_good_page.html"
    build: str


class _Asked(BaseModel):
    """What may be asked: the units and the page."""

    model_config = ConfigDict(extra="forbid")

    system: Literal["inch", "metric"] | None = None
    page: Annotated[int, Field(ge=1, le=1_000_000)] = 1


Mark = tuple[tuple[int, int], ...]


class _Kept:
    """Rankings in memory, each with the mark of the book it was made from."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._found: dict[str, tuple[Mark, Ranking]] = {}

    def get(self, tag: str, mark: Mark) -> Ranking | None:
        """Return the ranking for a build, if the book is as it was."""
        with self._lock:
            kept = self._found.get(tag)
        return kept[1] if kept is not None and kept[0] == mark else None

    def keep(self, tag: str, mark: Mark, ranking: Ranking) -> None:
        """Keep a ranking; the oldest goes when there are too many."""
        with self._lock:
            self._found.pop(tag, None)
            self._found[tag] = (mark, ranking)
            while len(self._found) > MOST_KEPT:
                del self._found[next(iter(self._found))]


def _kept(request: Request) -> _Kept:
    state = request.app.state
    if not hasattr(state, "rankings"):
        state.rankings = _Kept()
    found: _Kept = state.rankings
    return found


def _mark(book: Path) -> Mark:
    """Return what tells whether the book, or what was run beside it, has changed."""
    marks = []
    for place in (book, book.with_name(f"{book.name}-wal"), book.with_name(f"{book.name}.results")):
        try:
            stat = place.stat()
            # An empty log beside the book comes and goes with whoever reads it.
            marks.append((stat.st_mtime_ns, stat.st_size) if stat.st_size else (0, 0))
        except OSError:
            marks.append((0, 0))
    return tuple(marks)


@router.get("/builds/{tag}/rank")
def rank(request: Request, tag: str, query: Annotated[_Asked, Query()]) -> str:
    """Show every casting of the book, ranked for a build, or the way to rank a large rack."""
    path = book_path(request)
    with open_book_of(request) as book:
        mark = _mark(path)
        system = query.system or actions.shop_system(book)
        ranking = _kept(request).get(tag, mark)
        total = actions.count_records(book)["casting"]
        if ranking is None and total <= AT_ONCE:
            ranking = actions.rank_build(book, tag, engine=True, only_kept=True)
            _kept(request).keep(tag, mark, ranking)
        elif ranking is None:
            actions.show_record(book, "build", tag)
    view = None if ranking is None else ranking_view(ranking, system)
    unrun = 0 if ranking is None else _unrun(ranking)
    engine_job = jobs_of(request).latest("rank", tag, _WITH_ENGINE) if unrun else None
    first = (query.page - 1) * PAGE_LENGTH
    pages = max(1, -(-total // PAGE_LENGTH))
    if view is not None:
        view = replace(view, candidates=view.candidates[first : first + PAGE_LENGTH])
    job = None if view else jobs_of(request).latest("rank", tag, {})
    asked = {"page": query.page} if query.page > 1 else {}
    page = RankPage(
        heading=f"Castings for {tag}",
        build=tag,
        view=view,
        total=total,
        page=query.page,
        pages=pages,
        length=PAGE_LENGTH,
        job=job_line(job, stale=True, shown=False, steps="castings"),
        address=Links(query.system).to("builds", tag, "rank"),
        unrun=unrun,
        engine_job=job_line(engine_job, stale=True, shown=False, steps="castings"),
    )
    token = form_token(request) if view is None or unrun else ""
    data = Links().to("api", "builds", tag, "rank")
    return render(page, frame_for(request, system, query.system, data, asked, token=token))


@router.post("/builds/{tag}/rank")
def start_rank(request: Request, tag: str, sent: SentForm) -> Response:
    """Rank a large rack, or run the engine model for what fits, in the background."""
    with open_book_of(request) as book:
        actions.show_record(book, "build", tag)
    address = Links().to("builds", tag, "rank")
    path = book_path(request)
    if "engine" in sent.fields:
        begin(request, "rank", tag, _WITH_ENGINE, _engine_work(path, tag), address)
    else:
        begin(request, "rank", tag, {}, _work(path, tag, _kept(request)), address)
    return RedirectResponse(address, 303)


def _unrun(ranking: Ranking) -> int:
    """Count the castings that fit on which the engine model has not been tried."""
    return sum(
        one.fits and one.curve is None and not one.curve_trouble for one in ranking.candidates
    )


def _engine_work(path: Path, tag: str) -> Work:
    """Run the engine model for every casting that fits; what it finds is kept beside the book."""

    def work(tell: Tell, asked_to_stop: Asked) -> Mapping[str, Any]:
        with actions.open_book(path) as book:
            wanted = _unrun(actions.rank_build(book, tag, engine=True, only_kept=True))
            begun = 0

            def told(casting: str) -> None:
                nonlocal begun
                if asked_to_stop():
                    # The ranking passes over what is refused: so the rest go by at once.
                    raise InputError(f"{tag}: stopped before {casting}")
                tell(min(begun, wanted), wanted)
                begun += 1

            actions.rank_build(book, tag, engine=True, told=told)
        tell(wanted, wanted)
        return {"castings": wanted}

    return work


def _work(path: Path, tag: str, kept: _Kept) -> Work:
    def work(tell: Tell, asked_to_stop: Asked) -> Mapping[str, Any]:
        def progress(done: int, wanted: int) -> None:
            tell(done, wanted)
            if asked_to_stop():
                raise InputError("stopped")

        mark = _mark(path)
        with actions.open_book(path) as book:
            ranking = actions.rank_build(book, tag, engine=True, only_kept=True, progress=progress)
        kept.keep(tag, mark, ranking)
        return {"castings": len(ranking.candidates)}

    return work


@router.get("/builds/{tag}/rank/{casting}/good")
def good(request: Request, tag: str, casting: str, query: PageQuery) -> str:
    """Show the good findings of one casting of the ranking."""
    with open_book_of(request) as book:
        system = query.system or actions.shop_system(book)
        ranking = _kept(request).get(tag, _mark(book_path(request)))
        judged = ranking.candidates if ranking else ()
        found = next((one for one in judged if one.casting.tag == casting), None)
        if found is None:
            found = actions.judge_for_build(book, tag, casting)
    rows = split_findings(finding_rows(found.findings, system))[1]
    frame = frame_for(request, system, query.system)
    if request.headers.get("hx-request"):
        return render(GoodPart("", casting=casting, rows=rows), frame)
    heading = f"Good findings on {casting} for {tag}"
    return render(GoodPage(heading, casting=casting, rows=rows, build=tag), frame)
