"""Gravity flow of oil: closed forms, textbook weirs, and the library fluids."""

from __future__ import annotations

import math

import numpy as np
import pytest
from fluids.friction import Churchill_1977
from hypothesis import given
from hypothesis import strategies as st

from headwright.errors import InputError, QuantityError
from headwright.geometry.drain_back import Drain
from headwright.geometry.tilted_pool import effective_upward
from headwright.physics.drain_flow import (
    annulus_laminar_factor,
    channel_flow,
    drain_capacity,
    emptying_time,
    flat_laminar_factor,
    friction_factor,
    orifice_flow,
    passage_flow,
    saddle_flow,
    weir_flow,
)
from headwright.physics.friction_parts import oil_viscosity

G = 9.80665


@pytest.mark.reference
class TestClosedForms:
    def test_emptying_time_against_stepping_the_flow(self):
        # Torricelli's tank stepped with the orifice's own flow; the step limits it to 1e-4.
        head, time, step = 0.2, 0.0, 1e-3
        while head > 0.05:
            flow = orifice_flow(1e-4, head)
            head -= flow * step / 0.05
            time += step
        assert emptying_time(0.05, 1e-4, 0.2, 0.05) == pytest.approx(time, rel=2e-4)

    def test_hagen_poiseuille(self):
        # pi g h d^4 / (128 nu l), laminar: Re here is 2.
        diameter, length, drive, viscosity = 0.004, 0.5, 0.05, 1e-4
        expected = math.pi * G * drive * diameter**4 / (128.0 * viscosity * length)
        found = passage_flow(diameter, length, drive, viscosity, losses=0.0)
        assert found == pytest.approx(expected, rel=1e-9)

    def test_thin_oil_in_a_short_hole_is_torricelli_with_its_losses(self):
        area = math.pi / 4.0 * 0.01**2
        assert passage_flow(0.01, 0.0, 0.02, 1e-7) == pytest.approx(
            area * math.sqrt(2.0 * G * 0.02 / 1.5), rel=1e-9
        )

    def test_turbulent_pipe_against_fluids(self):
        # The head that fluids says is lost at the flow found; Churchill there too.
        diameter, length, drive, viscosity = 0.012, 0.3, 0.5, 1e-6
        flow = passage_flow(diameter, length, drive, viscosity)
        speed = flow / (math.pi / 4.0 * diameter**2)
        reynolds = speed * diameter / viscosity
        assert reynolds > 5000
        factor = Churchill_1977(reynolds, 0.0)
        lost = (1.5 + factor * length / diameter) * speed**2 / (2.0 * G)
        assert lost == pytest.approx(drive, rel=1e-8)

    @pytest.mark.parametrize("reynolds", [0.5, 30.0, 500.0, 1900.0, 2600.0, 8e3, 1e5, 1e7])
    @pytest.mark.parametrize("roughness", [0.0, 1e-3, 2e-2])
    def test_friction_factor_against_fluids(self, reynolds, roughness):
        # Same correlation, written independently; below Re 20 only the laminar term is left.
        assert friction_factor(reynolds, roughness) == pytest.approx(
            Churchill_1977(reynolds, roughness), rel=1e-6
        )

    def test_annulus_against_its_exact_profile(self):
        # Laminar velocity in a concentric annulus integrated by quadrature; f Re from its mean.
        for ratio in (0.1, 0.5, 0.72, 0.95):
            radius = np.linspace(ratio, 1.0, 200_001)
            profile = 1.0 - radius**2 + (1.0 - ratio**2) / math.log(1.0 / ratio) * np.log(radius)
            mean = np.trapezoid(profile * radius, radius) / np.trapezoid(radius, radius)
            # dp/dx = 4 mu / R^2 in these units; f Re = 2 (dp/dx) Dh^2 / (mu v), Dh = 2 (1 - r).
            exact = 2.0 * 4.0 * (2.0 * (1.0 - ratio)) ** 2 / mean
            assert annulus_laminar_factor(ratio) == pytest.approx(exact, rel=1e-6)
        assert annulus_laminar_factor(0.0) == 64.0
        assert annulus_laminar_factor(0.9999) == 96.0

    def test_flat_passages_against_the_tabled_limits(self):
        # White, Viscous Fluid Flow: f Re 96 between plates, 56.91 in a square, 62.19 at 2 : 1.
        assert flat_laminar_factor(0.0) == pytest.approx(96.0)
        assert flat_laminar_factor(1.0) == pytest.approx(56.91, rel=1e-3)
        assert flat_laminar_factor(0.5) == pytest.approx(62.19, rel=1e-3)

    def test_wide_channel_is_nusselts_film(self):
        # g S h^3 / (3 nu) per width; sides take 1 % at 1 : 400.
        width, depth, slope, viscosity = 0.4, 0.001, 0.05, 2e-5
        film = G * slope * depth**3 / (3.0 * viscosity) * width
        assert channel_flow(width, depth, slope, viscosity) == pytest.approx(film, rel=0.01)

    def test_rough_wide_channel_is_chezy(self):
        # v = sqrt(8 g / f) sqrt(R S), by hand with fluids' factor at the flow found.
        width, depth, slope, viscosity = 0.1, 0.02, 0.1, 1e-6
        flow = channel_flow(width, depth, slope, viscosity, roughness=1e-4)
        radius = width * depth / (width + 2.0 * depth)
        speed = flow / (width * depth)
        factor = Churchill_1977(4.0 * radius * speed / viscosity, 1e-4 / (4.0 * radius))
        assert speed == pytest.approx(math.sqrt(8.0 * G / factor * radius * slope), rel=1e-3)

    def test_broad_crest_of_the_textbooks(self):
        # Q = 1.705 b h^1.5 in metres and seconds with g = 9.81 (Chow, Open-Channel Hydraulics).
        assert weir_flow(2.0, 0.3, gravity=9.81, coefficient=1.0) == pytest.approx(
            1.705 * 2.0 * 0.3**1.5, rel=1e-3
        )

    def test_broad_crest_is_critical_flow(self):
        # On the crest the depth is 2/3 of the head and the speed sqrt(g times it).
        head = 0.01
        depth = 2.0 * head / 3.0
        assert weir_flow(0.05, head, coefficient=1.0) == pytest.approx(
            0.05 * depth * math.sqrt(G * depth), rel=1e-12
        )

    def test_drowned_saddle_by_hand(self):
        # (1 - 0.35355)^0.385 and (1 - 0.85381)^0.385 with logarithms, four figures.
        free = weir_flow(0.02, 0.01)
        assert saddle_flow(0.02, 0.01, 0.005) / free == pytest.approx(0.8454, abs=1e-4)
        assert saddle_flow(0.02, 0.01, 0.009) / free == pytest.approx(0.4770, abs=1e-4)
        assert saddle_flow(0.02, 0.01, -0.1) == free
        assert saddle_flow(0.02, 0.01, 0.01) == 0.0


