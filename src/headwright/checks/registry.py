"""The list of checks: every family in the order a builder goes through them, and their run."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from headwright.assemble import Trial
from headwright.checks import (
    clearances,
    face,
    families,
    oil,
    plug,
    ports,
    repair,
    valve_gear,
    valve_train,
)
from headwright.checks.finding import Finding

__all__ = ["CHECKS", "Check", "run_checks"]


@dataclass(frozen=True, slots=True)
class Check:
    """One family of checks: its name, what it asks, and the function that answers.

    ``ranked`` tells whether castings are ranked by it: not where it takes long and says the same
    of every casting. ``decides`` tells whether the verdict on a build hangs on it: not where it
    only asks for figures without which the build can be judged all the same.
    """

    name: str
    question: str
    run: Callable[[Trial], Iterator[Finding]]
    ranked: bool = True
    decides: bool = True


CHECKS: Final[tuple[Check, ...]] = (
    Check("family", "Does the casting belong to this block at all?", families.check_family),
    Check("damage", "Is anything broken that the cut does not clean up?", repair.check_damage),
    Check("repair", "Does a repair of it leave enough metal?", repair.check_repair),
    Check(
        "compression", "Is each cylinder's compression right and alike?", families.check_compression
    ),
    Check("targets", "Does the build ask for what its rules forbid?", families.check_targets),
    Check("displacement", "Is the engine within the class limit?", families.check_displacement),
    Check("squish", "Is the squish clearance right?", families.check_squish),
    Check("deck", "Does the crown stay clear of the fire ring?", families.check_deck),
    Check("thickness", "Is enough of the casting left?", families.check_thickness),
    Check("cut_depth", "Does the cut stay where the volumes are known?", families.check_cut_depth),
    Check("relief", "Is more to come out of a chamber than it will bear?", families.check_relief),
    Check("bridge", "Is enough metal left between inserts or seats?", families.check_bridge),
    Check(
        "valve_to_bore", "Does each valve clear the cylinder wall?", families.check_valve_to_bore
    ),
    Check(
        "insert_to_bore",
        "Does the fire ring bear outside each insert?",
        families.check_insert_to_bore,
    ),
    Check("shrouding", "Do the walls leave the valves their curtain?", face.check_shrouding),
    Check(
        "insert_to_plug", "Is enough metal left between insert and plug?", face.check_insert_to_plug
    ),
    Check(
        "insert_to_water",
        "Is enough metal left between inserts and water?",
        face.check_insert_to_water,
    ),
    Check("fire_ring", "Does the fire ring bear on metal all round?", face.check_fire_ring),
    Check("plug_thread", "Does the plug's thread end with the chamber?", plug.check_plug_thread),
    Check("pushrod_wall", "Is the wall to the pushrods thick enough?", ports.check_pushrod_wall),
    Check("pushrod_clearance", "Do the pushrods clear?", ports.check_pushrod_clearance),
    Check("port_mach", "Does the smallest port section pass the air?", ports.check_port_mach),
    Check("valve_size", "Are the valves within the class limit?", families.check_valve_size),
    Check("valve_gear", "Do cam, rockers and springs suit?", valve_gear.check_valve_gear),
    Check(
        "valve_train",
        "Do the springs hold the cam at speed, and after a missed shift?",
        valve_train.check_valve_train,
        ranked=False,
    ),
    Check(
        "clearances",
        "Do valves, pistons, walls and guides stay clear of each other?",
        clearances.check_clearances,
    ),
    Check(
        "clearances_at_speed",
        "Do the valves clear the pistons at speed, and after a missed shift?",
        clearances.check_clearances_at_speed,
        ranked=False,
    ),
    Check("oil", "Does the oil get back down?", oil.check_oil),
    Check(
        "oil_known",
        "Is enough known to say that the oil gets back?",
        oil.check_oil_known,
        ranked=False,
        decides=False,
    ),
    Check("piston_speed", "Will the short block stand the speed?", families.check_piston_speed),
)
"""Every family of checks, in the order a builder goes through them."""


def run_checks(trial: Trial, *, to_rank: bool = False) -> tuple[Finding, ...]:
    """Run every check on a trial. Nothing that is missing passes silently.

    Args:
        trial: the build on its casting.
        to_rank: leave out the checks by which castings are not ranked.
    """
    chosen = (check for check in CHECKS if check.ranked or not to_rank)
    return tuple(finding for check in chosen for finding in check.run(trial))
