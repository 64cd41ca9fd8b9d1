"""The kernels give the same answer compiled and as plain Python."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import numpy as np
import pytest

SCRIPT = """
import json, sys
from headwright.simulation.network.rehearsal import rehearse, rehearsal_network
from headwright.simulation.network import GasModel, run
out = []
for result in (rehearse(4e-4), run(rehearsal_network(GasModel.constant_gamma(), marked=0.0), 4e-4)):
    out.append([result.steps, result.largest_courant])
    for name, profile in result.profiles.items():
        for field in ("pressure", "velocity", "density", "burned_fraction"):
            out.append(getattr(profile, field).tolist())
    out.append([result.totals_after.mass, result.totals_after.energy])
    out.append([held.pressure for held in result.contents.values()])
json.dump(out, sys.stdout)
"""


def outcome(*, compiled: bool) -> list[list[float]]:
    environment = dict(os.environ, NUMBA_DISABLE_JIT="0" if compiled else "1")
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT], env=environment, capture_output=True, text=True, check=True
    )
    return json.loads(done.stdout)


@pytest.mark.prop
def test_compiled_and_plain_agree_to_1e_10():
    # What differs is only the rounding of fused multiply-adds: 1e-16 a step, some 30 steps.
    compiled, plain = outcome(compiled=True), outcome(compiled=False)
    assert len(compiled) == len(plain) > 50
    for one, other in zip(compiled, plain, strict=True):
        scale = max(float(np.max(np.abs(one))), 1.0)
        assert np.allclose(one, other, rtol=1e-10, atol=1e-10 * scale)