@pytest.mark.reference
def test_oil_of_the_worked_example_in_d341():
    """32 mm2/s at 40 degC and 5.4 at 100 degC give 8.5 at 80 degC.

    Worked example of the ASTM D341 equation in a published calculator (with 313 and 373 K); the
    rounding of its result is 0.05.
    """
    dynamic = float(oil_viscosity(353.15, 32e-6, 5.4e-6, 850.0))
    kinematic = dynamic / (850.0 * (1.0 - 6.5e-4 * 65.0))
    assert kinematic * 1e6 == pytest.approx(8.5, abs=0.06)


@pytest.mark.prop
class TestDrains:
    @given(st.floats(0.0, 0.03), st.floats(0.0, 0.03), st.floats(3e-6, 2e-4))
    def test_more_head_never_passes_less(self, first, second, viscosity):
        up = effective_upward()
        drain = Drain("d", "c", 0.0, 0.0, 0.0, 0.01, length=0.07, fall=0.07, rod_diameter=0.007)
        low, high = sorted((first, second))
        assert drain_capacity(up, drain, low, viscosity) <= drain_capacity(
            up, drain, high, viscosity
        ) * (1 + 1e-9)

    def test_the_least_of_lip_mouth_and_passage_counts(self):
        up = effective_upward()
        plain = Drain("d", "c", 0.0, 0.0, 0.0, 0.01)
        lip = weir_flow(math.pi * 0.01, 0.001)
        mouth = orifice_flow(math.pi / 4e4, 0.03)
        assert drain_capacity(up, plain, 0.001, 1e-5) == pytest.approx(lip)
        assert drain_capacity(up, plain, 0.03, 1e-5) == pytest.approx(mouth)
        long = Drain("d", "c", 0.0, 0.0, 0.0, 0.01, length=0.1, fall=0.0)
        cold = drain_capacity(up, long, 0.03, 5e-4)
        assert cold == pytest.approx(passage_flow(0.01, 0.1, 0.03, 5e-4))
        assert cold < mouth

    def test_notch_and_channel(self):
        up = effective_upward()
        notch = Drain("n", "c", 0.0, 0.0, 0.002, mouth="notch", width=0.02)
        assert drain_capacity(up, notch, 0.012, 1e-5) == pytest.approx(weir_flow(0.02, 0.01))
        channel = Drain(
            "n", "c", 0.0, 0.0, 0.002, mouth="channel", width=0.02, length=0.1, fall=0.001
        )
        assert drain_capacity(up, channel, 0.006, 1e-4) == pytest.approx(
            channel_flow(0.02, 0.004, 0.01, 1e-4)
        )
        assert drain_capacity(up, channel, 0.001, 1e-4) == 0.0


class TestRefusals:
    def test_rod_that_does_not_go_through(self):
        with pytest.raises(InputError, match="rod_diameter"):
            passage_flow(0.008, 0.05, 0.05, 1e-5, rod_diameter=0.009)

    def test_sizes_out_of_range(self):
        with pytest.raises(QuantityError, match="diameter"):
            passage_flow(0.0, 0.05, 0.05, 1e-5)
        with pytest.raises(QuantityError, match="reynolds"):
            friction_factor(0.0)
        with pytest.raises(QuantityError, match="width"):
            channel_flow(0.0, 0.01, 0.1, 1e-5)
        with pytest.raises(InputError, match="end_head"):
            emptying_time(1.0, 1e-4, 0.1, 0.2)

    def test_nothing_runs_uphill_or_dry(self):
        assert passage_flow(0.01, 0.05, 0.0, 1e-5) == 0.0
        assert channel_flow(0.01, 0.0, 0.1, 1e-5) == 0.0
        assert channel_flow(0.01, 0.01, -0.1, 1e-5) == 0.0
        assert weir_flow(0.01, -0.1) == 0.0
