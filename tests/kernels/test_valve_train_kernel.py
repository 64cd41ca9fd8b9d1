"""The valve-train kernel as plain Python agrees with itself compiled."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import numpy as np
import pytest

SCRIPT = """
import json, sys
import numpy as np
from headwright.simulation.valve_train import CoilSpring, ValveTrainCase, run_train
angles = np.linspace(-2.0 * np.pi, 2.0 * np.pi, 361)[:-1]
case = ValveTrainCase(
    name="soft", tappet_mass=0.05, pushrod_mass=0.04, rocker_mass=0.07, retainer_mass=0.04,
    head_mass=0.04, cam_stiffness=3e6, pushrod_stiffness=2e6, rocker_stiffness=8e5,
    stem_stiffness=6e6, seat_stiffness=8e6, lash=3e-4, ratio=(1.5, 2.0),
    springs=(CoilSpring("short", 3e4, 0.04, 300.0, 0.004, coils=3),),
    cam_lift=5e-3 * np.maximum(np.cos(0.5 * angles), 0.0) ** 3,
)
out = []
for speed in (400.0, 900.0):
    result = run_train(case, speed, most_cycles=1, step=0.8)
    traces = result.traces
    for name in ("cam_force", "lift", "velocity", "least_force", "clash_force", "seat_force"):
        out.append(getattr(traces, name).tolist())
    out.append([result.parted_duration, result.bounce_height, result.greatest_gap])
json.dump(out, sys.stdout)
"""


def outcome(*, compiled: bool) -> list[list[float]]:
    environment = dict(os.environ, NUMBA_DISABLE_JIT="0" if compiled else "1")
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT], env=environment, capture_output=True, text=True, check=True
    )
    return json.loads(done.stdout)


@pytest.mark.prop
def test_compiled_and_plain_agree_to_1e_6() -> None:
    # Fused multiply-adds differ in the last digit; impacts make more of it, a thousandfold each.
    compiled, plain = outcome(compiled=True), outcome(compiled=False)
    assert len(compiled) == len(plain) == 14
    for one, other in zip(compiled, plain, strict=True):
        scale = max(float(np.max(np.abs(one))), 1e-9)
        assert np.allclose(one, other, rtol=0.0, atol=1e-6 * scale)
    assert max(compiled[4]) > 0.0  # coils met
