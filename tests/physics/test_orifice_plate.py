"""ISO 5167-2 plates against an independent implementation (fluids)."""

from __future__ import annotations

import pytest
from fluids import flow_meter
from hypothesis import given, settings
from hypothesis import strategies as st

from headwright.errors import InputError
from headwright.physics import orifice_plate
from headwright.physics.orifice_plate import Taps

FLUIDS_TAPS = {"corner": "corner", "flange": "flange", "D and D/2": "D and D/2"}


@pytest.mark.reference
@pytest.mark.parametrize(
    ("pipe", "ratio", "reynolds", "taps", "expected"),
    [
        # Five digits, Reader-Harris/Gallagher coded twice independently.
        (0.10, 0.50, 1e5, "corner", 0.60687),
        (0.10, 0.50, 1e5, "D and D/2", 0.60618),
        (0.10, 0.50, 1e5, "flange", 0.60620),
        (0.10, 0.60, 5e4, "corner", 0.61335),
        (0.05, 0.60, 1e5, "flange", 0.61261),
        (0.15, 0.75, 1e6, "flange", 0.60074),
        (0.10, 0.20, 1e8, "corner", 0.59717),
        (0.10, 0.75, 1e8, "corner", 0.59090),
    ],
)
def test_coefficient_rows(
    pipe: float, ratio: float, reynolds: float, taps: Taps, expected: float
) -> None:
    found = orifice_plate.discharge_coefficient(pipe, ratio * pipe, reynolds, taps)
    assert found == pytest.approx(expected, abs=1e-5)


@pytest.mark.reference
def test_documented_example_of_fluids() -> None:
    # Docstring of fluids.flow_meter.C_Reader_Harris_Gallagher: 0.5990326277163659.
    pipe, bore, flow, viscosity = 0.07391, 0.0222, 0.12, 1.85e-5
    reynolds = 4.0 * flow / (3.141592653589793 * pipe * viscosity)
    found = orifice_plate.discharge_coefficient(pipe, bore, reynolds, "flange")
    assert found == pytest.approx(0.5990326277, abs=1e-6)


@pytest.mark.reference
def test_expansibility_row() -> None:
    # fluids 1.3.1, ISO 5167 form: 0.981591.
    assert orifice_plate.expansibility(0.1, 0.05, 101325.0, 94350.0, 1.4) == pytest.approx(
        0.981591, abs=1e-6
    )


@pytest.mark.reference
def test_meter_row() -> None:
    # fluids 1.3.1 differential_pressure_meter_solver: 7.702338 kg/s, D and D/2 taps.
    found = orifice_plate.plate_mass_flow(
        0.07366, 0.05, 200e3, 183e3, 999.1, 0.0011, 1.33, "D and D/2"
    )
    assert found == pytest.approx(7.702338, rel=1e-5)


@pytest.mark.reference
@settings(deadline=None, max_examples=60)
@given(
    pipe=st.floats(0.05, 0.3),
    ratio=st.floats(0.26, 0.74),
    reynolds=st.floats(2e4, 1e7),
    taps=st.sampled_from(["corner", "flange", "D and D/2"]),
)
def test_coefficient_everywhere(pipe: float, ratio: float, reynolds: float, taps: Taps) -> None:
    # Same published equation, so digits agree to round-off.
    import math

    flow = reynolds * math.pi * pipe * 1.8e-5 / 4.0
    expected = flow_meter.C_Reader_Harris_Gallagher(
        D=pipe, Do=ratio * pipe, rho=1.2, mu=1.8e-5, m=flow, taps=FLUIDS_TAPS[taps]
    )
    found = orifice_plate.discharge_coefficient(pipe, ratio * pipe, reynolds, taps)
    assert found == pytest.approx(expected, rel=1e-6)


def test_uncertainty_and_limits() -> None:
    assert orifice_plate.discharge_uncertainty(0.1, 0.05) == pytest.approx(0.005)
    assert orifice_plate.discharge_uncertainty(0.1, 0.015) == pytest.approx(0.0055)
    assert orifice_plate.discharge_uncertainty(0.1, 0.07) == pytest.approx(0.006669)
    for pipe, bore, reynolds, what in (
        (0.04, 0.02, 1e5, "pipe diameter"),
        (0.06, 0.010, 1e5, "orifice bore: 10 mm"),
        (0.1, 0.08, 1e5, "over pipe diameter"),
        (0.1, 0.05, 1e3, "Reynolds"),
    ):
        with pytest.raises(InputError, match=what):
            orifice_plate.discharge_coefficient(pipe, bore, reynolds)
    with pytest.raises(InputError, match="larger plate"):
        orifice_plate.expansibility(0.1, 0.05, 1e5, 5e4)
