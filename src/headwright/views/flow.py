"""Flow tests as every face shows them: curves, and the numbers beside them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from headwright.quantities import GLOSSARY, System
from headwright.studies.flow_reduction import FlowPoint, ReducedTest
from headwright.views.figures import (
    LARGEST_SERIES,
    Axis,
    Figure,
    FigureTable,
    Line,
    line_chart,
    straight_between,
)
from headwright.views.text import CAUTION, figure_text, text_of

__all__ = ["FlowView", "flow_json", "flow_view"]


@dataclass(frozen=True, slots=True)
class FlowView:
    """One or several flow tests, written out and drawn.

    ``comparison`` is None for a single test.
    """

    tags: tuple[str, ...]
    answer: str
    depression: str
    figures: tuple[Figure, ...]
    tables: tuple[FigureTable, ...]
    comparison: FigureTable | None
    notes: tuple[str, ...]
    caution: str = CAUTION


def flow_view(tests: Sequence[ReducedTest], system: System) -> FlowView:
    """Write flow tests out.

    Args:
        tests: at most :data:`~headwright.views.figures.LARGEST_SERIES`, all brought to the same
            depression; the first is the one in question.
        system: whose units to draw in.
    """
    tests = tests[:LARGEST_SERIES]
    depression = text_of(tests[0].depression, "bench_depression", system)
    notes = [note for test in tests for note in test.notes]
    notes.append(
        "Effective area: compressible reduction, what the engine model uses. The discharge "
        "coefficient is that area over the curtain, pi times head diameter times lift."
    )
    if len({(test.test.side, test.test.direction) for test in tests}) > 1:
        notes.append("Not all of these are the same side and direction: compare with care.")
    return FlowView(
        tags=tuple(test.test.tag for test in tests),
        answer=_answer(tests[0], system),
        depression=depression,
        figures=_figures(tests, depression, system),
        tables=tuple(_table(test, depression, system) for test in tests),
        comparison=_comparison(tests, depression, system) if len(tests) > 1 else None,
        notes=tuple(notes),
    )


def _name(reduced: ReducedTest) -> str:
    test = reduced.test
    words = f"{test.tag}: {test.casting} {test.side} {test.cylinder}"
    return f"{words}, reverse" if test.direction == "reverse" else words


def _answer(reduced: ReducedTest, system: System) -> str:
    best = max(reduced.points, key=lambda point: point.common_flow)
    flow = figure_text(
        best.common_flow,
        "bench_flow",
        system,
        uncertainty=best.common_uncertainty,
        provenance=best.provenance,
    )
    return (
        f"Most at {text_of(best.lift, 'valve_lift', system)} lift: {flow.both} at "
        f"{text_of(reduced.depression, 'bench_depression', system)}"
    )


def _figures(tests: Sequence[ReducedTest], depression: str, system: System) -> tuple[Figure, ...]:
    lift, flow, area = (
        GLOSSARY[name].unit_in(system) for name in ("valve_lift", "bench_flow", "port_area")
    )
    across = Axis(f"Valve lift, {lift.symbol}")
    figures = [
        line_chart(
            "flow",
            f"Flow at {depression}",
            across,
            Axis(f"Flow, {flow.symbol}"),
            [
                Line(
                    _name(test),
                    tuple(
                        (lift.from_si(point.lift), flow.from_si(point.common_flow))
                        for point in test.points
                    ),
                )
                for test in tests
            ],
        ),
        line_chart(
            "area",
            "Effective area",
            across,
            Axis(f"Effective area, {area.symbol}"),
            [
                Line(
                    _name(test),
                    tuple(
                        (lift.from_si(point.lift), area.from_si(point.effective_area))
                        for point in test.points
                    ),
                )
                for test in tests
            ],
        ),
    ]
    lines = [
        Line(
            _name(test),
            tuple(
                (point.lift_ratio, point.discharge)
                for point in test.points
                if point.lift_ratio is not None and point.discharge is not None
            ),
        )
        for test in tests
    ]
    if any(line.points for line in lines):
        figures.append(
            line_chart(
                "discharge",
                "Discharge coefficient of the curtain",
                Axis("Lift over valve head diameter"),
                Axis("Discharge coefficient"),
                [line for line in lines if line.points],
            )
        )
    return tuple(figures)


def _table(reduced: ReducedTest, depression: str, system: System) -> FigureTable:
    own = text_of(reduced.test.depression.value, "bench_depression", system)
    return FigureTable(
        caption=_name(reduced),
        columns=(
            "Lift",
            "Over head diameter",
            f"Flow as read, at {own}",
            f"Flow at {depression}",
            "Effective area",
            "By the incompressible reduction",
            "Discharge coefficient",
        ),
        rows=tuple(_row(point, system) for point in reduced.points),
    )


def _row(point: FlowPoint, system: System) -> tuple[str, ...]:
    def flow(value: float, doubt: float | None) -> str:
        return str(
            figure_text(value, "bench_flow", system, uncertainty=doubt, provenance=point.provenance)
        )

    return (
        text_of(point.lift, "valve_lift", system),
        "" if point.lift_ratio is None else f"{point.lift_ratio:.3f}",
        flow(point.flow, point.flow_uncertainty),
        flow(point.common_flow, point.common_uncertainty),
        text_of(point.effective_area, "port_area", system),
        text_of(point.plain_area, "port_area", system),
        "" if point.discharge is None else f"{point.discharge:.3f}",
    )


def _comparison(tests: Sequence[ReducedTest], depression: str, system: System) -> FigureTable:
    first, others = tests[0], tests[1:]
    rows = []
    for point in first.points:
        cells = [
            text_of(point.lift, "valve_lift", system),
            text_of(point.common_flow, "bench_flow", system),
        ]
        for other in others:
            flow = straight_between(
                ((tested.lift, tested.common_flow) for tested in other.points), point.lift
            )
            if flow is None or point.common_flow <= 0.0:
                cells.append("not tested there")
            else:
                gain = 100.0 * (flow / point.common_flow - 1.0)
                cells.append(f"{text_of(flow, 'bench_flow', system)}, {gain:+.1f} %")
        rows.append(tuple(cells))
    return FigureTable(
        caption=f"Flow at {depression}, against {first.test.tag}",
        columns=("Lift", first.test.tag, *(other.test.tag for other in others)),
        rows=tuple(rows),
    )


def flow_json(tests: Sequence[ReducedTest]) -> dict[str, Any]:
    """Return flow tests as one plain document in SI, keys ending in the unit."""
    return {
        "depression_Pa": tests[0].depression,
        "tests": [
            {
                "flow_test": test.test.tag,
                "casting": test.test.casting,
                "side": test.test.side,
                "direction": test.test.direction,
                "cylinder": test.test.cylinder,
                "valve_head_diameter_m": test.head_diameter,
                "rows": [
                    {
                        "lift_m": point.lift,
                        "flow_m3_s": point.flow,
                        "flow_at_depression_m3_s": point.common_flow,
                        "flow_at_depression_uncertainty_m3_s": point.common_uncertainty,
                        "effective_area_m2": point.effective_area,
                        "effective_area_incompressible_m2": point.plain_area,
                        "discharge_coefficient": point.discharge,
                    }
                    for point in test.points
                ],
                "notes": list(test.notes),
            }
            for test in tests
        ],
    }
