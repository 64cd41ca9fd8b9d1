"""Set-up compiles the kernels and says so."""

from __future__ import annotations

import subprocess
import sys

from headwright import warm_up


def test_progress_goes_to_standard_error():
    done = subprocess.run(
        [sys.executable, "-m", "headwright.warm_up"], capture_output=True, text=True, check=True
    )
    assert done.stdout == ""
    lines = done.stderr.splitlines()
    assert len(lines) == len(warm_up.warm_ups())
    assert lines[0].startswith("[1/")
    assert all(line.endswith(" s") for line in lines)


def test_every_group_can_be_compiled_again_at_once():
    for _, work in warm_up.warm_ups():
        work()
