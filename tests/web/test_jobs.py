"""Long work: progress, stopping, restarts, damaged records, and what pages can ask of it."""

from __future__ import annotations

import json
import re
import threading
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from headwright import actions
from headwright.errors import InputError, Problem, RecordError
from headwright.web.app import create_app
from headwright.web.jobs import ENDED, MOST_KEPT, MOST_WAITING, Job, JobRunner

from .conftest import HERE


@pytest.fixture
def runner(tmp_path: Path) -> Iterator[JobRunner]:
    found = JobRunner(tmp_path / "shop.db")
    yield found
    found.close()


def wait_for(runner: JobRunner, name: str, *states: str) -> Job:
    """Wait until a job is in one of the states; the test's own timeout guards this."""
    pause = threading.Event()
    while True:
        job = runner.get(name)
        assert job is not None
        if job.state in (states or ENDED):
            return job
        pause.wait(0.01)


class Gate:
    """Work that goes one step each time it is let through."""

    def __init__(self, steps: int = 3) -> None:
        self.steps = steps
        self.step = threading.Semaphore(0)

    def __call__(self, tell: Any, asked_to_stop: Any) -> Mapping[str, Any]:
        done = 0
        tell(done, self.steps)
        while done < self.steps and not asked_to_stop():
            if self.step.acquire(timeout=0.02):
                done += 1
                tell(done, self.steps)
        return {"done": done}


def test_a_job_tells_how_far_it_is_and_keeps_what_it_found(runner: JobRunner) -> None:
    gate = Gate()
    job = runner.start("power", "b-1", {"low": 1.0}, gate, page="/builds/b-1/power")
    gate.step.release()
    while (now := runner.get(job.name)) is not None and now.done < 1:
        threading.Event().wait(0.01)
    assert now is not None
    assert (now.state, now.done, now.wanted) == ("running", 1, 3)
    gate.step.release(2)
    over = wait_for(runner, job.name)
    assert over.state == "done"
    assert over.found == {"done": 3}
    assert over.ended >= over.started
    assert runner.latest("power", "b-1", {"low": 1.0}) == over
    assert runner.latest("power", "b-1", {"low": 2.0}) is None


def test_the_same_question_is_not_run_twice_at_a_time(runner: JobRunner) -> None:
    gate = Gate()
    first = runner.start("power", "b-1", {"low": 1.0}, gate)
    assert runner.start("power", "b-1", {"low": 1.0}, gate).name == first.name
    other = runner.start("power", "b-1", {"low": 2.0}, gate)
    assert other.name != first.name
    assert wait_for(runner, other.name, "waiting").state == "waiting"
    runner.cancel(first.name)
    runner.cancel(other.name)


def test_stopping_keeps_what_is_done(runner: JobRunner) -> None:
    gate = Gate()
    job = runner.start("power", "b-1", {}, gate)
    gate.step.release()
    while (now := runner.get(job.name)) is not None and now.done < 1:
        threading.Event().wait(0.01)
    runner.cancel(job.name)
    over = wait_for(runner, job.name)
    assert over.state == "cancelled"
    assert over.found == {"done": 1}
    assert runner.cancel(job.name) == over
    assert runner.cancel("0" * 16) is None


def test_a_waiting_job_is_stopped_at_once_and_never_run(runner: JobRunner) -> None:
    gate = Gate()
    running = runner.start("power", "b-1", {}, gate)
    ran = threading.Event()

    def work(_tell: Any, _stop: Any) -> Mapping[str, Any]:
        ran.set()
        return {}

    waiting = runner.start("power", "b-2", {}, work)
    stopped = runner.cancel(waiting.name)
    assert stopped is not None
    assert stopped.state == "cancelled"
    runner.cancel(running.name)
    last = runner.start("power", "b-3", {}, lambda _tell, _stop: {})
    wait_for(runner, last.name)
    assert not ran.is_set()


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (InputError("speed: too high"), "speed: too high"),
        (RecordError([Problem("a.b", "missing"), Problem("c", "wrong")]), "a.b: missing; c: wrong"),
    ],
)
def test_why_it_failed_is_told(runner: JobRunner, error: Exception, words: str) -> None:
    def work(_tell: Any, _stop: Any) -> Mapping[str, Any]:
        raise error

    over = wait_for(runner, runner.start("power", "b-1", {}, work).name)
    assert over.state == "failed"
    assert over.message == words


def test_a_fault_is_told_without_internals_and_the_next_job_runs(
    runner: JobRunner, caplog: pytest.LogCaptureFixture
) -> None:
    def work(_tell: Any, _stop: Any) -> Mapping[str, Any]:
        raise ZeroDivisionError("secret detail")

    over = wait_for(runner, runner.start("power", "b-1", {}, work).name)
    assert over.state == "failed"
    assert "secret" not in over.message
    assert "ZeroDivisionError" in caplog.text
    assert wait_for(runner, runner.start("power", "b-2", {}, lambda *_: {}).name).state == "done"


