"""Describing a network: what is refused, and how plainly."""

from __future__ import annotations

import math

import numpy as np
import pytest

from headwright.errors import QuantityError, RecordError
from headwright.simulation.network import (
    Bend,
    ClosedEnd,
    Duct,
    FixedFriction,
    GasComponent,
    GasModel,
    GasState,
    Junction,
    Mouth,
    Network,
    Orifice,
    RoughWall,
    Station,
    TimeTable,
    Viscosity,
    Volume,
    finish_of,
    start_of,
)

AIR = GasModel.constant_gamma()
STILL = GasState(1e5, 300.0)


def pipe(name="pipe", **changes):
    settings = {"length": 1.0, "diameter": 0.04, "cells": 10, "initial": STILL} | changes
    return Duct.straight(name, **settings)


def closed(*names):
    return tuple(ClosedEnd(end(name)) for name in names for end in (start_of, finish_of))


def problems(ducts, joints, vessels=()):
    with pytest.raises(RecordError) as caught:
        Network(ducts, joints, AIR, vessels)
    return str(caught.value)


def test_every_end_is_joined_once():
    text = problems((pipe(),), (ClosedEnd(start_of("pipe")), ClosedEnd(start_of("pipe"))))
    assert "start of 'pipe' is in joints [0, 1]" in text
    assert "finish of 'pipe' is joined to nothing" in text


def test_names_must_exist_and_be_unique():
    text = problems((pipe(), pipe()), (*closed("pipe"), ClosedEnd(start_of("ghost"))))
    assert "'pipe' is used more than once" in text
    assert "no duct 'ghost'" in text
    text = problems((pipe(),), (ClosedEnd(start_of("pipe")), Mouth(finish_of("pipe"), "sky")))
    assert "no vessel 'sky'" in text


def test_an_empty_network_is_refused():
    assert "empty" in problems((), ())


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"cells": 2}, "cells"),
        ({"length": -1.0}, "length"),
        ({"diameter": 0.0}, "area"),
        ({"wall": RoughWall(-1e-6)}, "roughness"),
        ({"wall": FixedFriction(-0.1)}, "darcy_factor"),
        ({"wall_temperature": 300.0}, "needs a wall"),
        ({"wall": RoughWall(0.0), "wall_temperature": -3.0}, "wall_temperature"),
        ({"bends": (Bend(0.5, 1.5, 0.3),)}, "bend"),
        ({"bends": (Bend(0.5, 0.7, -0.3),)}, "loss_coefficient"),
    ],
)
def test_impossible_ducts(changes, word):
    with pytest.raises(QuantityError, match=word) as caught:
        pipe(**changes)
    assert "pipe" in str(caught.value)


def test_stations_must_increase_from_zero():
    with pytest.raises(QuantityError, match="start at 0"):
        Duct("d", (Station(0.1, 1.0), Station(0.2, 1.0)), 5, STILL)
    with pytest.raises(QuantityError, match="two or more"):
        Duct("d", (Station(0.0, 1.0),), 5, STILL)


@pytest.mark.parametrize(
    "make",
    [
        lambda: GasState(-1.0, 300.0),
        lambda: GasState(1e5, 0.0),
        lambda: GasState(1e5, 300.0, math.inf),
        lambda: GasState(1e5, 300.0, 0.0, 0.8, 0.3),
        lambda: GasState.from_density(1e5, 0.0, 287.0),
        lambda: Volume("v", -1.0, STILL),
        lambda: Mouth(start_of("a"), "b", inflow_loss=-1.0),
        lambda: Junction((start_of("a"),)),
        lambda: Junction((start_of("a"), start_of("b")), (0.0,)),
        lambda: TimeTable((0.0,), (1.0,)),
        lambda: TimeTable((0.0, 0.0), (1.0, 2.0)),
        lambda: TimeTable((0.0, 1.0), (1.0, 2.0), period=1.0),
        lambda: TimeTable((0.0, 1.0), (1.0, 1.0), period=2.0),
        lambda: TimeTable((0.0, 1.0), (1.0, math.nan)),
        lambda: GasComponent("x", -1.0, (700.0,)),
        lambda: GasComponent("x", 287.0, ()),
        lambda: GasComponent("x", 287.0, (-700.0,)),
        lambda: GasComponent.perfect("x", 1.0, 287.0),
        lambda: GasComponent.fitted("x", 287.0, lambda t: 1000.0 + 900.0 * np.sin(t / 50.0)),
    ],
)
def test_impossible_parts(make):
    with pytest.raises(QuantityError):
        make()


def test_areas_must_not_be_negative_anywhere_in_a_table():
    from headwright.simulation.network import run

    joints = (
        ClosedEnd(start_of("pipe")),
        Orifice(finish_of("pipe"), "tank", TimeTable((0.0, 1.0), (1e-4, -1e-4))),
    )
    network = Network((pipe(),), joints, AIR, (Volume("tank", 1e-3, STILL),))
    with pytest.raises(QuantityError, match="effective_area"):
        run(network, 0.01)


@pytest.mark.reference
@pytest.mark.parametrize(
    ("temperature", "viscosity"),
    [(250.0, 1.599e-5), (300.0, 1.846e-5), (600.0, 3.058e-5), (1000.0, 4.244e-5)],
)
def test_viscosity_of_air(temperature, viscosity):
    # F. P. Incropera et al., Fundamentals of Heat and Mass Transfer, table A.4 (air at 1 atm, from
    # memory): Sutherland's law keeps within 2.5 % of it.
    assert Viscosity().at(temperature) == pytest.approx(viscosity, rel=0.025)


def test_a_fitted_component_follows_its_source():
    def heat(t):
        return 1000.0 + 0.1 * t

    fitted = GasComponent.fitted("x", 287.0, heat, 250.0, 3000.0)
    for t in (300.0, 1000.0, 2500.0):
        assert fitted.specific_heat_volume(t) + 287.0 == pytest.approx(heat(t), rel=1e-3)


@pytest.mark.reference
def test_area_curve_is_the_monotone_cubic_of_scipy():
    # scipy.interpolate.PchipInterpolator uses the same published slopes.
    from scipy.interpolate import PchipInterpolator

    from headwright.simulation.network.area_curve import monotone_cubic

    x = np.array([0.0, 0.1, 0.15, 0.4, 0.5, 0.9, 1.0])
    y = np.array([1.0, 1.4, 1.4, 0.7, 0.8, 3.0, 2.0])
    at = np.linspace(0.0, 1.0, 301)
    assert monotone_cubic(x, y, at) == pytest.approx(PchipInterpolator(x, y)(at), abs=1e-13)


def test_a_cone_is_a_cone():
    cone = Duct.tapered("c", 0.5, 0.04, 0.02, 10, STILL)
    assert cone.areas(np.array([0.25]))[0] == pytest.approx(0.25 * math.pi * 0.03**2, rel=1e-14)
    assert cone.cell_length == pytest.approx(0.05)
