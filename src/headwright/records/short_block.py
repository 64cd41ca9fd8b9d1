"""A short block: what the head is to sit on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Set
from typing import Annotated, ClassVar, Final, Literal

from pydantic import Field

from headwright.errors import Problem
from headwright.records.base import CylinderNumber, Name, Part, Record, Text
from headwright.records.casting import ValveSide
from headwright.records.measured import Figure, In

__all__ = ["Bearing", "Cylinder", "Fasteners", "Gasket", "Piston", "PistonPocket", "ShortBlock"]

FLAT_CROWN_RISES_AT_MOST: Final = 0.5e-6
"""What a crown called flat may take away from the chamber [m3]: chamfers and fits."""


class PistonPocket(Part):
    """A valve pocket in the piston crown.

    Its place is the middle of its mouth from the middle of the crown, x along the crankshaft and y
    across, in the directions the casting's coordinates have; a piston may sit turned half round.
    """

    side: ValveSide
    x: Annotated[Figure, In("pocket_position")] = None
    y: Annotated[Figure, In("pocket_position")] = None
    diameter: Annotated[Figure, In("pocket_diameter")] = None
    depth: Annotated[Figure, In("pocket_depth")] = None
    angle: Annotated[Figure, In("valve_tilt")] = None
    direction: Annotated[Figure, In("tilt_direction")] = None


class Piston(Part):
    """The pistons of the set.

    ``crown_volume`` is what the crown adds to the clearance volume: positive for a dish and for
    valve pockets, negative for a dome.
    """

    crown: Literal["flat", "dish", "dome"]
    crown_volume: Annotated[Figure, In("crown_volume")] = None
    pin_height: Annotated[Figure, In("pin_height")] = None
    pin_offset: Annotated[Figure, In("pin_offset")] = None
    top_land_height: Annotated[Figure, In("top_land_height")] = None
    top_land_clearance: Annotated[Figure, In("top_land_clearance")] = None
    mass: Annotated[Figure, In("piston_mass")] = None
    pin_mass: Annotated[Figure, In("pin_mass")] = None
    pin_clearance: Annotated[Figure, In("bearing_clearance")] = None
    dish_diameter: Annotated[Figure, In("pocket_diameter")] = None
    dish_depth: Annotated[Figure, In("pocket_depth")] = None
    pockets: Annotated[tuple[PistonPocket, ...], Field(max_length=6)] = ()
    material: Name | None = None


class Cylinder(Part):
    """One cylinder: its bore and how far the piston stops below the block face (above: minus)."""

    cylinder: CylinderNumber
    bore: Annotated[Figure, In("bore")] = None
    piston_below_deck: Annotated[Figure, In("piston_below_deck")] = None
    crown_volume: Annotated[Figure, In("crown_volume")] = None


class Gasket(Part):
    """The head gasket, as clamped."""

    bore: Annotated[Figure, In("gasket_bore")] = None
    thickness: Annotated[Figure, In("gasket_thickness")] = None
    volume: Annotated[Figure, In("gasket_volume")] = None
    ring_width: Annotated[Figure, In("fire_ring_width")] = None
    note: Text = ""


class Bearing(Part):
    """Journal size of the main or the rod bearings."""

    place: Literal["main", "rod", "cam"]
    count: Annotated[int, Field(strict=True, ge=1, le=30)]
    diameter: Annotated[Figure, In("journal_diameter")] = None
    width: Annotated[Figure, In("journal_width")] = None
    clearance: Annotated[Figure, In("bearing_clearance")] = None


class Fasteners(Part):
    """The studs or bolts of one place."""

    place: Literal["head", "main", "rod"]
    count: Annotated[int, Field(strict=True, ge=1, le=100)]
    diameter: Annotated[Figure, In("thread_diameter")] = None
    pitch: Annotated[Figure, In("thread_pitch")] = None
    preload: Annotated[Figure, In("preload")] = None
    torque: Annotated[Figure, In("tightening_torque")] = None
    grade: Name | None = None


class ShortBlock(Record):
    """Block, crank, rods and pistons, measured cylinder by cylinder."""

    kind: ClassVar[str] = "short_block"
    title: ClassVar[str] = "Short block"
    plural: ClassVar[str] = "short_blocks"

    family: Name
    story: Text = ""
    cylinders: Annotated[tuple[Cylinder, ...], Field(min_length=1, max_length=12)]
    firing_order: Annotated[tuple[CylinderNumber, ...], Field(max_length=12)] = ()
    stroke: Annotated[Figure, In("stroke")] = None
    rod_length: Annotated[Figure, In("rod_length")] = None
    block_height: Annotated[Figure, In("block_height")] = None
    bore_spacing: Annotated[Figure, In("bore_spacing")] = None
    piston: Piston
    gasket: Gasket | None = None
    bearings: Annotated[tuple[Bearing, ...], Field(max_length=6)] = ()
    fasteners: Annotated[tuple[Fasteners, ...], Field(max_length=12)] = ()
    rod_material: Literal["steel", "aluminium", "titanium"] | None = None
    rod_section: Annotated[Figure, In("rod_section")] = None
    rod_stiffness: Annotated[Figure, In("stiffness")] = None
    rod_mass_small_end: Annotated[Figure, In("rod_end_mass")] = None
    rod_mass_big_end: Annotated[Figure, In("rod_end_mass")] = None
    balance_factor: Annotated[Figure, In("balance_factor")] = None
    maximum_speed: Annotated[Figure, In("engine_speed")] = None
    deck_metal_spare: Annotated[Figure, In("deck_metal_spare")] = None

    def contradictions(self) -> Iterator[Problem]:
        """Yield gaps in the cylinder numbers, a firing order that differs, a rod too short."""
        numbers = sorted(item.cylinder for item in self.cylinders)
        if numbers != list(range(1, len(numbers) + 1)):
            yield Problem(
                "short_block.cylinders",
                f"cylinders must be numbered 1 to {len(numbers)}, each once; got {numbers}",
            )
        if self.firing_order and sorted(self.firing_order) != numbers:
            doubled = [number for number, n in Counter(self.firing_order).items() if n > 1]
            yield Problem(
                "short_block.firing_order",
                f"{list(self.firing_order)} must name each of the {len(numbers)} cylinders once"
                + (f"; {doubled} come twice" if doubled else ""),
            )
        if self.stroke and self.rod_length and self.rod_length.value <= self.stroke.value / 2:
            yield Problem(
                "short_block.rod_length",
                f"{self.rod_length.value * 1e3:.2f} mm is not longer than the crank radius "
                f"({self.stroke.value * 500:.2f} mm); the crank could not turn",
            )

    def doubtful(self) -> Iterator[Problem]:
        """Yield a flat crown that takes away or adds more than valve pockets could."""
        if self.piston.crown != "flat":
            return
        crowns = [("piston.crown_volume", self.piston.crown_volume)]
        crowns += [
            (f"cylinders[{place}].crown_volume", item.crown_volume)
            for place, item in enumerate(self.cylinders)
        ]
        for path, figure in crowns:
            if figure is None or figure.value >= -FLAT_CROWN_RISES_AT_MOST:
                continue
            yield Problem(
                f"short_block.{path}",
                f"{figure.value * 1e6:.1f} cc is a dome, but the crown is flat; a flat crown with "
                "valve pockets adds to the chamber (plus), a dome takes away (minus)",
            )

    @classmethod
    def stands_alone(cls, problem: Problem, faults: Set[str]) -> bool:
        """Tell whether a contradiction holds; a firing order needs every cylinder to be known."""
        if problem.path == "short_block.firing_order" and any(
            fault.startswith("short_block.cylinders") for fault in faults
        ):
            return False
        return super().stands_alone(problem, faults)

    def cylinder(self, number: int) -> Cylinder | None:
        """Return one cylinder, if it is entered."""
        return next((item for item in self.cylinders if item.cylinder == number), None)
