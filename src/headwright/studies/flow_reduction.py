"""What a flow test says about the port, whatever bench and depression it was run on."""

from __future__ import annotations

import math
from dataclasses import dataclass

from headwright.errors import InputError
from headwright.physics.flow_bench import (
    INCH_OF_WATER_PA,
    effective_area_compressible,
    effective_area_incompressible,
    flow_at_depression,
)
from headwright.records import Casting, FlowTest
from headwright.records.measured import Provenance
from headwright.studies.breathing_estimate import BENCH_AIR

__all__ = ["COMMON_DEPRESSION", "FlowPoint", "ReducedTest", "reduce_test"]

COMMON_DEPRESSION = 28.0 * INCH_OF_WATER_PA
"""Depression tests are brought to when nobody asks for another [Pa]; common practice, no source."""

_ORDER: tuple[Provenance, ...] = ("measured", "maker", "estimated", "assumed")


@dataclass(frozen=True, slots=True)
class FlowPoint:
    """One lift of a test (SI).

    Attributes:
        lift: [m].
        flow: as read, at the test's own depression [m3/s].
        flow_uncertainty: [m3/s] or None.
        common_flow: at the common depression [m3/s].
        common_uncertainty: with that of the depression [m3/s] or None.
        effective_area: compressible reduction, what the engine model uses [m2].
        plain_area: incompressible reduction [m2].
        discharge: effective area over the curtain [-]; None without a valve diameter.
        lift_ratio: lift over valve head diameter [-]; None without one.
        provenance: the weaker of lift and flow.
    """

    lift: float
    flow: float
    flow_uncertainty: float | None
    common_flow: float
    common_uncertainty: float | None
    effective_area: float
    plain_area: float
    discharge: float | None
    lift_ratio: float | None
    provenance: Provenance


@dataclass(frozen=True, slots=True)
class ReducedTest:
    """A flow test brought to a common depression and to effective areas."""

    test: FlowTest
    depression: float
    pressure: float
    temperature: float
    head_diameter: float | None
    points: tuple[FlowPoint, ...]
    notes: tuple[str, ...]


def reduce_test(
    test: FlowTest, casting: Casting | None = None, depression: float = COMMON_DEPRESSION
) -> ReducedTest:
    """Bring a flow test to a common depression and to effective areas.

    ``Q2 = Q1 sqrt(dp2 / dp1)``; effective areas by the isentropic and by the incompressible
    relation from the flow as read, at the air of the test.

    Args:
        test: the test.
        casting: what it was run on, for the valve's diameter where the test does not say.
        depression: to bring the flows to [Pa], 100 Pa to 30 kPa.

    Raises:
        InputError: a depression out of range.

    Sources: :mod:`headwright.physics.flow_bench`. Where the bench's air is not recorded usual air
    stands in, and a note says so.
    """
    if not 100.0 <= depression <= 30_000.0:
        raise InputError(
            f"depression: {depression:.0f} Pa is outside 100 Pa to 30 kPa; 28 inH2O is usual"
        )
    notes = []
    pressure = test.air_pressure.value if test.air_pressure else BENCH_AIR[0]
    temperature = test.air_temperature.value if test.air_temperature else BENCH_AIR[1]
    if test.air_pressure is None or test.air_temperature is None:
        notes.append(
            f"{test.tag}: the bench's air is not recorded; {BENCH_AIR[1] - 273.15:.0f} °C and "
            f"{BENCH_AIR[0] / 100.0:.0f} mbar stand in"
        )
    head = test.valve_head_diameter
    if head is None and casting is not None:
        place = casting.valve(test.cylinder, test.side)
        head = place.head_diameter if place else None
        if head is not None:
            notes.append(f"{test.tag}: the valve's diameter is the casting's")
    if head is None:
        notes.append(f"{test.tag}: without the valve's diameter there is no discharge coefficient")
    if test.depression.is_guess:
        notes.append(f"{test.tag}: the depression is a guess, so flow and area are no better")
    given = test.depression
    diameter = head.value if head else None
    density = pressure / (287.05 * temperature)
    drop_share = (given.uncertainty or 0.0) / given.value
    points = []
    for row in test.rows:
        flow = row.flow.value
        area = float(effective_area_compressible(flow, given.value, pressure, temperature))
        common = float(flow_at_depression(flow, given.value, depression))
        spread = row.flow.uncertainty
        doubt = None
        if spread is not None and flow > 0.0:
            doubt = common * math.hypot(spread / flow, 0.5 * drop_share)
        curtain = math.pi * diameter * row.lift.value if diameter else 0.0
        points.append(
            FlowPoint(
                lift=row.lift.value,
                flow=flow,
                flow_uncertainty=spread,
                common_flow=common,
                common_uncertainty=doubt,
                effective_area=area,
                plain_area=float(effective_area_incompressible(flow, given.value, density)),
                discharge=area / curtain if curtain > 0.0 else None,
                lift_ratio=row.lift.value / diameter if diameter else None,
                provenance=max(row.lift.provenance, row.flow.provenance, key=_ORDER.index),
            )
        )
    return ReducedTest(
        test, depression, pressure, temperature, diameter, tuple(points), tuple(notes)
    )
