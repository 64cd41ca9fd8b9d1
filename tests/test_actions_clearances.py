"""What may be asked of clearances through the library's actions."""

from __future__ import annotations

from pathlib import Path

import pytest

from headwright import actions
from headwright.actions.clearances import CamLook
from headwright.errors import InputError, RecordError, UnknownRecordError


@pytest.fixture(scope="module")
def book_at(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("looks") / "demo-shop.db"
    actions.load_demo(path)
    return path


@pytest.mark.parametrize(
    ("look", "named"),
    [
        ({"advance": 1.0}, "advance"),
        ({"separation": -0.5}, "separation"),
        ({"intake_lash": 3e-3}, "intake lash"),
        ({"exhaust_lash": -1e-4}, "exhaust lash"),
        ({"advance": float("nan")}, "advance"),
    ],
)
def test_nobody_moves_a_cam_that_far(look: dict[str, float], named: str) -> None:
    with pytest.raises(InputError, match=named):
        CamLook(**look)


def test_the_demo_asks_where_valves_decide(book_at: Path) -> None:
    with actions.open_book(book_at) as book:
        report = actions.clearances_of_build(book, "raised-1495")
        judged = {item.verdict for item in report.findings if item.check == "valve_to_piston"}
        assert "fails" in judged
        plans = actions.pockets_of_report(report)
        assert all(plan.raised and (plan.spare.value or 0.0) < 0.0 for plan in plans)
        wider = actions.timing_of_build(book, "raised-1495", CamLook(separation=0.14))
        assert all(
            limit.turn is None or (limit.turn.value or 0.0) > -0.02
            for limit in wider.limits
            if limit.limit is not None
        )


def test_what_is_not_there_is_said(book_at: Path) -> None:
    with actions.open_book(book_at) as book:
        with pytest.raises(RecordError, match="casting"):
            actions.clearances_of_build(book, "sprint-1500")
        with pytest.raises(UnknownRecordError):
            actions.timing_of_build(book, "nowhere")
