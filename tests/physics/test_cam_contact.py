"""Cam and tappet where they touch, against circles, envelopes and the other form of Hertz."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from headwright.errors import InputError
from headwright.physics import cam_contact
from headwright.physics.cam_profiles import profile_lobe_lift

PHI = np.linspace(0.0, 2.0 * math.pi, 721)


@pytest.mark.reference
def test_an_eccentric_under_a_flat_face_is_a_circle() -> None:
    # s = e (1 - cos phi): the lobe is a circle of radius r_b + e, wherever it is touched.
    eccentricity, radius = 4e-3, 19e-3
    lift = eccentricity * (1.0 - np.cos(PHI))
    curve = eccentricity * np.cos(PHI)
    found = cam_contact.flat_curvature(radius - eccentricity, lift, curve)
    assert found == pytest.approx(np.full(PHI.size, radius), rel=1e-12)
    offset = cam_contact.flat_contact_offset(eccentricity * np.sin(PHI))
    assert np.max(offset) == pytest.approx(eccentricity)


@pytest.mark.reference
def test_an_eccentric_under_a_roller_is_a_circle() -> None:
    # Law of cosines: the roller's centre lies R = e cos phi + sqrt((r0 + r)^2 - e^2 sin^2 phi)
    # from the cam's centre; the lobe stays a circle of radius r0.
    eccentricity, circle, roller = 4e-3, 19e-3, 9e-3
    root = np.sqrt((circle + roller) ** 2 - (eccentricity * np.sin(PHI)) ** 2)
    pitch = eccentricity * np.cos(PHI) + root
    square = eccentricity**2 * np.sin(PHI) * np.cos(PHI)
    slope = -eccentricity * np.sin(PHI) - square / root
    curve = (
        -eccentricity * np.cos(PHI)
        - eccentricity**2 * np.cos(2.0 * PHI) / root
        - square**2 / root**3
    )
    found = cam_contact.roller_curvature(pitch, slope, curve, roller)
    assert found == pytest.approx(np.full(PHI.size, circle), rel=1e-9)
    # The line from the roller's centre to the circle's: sine rule.
    lean = cam_contact.roller_pressure_angle(pitch, slope)
    assert np.sin(lean) == pytest.approx(-eccentricity * np.sin(PHI) / (circle + roller), abs=1e-12)


@pytest.mark.reference
@pytest.mark.parametrize("roller", [0.0, 8e-3])
def test_curvature_of_the_lobe_as_an_outline(roller: float) -> None:
    # The outline as an envelope, its curvature by finite differences: independent of the formulas.
    base, span = (30e-3, 1.4) if roller == 0.0 else (16e-3, 1.08)
    phi = np.linspace(-0.97 * span, 0.97 * span, 40001)
    lift, slope, curve = (profile_lobe_lift("4567", 7e-3, span, phi, n) for n in (0, 1, 2))
    if roller == 0.0:
        out, aside = base + lift, slope
        found = cam_contact.flat_curvature(base, lift, curve)
    else:
        pitch = base + roller + lift
        size = np.hypot(pitch, slope)
        out, aside = pitch - roller * pitch / size, roller * slope / size
        found = cam_contact.roller_curvature(pitch, slope, curve, roller)
    x = out * np.cos(phi) - aside * np.sin(phi)
    y = out * np.sin(phi) + aside * np.cos(phi)
    x1, y1 = np.gradient(x, phi), np.gradient(y, phi)
    x2, y2 = np.gradient(x1, phi), np.gradient(y1, phi)
    bend = (x1 * y2 - y1 * x2) / (x1**2 + y1**2) ** 1.5
    inside = slice(10, -10, 50)
    assert 1.0 / np.asarray(found)[inside] == pytest.approx(bend[inside], rel=1e-4, abs=0.02)


@pytest.mark.reference
def test_hertz_in_its_other_form() -> None:
    # Shigley ch. 3: half width b = sqrt(2F/(pi l) ((1-v1^2)/E1 + (1-v2^2)/E2) / (1/d1 + 1/d2)),
    # p = 2F / (pi b l); from memory, and the pressure adds up to the load.
    force, width, lobe, roller = 1800.0, 11e-3, 9e-3, 8e-3
    modulus = cam_contact.contact_modulus(207e9, 160e9, 0.292, 0.28)
    bend = float(cam_contact.relative_curvature(lobe, roller))
    found = float(cam_contact.line_contact_pressure(force, width, bend, modulus))
    give = (1 - 0.292**2) / 207e9 + (1 - 0.28**2) / 160e9
    half = math.sqrt(2 * force / (math.pi * width) * give / (1 / (2 * lobe) + 1 / (2 * roller)))
    assert found == pytest.approx(2 * force / (math.pi * half * width), rel=1e-12)
    spread = quad(lambda x: found * math.sqrt(1.0 - (x / half) ** 2), -half, half)[0]
    assert spread * width == pytest.approx(force, rel=1e-6)


@pytest.mark.prop
def test_flat_face_and_large_roller_agree() -> None:
    lift, slope, curve = 3e-3, 5e-3, -6e-3
    flat = cam_contact.flat_curvature(15e-3, lift, curve)
    round_face = cam_contact.roller_curvature(15e-3 + 500.0 + lift, slope, curve, 500.0)
    assert float(round_face) == pytest.approx(float(flat), rel=1e-3)
    assert float(cam_contact.relative_curvature(flat, math.inf)) == pytest.approx(1.0 / flat)


@pytest.mark.reference
def test_reach_across_the_face() -> None:
    # 3-4-5 triangle: 4 mm off, half a lobe of 4 mm and 1 mm of offset make 5 mm.
    assert cam_contact.face_reach(4e-3, 4e-3, 1e-3) == pytest.approx(5e-3)


def test_no_width_no_pressure() -> None:
    assert float(cam_contact.line_contact_pressure(-5.0, 0.01, 100.0, 1e11)) == 0.0
    with pytest.raises(InputError, match="lobe width"):
        cam_contact.line_contact_pressure(5.0, 0.0, 100.0, 1e11)
