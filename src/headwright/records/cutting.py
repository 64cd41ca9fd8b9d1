"""What a shop can do to reach its targets, how well, for how much; what a build rules out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Annotated, Final, Literal, get_args

from pydantic import Field

from headwright.errors import Problem
from headwright.records.base import CylinderNumber, Name, Part, Text
from headwright.records.measured import Figure, In, Measured

__all__ = [
    "CUTTING_STEPS",
    "CYLINDER_STEPS",
    "CuttingStep",
    "CuttingWishes",
    "GasketChoice",
    "Operation",
    "PinnedStep",
    "ShopWork",
]

CuttingStep = Literal[
    "deck_cut",
    "intake_valve",
    "exhaust_valve",
    "intake_seat",
    "exhaust_seat",
    "plug_boss",
    "relief",
    "head_cut",
    "intake_pocket",
    "exhaust_pocket",
    "gasket",
    "stand_shim",
    "pushrods",
]
ShopWork = Literal[
    "deck_cut",
    "intake_valve",
    "exhaust_valve",
    "intake_seat",
    "exhaust_seat",
    "plug_boss",
    "relief",
    "head_cut",
    "intake_pocket",
    "exhaust_pocket",
    "gasket",
    "stand_shim",
    "pushrods",
    "pour",
    "measure_heights",
    "insert_fit",
    "offset_guide",
    "weld_repair",
    "stitch_repair",
    "guide_liner",
    "new_guide",
    "spring_shim",
    "blend_edge",
    "pressure_test",
    "drain_cut",
]
"""What a shop prices: every step, the measuring between them, repairs."""

CUTTING_STEPS: Final[tuple[CuttingStep, ...]] = get_args(CuttingStep)
"""Every step a cutting plan may hold, in the order they are machined by default."""

CYLINDER_STEPS: Final = frozenset({"relief", "plug_boss"})
"""Steps that differ from cylinder to cylinder; their amount is a volume."""

PART_STEPS: Final = frozenset({"gasket", "intake_valve", "exhaust_valve"})
"""Steps that choose a part, by its name or tag."""


class GasketChoice(Part):
    """A head gasket the shop can get: its thickness as clamped, and what it costs."""

    name: Name
    family: Name | None = None
    thickness: Annotated[Measured, In("gasket_thickness")]
    bore: Annotated[Figure, In("gasket_bore")] = None
    price: Annotated[Figure, In("price")] = None
    note: Text = ""


class Operation(Part):
    """What one kind of step costs in this shop and how well it is hit.

    ``hours`` are for setting up and the first piece, ``hours_each`` for every cylinder or valve
    after it; ``price`` is for material or bought-in work. The repeatability is one standard
    deviation of the amount reached against the amount meant. ``most_depth`` and ``most_volume``
    bound one piece.
    """

    step: ShopWork
    hours: Annotated[Figure, In("working_time")] = None
    hours_each: Annotated[Figure, In("working_time")] = None
    rate: Annotated[Figure, In("price")] = None
    price: Annotated[Figure, In("price")] = None
    length_repeatability: Annotated[Figure, In("length_step")] = None
    volume_repeatability: Annotated[Figure, In("volume_step")] = None
    most_depth: Annotated[Figure, In("depth_of_cut", intended=True)] = None
    most_volume: Annotated[Figure, In("relief_volume", intended=True)] = None
    note: Text = ""


class PinnedStep(Part):
    """A step the builder has settled: by how much, or which part."""

    step: CuttingStep
    cylinder: CylinderNumber | None = None
    depth: Annotated[Figure, In("depth_of_cut", intended=True)] = None
    volume: Annotated[Figure, In("relief_volume", intended=True)] = None
    part: Name | None = None


class CuttingWishes(Part):
    """What the builder settles beforehand for the cutting plan of a build."""

    pinned: Annotated[tuple[PinnedStep, ...], Field(max_length=40)] = ()
    forbidden: Annotated[tuple[CuttingStep, ...], Field(max_length=20)] = ()
    order: Annotated[tuple[CuttingStep, ...], Field(max_length=20)] = ()

    def problems(self, at: str) -> Iterator[Problem]:
        """Yield pins without an amount, pinned twice, or pinned and forbidden at once."""
        for place, pin in enumerate(self.pinned):
            path = f"{at}.pinned[{place}]"
            wanted = _wanted(pin.step)
            if wanted is None:
                yield Problem(path, f"{pin.step} follows from the other steps; pin those")
            elif getattr(pin, wanted) is None:
                yield Problem(f"{path}.{wanted}", f"is missing: {pin.step} is pinned by it")
            if pin.cylinder is not None and pin.step not in CYLINDER_STEPS:
                yield Problem(f"{path}.cylinder", f"{pin.step} is the same for every cylinder")
            if pin.step in self.forbidden:
                yield Problem(path, f"{pin.step} is pinned and forbidden at once")
        counts = Counter((pin.step, pin.cylinder) for pin in self.pinned)
        for (step, cylinder), count in counts.items():
            if count > 1:
                of = f" of cylinder {cylinder}" if cylinder else ""
                yield Problem(f"{at}.pinned", f"{step}{of} is pinned {count} times")
        for step, count in Counter(self.order).items():
            if count > 1:
                yield Problem(f"{at}.order", f"{step} is named {count} times")


def _wanted(step: CuttingStep) -> str | None:
    """Return the field that pins a step; None where nothing can."""
    if step in PART_STEPS:
        return "part"
    if step in CYLINDER_STEPS:
        return "volume"
    return None if step in {"pushrods", "stand_shim"} else "depth"
