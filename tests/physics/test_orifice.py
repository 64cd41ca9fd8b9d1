"""Compressible orifice flow against closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from headwright.physics import orifice


@pytest.mark.reference
@pytest.mark.parametrize(
    ("heat_ratio", "critical", "choked"),
    [
        # Closed form, recomputed apart from the code to six digits.
        (1.40, 0.528282, 0.684731),
        (1.35, 0.536851, 0.676145),
        (1.33, 0.540364, 0.672628),
        (1.30, 0.545728, 0.667262),
    ],
)
def test_choking(heat_ratio: float, critical: float, choked: float) -> None:
    assert orifice.critical_pressure_ratio(heat_ratio) == pytest.approx(critical, abs=1e-6)
    assert orifice.flow_function(0.1, heat_ratio) == pytest.approx(choked, abs=1e-6)


@pytest.mark.reference
@pytest.mark.parametrize(
    ("pressure", "flow"),
    [(95e3, 0.1048347), (93e3, 0.1226300), (80e3, 0.1910561), (50e3, 0.2333355)],
)
def test_mass_flow_rows(pressure: float, flow: float) -> None:
    # Isentropic nozzle, 1e-3 m2, 100 kPa, 300 K, R 287.05, gamma 1.4; seven digits recomputed.
    found = orifice.mass_flow(1e-3, 100e3, 300.0, pressure, 287.05, 1.4)
    assert found == pytest.approx(flow, rel=1e-6)


@pytest.mark.reference
def test_choked_air_constant() -> None:
    # m sqrt(T0) / (A p0) = 0.0404149 for air, R 287.05.
    found = orifice.mass_flow(1.0, 1.0, 1.0, 0.0, 287.05, 1.4)
    assert found == pytest.approx(0.0404149, rel=2e-6)


@pytest.mark.reference
def test_isentropic_mach_table() -> None:
    # NACA Report 1135, table I: p/p0 at M 0.3, 0.5, 0.8, 1.0.
    for mach, ratio in ((0.3, 0.93947), (0.5, 0.84302), (0.8, 0.65602), (1.0, 0.52828)):
        assert orifice.throat_mach(ratio, 1.4) == pytest.approx(mach, abs=2e-5)


@pytest.mark.prop
@settings(deadline=None, max_examples=60)
@given(
    ratio=st.floats(0.0, 1.0),
    heat_ratio=st.floats(1.1, 1.67),
    pressure=st.floats(1e4, 1e7),
    temperature=st.floats(200.0, 2500.0),
)
def test_flow_is_bounded_and_symmetric(
    ratio: float, heat_ratio: float, pressure: float, temperature: float
) -> None:
    flow = orifice.flow_function(ratio, heat_ratio)
    assert 0.0 <= flow <= orifice.flow_function(0.0, heat_ratio) + 1e-12
    forward = orifice.signed_mass_flow(
        1e-3, 2e-3, pressure, temperature, 287.0, heat_ratio,
        ratio * pressure + 1.0, temperature, 287.0, heat_ratio,
    )  # fmt: skip
    backward = orifice.signed_mass_flow(
        2e-3, 1e-3, ratio * pressure + 1.0, temperature, 287.0, heat_ratio,
        pressure, temperature, 287.0, heat_ratio,
    )  # fmt: skip
    assert forward == pytest.approx(-backward, rel=1e-12)


@pytest.mark.prop
def test_small_pressure_difference_is_incompressible() -> None:
    # psi -> sqrt(2 (1 - r)); 0.1 % at a difference of 0.1 %.
    flow = orifice.flow_function(0.999, 1.4)
    assert flow == pytest.approx(math.sqrt(2.0 * 0.001), rel=1e-3)


@pytest.mark.prop
def test_flow_falls_as_downstream_pressure_rises() -> None:
    ratio = np.linspace(0.0, 1.0, 500)
    assert np.all(np.diff(orifice.flow_function(ratio, 1.33)) <= 0.0)
