"""The checks themselves: each takes a trial and says what it found.

These are the families that need the geometry of chamber, face and short block alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from headwright.assemble import Derived, Fact, Trial, derive
from headwright.assemble.trial import CylinderFacts
from headwright.checks import layout, volumes
from headwright.checks.cylinders import apart
from headwright.checks.finding import Finding, Limit, Verdict, judge, plain_finding
from headwright.checks.limits import find_limit, limits_of

__all__ = [
    "check_bridge",
    "check_compression",
    "check_cut_depth",
    "check_damage",
    "check_deck",
    "check_displacement",
    "check_family",
    "check_insert_to_bore",
    "check_piston_speed",
    "check_relief",
    "check_squish",
    "check_targets",
    "check_thickness",
    "check_valve_size",
    "check_valve_to_bore",
]

SQUISH_NEAR_M: Final = 0.15e-3
"""How near the squish clearance wanted is near. Common practice, no source."""

LARGE_RELIEF_M3: Final = 1.5e-6
"""Volume out of one chamber above which the wall is to be measured first. Common practice, no
source."""


def _cylinder(cylinder: CylinderFacts) -> str:
    return f"cylinder {cylinder.number}"


def check_family(trial: Trial) -> Iterator[Finding]:
    """Does the casting belong to this block at all?"""
    casting, block = trial.casting, trial.short_block
    if casting.family != block.family:
        yield plain_finding(
            "family",
            "Engine family",
            "casting",
            "fails",
            f"The casting is of the family {casting.family!r}, the block of {block.family!r}.",
        )
    elif casting.cylinders != len(block.cylinders):
        yield plain_finding(
            "family",
            "Number of cylinders",
            "casting",
            "fails",
            f"The casting has {casting.cylinders} cylinders, the block {len(block.cylinders)}.",
        )
    else:
        yield plain_finding("family", "Engine family", "casting", "good", "")


def check_damage(trial: Trial) -> Iterator[Finding]:
    """Is anything broken that the cut does not clean up?"""
    casting = trial.casting
    if casting.condition == "scrap":
        yield plain_finding(
            "damage", "Condition", "casting", "fails", "The casting is marked as scrap."
        )
    for place, damage in enumerate(casting.damage):
        if not damage.open:
            continue
        what = f"{damage.sort.replace('_', ' ').capitalize()}: {damage.where}"
        where = f"cylinder {damage.cylinder}" if damage.cylinder else "casting"
        path = f"casting {casting.tag}: damage[{place}].depth"
        if damage.sort == "crack":
            yield plain_finding(
                "damage", what, where, "fails", "A crack must be repaired and pressure-tested."
            )
            continue
        if damage.depth is None:
            missing = Fact("damage_depth", path, f"depth of the damage at {damage.where}")
            yield judge(
                "damage", what, where, Derived("damage_depth", None, missing=(missing,)), []
            )
            continue
        left = damage.depth.value - (trial.head_cut.value or 0.0)
        verdict: Verdict = "good" if left <= 0.0 else "fails"
        if verdict == "fails" and damage.sort not in {"lost_material", "burnt"}:
            verdict = "close"
        if verdict == "good":
            what += (
                f" ({1e3 * damage.depth.value:.1f} mm deep: the cut of "
                f"{1e3 * (trial.head_cut.value or 0.0):.1f} mm cleans it up)"
            )
        advice = "" if verdict == "good" else "The cut does not clean it up: repair it first."
        yield plain_finding("damage", what, where, verdict, advice)


def check_compression(trial: Trial) -> Iterator[Finding]:
    """Is each cylinder's compression where it should be, and are they alike?"""
    target = trial.target_ratio
    ratios = volumes.compressions(trial)
    for cylinder, ratio in zip(trial.cylinders, ratios, strict=True):
        limits = limits_of(trial, "compression_minimum", "compression_maximum")
        if target.value is not None and (near := find_limit(trial, "compression_tolerance")):
            for sign, bound in ((-1.0, "minimum"), (1.0, "maximum")):
                limits.append(
                    Limit(
                        "compression_target",
                        target.value + sign * near.value,
                        "minimum" if bound == "minimum" else "maximum",
                        f"target of the build, {near.source}",
                        near.is_default,
                    )
                )
        finding = judge(
            "compression",
            f"Compression ratio, {_cylinder(cylinder)}",
            _cylinder(cylinder),
            ratio,
            limits,
            advice="Change the head cut, the gasket or the chamber of this cylinder.",
        )
        if not limits and finding.value is not None:
            finding = replace(
                finding, advice="No compression is wanted: give targets.compression_ratio."
            )
        yield finding
    if len(trial.cylinders) > 1:
        spread = apart("compression_spread", ratios)
        yield judge(
            "compression_spread",
            "Spread of compression between cylinders",
            "all cylinders",
            spread.derived,
            limits_of(trial, "compression_spread_maximum"),
            advice="Relieve the small chambers to the size of the largest.",
            breach=lambda limit: spread.probability_above(limit.value),
        )


