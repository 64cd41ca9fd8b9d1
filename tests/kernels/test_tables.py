"""Scheduled values against numpy's interpolation."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.kernels.tables import scheduled
from headwright.simulation.network import TimeTable


def look_up(table: TimeTable, times):
    places = np.array([[0, len(table.positions), 0]])
    numbers = np.array([[table.period or 0.0, table.rate, table.offset]])
    points = np.column_stack([table.positions, table.values])
    return [scheduled(0, time, places, numbers, points) for time in times]


@pytest.mark.prop
@given(st.lists(st.floats(-5.0, 20.0), min_size=1, max_size=20), st.floats(0.1, 30.0))
def test_any_order_of_times(times, rate):
    table = TimeTable(
        (0.0, 0.5, 0.7, 2.0), (1.0, 3.0, -1.0, 1.0), period=2.0, rate=rate, offset=0.3
    )
    for time, got in zip(times, look_up(table, times), strict=True):
        assert got == pytest.approx(table.at(time), abs=1e-9)


def test_ends_hold_without_a_period():
    table = TimeTable((0.0, 1.0), (2.0, 4.0))
    assert look_up(table, [-1.0, 0.25, 5.0]) == pytest.approx([2.0, 2.5, 4.0])
