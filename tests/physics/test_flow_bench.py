"""Flow-bench arithmetic against closed forms."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from headwright.physics import flow_bench

DEPRESSION = 28.0 * flow_bench.INCH_OF_WATER_PA
CFM = 0.3048**3 / 60.0
SQUARE_INCH = 0.0254**2


@pytest.mark.reference
def test_inch_of_water() -> None:
    # NIST SP 811: conventional inch of water 249.0889 Pa; 28 inches 6974.49 Pa.
    assert pytest.approx(6974.49, abs=0.01) == DEPRESSION


@pytest.mark.reference
@pytest.mark.parametrize(
    ("tested", "wanted", "factor"), [(10, 28, 1.673320), (25, 28, 1.058301), (28, 10, 0.597614)]
)
def test_depression_conversion(tested: float, wanted: float, factor: float) -> None:
    assert flow_bench.flow_at_depression(1.0, tested, wanted) == pytest.approx(factor, abs=1e-6)


@pytest.mark.reference
def test_incompressible_square_inch() -> None:
    # sqrt(2 dp / rho) at 28 inH2O and 1.225 kg/m3: 106.7095 m/s, 145.874 cfm per square inch.
    velocity = flow_bench.ideal_velocity(DEPRESSION, 1.225)
    assert velocity == pytest.approx(106.7095, rel=1e-4)
    assert velocity * SQUARE_INCH / CFM == pytest.approx(145.874, rel=1e-4)


@pytest.mark.reference
def test_compressible_square_inch() -> None:
    # Isentropic nozzle from 101325 Pa, 288.15 K: 140.393 cfm at inlet density per square inch.
    flow = flow_bench.volume_flow_compressible(SQUARE_INCH, DEPRESSION, 101325.0, 288.15)
    assert flow / CFM == pytest.approx(140.393, rel=1e-4)
    density = 101325.0 / (287.05 * 288.15)
    assert flow * density == pytest.approx(0.0811660, rel=1e-4)


@pytest.mark.prop
@settings(deadline=None, max_examples=60)
@given(area=st.floats(1e-5, 5e-3), depression=st.floats(500.0, 15e3))
def test_round_trips(area: float, depression: float) -> None:
    flow = flow_bench.volume_flow_compressible(area, depression, 98e3, 295.0)
    back = flow_bench.effective_area_compressible(flow, depression, 98e3, 295.0)
    assert back == pytest.approx(area, rel=1e-12)
    flow = area * flow_bench.ideal_velocity(depression, 1.2)
    back = flow_bench.effective_area_incompressible(flow, depression, 1.2)
    assert back == pytest.approx(area, rel=1e-12)
    # Compressible air always needs the larger area for the same volume at inlet density.
    density = 98e3 / (287.05 * 295.0)
    flow = area * flow_bench.ideal_velocity(depression, density)
    larger = flow_bench.effective_area_compressible(flow, depression, 98e3, 295.0)
    assert larger > area
