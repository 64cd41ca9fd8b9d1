"""The cutting plan from the command line."""

from __future__ import annotations

import pytest

from cli.running import bare_numbers, complaint, document

from .conftest import Run


def test_json_carries_its_units(run: Run) -> None:
    found = document(run("plan", "sprint-1500", "--on", "EI-03", "--json"))
    assert found["reached"] is True
    assert found["is_estimate"] is True
    assert list(bare_numbers(found)) == []
    steps = [step["step"] for step in found["steps"]]
    assert steps[-3:] == ["pour", "head_cut", "pushrods"]
    head = next(step for step in found["steps"] if step["step"] == "head_cut")
    assert 2.8e-3 < head["amount_m"] < 3.2e-3
    assert head["tolerance_short_m"] > 0.0
    ratios = [one["compression_ratio"] for one in found["after"]["cylinders"]]
    assert ratios == pytest.approx([11.5] * 4, abs=2e-2)
    assert 0.0 < found["landing_probability"] <= 1.0
    assert "verified" in found["caution"]


def test_the_ranking_shows_the_same_cut(run: Run) -> None:
    ranking = document(run("rank", "sprint-1500", "--quick", "--json"))
    for row in ranking["ranking"]:
        if row["casting"] != "EI-03":
            continue
        plan = document(run("plan", "sprint-1500", "--on", "EI-03", "--json"))
        head = next(step for step in plan["steps"] if step["step"] == "head_cut")
        assert row["head_cut_m"] == pytest.approx(head["amount_m"], abs=1e-9)
        assert row["plan"]["landing_probability"] == plan["landing_probability"]
        assert row["plan"]["money"] == plan["money"]


def test_in_words(run: Run) -> None:
    said = run("plan", "sprint-1500", "--on", "EI-03")
    assert said.exit_code == 0
    for words in (
        "Cut the head face",
        "lands inside every limit",
        "left for the next rebuild",
        "why in this order",
        "Proven: no plan with this gasket loses less.",
        "to be verified",
    ):
        assert words in said.stdout


def test_pins_and_forbidden_steps(run: Run) -> None:
    pinned = document(
        run(
            "plan", "sprint-1500", "--on", "EI-03", "--json",
            "--pin", "head_cut=3.1 mm", "--pin", "relief.2=0.7 cc",
        )
    )  # fmt: skip
    head = next(step for step in pinned["steps"] if step["step"] == "head_cut")
    assert head["amount_m"] == pytest.approx(3.1e-3)
    assert head["pinned"] is True
    relief = next(
        step for step in pinned["steps"] if step["step"] == "relief" and step["cylinder"] == 2
    )
    assert relief["amount_m3"] == pytest.approx(0.7e-6)
    free = document(run("plan", "sprint-1500", "--on", "EI-03", "--json", "--forbid", "relief"))
    assert all(step["step"] != "relief" for step in free["steps"])


def test_where_there_is_no_plan_it_says_why(run: Run) -> None:
    said = run("plan", "sprint-1500", "--on", "EI-03", "--pin", "head_cut=0.2 mm", code=1)
    assert "No plan keeps everything" in said.stdout
    assert "relax" in said.stdout
    asked = ("plan", "sprint-1500", "--on", "EI-03", "--pin", "head_cut=.2mm", "--json")
    body = document(run(*asked, code=1))
    assert body["reached"] is False
    assert body["conflict"]["relax"]
    assert list(bare_numbers(body)) == []


def test_an_order_against_reason(run: Run) -> None:
    said = run("plan", "sprint-1500", "--on", "EI-03", "--order", "head_cut,relief")
    assert said.exit_code == 0
    assert "should come before" in said.stdout


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--pin", "head_cut"), "has no value"),
        (("--pin", "hed_cut=1mm"), "did you mean head_cut"),
        (("--pin", "head_cut=lots"), "lots"),
        (("--pin", "head_cut=-1 mm"), "below the allowed"),
        (("--pin", "head_cut.2=1 mm"), "the same for every cylinder"),
        (("--pin", "relief.99=1 cc"), "is no cylinder"),
        (("--pin", "pushrods=1 mm"), "follows from the other steps"),
        (("--pin", "gasket=paper"), "is not one of"),
        (("--forbid", "everything"), "is no step"),
        (("--order", "a,b"), "is no step"),
        (("--pin", "head_cut=1 mm", "--forbid", "head_cut"), "pinned and forbidden at once"),
        (("--on", "NO-SUCH"), "NO-SUCH"),
    ],
)
def test_bad_input(run: Run, arguments: tuple[str, ...], message: str) -> None:
    given = ("plan", "sprint-1500", *(("--on", "EI-03") if "--on" not in arguments else ()))
    assert message in complaint(*given, *arguments)


def test_a_build_without_a_casting_asks_for_one(run: Run) -> None:
    del run
    assert "names no casting" in complaint("plan", "sprint-1500")
