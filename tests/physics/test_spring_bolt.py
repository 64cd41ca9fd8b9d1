"""Springs and bolts against worked examples."""

from __future__ import annotations

import math

import pytest

from headwright.physics import bolt, spring

INCH, POUND_FORCE = 0.0254, 4.4482216152605
PSI = POUND_FORCE / INCH**2


@pytest.mark.reference
def test_valve_spring_row() -> None:
    # d 4, D 26 mm, 4.5 coils, G 79.3 GPa, 7850 kg/m3; closed forms recomputed.
    rate = spring.spring_rate(0.004, 0.026, 4.5, 79.3e9)
    assert rate / 1e3 == pytest.approx(32.0842, rel=1e-5)
    index = spring.spring_index(0.004, 0.026)
    assert index == pytest.approx(6.5)
    assert spring.wahl_factor(index) == pytest.approx(1.230979, rel=1e-6)
    assert spring.bergstrasser_factor(index) == pytest.approx(1.217391, rel=1e-6)
    mass = spring.active_mass(0.004, 0.026, 4.5)
    assert mass * 1e3 == pytest.approx(36.259, rel=1e-5)
    assert spring.surge_frequency(rate, mass) == pytest.approx(470.335, rel=1e-5)
    closed = 0.004 / (2 * math.pi * 0.026**2 * 4.5) * math.sqrt(79.3e9 / (2 * 7850.0))
    assert spring.surge_frequency(rate, mass) == pytest.approx(closed, rel=1e-12)
    for factor, stress in ((spring.wahl_factor, 1018.77), (spring.bergstrasser_factor, 1007.52)):
        found = spring.shear_stress(800.0, 0.004, 0.026, factor(index))
        assert found / 1e6 == pytest.approx(stress, rel=1e-5)


@pytest.mark.reference
def test_music_wire_example() -> None:
    # Shigley, example 10-1: d .037 in, OD 7/16 in, 12.5 total turns squared, G 11.85 Mpsi.
    # The book rounds D to .400 in, hence 0.5 %.
    wire, mean = 0.037 * INCH, (0.4375 - 0.037) * INCH
    index = spring.spring_index(wire, mean)
    assert index == pytest.approx(10.82, abs=0.01)
    assert spring.bergstrasser_factor(index) == pytest.approx(1.124, abs=1e-3)
    rate = spring.spring_rate(wire, mean, 10.5, 11.85e6 * PSI)
    assert rate / (POUND_FORCE / INCH) == pytest.approx(4.116, rel=5e-3)
    strength = 0.45 * 201e3 / 0.037**0.145 * PSI
    unit = spring.shear_stress(1.0, wire, mean, spring.bergstrasser_factor(index))
    assert strength / unit / POUND_FORCE == pytest.approx(6.45, rel=5e-3)
    solid = spring.solid_length(wire, 12.5)
    assert solid / INCH == pytest.approx(0.4995, rel=1e-9)
    deflection = strength / unit / rate
    assert deflection / INCH == pytest.approx(1.57, rel=5e-3)
    assert (solid + deflection) / INCH == pytest.approx(2.066, rel=5e-3)


@pytest.mark.reference
def test_solid_lengths() -> None:
    # Squared and ground: N_t d; squared only: (N_t + 1) d.
    assert spring.solid_length(0.004, 6.5, 1.0) == pytest.approx(0.026)
    assert spring.solid_length(0.004, 6.5) == pytest.approx(0.030)
    assert spring.combined_rate(30e3, 12e3, 4e3) == pytest.approx(46e3)


@pytest.mark.reference
def test_joint_example() -> None:
    # Shigley, example 8-4: 5/8-11 grade 5, grip 1.5 in cast iron (14 Mpsi); 0.3 %: book rounding.
    bolt_k = bolt.bolt_stiffness(
        0.625 * INCH, 0.226 * INCH**2, 0.75 * INCH, 0.75 * INCH, 30e6 * PSI
    )
    members = bolt.member_stiffness(0.625 * INCH, 1.5 * INCH, 14e6 * PSI)
    unit = POUND_FORCE / INCH * 1e6
    assert bolt_k / unit == pytest.approx(5.205, rel=3e-3)
    assert members / unit == pytest.approx(8.953, rel=3e-3)
    joint = bolt.joint_constant(bolt_k, members)
    assert joint == pytest.approx(0.3677, rel=3e-3)
    area, proof = 0.226 * INCH**2, 85e3 * PSI
    preload = bolt.proof_preload(area, proof)
    assert preload / POUND_FORCE == pytest.approx(14.41e3, rel=3e-3)
    load = 36e3 * POUND_FORCE / 6
    assert bolt.load_factor(area, proof, preload, joint, load) == pytest.approx(2.18, rel=3e-3)
    assert bolt.separation_factor(preload, joint, load) == pytest.approx(3.80, rel=3e-3)


@pytest.mark.reference
def test_torques() -> None:
    # K F d with K .2: 14.4 kip on 5/8 in is 150 lbf ft.
    torque = bolt.tightening_torque(14.4e3 * POUND_FORCE, 0.625 * INCH)
    assert torque / (POUND_FORCE * 12 * INCH) == pytest.approx(150.0, rel=1e-9)
    assert bolt.preload_from_torque(torque, 0.625 * INCH) == pytest.approx(
        14.4e3 * POUND_FORCE, rel=1e-12
    )
    # M10x1.5 10.9: 75 % of 58.0 mm2 at 830 MPa.
    preload = bolt.proof_preload(58.0e-6, 830e6)
    assert preload == pytest.approx(36.105e3, rel=1e-6)
    assert bolt.tightening_torque(preload, 0.010) == pytest.approx(72.21, rel=1e-4)
    # VDI 2230 form with mu 0.12, 1 %: rounded coefficients 0.16 P and 0.58 d2 mu.
    found = bolt.tightening_torque_friction(preload, 1.5e-3, 9.026e-3, 13.25e-3, 0.12, 0.12)
    assert found == pytest.approx(59.9, rel=0.01)
