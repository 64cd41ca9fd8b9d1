"""A trial: one build on one casting, as SI facts, cylinder by cylinder.

Nothing is computed here beyond choosing which figure of which record counts, and saying plainly
where none does.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from headwright.assemble.bundle import Bundle
from headwright.assemble.facts import (
    Derived,
    Fact,
    assumed,
    computed,
    derive,
    intended,
    known,
    unknown,
)
from headwright.errors import Problem, RecordError
from headwright.geometry.volumes import crevice_volume
from headwright.records import Build, Casting, ShortBlock
from headwright.records.casting import Chamber, ValveSide
from headwright.records.measured import Figure

__all__ = ["ChamberFacts", "CylinderFacts", "Trial", "ValveFacts", "make_trial"]

FLAT_CROWN_SPREAD_M3: Final = 0.3e-6
"""Standard uncertainty of 'a flat crown adds nothing'. Common practice, no source."""

CREVICE_M3: Final = (0.4e-6, 0.2e-6)
"""Top-land crevice where nobody measured it, and its standard uncertainty. Common practice, no
source: a 6 mm land with 0.3 mm radial clearance round a 75 mm piston holds 0.42 cc."""

INSERT_OVER_HEAD_M: Final = (3.0e-3, 0.6e-3)
"""Insert diameter over valve head where nobody said, and its standard uncertainty. Common
practice, no source."""

FACE_AREA_SHARE: Final = (0.68, 0.07)
"""Chamber opening over bore area where nobody measured it (bath-tub and wedge chambers), and its
standard uncertainty. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class ChamberFacts:
    """What is known of one chamber: volume, opening, and pours at depths of cut."""

    volume: Fact
    face_area: Fact
    depth: Fact
    pours: tuple[tuple[Fact, Fact], ...] = ()


@dataclass(frozen=True, slots=True)
class ValveFacts:
    """One valve as intended: place, head, insert."""

    side: ValveSide
    x: Fact
    y: Fact
    head_diameter: Fact
    insert: bool
    insert_diameter: Fact


@dataclass(frozen=True, slots=True)
class CylinderFacts:
    """One cylinder with the chamber over it."""

    number: int
    bore: Fact
    below_deck: Fact
    crown_volume: Fact
    crevice_volume: Fact
    relief_volume: Fact
    bore_x: Fact
    bore_y: Fact
    chamber: ChamberFacts
    intake: ValveFacts
    exhaust: ValveFacts

    def valve(self, side: ValveSide) -> ValveFacts:
        """Return the valve of one side."""
        return self.intake if side == "intake" else self.exhaust


@dataclass(frozen=True, slots=True)
class Trial:
    """One build on one casting, ready for checks and studies.

    ``solved_cut`` is the depth that was solved for where ``head_cut`` is that and not a depth the
    builder chose: compression is judged at exactly that cut, for the cut is what will be trimmed,
    but the metal left shares its doubt.
    """

    bundle: Bundle
    casting: Casting
    cylinders: tuple[CylinderFacts, ...]
    stroke: Fact
    rod_length: Fact
    pin_offset: Fact
    gasket_bore: Fact
    gasket_thickness: Fact
    gasket_volume: Fact | None
    thickness_now: Fact
    head_cut: Fact
    deck_cut: Fact
    target_ratio: Fact
    target_squish: Fact
    maximum_speed: Fact
    intake_closing: Fact
    solved_cut: Derived | None = None

    @property
    def build(self) -> Build:
        """Return the build."""
        return self.bundle.build

    @property
    def short_block(self) -> ShortBlock:
        """Return the short block."""
        return self.bundle.short_block