def check_targets(trial: Trial) -> Iterator[Finding]:
    """Does the build ask for something its own rules forbid? Silent where it does not."""
    asked = (
        ("Compression wanted", trial.target_ratio, "compression_minimum", "compression_maximum"),
        ("Squish clearance wanted", trial.target_squish, "squish_minimum", "squish_maximum"),
    )
    for what, target, *names in asked:
        limits = limits_of(trial, *names)
        if target.value is None or not limits:
            continue
        finding = judge(
            "targets",
            what,
            "build",
            derive(target.name, lambda target: target, {"target": target}),
            limits,
            advice="The build asks for what its rules forbid; no casting can mend that.",
        )
        if finding.verdict == "fails":
            yield finding


def check_displacement(trial: Trial) -> Iterator[Finding]:
    """Is the engine within the class limit?"""
    if limits := limits_of(trial, "displacement_maximum"):
        yield judge(
            "displacement",
            "Swept volume of the engine",
            "short block",
            volumes.displacement(trial),
            limits,
            advice="The block is too large for the class.",
        )


def check_squish(trial: Trial) -> Iterator[Finding]:
    """Does the crown come close enough to the head face, and not too close?"""
    for cylinder in trial.cylinders:
        yield judge(
            "squish",
            f"Squish clearance, {_cylinder(cylinder)}",
            _cylinder(cylinder),
            layout.squish(trial, cylinder),
            limits_of(trial, "squish_minimum", "squish_maximum"),
            advice="Change the gasket's thickness or the block face.",
        )
    if trial.target_squish.value is not None:
        yield from _squish_wanted(trial, trial.target_squish.value)


def _squish_wanted(trial: Trial, wanted: float) -> Iterator[Finding]:
    """Hold the cylinder furthest from the squish wanted to it; never worse than close."""
    gaps = [layout.squish(trial, cylinder) for cylinder in trial.cylinders]
    known = [gap for gap in gaps if gap.value is not None]
    if not known:
        return
    furthest = max(known, key=lambda gap: abs((gap.value or 0.0) - wanted))
    source = "target of the build, common practice for how near is near, no source"
    finding = judge(
        "squish_target",
        "Squish clearance against the one wanted",
        "short block",
        furthest,
        [
            Limit("squish_target", wanted - SQUISH_NEAR_M, "minimum", source, is_default=True),
            Limit("squish_target", wanted + SQUISH_NEAR_M, "maximum", source, is_default=True),
        ],
        advice="Not what the build wants: another gasket thickness, or another deck cut.",
    )
    yield replace(finding, verdict="close") if finding.verdict == "fails" else finding


def check_deck(trial: Trial) -> Iterator[Finding]:
    """Does the crown edge stay clear of the gasket's fire ring?"""
    for cylinder in trial.cylinders:
        yield judge(
            "deck",
            f"Piston above the block face (minus: below), {_cylinder(cylinder)}",
            _cylinder(cylinder),
            layout.piston_above_deck(trial, cylinder),
            limits_of(trial, "piston_above_deck_maximum"),
            advice="Take less off the block face.",
        )


def check_thickness(trial: Trial) -> Iterator[Finding]:
    """Is enough of the casting left, and is the cut one the shop would make?"""
    left = layout.thickness_left(trial)
    kept = limits_of(trial, "casting_thickness_minimum")
    if left.value is not None and left.value <= 0.0:
        kept = kept or [Limit("casting_thickness_minimum", 0.0, "minimum", "nothing would be left")]
    yield judge(
        "thickness",
        "Casting thickness left",
        "casting",
        left,
        kept,
        advice="Too thin for this compression: find the volume in piston or gasket instead.",
    )
    if limits := limits_of(trial, "head_cut_maximum"):
        yield judge(
            "head_cut",
            "Head cut",
            "casting",
            derive("depth_of_cut", lambda cut: cut, {"cut": trial.head_cut}),
            limits,
            advice="More than the shop takes off: find the volume elsewhere.",
        )


