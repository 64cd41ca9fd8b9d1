"""The truncated spherical flame against closed forms."""

from __future__ import annotations

import math

import numba
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from headwright.errors import InputError
from headwright.physics import flame_geometry as flame


@pytest.mark.reference
def test_central_plug_in_a_disc() -> None:
    # Hemisphere under a flat head until it meets the piston, then a spherical segment:
    # V = 2/3 pi r3, then pi H (r2 - H2/3); front 2 pi r2, then 2 pi r H. Exact in the code too.
    height = 0.012
    shape = flame.disc_chamber(0.1, 0.0, 0.0)
    radii = np.linspace(1e-3, 0.0499, 60)
    volume, areas = flame.flame_areas(shape, height, radii)
    free = radii < height
    segment = math.pi * height * (radii**2 - height**2 / 3.0)
    np.testing.assert_allclose(
        volume, np.where(free, 2.0 / 3.0 * math.pi * radii**3, segment), rtol=1e-9
    )
    np.testing.assert_allclose(
        areas[:, flame.FRONT],
        2.0 * math.pi * radii * np.where(free, radii, height),
        rtol=1e-9,
    )
    np.testing.assert_allclose(areas[:, flame.HEAD], math.pi * radii**2, rtol=1e-9)
    np.testing.assert_allclose(
        areas[:, flame.PISTON], math.pi * np.maximum(radii**2 - height**2, 0.0), rtol=1e-9
    )
    assert np.all(areas[:, flame.LINER] == 0.0)


@pytest.mark.reference
def test_plug_at_mid_depth_starts_as_a_full_sphere() -> None:
    shape = flame.disc_chamber(0.09, 0.020, 0.010, plug_gap=0.010)
    radii = np.array([0.002, 0.005, 0.009])
    volume, areas = flame.flame_areas(shape, 0.005, radii)
    np.testing.assert_allclose(volume, 4.0 / 3.0 * math.pi * radii**3, rtol=1e-9)
    np.testing.assert_allclose(areas[:, flame.FRONT], 4.0 * math.pi * radii**2, rtol=1e-9)


@pytest.mark.reference
def test_edge_plug_burns_with_less_front_than_a_central_one() -> None:
    # Known from experiment and geometry alike: a plug at the side has about half the front.
    centre = flame.flame_table(flame.disc_chamber(0.1, 0.010, 0.0), 0.001, 0.02)
    side = flame.flame_table(flame.disc_chamber(0.1, 0.010, 0.045), 0.001, 0.02)
    middle = centre.areas.shape[1] * 4 // 5  # about half burned
    ratio = side.areas[0, middle, flame.FRONT] / centre.areas[0, middle, flame.FRONT]
    assert 0.4 < ratio < 0.75


@pytest.mark.reference
def test_dome_with_the_gap_at_the_centre_of_its_sphere() -> None:
    # A half sphere over the bore, the gap 0.1 mm above its centre, the piston at the deck: the
    # flame is a half sphere and nearly touches all of the head at once. 1 %: that 0.1 mm.
    half = 0.05
    full = 2.0 / 3.0 * math.pi * half**3
    shape = flame.domed_chamber(0.1, full, 0.0, 0.0, plug_gap=0.0499)
    radii = np.array([0.01, 0.025, 0.04, 0.048])
    volume, areas = flame.flame_areas(shape, 1e-6, radii)
    segment = math.pi * (1e-4 + 1e-6) * radii**2  # the slice between gap and piston
    np.testing.assert_allclose(volume, 2.0 / 3.0 * math.pi * radii**3 + segment, rtol=0.01)
    assert shape.roof_factor == pytest.approx(2.0, rel=1e-2)
    assert shape.head_volume == pytest.approx(full, rel=1e-9)
    assert areas[2, flame.HEAD] == pytest.approx(0.0, abs=2e-4)