def make_trial(bundle: Bundle, *, head_cut: Fact | None = None) -> Trial:
    """Choose the figures that count for a build on its casting.

    Args:
        bundle: the build with its records; it must have a casting.
        head_cut: a depth of cut to try instead of the build's own.

    Raises:
        RecordError: the build names no casting.
    """
    casting, block, build = bundle.casting, bundle.short_block, bundle.build
    if casting is None:
        raise RecordError([Problem("build.casting", "this build names no casting yet; rank it")])
    at_block, at_build = f"short_block {block.tag}: ", f"build {build.tag}: "
    gasket = build.gasket or block.gasket
    at_gasket = (at_build if build.gasket else at_block) + "gasket."
    numbers = [item.cylinder for item in block.cylinders if item.cylinder <= casting.cylinders]
    return Trial(
        bundle=bundle,
        casting=casting,
        cylinders=tuple(_cylinder(bundle, casting, number) for number in sorted(numbers)),
        stroke=known(block.stroke, "stroke", at_block + "stroke", "stroke"),
        rod_length=known(block.rod_length, "rod_length", at_block + "rod_length", "rod length"),
        pin_offset=_or_assumed(
            block.piston.pin_offset,
            "pin_offset",
            at_block + "piston.pin_offset",
            "pin offset",
            (0.0, 0.2e-3),
            "taken as none: its effect on the volumes is nearly nil",
        ),
        gasket_bore=known(
            gasket.bore if gasket else None, "gasket_bore", at_gasket + "bore", "gasket bore"
        ),
        gasket_thickness=known(
            gasket.thickness if gasket else None,
            "gasket_thickness",
            at_gasket + "thickness",
            "gasket thickness as clamped",
        ),
        gasket_volume=(
            known(gasket.volume, "gasket_volume", at_gasket + "volume", "gasket volume")
            if gasket and gasket.volume
            else None
        ),
        thickness_now=known(
            casting.thickness_now,
            "casting_thickness",
            f"casting {casting.tag}: thickness_now",
            "casting thickness now",
        ),
        head_cut=head_cut or _cut(build.cuts.head_cut, at_build + "cuts.head_cut", "head cut"),
        deck_cut=_cut(build.cuts.deck_cut, at_build + "cuts.deck_cut", "deck cut"),
        target_ratio=intended(
            known(
                build.targets.compression_ratio,
                "compression_ratio",
                at_build + "targets.compression_ratio",
                "wanted compression ratio",
            )
        ),
        target_squish=intended(
            known(
                build.targets.squish,
                "squish_clearance",
                at_build + "targets.squish",
                "wanted squish clearance",
            )
        ),
        maximum_speed=intended(
            known(
                build.targets.maximum_speed,
                "engine_speed",
                at_build + "targets.maximum_speed",
                "highest engine speed wanted",
            )
        ),
        intake_closing=_intake_closing(bundle),
    )


def _or_assumed(
    figure: Figure, name: str, path: str, what: str, stand_in: tuple[float, float], note: str
) -> Fact:
    if figure is not None:
        return known(figure, name, path, what)
    return assumed(*stand_in, name, path, what, note)


def _cut(figure: Figure, path: str, what: str) -> Fact:
    if figure is not None:
        return intended(known(figure, "depth_of_cut", path, what))
    return Fact("depth_of_cut", path, what, 0.0, note="none intended")


def _intake_closing(bundle: Bundle) -> Fact:
    what = "crank angle at which the intake valve closes"
    if bundle.cam is None:
        return unknown("valve_event", f"build {bundle.build.tag}: valve_gear", what)
    lobe = bundle.cam.lobe("intake")
    path = f"cam {bundle.cam.tag}: lobes[intake].closes"
    return known(lobe.closes if lobe else None, "valve_event", path, what)


