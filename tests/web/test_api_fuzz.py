"""The JSON beside the pages held to its own description, with questions made up by schemathesis."""

from __future__ import annotations

from pathlib import Path

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from schemathesis import Case
from schemathesis.checks import not_a_server_error

from headwright import actions
from headwright.web.app import create_app

from .conftest import HERE


@pytest.fixture(scope="module")
def api(tmp_path_factory: pytest.TempPathFactory) -> schemathesis.openapi.OpenApiSchema:
    path: Path = tmp_path_factory.mktemp("fuzz") / "book.db"
    actions.load_demo(path)
    with actions.open_book(path) as book:
        body = book.get("build", "sprint-2025")
        # Tags that are easily hit, so that more than "no such record" is seen.
        book.save(body.model_copy(update={"tag": "0"}), author="fuzz")
    return schemathesis.openapi.from_asgi(
        "/api/openapi.json", create_app(path), headers={"Host": "localhost"}
    )


def test_no_question_brings_the_server_down(api: schemathesis.openapi.OpenApiSchema) -> None:
    asked = 0
    for found in api.get_all_operations():
        operation = found.ok()

        @settings(
            max_examples=12,
            deadline=None,
            derandomize=True,
            database=None,
            suppress_health_check=list(HealthCheck),
        )
        @given(case=operation.as_strategy())
        def ask(case: Case) -> None:
            case.headers["Host"] = "localhost"
            answer = case.call(base_url=HERE)
            case.validate_response(answer, checks=[not_a_server_error])
            assert answer.headers["x-content-type-options"] == ["nosniff"]
            assert answer.status_code in {200, 201, 400, 403, 404, 405, 409, 413, 415, 422}
            assert b"Traceback" not in (answer.content or b"")

        ask()
        asked += 1
    assert asked >= 6