def test_after_a_restart_what_was_cut_off_is_called_interrupted(tmp_path: Path) -> None:
    book = tmp_path / "shop.db"
    first = JobRunner(book)
    gate = Gate()
    done = first.start("power", "b-0", {}, lambda *_: {"x": 1})
    wait_for(first, done.name)
    cut = first.start("power", "b-1", {"low": 1.0}, gate)
    wait_for(first, cut.name, "running")
    # A second runner over the same book stands for a server started after a crash.
    second = JobRunner(book)
    found = second.latest("power", "b-1", {"low": 1.0})
    assert found is not None
    assert found.state == "interrupted"
    assert second.get(done.name) == wait_for(first, done.name)
    first.close()


def test_going_down_interrupts_and_keeps(tmp_path: Path) -> None:
    runner = JobRunner(tmp_path / "shop.db")
    gate = Gate()
    job = runner.start("power", "b-1", {}, gate)
    gate.step.release()
    while (now := runner.get(job.name)) is not None and now.done < 1:
        threading.Event().wait(0.01)
    runner.close()
    again = JobRunner(tmp_path / "shop.db").get(job.name)
    assert again is not None
    assert again.state == "interrupted"
    assert again.found == {"done": 1}
    with pytest.raises(RuntimeError):
        runner.start("power", "b-2", {}, gate)


def test_too_much_waiting_is_refused(runner: JobRunner) -> None:
    gate = Gate()
    jobs = [runner.start("power", f"b-{n}", {}, gate) for n in range(MOST_WAITING)]
    with pytest.raises(RuntimeError):
        runner.start("power", "one-more", {}, gate)
    for job in reversed(jobs):
        runner.cancel(job.name)


def test_old_records_are_thrown_away(runner: JobRunner, tmp_path: Path) -> None:
    for number in range(MOST_KEPT + 5):
        job = runner.start("power", f"b-{number}", {}, lambda *_: {})
        wait_for(runner, job.name)
    assert len(runner.all()) == MOST_KEPT
    assert len(list((tmp_path / "shop.db.jobs").glob("*.json"))) == MOST_KEPT
    assert runner.all()[0].subject == f"b-{MOST_KEPT + 4}" or len(
        {job.started for job in runner.all()}
    ) < len(runner.all())


@pytest.mark.parametrize(
    "text",
    ["", "{", "[]", "null", '{"job": "x"}', '{"job": 1}', '{"job": "%s", "state": "odd"}', "\x00"],
)
def test_damaged_records_are_passed_over(tmp_path: Path, text: str) -> None:
    folder = tmp_path / "shop.db.jobs"
    folder.mkdir()
    name = "0123456789abcdef"
    (folder / f"{name}.json").write_text(text.replace("%s", name), encoding="utf-8")
    (folder / "notes.json").write_text("{}", encoding="utf-8")
    assert JobRunner(tmp_path / "shop.db").all() == []


def test_a_folder_that_cannot_be_written_does_no_harm(tmp_path: Path) -> None:
    (tmp_path / "shop.db.jobs").write_text("a file in the way", encoding="utf-8")
    runner = JobRunner(tmp_path / "shop.db")
    job = runner.start("power", "b-1", {}, lambda *_: {})
    assert wait_for(runner, job.name).state == "done"
    runner.close()


# Over the pages


@pytest.fixture(scope="module")
def own_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("jobs") / "demo-shop.db"
    actions.load_demo(path)
    return path


@pytest.fixture
def own(own_book: Path) -> Iterator[TestClient]:
    with TestClient(create_app(own_book), base_url=HERE) as client:
        yield client


def token_of(client: TestClient, address: str) -> str:
    found = re.search(r'name="~token" value="([0-9a-f]+)"', client.get(address).text)
    assert found is not None
    return found[1]


def events_of(client: TestClient, name: str) -> list[tuple[str, dict[str, Any]]]:
    with client.stream("GET", f"/jobs/{name}/events") as answer:
        assert answer.status_code == 200
        assert answer.headers["content-type"].startswith("text/event-stream")
        assert answer.headers["cache-control"] == "no-store"
        text = "".join(answer.iter_text())
    found = re.findall(r"event: (\w+)\ndata: (.*)\n\n", text)
    return [(kind, json.loads(data)) for kind, data in found]