def _cylinder(bundle: Bundle, casting: Casting, number: int) -> CylinderFacts:
    block, build = bundle.short_block, bundle.build
    place = next(i for i, item in enumerate(block.cylinders) if item.cylinder == number)
    cylinder = block.cylinders[place]
    at = f"short_block {block.tag}: cylinders[{place}]."
    at_piston = f"short_block {block.tag}: piston."
    of = f", cylinder {number}"
    bore = known(cylinder.bore, "bore", at + "bore", "bore" + of)
    return CylinderFacts(
        number=number,
        bore=bore,
        below_deck=_below_deck(block, cylinder.piston_below_deck, at, of),
        crown_volume=_crown(block, cylinder.crown_volume, at, at_piston, of),
        crevice_volume=_crevice(block, at_piston),
        relief_volume=next(
            (
                known(
                    relief.volume,
                    "relief_volume",
                    f"build {build.tag}: cuts.reliefs[{index}].volume",
                    "chamber relief" + of,
                )
                for index, relief in enumerate(build.cuts.reliefs)
                if relief.cylinder == number
            ),
            Fact(
                "relief_volume",
                f"build {build.tag}: cuts.reliefs",
                "chamber relief" + of,
                0.0,
                note="none intended",
            ),
        ),
        bore_x=_bore_place(casting, number, "x"),
        bore_y=_bore_place(casting, number, "y"),
        chamber=_chamber(casting, number, bore),
        intake=_valve(bundle, casting, number, "intake"),
        exhaust=_valve(bundle, casting, number, "exhaust"),
    )


def _below_deck(block: ShortBlock, figure: Figure, at: str, of: str) -> Fact:
    what = "piston below the block face" + of
    if figure is not None:
        return known(figure, "piston_below_deck", at + "piston_below_deck", what)
    stack = (block.block_height, block.stroke, block.rod_length, block.piston.pin_height)
    if all(part is not None for part in stack):
        height, stroke, rod, pin = (part.value for part in stack if part is not None)
        return assumed(
            height - stroke / 2.0 - rod - pin,
            0.15e-3,
            "piston_below_deck",
            at + "piston_below_deck",
            what,
            "reckoned from block height, half stroke, rod and pin height",
        )
    return unknown("piston_below_deck", at + "piston_below_deck", what)


def _crown(block: ShortBlock, own: Figure, at: str, at_piston: str, of: str) -> Fact:
    what = "volume of the piston crown" + of
    if own is not None:
        return known(own, "crown_volume", at + "crown_volume", what)
    if block.piston.crown_volume is not None:
        return known(
            block.piston.crown_volume, "crown_volume", at_piston + "crown_volume", "crown volume"
        )
    if block.piston.crown == "flat" and not block.piston.pockets:
        return assumed(
            0.0,
            FLAT_CROWN_SPREAD_M3,
            "crown_volume",
            at_piston + "crown_volume",
            "crown volume",
            "a flat crown without pockets is taken to add nothing",
        )
    return unknown("crown_volume", at_piston + "crown_volume", "crown volume")


def _crevice(block: ShortBlock, at_piston: str) -> Fact:
    """Return the crevice of one cylinder, the same for all: the bores differ too little."""
    piston = block.piston
    path, what = at_piston + "top_land_clearance", "top-land crevice"
    bores = [item.bore.value for item in block.cylinders if item.bore is not None]
    if piston.top_land_height is None or piston.top_land_clearance is None or not bores:
        return assumed(*CREVICE_M3, "crown_volume", path, what, "a usual crevice stands in")
    height = known(piston.top_land_height, "top_land_height", path, what)
    gap = known(piston.top_land_clearance, "top_land_clearance", path, what)
    bore = sum(bores) / len(bores)

    def volume(height: float, gap: float) -> float:
        return crevice_volume(bore, gap, height)

    whole = derive("crown_volume", volume, {"height": height, "gap": gap})
    if whole.value is None:
        return assumed(*CREVICE_M3, "crown_volume", path, what, whole.trouble)
    return computed("crown_volume", path, what, whole)


def _bore_place(casting: Casting, number: int, axis: str) -> Fact:
    place = casting.bore_centre(number)
    index = casting.bore_centres.index(place) if place else number - 1
    return known(
        getattr(place, axis) if place else None,
        "face_position",
        f"casting {casting.tag}: bore_centres[{index}].{axis}",
        f"bore centre {axis}, cylinder {number}",
    )