@pytest.mark.prop
@settings(deadline=None, max_examples=20)
@given(
    offset=st.floats(0.0, 0.03),
    share=st.floats(0.0, 0.45),
    depth=st.floats(0.0008, 0.06),
)
def test_front_is_the_derivative_of_the_volume(offset: float, share: float, depth: float) -> None:
    shape = flame.squish_chamber(0.1, 60e-6, share, offset, 0.005)
    radii = np.linspace(0.0, 0.13, 801)
    volume, areas = flame.flame_areas(shape, depth, radii)
    total = shape.head_volume + math.pi / 4.0 * 0.1**2 * depth
    assert shape.head_volume == pytest.approx(60e-6, rel=1e-9)
    assert volume[-1] == pytest.approx(total, rel=1e-6)
    assert np.all(np.diff(volume) >= -1e-15)
    summed = np.concatenate(
        [[0.0], np.cumsum(0.5 * (areas[1:, 0] + areas[:-1, 0]) * np.diff(radii))]
    )
    np.testing.assert_allclose(summed, volume, atol=2e-3 * total)
    # At the end the flame touches everything.
    assert areas[-1, flame.FRONT] == pytest.approx(0.0, abs=1e-9)
    assert areas[-1, flame.PISTON] == pytest.approx(math.pi / 4.0 * 0.1**2, rel=1e-6)
    assert areas[-1, flame.HEAD] == pytest.approx(
        shape.roof_factor * math.pi / 4.0 * 0.1**2, rel=1e-6
    )
    wall = float(shape.wall_length @ (shape.wall_roof + depth))
    assert areas[-1, flame.LINER] == pytest.approx(wall, rel=1e-6)
    assert float(shape.wall_length.sum()) == pytest.approx(math.pi * 0.1, rel=1e-3)


@pytest.mark.prop
def test_table_reads_back_the_direct_answer() -> None:
    shape = flame.squish_chamber(0.0953, 58e-6, 0.25, 0.018, 0.0)
    table = flame.flame_table(shape, 0.0012, 0.05)
    compiled = numba.njit(flame.flame_lookup)
    for depth in (0.0012, 0.0031, 0.011, 0.037):
        radii = np.linspace(0.0, 0.12, 400)
        volume, areas = flame.flame_areas(shape, depth, radii)
        for burned in (0.003, 0.05, 0.3, 0.6, 0.85):
            radius = np.interp(burned * volume[-1], volume, radii)
            direct = np.array([np.interp(radius, radii, areas[:, kind]) for kind in range(4)])
            found = flame.flame_lookup(depth, burned, table.depths, table.areas)
            # 4 %: kinks where the flame meets a wall lie between the nodes.
            np.testing.assert_allclose(found, direct, rtol=0.04, atol=1.2e-4)
            assert compiled(depth, burned, table.depths, table.areas) == pytest.approx(
                found, rel=1e-12
            )


def test_bad_chambers() -> None:
    with pytest.raises(InputError, match="not inside a bore"):
        flame.disc_chamber(0.1, 0.01, 0.06)
    with pytest.raises(InputError, match="over the squish area"):
        flame.squish_chamber(0.1, 60e-6, 0.5, -0.02, 0.0)
    with pytest.raises(InputError, match="squish share"):
        flame.squish_chamber(0.1, 60e-6, 0.9, 0.02, 0.0)
    with pytest.raises(InputError, match="between 0 and 262 cm3"):
        flame.domed_chamber(0.1, 400e-6, 0.0, 0.0)
    shape = flame.disc_chamber(0.1, 0.0, 0.0, plug_gap=0.004)
    with pytest.raises(InputError, match="above the spark gap"):
        flame.flame_areas(shape, 0.002, np.array([0.01]))
    with pytest.raises(InputError, match="piston depths"):
        flame.flame_table(shape, 0.0, 0.05)
    with pytest.raises(InputError, match="below the deck plane"):
        flame.chamber(0.1, 0.0, 0.0, 0.0, lambda x, y: x)