def start(client: TestClient, **fields: str) -> str:
    """Start a job for the demo's race engine; return its name."""
    page = "/builds/sprint-2025/power"
    answer = client.post(
        page, data={"~token": token_of(client, page), **fields}, follow_redirects=False
    )
    assert answer.status_code == 303, answer.text
    assert answer.headers["location"].startswith(page)
    found = re.search(
        r'data-events="/jobs/(\w+)/events"', client.get(answer.headers["location"]).text
    )
    assert found is not None
    return found[1]


QUESTION = {"low": "4000 rpm", "high": "4500 rpm", "step": "500 rpm"}
ASKED = "low=4000+rpm&high=4500+rpm&step=500+rpm"


def test_power_from_the_first_press_to_the_curve(own: TestClient) -> None:
    before = own.get(f"/builds/sprint-2025/power?{ASKED}").text
    assert "Run the engine model" in before
    assert own.get(f"/api/builds/sprint-2025/power?{ASKED}").json() == {"curve": None, "job": None}
    name = start(own, **QUESTION)
    told = events_of(own, name)
    kind, last = told[-1]
    assert kind == "over"
    assert last["state"] == "done"
    assert (last["done"], last["wanted"]) == (2, 2)
    assert all(one == "progress" for one, _ in told[:-1])
    text = own.get(f"/builds/sprint-2025/power?{ASKED}").text
    curve = own.get(f"/api/builds/sprint-2025/power?{ASKED}").json()["curve"]
    assert len(curve["points"]) == 2
    for point in curve["points"]:
        assert f"{point['speed_rad_s'] * 30.0 / 3.14159265358979:.0f}" in text
    assert "engine model, LI-02 (estimate)" in text
    assert "Against PP-2025-10-04 the model says" in text
    assert "estimate, to be verified on the engine" in text
    assert "figures assumed, because the records are silent" in text
    assert "data-events" not in text
    # Asked again, it is not run again.
    page = "/builds/sprint-2025/power"
    jobs = own.get("/api/jobs").json()["jobs"]
    own.post(page, data={"~token": token_of(own, page), **QUESTION})
    assert own.get("/api/jobs").json()["jobs"] == jobs
    assert own.get(f"/api/jobs/{name}").json()["state"] == "done"


def test_a_running_job_survives_a_reload_and_can_be_stopped(own: TestClient) -> None:
    fields = {"low": "2000 rpm", "high": "6900 rpm", "step": "25 rpm"}
    name = start(own, **fields)
    address = "/builds/sprint-2025/power?low=2000+rpm&high=6900+rpm&step=25+rpm"
    assert f"/jobs/{name}/events" in own.get(address).text
    answer = own.post(
        f"/jobs/{name}/cancel", data={"~token": token_of(own, address)}, follow_redirects=False
    )
    assert answer.status_code == 303
    assert answer.headers["location"] == address
    assert events_of(own, name)[-1][1]["state"] == "cancelled"
    text = own.get(address).text
    assert "Stopped after" in text
    assert "data-events" not in text


def test_without_the_token_nothing_starts_or_stops(own: TestClient) -> None:
    assert own.post("/builds/sprint-2025/power", data=QUESTION).status_code == 403
    assert own.post("/jobs/0123456789abcdef/cancel").status_code in {400, 403}


@pytest.mark.parametrize("name", ["0123456789abcdef", "x", "..%2Fshop", "0" * 500])
def test_no_such_job(own: TestClient, name: str) -> None:
    for address in (f"/jobs/{name}/events", f"/api/jobs/{name}"):
        assert own.get(address).status_code == 404


def test_a_build_without_a_casting_asks_for_one(own: TestClient) -> None:
    text = own.get("/builds/sprint-1500/power").text
    assert "<option" in text
    assert ", the build's own" not in text
    assert "EI-03" in text


@pytest.mark.parametrize(
    ("question", "status"),
    [
        ("low=fast", 422),
        ("low=9000+rpm&high=3000+rpm", 422),
        ("step=0.001+rpm", 422),
        ("on=EI-99", 404),
        ("on=..", 400),
        ("more=1", 400),
        ("low=" + "1" * 41, 400),
    ],
)
def test_bad_questions(own: TestClient, question: str, status: int) -> None:
    for address in ("/builds/sprint-2025/power", "/api/builds/sprint-2025/power"):
        assert own.get(f"{address}?{question}").status_code == status


def test_bad_forms(own: TestClient) -> None:
    page = "/builds/sprint-2025/power"
    token = token_of(own, page)
    for fields, status in (
        ({"low": "fast"}, 422),
        ({"nonsense": "1"}, 422),
        ({"on": "EI-99"}, 404),
        ({"low": "1" * 50}, 422),
    ):
        assert own.post(page, data={"~token": token, **fields}).status_code == status
    assert own.get("/api/builds/none/power").status_code == 404