def _chamber(casting: Casting, number: int, bore: Fact) -> ChamberFacts:
    chamber = casting.chamber(number) or Chamber(cylinder=number)
    index = casting.chambers.index(chamber) if chamber in casting.chambers else number - 1
    at, of = f"casting {casting.tag}: chambers[{index}].", f", cylinder {number}"
    volume = known(chamber.volume, "chamber_volume", at + "volume", "chamber volume" + of)
    pours = tuple(
        (
            known(
                p.depth_of_cut, "depth_of_cut", f"{at}pours[{i}].depth_of_cut", "pour depth" + of
            ),
            known(p.volume, "chamber_volume", f"{at}pours[{i}].volume", "poured volume" + of),
        )
        for i, p in enumerate(chamber.pours)
    )
    if not volume.is_known and pours:
        at_face = [pour for depth, pour in pours if depth.value == 0.0]
        volume = at_face[0] if at_face else volume
    what = "chamber opening (face area)" + of
    area = known(chamber.face_area, "chamber_face_area", at + "face_area", what)
    if not area.is_known and bore.value is not None:
        disc = 0.7853981633974483 * bore.value**2
        share, spread = FACE_AREA_SHARE
        area = assumed(
            share * disc,
            spread * disc,
            "chamber_face_area",
            at + "face_area",
            "chamber opening (face area)" + of,
            "a usual share of the bore's area stands in",
        )
    depth = known(chamber.depth, "chamber_depth", at + "depth", "chamber depth" + of)
    return ChamberFacts(volume, area, depth, pours)


def _valve(bundle: Bundle, casting: Casting, number: int, side: ValveSide) -> ValveFacts:
    build = bundle.build
    intended = build.intake if side == "intake" else build.exhaust
    on_shelf = bundle.valve(side)
    place = casting.valve(number, side)
    index = casting.valves.index(place) if place else 0
    at = f"casting {casting.tag}: valves[{index}]."
    if place is None:
        at = f"casting {casting.tag}: valves[cylinder {number} {side}]."
    of = f", {side} {number}"
    what = "valve head diameter" + of
    if on_shelf is not None:
        path = f"valve {on_shelf.tag}: head_diameter"
        head = known(on_shelf.head_diameter, "valve_head_diameter", path, f"{side} valve head")
    elif intended.head_diameter is not None:
        path = f"build {build.tag}: {side}.head_diameter"
        head = known(intended.head_diameter, "valve_head_diameter", path, f"{side} valve head")
    else:
        figure = place.head_diameter if place else None
        head = known(figure, "valve_head_diameter", at + "head_diameter", what)
    insert = _has_insert(casting, intended=intended.insert, present=place.insert if place else None)
    return ValveFacts(
        side=side,
        x=known(place.x if place else None, "face_position", at + "x", "valve centre x" + of),
        y=known(place.y if place else None, "face_position", at + "y", "valve centre y" + of),
        head_diameter=head,
        insert=insert,
        insert_diameter=_insert_diameter(
            bundle, side, place.insert_diameter if place else None, at, of, head
        ),
    )


def _has_insert(casting: Casting, *, intended: bool | None, present: bool | None) -> bool:
    if casting.material == "aluminium":
        return True
    return bool(present) if intended is None else intended


def _insert_diameter(
    bundle: Bundle, side: ValveSide, present: Figure, at: str, of: str, head: Fact
) -> Fact:
    intended = bundle.build.intake if side == "intake" else bundle.build.exhaust
    if intended.insert_diameter is not None:
        path = f"build {bundle.build.tag}: {side}.insert_diameter"
        return known(intended.insert_diameter, "insert_diameter", path, f"{side} insert diameter")
    what = "insert diameter" + of
    too_small = present is not None and head.value is not None and present.value <= head.value
    if present is not None and not too_small:
        return known(present, "insert_diameter", at + "insert_diameter", what)
    if head.value is None:
        return unknown("insert_diameter", at + "insert_diameter", what)
    over, spread = INSERT_OVER_HEAD_M
    return assumed(
        head.value + over,
        spread,
        "insert_diameter",
        at + "insert_diameter",
        what,
        "the insert in the casting is too small for this valve head: a usual one stands in"
        if too_small
        else "a usual insert for this valve head stands in",
    )
