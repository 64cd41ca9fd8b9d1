"""Parts of the valve gear on the shelf, and the set of them that goes into a build."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from headwright.errors import Problem
from headwright.records.base import Name, Part, Record, Tag, Text
from headwright.records.casting import ValveSide
from headwright.records.measured import Figure, In, Measured
from headwright.records.series import InSeries, Series

__all__ = [
    "Cam",
    "CamLobe",
    "LoadReading",
    "Pushrod",
    "Rocker",
    "Spring",
    "Tappet",
    "Valve",
    "ValveGear",
]


class CamLobe(Part):
    """One lobe: its timing at the checking lift, and its lift table if there is one.

    Angles are crankshaft degrees: opening before, closing after the dead centre of the stroke
    (intake: opens before top, closes after bottom; exhaust: opens before bottom, closes after
    top).
    """

    side: ValveSide
    opens: Annotated[Figure, In("valve_event")] = None
    closes: Annotated[Figure, In("valve_event")] = None
    centreline: Annotated[Figure, In("lobe_centreline")] = None
    duration: Annotated[Figure, In("cam_duration")] = None
    lobe_lift: Annotated[Figure, In("lobe_lift")] = None
    lift_angles: Annotated[Series | None, InSeries("crank_angle")] = None
    lifts: Annotated[Series | None, InSeries("lobe_lift")] = None
    angles_of: Literal["crank", "cam"] = "crank"
    lifts_at: Literal["lobe", "valve"] = "lobe"
    table_lash: Annotated[Figure, In("lash")] = None


class Cam(Record):
    """A camshaft."""

    kind: ClassVar[str] = "cam"
    title: ClassVar[str] = "Cam"
    plural: ClassVar[str] = "cams"

    family: Name
    story: Text = ""
    checking_lift: Annotated[Figure, In("checking_lift")] = None
    checked_at: Literal["lobe", "valve"] = "lobe"
    lobe_separation: Annotated[Figure, In("lobe_separation")] = None
    advance: Annotated[Figure, In("cam_advance")] = None
    base_circle_radius: Annotated[Figure, In("base_circle_radius")] = None
    lobe_width: Annotated[Figure, In("lobe_width")] = None
    lobes: Annotated[tuple[CamLobe, ...], Field(max_length=4)] = ()
    price: Annotated[Figure, In("price")] = None

    def contradictions(self) -> Iterator[Problem]:
        """Yield lobes entered twice and lift tables whose two rows differ in length."""
        sides = [lobe.side for lobe in self.lobes]
        for side in sorted(set(sides)):
            if sides.count(side) > 1:
                yield Problem("cam.lobes", f"the {side} lobe is entered {sides.count(side)} times")
        for place, lobe in enumerate(self.lobes):
            path = f"cam.lobes[{place}]"
            if (lobe.lift_angles is None) != (lobe.lifts is None):
                yield Problem(path, "a lift table needs both lift_angles and lifts")
            elif lobe.lift_angles is not None and lobe.lifts is not None:
                angles, lifts = lobe.lift_angles.values, lobe.lifts.values
                if len(angles) != len(lifts):
                    yield Problem(
                        f"{path}.lifts", f"{len(lifts)} lifts for {len(angles)} lift_angles"
                    )
                if any(b <= a for a, b in itertools.pairwise(angles)):
                    yield Problem(f"{path}.lift_angles", "angles must increase from row to row")

    def lobe(self, side: ValveSide) -> CamLobe | None:
        """Return one lobe, if it is entered."""
        return next((lobe for lobe in self.lobes if lobe.side == side), None)


class Rocker(Record):
    """A rocker arm."""

    kind: ClassVar[str] = "rocker"
    title: ClassVar[str] = "Rocker"
    plural: ClassVar[str] = "rockers"

    story: Text = ""
    ratio: Annotated[Figure, In("rocker_ratio")] = None
    valve_arm: Annotated[Figure, In("rocker_arm_length")] = None
    pushrod_arm: Annotated[Figure, In("rocker_arm_length")] = None
    tip_radius: Annotated[Figure, In("rocker_tip_radius")] = None
    tip: Literal["pad", "roller"] | None = None
    shaft_height: Annotated[Figure, In("rocker_shaft_height")] = None
    shaft_to_valve: Annotated[Figure, In("rocker_shaft_to_valve")] = None
    shaft_to_tappet: Annotated[Figure, In("rocker_shaft_to_tappet")] = None
    arm_angle: Annotated[Figure, In("rocker_arm_angle")] = None
    tappet_angle: Annotated[Figure, In("tappet_angle")] = None
    mount: Literal["shaft", "stud"] | None = None
    inertia: Annotated[Figure, In("rocker_inertia")] = None
    stiffness: Annotated[Figure, In("stiffness")] = None
    mass: Annotated[Figure, In("part_mass")] = None
    price: Annotated[Figure, In("price")] = None


class LoadReading(Part):
    """One load read on a spring tester at one height."""

    height: Annotated[Measured, In("spring_height")]
    load: Annotated[Measured, In("spring_load")]


class Spring(Record):
    """One valve spring; a nest is a list of them in the valve gear."""

    kind: ClassVar[str] = "spring"
    title: ClassVar[str] = "Spring"
    plural: ClassVar[str] = "springs"

    story: Text = ""
    wire_diameter: Annotated[Figure, In("wire_diameter")] = None
    mean_diameter: Annotated[Figure, In("coil_diameter")] = None
    outside_diameter: Annotated[Figure, In("coil_diameter")] = None
    active_coils: Annotated[Figure, In("coil_count")] = None
    total_coils: Annotated[Figure, In("coil_count")] = None
    free_length: Annotated[Figure, In("spring_free_length")] = None
    bind_height: Annotated[Figure, In("spring_bind_height")] = None
    rate: Annotated[Figure, In("spring_rate")] = None
    loads: Annotated[tuple[LoadReading, ...], Field(max_length=60)] = ()
    mass: Annotated[Figure, In("part_mass")] = None
    wire: Name | None = None
    strength: Annotated[Figure, In("wire_strength")] = None
    ends: Literal["ground", "squared", "open"] | None = None
    peened: bool | None = None
    retainer_step: Annotated[Figure, In("retainer_step")] = None
    price: Annotated[Figure, In("price")] = None

    def contradictions(self) -> Iterator[Problem]:
        """Yield a spring that is no longer free than with its coils shut."""
        free, shut = self.free_length, self.bind_height
        if free and shut and shut.value >= free.value:
            yield Problem(
                "spring.bind_height",
                f"{shut.value * 1e3:.2f} mm is not below the free length "
                f"({free.value * 1e3:.2f} mm)",
            )


class Valve(Record):
    """A valve on the shelf."""

    kind: ClassVar[str] = "valve"
    title: ClassVar[str] = "Valve"
    plural: ClassVar[str] = "valves"

    side: ValveSide
    story: Text = ""
    head_diameter: Annotated[Measured, In("valve_head_diameter")]
    stem_diameter: Annotated[Figure, In("stem_diameter")] = None
    length: Annotated[Figure, In("valve_length")] = None
    tip_to_groove: Annotated[Figure, In("tip_to_groove")] = None
    seat_angle: Annotated[Figure, In("seat_angle")] = None
    margin: Annotated[Figure, In("valve_margin")] = None
    tulip_angle: Annotated[Figure, In("tulip_angle")] = None
    mass: Annotated[Figure, In("part_mass")] = None
    material: Name | None = None
    price: Annotated[Figure, In("price")] = None


class Tappet(Part):
    """The cam follower."""

    sort: Literal["flat", "barrel", "roller"]
    face_diameter: Annotated[Figure, In("tappet_diameter")] = None
    crown_radius: Annotated[Figure, In("tappet_crown_radius")] = None
    roller_diameter: Annotated[Figure, In("tappet_diameter")] = None
    face_offset: Annotated[Figure, In("tappet_face_offset")] = None
    mass: Annotated[Figure, In("part_mass")] = None


class Pushrod(Part):
    """The pushrod of one side."""

    side: ValveSide | None = None
    length: Annotated[Figure, In("pushrod_length")] = None
    outside_diameter: Annotated[Figure, In("pushrod_diameter")] = None
    wall: Annotated[Figure, In("wall_thickness")] = None
    mass: Annotated[Figure, In("part_mass")] = None
    stiffness: Annotated[Figure, In("stiffness")] = None


class ValveGear(Record):
    """The set of valve-gear parts that goes into a build."""

    kind: ClassVar[str] = "valve_gear"
    title: ClassVar[str] = "Valve gear"
    plural: ClassVar[str] = "valve_gears"

    story: Text = ""
    cam: Tag
    rocker: Tag
    springs: Annotated[tuple[Tag, ...], Field(max_length=3)] = ()
    tappet: Tappet | None = None
    pushrods: Annotated[tuple[Pushrod, ...], Field(max_length=2)] = ()
    retainer_mass: Annotated[Figure, In("part_mass")] = None
    collet_mass: Annotated[Figure, In("part_mass")] = None
    retainer_depth: Annotated[Figure, In("retainer_depth")] = None
    groove_to_retainer: Annotated[Figure, In("retainer_step")] = None
    shim_thickness: Annotated[Figure, In("shim_thickness")] = None
    stand_shim: Annotated[Figure, In("shim_thickness")] = None
    seal_height: Annotated[Figure, In("seal_height")] = None
    retainer_hub: Annotated[Figure, In("retainer_hub")] = None
    rocker_to_retainer: Annotated[Figure, In("rocker_to_retainer")] = None
    intake_lash_hot: Annotated[Figure, In("lash")] = None
    exhaust_lash_hot: Annotated[Figure, In("lash")] = None
    intake_lash_cold: Annotated[Figure, In("lash")] = None
    exhaust_lash_cold: Annotated[Figure, In("lash")] = None
