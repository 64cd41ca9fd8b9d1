"""Flow tests brought to a common depression and to effective areas."""

from __future__ import annotations

import math

import pytest

from headwright.demo import demo_records
from headwright.errors import InputError
from headwright.physics.flow_bench import INCH_OF_WATER_PA
from headwright.records import Casting, FlowTest, read_record
from headwright.studies.flow_reduction import reduce_test

INCH = 0.0254


def flow_test(**changes: object) -> FlowTest:
    body = {
        "kind": "flow_test",
        "tag": "FT-1",
        "casting": "C-1",
        "cylinder": 1,
        "side": "intake",
        "depression": "10 inH2O (measured)",
        "valve_head_diameter": "40 mm (measured)",
        "air_temperature": "20 °C (measured)",
        "air_pressure": "1013.25 mbar (measured)",
        "rows": [
            {"lift": "4 mm (measured)", "flow": "30 l/s (measured)"},
            {"lift": "8 mm (measured)", "flow": "50 +/- 1 l/s (measured)"},
        ],
        **changes,
    }
    found = read_record({name: value for name, value in body.items() if value is not None})
    assert isinstance(found, FlowTest)
    return found


def test_flow_goes_with_the_root_of_the_depression() -> None:
    reduced = reduce_test(flow_test(), depression=40.0 * INCH_OF_WATER_PA)
    assert reduced.points[0].common_flow == pytest.approx(2.0 * 0.030)
    assert reduced.points[1].common_uncertainty == pytest.approx(2.0 * 0.001)
    assert reduced.points[0].common_uncertainty is None


@pytest.mark.reference
def test_incompressible_area_by_hand() -> None:
    """Bernoulli: A = Q / sqrt(2 dp / rho) with rho = p / (R T); closed form, to rounding."""
    point = reduce_test(flow_test()).points[0]
    density = 101_325.0 / (287.05 * 293.15)
    assert point.plain_area == pytest.approx(
        0.030 / math.sqrt(2.0 * 10.0 * 249.08891 / density), rel=1e-9
    )
    # The compressible reduction gives a little more area: expansion takes some of the flow.
    assert 1.0 < point.effective_area / point.plain_area < 1.03


def test_discharge_is_area_over_curtain() -> None:
    point = reduce_test(flow_test()).points[1]
    assert point.discharge == pytest.approx(point.effective_area / (math.pi * 0.040 * 0.008))
    assert point.lift_ratio == pytest.approx(0.2)


def test_effective_area_does_not_depend_on_where_flows_are_brought_to() -> None:
    low, high = (reduce_test(flow_test(), depression=dp) for dp in (2500.0, 7000.0))
    assert [p.effective_area for p in low.points] == [p.effective_area for p in high.points]


def test_a_doubtful_depression_counts_half() -> None:
    point = reduce_test(
        flow_test(depression="10 +/- 0.4 inH2O (measured)"), depression=10.0 * INCH_OF_WATER_PA
    ).points[1]
    assert point.common_uncertainty == pytest.approx(0.050 * math.hypot(0.02, 0.02))


def test_what_is_missing_is_said() -> None:
    bare = flow_test(valve_head_diameter=None, air_temperature=None, depression="10 inH2O")
    reduced = reduce_test(bare)
    said = " ".join(reduced.notes)
    for words in ("air is not recorded", "no discharge coefficient", "depression is a guess"):
        assert words in said
    assert reduced.points[0].discharge is None


def test_the_castings_valve_stands_in() -> None:
    casting = next(
        record for record in demo_records() if isinstance(record, Casting) and record.tag == "EI-03"
    )
    bare = flow_test(valve_head_diameter=None)
    reduced = reduce_test(bare, casting)
    place = casting.valve(1, "intake")
    assert place is not None
    assert place.head_diameter is not None
    assert reduced.head_diameter == place.head_diameter.value
    assert any("the casting's" in note for note in reduced.notes)


@pytest.mark.parametrize("depression", [0.0, -1.0, 99.0, 30_001.0, math.nan])
def test_a_senseless_depression_is_refused(depression: float) -> None:
    with pytest.raises(InputError, match="depression"):
        reduce_test(flow_test(), depression=depression)