def check_cut_depth(trial: Trial) -> Iterator[Finding]:
    """Does the cut stay where the chambers' volumes are known?"""
    depth = trial.head_cut.value or 0.0
    beyond = [
        str(cylinder.number)
        for cylinder in trial.cylinders
        if depth > 0.0 and volumes.beyond_model(cylinder, depth)
    ]
    if beyond:
        yield plain_finding(
            "cut_depth",
            "Cut deeper than the chambers were measured",
            f"cylinders {', '.join(beyond)}" if len(beyond) > 1 else f"cylinder {beyond[0]}",
            "close",
            "The volume there is carried on from above: pour the chamber at that depth first.",
        )


def check_relief(trial: Trial) -> Iterator[Finding]:
    """Is more to come out of a chamber than its walls are sure to bear?"""
    large = [
        (cylinder.number, cylinder.relief_volume.value)
        for cylinder in trial.cylinders
        if (cylinder.relief_volume.value or 0.0) > LARGE_RELIEF_M3
    ]
    if large:
        numbers = [str(number) for number, _ in large]
        yield plain_finding(
            "relief",
            "Large chamber relief",
            f"cylinders {', '.join(numbers)}" if len(numbers) > 1 else f"cylinder {numbers[0]}",
            "close",
            "More than 1.5 cc out of one chamber: measure the wall to the water first, and mind "
            "seats, gasket bore and chamber shape (common practice, no source).",
        )


def _bridge_limit(trial: Trial, *, inserts: bool) -> str:
    if trial.casting.material == "aluminium":
        return "bridge_minimum_aluminium"
    return "bridge_minimum_iron_inserts" if inserts else "bridge_minimum_iron"


def check_bridge(trial: Trial) -> Iterator[Finding]:
    """Is enough metal left between the valves' inserts or seats?"""
    for cylinder in trial.cylinders:
        first, second = cylinder.intake, cylinder.exhaust
        inserts = first.insert or second.insert
        between = "inserts" if inserts else "seats"
        yield judge(
            "bridge",
            f"Bridge between {between}, {_cylinder(cylinder)}",
            _cylinder(cylinder),
            layout.bridge(first, second),
            limits_of(trial, _bridge_limit(trial, inserts=inserts)),
            advice="Smaller valves or inserts, offset guides, or a casting with wider centres.",
        )
    for what, first, second, gap in layout.neighbour_bridges(trial):
        yield judge(
            "bridge",
            f"Metal between {what}",
            f"between cylinders: {what}",
            gap,
            limits_of(trial, _bridge_limit(trial, inserts=first.insert or second.insert)),
            advice="Smaller valves or inserts on this side.",
        )


def check_valve_to_bore(trial: Trial) -> Iterator[Finding]:
    """Does each valve clear the cylinder wall?"""
    for cylinder in trial.cylinders:
        for valve in (cylinder.intake, cylinder.exhaust):
            yield judge(
                "valve_to_bore",
                f"{valve.side.capitalize()} valve to cylinder wall, {_cylinder(cylinder)}",
                f"{_cylinder(cylinder)} {valve.side}",
                layout.valve_to_bore(cylinder, valve),
                limits_of(trial, "valve_to_bore_minimum"),
                advice="A smaller valve, or move it inwards with an offset guide.",
            )


def check_insert_to_bore(trial: Trial) -> Iterator[Finding]:
    """Does the fire ring bear on metal outside each insert? Asked where a limit is set."""
    limits = limits_of(trial, "insert_to_bore_minimum")
    for cylinder in trial.cylinders if limits else ():
        for valve in (cylinder.intake, cylinder.exhaust):
            if valve.insert:
                yield judge(
                    "insert_to_bore",
                    f"{valve.side.capitalize()} insert to cylinder wall, {_cylinder(cylinder)}",
                    f"{_cylinder(cylinder)} {valve.side}",
                    layout.insert_to_bore(cylinder, valve),
                    limits,
                    advice="A smaller insert, or move it inwards with an offset guide.",
                )


def check_valve_size(trial: Trial) -> Iterator[Finding]:
    """Are the valves within the class limit?"""
    first = trial.cylinders[0]
    for valve in (first.intake, first.exhaust):
        if limits := limits_of(trial, f"{valve.side}_valve_maximum"):
            yield judge(
                "valve_size",
                f"{valve.side.capitalize()} valve head",
                valve.side,
                derive("valve_head_diameter", lambda head: head, {"head": valve.head_diameter}),
                limits,
                advice="Larger than the class allows.",
            )


def check_piston_speed(trial: Trial) -> Iterator[Finding]:
    """Will the short block stand the speed wanted of it?"""
    yield judge(
        "piston_speed",
        "Mean piston speed at the highest engine speed",
        "short block",
        layout.mean_piston_speed(trial),
        limits_of(trial, "mean_piston_speed_maximum"),
        advice="Lower the highest speed, or use a shorter stroke.",
    )
