"""Carry a network forward in time."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from headwright.errors import SimulationError
from headwright.simulation.network.model import Network
from headwright.simulation.network.result import FlowProbe, Probe, RunResult, VesselProbe

__all__ = ["run"]


def run(
    network: Network,
    until: float,
    *,
    probes: Sequence[Probe | FlowProbe | VesselProbe] = (),
    sample_interval: float = 0.0,
    courant: float = 0.85,
    max_steps: int = 50_000_000,
    progress: Callable[[float], None] | None = None,
    start: RunResult | None = None,
) -> RunResult:
    """Solve the unsteady flow in a network from its initial states to a time.

    Args:
        network: What to solve.
        until: Time to stop at [s]; met exactly.
        probes: What to record: duct places, flows through duct ends, vessels.
        sample_interval: Least time between two samples [s]; 0 records every step. The first
            sample is the initial state, the last the final one.
        courant: Target Courant number, 0 to 1 exclusive.
        max_steps: Stop with an error after so many steps.
        progress: Called now and then with the time reached [s].
        start: Result of an earlier run of a network with the same ducts and vessels; its final
            state replaces the initial states and its time is where this run starts.

    Returns:
        Histories, final profiles, step counts, the largest Courant number met and the conserved
        totals before and after.

    Raises:
        SimulationError: The state became impossible or too many steps were needed; names the
            duct, the place and the state.
        QuantityError: An argument is out of range.
    """
    raise SimulationError("being written")
