"""Monotone cubic against scipy's and its own promises."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from headwright.errors import InputError
from headwright.geometry.monotone import MonotoneCubic


@st.composite
def points(draw: st.DrawFn) -> tuple[list[float], list[float]]:
    count = draw(st.integers(2, 8))
    widths = draw(st.lists(st.floats(0.1, 3.0), min_size=count, max_size=count))
    steps = draw(st.lists(st.integers(-2000, 2000), min_size=count, max_size=count))
    return list(np.cumsum(widths)), list(np.cumsum(steps) / 1000.0)


@pytest.mark.reference
@given(points())
def test_agrees_with_scipy(given_points: tuple[list[float], list[float]]) -> None:
    positions, values = given_points
    where = np.linspace(positions[0], positions[-1], 41)
    ours = MonotoneCubic(positions, values).value_at(where)
    assert ours == pytest.approx(PchipInterpolator(positions, values)(where), abs=1e-11)


@pytest.mark.prop
@given(points())
def test_stays_between_neighbours(given_points: tuple[list[float], list[float]]) -> None:
    positions, values = given_points
    curve = MonotoneCubic(positions, values)
    for index in range(len(positions) - 1):
        inside = curve.value_at(np.linspace(positions[index], positions[index + 1], 21))
        low, high = sorted(values[index : index + 2])
        assert inside.min() >= low - 1e-12
        assert inside.max() <= high + 1e-12


@pytest.mark.prop
@given(points(), st.floats(-3.0, 30.0), st.sampled_from([1.0, -1.0]))
def test_looked_up_backwards(
    given_points: tuple[list[float], list[float]], position: float, sign: float
) -> None:
    positions, steps = given_points
    values = [sign * value for value in np.cumsum([0.05 + abs(step) for step in steps])]
    curve = MonotoneCubic(positions, values)
    if 0.0 in (curve.slopes[0], curve.slopes[-1]) and not positions[0] < position < positions[-1]:
        return
    value = curve.value_at(position)
    assert curve.value_at(curve.position_of(value)) == pytest.approx(value, abs=1e-11)


def test_goes_on_straight() -> None:
    curve = MonotoneCubic([0.0, 1.0], [2.0, 5.0])
    assert curve.value_at(2.0) == 8.0
    assert curve.value_at(-1.0) == -1.0
    assert curve.position_of(8.0) == 2.0
    assert curve.position_of(np.array([-1.0, 3.5])) == pytest.approx([-1.0, 0.5])


@pytest.mark.parametrize(
    ("positions", "values", "words"),
    [
        ([0.0], [1.0], "two points"),
        ([0.0, 1.0], [1.0], "do not pair"),
        ([0.0, 0.0], [1.0, 2.0], "must rise"),
        ([0.0, np.nan], [1.0, 2.0], "finite"),
        ([0.0, 1.0], [1.0, np.inf], "finite"),
    ],
)
def test_refused_points(positions: list[float], values: list[float], words: str) -> None:
    with pytest.raises(InputError, match=words):
        MonotoneCubic(positions, values)


def test_refused_look_up() -> None:
    with pytest.raises(InputError, match="strictly rise or strictly fall"):
        MonotoneCubic([0.0, 1.0, 2.0], [0.0, 1.0, 0.0]).position_of(0.5)
    level_end = MonotoneCubic([0.0, 1.0, 1.1], [0.0, 0.001, 1.0])
    assert level_end.slopes[0] == 0.0
    with pytest.raises(InputError, match="level at its end"):
        level_end.position_of(-1.0)
