"""Floating-point operations in one cell update, counted by running the kernels themselves.

The kernels also run with compilation off. Here they are given numbers that count every addition,
subtraction, multiplication, division and square root done with them; comparisons, selections,
absolute values and copies of sign are free. A fused multiply-add counts as two. Run in a process
of its own, with compilation off::

    NUMBA_DISABLE_JIT=1 .venv/bin/python benchmarks/bench_gas_flops.py

prints one JSON object: operations a cell and time step for the perfect gas and for the mixture.
"""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
from collections import Counter
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np

WINDOW = 64
TALLY: Counter[str] = Counter()


class Counted(float):
    """A number that counts what is done with it."""

    __slots__ = ()


def _counting(kind: str, name: str) -> Any:
    plain = getattr(float, name)

    def operation(self: Counted, *others: float) -> Counted:
        TALLY[kind] += 1
        return Counted(plain(self, *(float(other) for other in others)))

    return operation


for _kind, _names in {
    "add": ("__add__", "__radd__", "__sub__", "__rsub__"),
    "multiply": ("__mul__", "__rmul__"),
    "divide": ("__truediv__", "__rtruediv__"),
}.items():
    for _name in _names:
        setattr(Counted, _name, _counting(_kind, _name))
Counted.__abs__ = lambda self: Counted(float.__abs__(self))
Counted.__neg__ = lambda self: Counted(float.__neg__(self))


def _root(value: float) -> Counted:
    TALLY["root"] += 1
    return Counted(math.sqrt(value))


COUNTING_MATH = SimpleNamespace(
    sqrt=_root, copysign=lambda size, sign: Counted(math.copysign(size, sign))
)


def counted(values: np.ndarray) -> np.ndarray:
    """The same array, of counting numbers."""
    out = np.empty(values.shape, dtype=object)
    flat = out.reshape(-1)
    for index, value in enumerate(values.reshape(-1)):
        flat[index] = Counted(value)
    return out


def count() -> dict[str, dict[str, float]]:
    """Operations by kind, for each cell and step, of both gases."""
    from headwright.kernels import flux, layout, limiters, reconstruct, update
    from headwright.physics.gas import AIR, BURNED, FUEL, gas_model

    limiters.math = COUNTING_MATH  # type: ignore[attr-defined]
    update.math = COUNTING_MATH  # type: ignore[attr-defined]
    row = layout.ROW_LENGTH
    place = np.arange(layout.BLOCK_SIZE // row * row, dtype=np.float64) % row
    block = np.zeros(layout.BLOCK_SIZE)

    def fill(number: int, values: np.ndarray | float) -> None:
        block[number * row : (number + 1) * row] = values

    swing = np.sin(0.2 * place[:row])
    density, pressure = 1.2 + 0.1 * swing, 1e5 * (1.0 + 0.1 * swing)
    velocity = 40.0 + 10.0 * swing
    fill(layout.DENSITY, density)
    fill(layout.VELOCITY, velocity)
    fill(layout.MOMENTUM, density * velocity)
    fill(layout.PRESSURE, pressure)
    fill(layout.SOUND, np.sqrt(1.4 * pressure / density))
    fill(layout.TEMPERATURE, pressure / (287.0 * density))
    fill(layout.ENERGY, pressure / 0.4 + 0.5 * density * velocity**2)
    fill(layout.INVERSE_LENGTH, 100.0)
    fill(layout.INVERSE_VOLUME, 1e5)
    fill(layout.FACE_AREA, 1e-3)
    fill(layout.COURANT_WEIGHT, 100.0)
    work = counted(np.ones(layout.WORK_ROWS * row))
    model = gas_model({"isooctane": 1.0})
    gas = np.zeros((layout.GAS_LINES, layout.GAS_COLUMNS))
    for line, source in (
        (layout.GAS_FRESH, AIR),
        (layout.GAS_BURNED, BURNED),
        (layout.GAS_VAPOUR, FUEL),
    ):
        gas[line, :7] = model.energy_coefficients[source]
        gas[line, layout.GAS_CONSTANT] = model.gas_constants[source]
        if line != layout.GAS_FRESH:
            gas[line] -= gas[layout.GAS_FRESH]
    table = counted(gas)
    step = Counted(1e-6)
    answer = {}
    for name in ("perfect", "mixture"):
        cells = counted(block)
        TALLY.clear()
        reconstruct.reconstruct(cells, work, WINDOW, step)
        if name == "perfect":
            flux.fluxes_perfect(cells, work, WINDOW, Counted(2.5))
            update.update_perfect(cells, work, WINDOW, step, Counted(1.4))
        else:
            reconstruct.reconstruct_fractions(cells, work, WINDOW, step)
            flux.fluxes_mixture(cells, work, WINDOW, table)
            update.update_mixture(cells, work, WINDOW, step, table)
        answer[name] = {kind: round(value / WINDOW, 1) for kind, value in sorted(TALLY.items())}
        answer[name]["all"] = round(sum(TALLY.values()) / WINDOW, 1)
    return answer


def operations() -> dict[str, dict[str, float]]:
    """Count in a fresh process with compilation off."""
    done = subprocess.run(
        [sys.executable, str(Path(__file__).resolve())],
        env={**os.environ, "NUMBA_DISABLE_JIT": "1"},
        capture_output=True,
        text=True,
        check=True,
    )
    return json.loads(done.stdout)


if __name__ == "__main__":
    if os.environ.get("NUMBA_DISABLE_JIT") != "1":
        raise SystemExit("set NUMBA_DISABLE_JIT=1: compiled kernels cannot be counted")
    print(json.dumps(count()))
