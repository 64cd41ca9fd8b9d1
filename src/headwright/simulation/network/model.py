"""The network as a whole: ducts, joints and vessels by name, and the checks on them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from headwright.errors import Problem, RecordError
from headwright.simulation.network.ducts import Duct, DuctEnd
from headwright.simulation.network.gas_model import GasModel
from headwright.simulation.network.joints import (
    AreaChange,
    Joint,
    Junction,
    Mouth,
    Orifice,
    Throttle,
    Vent,
    Vessel,
)

__all__ = ["SIDES", "Network", "ends_of", "vessels_of"]

SIDES: Final[tuple[Literal["start", "finish"], ...]] = ("start", "finish")
"""Both ends of a duct, in the order the solver numbers them."""


@dataclass(frozen=True, slots=True)
class Network:
    """Ducts joined at their ends, with vessels between; knows nothing about engines.

    Args:
        ducts: The ducts; may be empty if only vessels exchange gas.
        joints: What each duct end is joined to; every end exactly once.
        vessels: Reservoirs and volumes.
        gas: The gas that fills all of it.

    Raises:
        RecordError: With every problem found: names used twice, ends joined never or more
            than once, unknown ducts or vessels.
    """

    ducts: tuple[Duct, ...]
    joints: tuple[Joint, ...]
    gas: GasModel
    vessels: tuple[Vessel, ...] = ()

    def __post_init__(self) -> None:
        """Check that everything named exists and every end is joined once."""
        problems = _name_problems(self) + _end_problems(self)
        if problems:
            raise RecordError(problems)

    def duct(self, name: str) -> Duct:
        """The duct of that name."""
        for duct in self.ducts:
            if duct.name == name:
                return duct
        known = ", ".join(repr(duct.name) for duct in self.ducts)
        raise RecordError([Problem("duct", f"no duct {name!r}; there are {known}")])


def ends_of(joint: Joint) -> tuple[DuctEnd, ...]:
    """The duct ends a joint holds, in its own order."""
    if isinstance(joint, Junction):
        return joint.ends
    if isinstance(joint, Throttle | AreaChange):
        return (joint.first, joint.second)
    if isinstance(joint, Vent):
        return ()
    return (joint.end,)


def vessels_of(joint: Joint) -> tuple[str, ...]:
    """Names of the vessels a joint touches, in its own order."""
    if isinstance(joint, Vent):
        return (joint.first, joint.second)
    if isinstance(joint, Mouth | Orifice):
        return (joint.vessel,)
    return ()


def _name_problems(network: Network) -> list[Problem]:
    problems = []
    for kind, names in (
        ("ducts", [duct.name for duct in network.ducts]),
        ("vessels", [vessel.name for vessel in network.vessels]),
    ):
        repeated = sorted({name for name in names if names.count(name) > 1})
        problems += [
            Problem(kind, f"the name {name!r} is used more than once") for name in repeated
        ]
    if not network.ducts and not network.vessels:
        problems.append(Problem("ducts", "the network is empty; give ducts or vessels"))
    known = {vessel.name for vessel in network.vessels}
    for index, joint in enumerate(network.joints):
        for name in vessels_of(joint):
            if name not in known:
                listed = ", ".join(sorted(known)) or "none"
                problems.append(
                    Problem(f"joints[{index}]", f"no vessel {name!r}; there are: {listed}")
                )
    return problems


def _end_problems(network: Network) -> list[Problem]:
    problems = []
    known = {duct.name for duct in network.ducts}
    uses: dict[DuctEnd, list[int]] = {}
    for index, joint in enumerate(network.joints):
        for end in ends_of(joint):
            if end.duct not in known:
                problems.append(Problem(f"joints[{index}]", f"no duct {end.duct!r}"))
            uses.setdefault(end, []).append(index)
    for end, indices in uses.items():
        if len(indices) > 1:
            problems.append(
                Problem("joints", f"the {end.side} of {end.duct!r} is in joints {indices}")
            )
    all_ends = (DuctEnd(duct.name, side) for duct in network.ducts for side in SIDES)
    problems += [
        Problem(
            "joints",
            f"the {end.side} of {end.duct!r} is joined to nothing; add a ClosedEnd or another",
        )
        for end in all_ends
        if end not in uses
    ]
    return problems
