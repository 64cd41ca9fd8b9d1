"""What each field of a record means, where its name and the glossary do not say enough.

One line each, for the pages under ``docs/`` and for forms. A key is ``Model.field``, or the bare
field name where it means the same wherever it stands.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from headwright.quantities import GLOSSARY
from headwright.records.measured import In
from headwright.records.series import InSeries

__all__ = ["MEANINGS", "meaning_of", "quantity_of"]

MEANINGS: Final[Mapping[str, str]] = MappingProxyType(
    {
        # Fields that mean the same wherever they stand.
        "schema_version": "Form of the document; written for you",
        "tag": "Name of this record in the book, unique among its kind",
        "note": "Anything else worth keeping",
        "story": "What it is and where it came from, in a line or two",
        "by": "Who did it",
        "date": "When",
        "cylinder": "Cylinder number, counted from 1",
        "side": "Intake or exhaust",
        "x": "Position along the crankshaft, from any fixed point of the head face",
        "y": "Position across the crankshaft, from the same point",
        "family": "Engine family it belongs to, as the shop calls it",
        "material": "What it is made of",
        "insert": "Whether the seat is (to be) a pressed-in insert",
        "price": "Price in the shop's currency",
        # The shop, its instruments and sessions.
        "Shop.name": "Name of the shop",
        "Shop.system": "Units shown first, and assumed where a form leaves them out",
        "Shop.currency": "What prices are counted in",
        "Shop.hourly_rate": "What an hour of work costs",
        "Shop.head_cut_repeatability": "How well a depth of cut is hit: one standard deviation",
        "Shop.operations": "What each kind of work costs here and how well it is hit",
        "Shop.gaskets": "Head gaskets the shop can get",
        "Operation.step": "Which kind of work",
        "Operation.hours": "Setting up and the first piece",
        "Operation.hours_each": "Every cylinder or valve after the first",
        "Operation.rate": "An hour of this work, where it differs from the shop's rate",
        "Operation.price": "Material or bought-in work",
        "Operation.length_repeatability": "How well a depth is hit: one standard deviation",
        "Operation.volume_repeatability": "How well a volume is hit: one standard deviation",
        "Operation.most_depth": "Most that is taken off in this shop",
        "Operation.most_volume": "Most that is taken out of one chamber",
        "GasketChoice.name": "What the shop calls it",
        "GasketChoice.family": "Engine family it fits; none: any",
        "Build.plan": "What the cutting plan has to leave alone",
        "Targets.chamber_volume": "Chamber volume wanted, for a crown that is flat",
        "CuttingWishes.pinned": "Steps that are settled, with their amount",
        "CuttingWishes.forbidden": "Steps that are not to be made",
        "CuttingWishes.order": "Steps in the order wanted; the others keep theirs",
        "PinnedStep.step": "Which step",
        "PinnedStep.depth": "Depth of the step",
        "PinnedStep.volume": "Volume of the step, of one cylinder",
        "PinnedStep.part": "Gasket by its name, valve by its tag",
        "Instrument.measures": "The one quantity this instrument measures",
        "Instrument.coverage_factor": "Divides the certificate's expanded uncertainty; 2 for k = 2",
        "Instrument.calibration_dof": "Degrees of freedom of the calibration; none means unlimited",
        "Instrument.calibrated": "Day of the last calibration",
        "Instrument.calibration_due": "Day the next one is due",
        **{
            f"Instrument.{name}_{part}": words
            for name in (
                "length", "volume", "force", "volume_flow", "pressure", "mass", "angle",
            )
            for part, words in (
                ("resolution", "Smallest step it shows or can be read to"),
                ("calibration", "Expanded uncertainty on its certificate"),
            )
        },
        "MeasuringSession.subject_kind": "Kind of the record that was measured",
        "MeasuringSession.subject": "Tag of the record that was measured",
        "MeasuringSession.temperature": "Temperature of the room and the part",
        "MeasuringSession.features": "What was measured",
        "MeasuredFeature.path": "Field of the subject, such as `chambers[0].volume`",
        "MeasuredFeature.quantity": "Its name in the glossary",
        "MeasuredFeature.readings": "One or more readings, as read",
        "MeasuredFeature.unit": "Unit of readings that carry none; SI once read",
        "MeasuredFeature.instrument": "Tag of the instrument",
        "MeasuredFeature.uncertainty": "Standard uncertainty, when known better than by scatter",
        # The casting.
        "Casting.sort": "Which sort of casting of the family",
        "Casting.condition": "State it is in",
        "Casting.cylinders": "How many cylinders it covers",
        "Casting.thickness_new": "Thickness from head face to cover face as it left the works",
        "Casting.thickness_now": "Thickness from head face to cover face as it stands",
        "Casting.thickness_minimum": "Least thickness it may be cut to",
        "Casting.mass": "Mass of the bare casting",
        "Casting.bore_centres": "Where the bore centres sit under the head face",
        "Casting.chambers": "Combustion chambers, each cylinder its own",
        "Casting.valves": "Valve positions as they are now",
        "Casting.ports": "Ports; one that serves two cylinders is a paired port",
        "Casting.pushrod_holes": "Passages of the pushrods",
        "Casting.holes": "Other holes in the head face",
        "Casting.oil": "Oil feeds and drains of the rocker chamber",
        "Casting.damage": "Damaged places",
        "Casting.history": "What was done to it, and seen on it",
        "Chamber.pours": "Volumes poured or worked out at several depths of cut",
        "Chamber.outline": "Outline of the chamber in the head face, point by point",
        "Chamber.plug": "The sparking plug",
        "Pour.depth_of_cut": "Depth of cut this volume holds for; 0 for the face as it stands",
        "Plug.seat": "How the plug seals",
        "Plug.boss_length": "Thread in the casting: from the plug's seat to the chamber",
        "Gasket.ring_width": "Width of the fire ring outside the gasket's bore",
        "PortStation.perimeter": "Length round the section, such as a thread laid round a mould",
        "ValvePosition.head_diameter": "Diameter of the valve in it now",
        "ValvePosition.top_angle": "Angle of the cut on the chamber side of the seat",
        "ValvePosition.bottom_angle": "Angle of the cut on the port side of the seat",
        "Port.serves": "Numbers of the cylinders it feeds or empties",
        "Port.flange_width": "Width of the port at the manifold flange",
        "Port.flange_height": "Height of the port at the manifold flange",
        "Port.divider_distance": "Distance from the flange to where a paired port divides",
        "Port.stations": "Sections along the port",
        "PortStation.roof_wall": "Metal above the roof",
        "PortStation.floor_wall": "Metal below the floor",
        "PortStation.pushrod_wall": "Metal between port and pushrod passage",
        "PushrodHole.sleeved": "Whether a tube is fitted",
        "PushrodHole.wall_to_port": "Metal between the passage and the nearest port",
        "FaceHole.use": "What the hole is for",
        "OilFeature.role": "Feed or drain",
        "Damage.sort": "What sort of damage",
        "Damage.where": "Where it is, in words",
        "Damage.open": "True until it is repaired",
        "Damage.length": "Length of the damaged place",
        "Damage.width": "Width of the damaged place",
        "HistoryEntry.what": "What was done or seen",
        # The short block.
        "ShortBlock.cylinders": "The cylinders, numbered from 1 without gaps",
        "ShortBlock.firing_order": "Cylinder numbers in firing order",
        "ShortBlock.piston": "The pistons",
        "ShortBlock.gasket": "The head gasket it runs with",
        "ShortBlock.bearings": "Journals and bearings",
        "ShortBlock.fasteners": "Studs and bolts",
        "ShortBlock.rod_mass_small_end": "Mass of the rod's small end, the other end held up",
        "ShortBlock.rod_mass_big_end": "Mass of the rod's big end, the other end held up",
        "ShortBlock.maximum_speed": "Highest speed the bottom end may run at",
        "Cylinder.crown_volume": "Crown volume of this cylinder's piston, where it differs",
        "Piston.crown": "Shape of the crown",
        "Piston.pockets": "Valve pockets in the crown",
        "PistonPocket.angle": "Tilt of the pocket's floor from the crown",
        "Bearing.place": "Which bearing",
        "Bearing.count": "How many of them",
        "Fasteners.place": "What they hold down",
        "Fasteners.count": "How many of them",
        "Fasteners.diameter": "Nominal thread diameter",
        "Fasteners.grade": "Strength class or material",
        # The valve gear.
        "Cam.checked_at": "Where the checking lift is taken",
        "Cam.lobes": "One lobe a side",
        "CamLobe.opens": "Opening: intake before top, exhaust before bottom dead centre",
        "CamLobe.closes": "Closing: intake after bottom, exhaust after top dead centre",
        "CamLobe.lobe_lift": "Greatest lift of the lobe",
        "CamLobe.lift_angles": "Angles of the lift table, increasing",
        "CamLobe.lifts": "Lifts of the lift table, one for each angle",
        "CamLobe.angles_of": "Which shaft the angles of the table are turned on",
        "CamLobe.lifts_at": "Where the table was read: on the tappet, or on the valve",
        "CamLobe.table_lash": "Clearance in the train when a table was read at the valve",
        "Rocker.valve_arm": "Shaft to pad or roller",
        "Rocker.pushrod_arm": "Shaft to pushrod cup",
        "Rocker.tip": "What bears on the valve",
        "Rocker.stiffness": "Force at the tip over its deflection",
        "Rocker.mount": "Shaft in stands, or each rocker on a stud of its own",
        "Rocker.mass": "Mass of the rocker",
        "Spring.mean_diameter": "Mean coil diameter",
        "Spring.outside_diameter": "Outside coil diameter",
        "Spring.active_coils": "Coils that work",
        "Spring.total_coils": "All coils, ends included",
        "Spring.loads": "Loads read on a spring tester",
        "Spring.mass": "Mass of the spring",
        "Spring.wire": "Wire it is wound from",
        "Spring.ends": "Ends closed and ground, closed only, or left open",
        "Spring.peened": "Whether the wire is shot-peened",
        "Spring.retainer_step": "How far its step of the retainer lies below the outer spring's",
        "Valve.mass": "Mass of the valve",
        "ValveGear.cam": "Tag of the cam",
        "ValveGear.rocker": "Tag of the rocker",
        "ValveGear.springs": "Tags of the springs on one valve, outer first",
        "ValveGear.tappet": "The cam follower",
        "ValveGear.pushrods": "One for both sides, or one a side",
        "ValveGear.retainer_mass": "Mass of the retainer",
        "ValveGear.groove_to_retainer": "Spring seat of the retainer below the valve's groove",
        "ValveGear.stand_shim": "Shim under the rocker stands",
        "ValveGear.collet_mass": "Mass of a pair of collets",
        "ValveGear.intake_lash_hot": "Intake valve clearance, engine hot",
        "ValveGear.exhaust_lash_hot": "Exhaust valve clearance, engine hot",
        "ValveGear.intake_lash_cold": "Intake valve clearance, engine cold",
        "ValveGear.exhaust_lash_cold": "Exhaust valve clearance, engine cold",
        "Tappet.sort": "Shape of its face",
        "Tappet.face_diameter": "Diameter of its face",
        "Tappet.roller_diameter": "Diameter of its roller",
        "Tappet.mass": "Mass of the tappet",
        "Pushrod.side": "Which side; both when left out",
        "Pushrod.wall": "Wall of the tube",
        "Pushrod.mass": "Mass of the pushrod",
        "Pushrod.stiffness": "Force along it over its shortening",
        # Breathing.
        "Breathing.pipes": "Pipes on both sides of the head",
        "Breathing.joints": "Where pipes meet: junctions, plenums, silencers",
        "Breathing.throttles": "Throttles and carburettor barrels",
        "Breathing.filter_drop": "Pressure lost across the filter at `filter_flow`",
        "Breathing.filter_flow": "Flow at which `filter_drop` holds",
        "Pipe.name": "Name of the pipe, unique in this record",
        "start": "A joint's name, `atmosphere`, or a port flange such as `intake 1`",
        "finish": "The same, at the other end",
        "Pipe.diameter": "Inside diameter, where it is the same all along",
        "Pipe.sections": "Inside diameter at several distances, where it changes",
        "Joint.name": "Name of the joint, unique in this record",
        "Joint.sort": "What sort of joint",
        "Throttle.name": "Name of the throttle, unique in this record",
        "Throttle.venturi": "Bore of the choke",
        "Throttle.count": "How many alike",
        "Throttle.flow": "Flow through it, full open, at `flow_depression`",
        "Throttle.flow_depression": "Depression at which `flow` holds",
        # Fuel and limits.
        "Fuel.sort": "What sort of fuel",
        "Fuel.maker": "Who makes or sells it",
        "Fuel.stoichiometric_ratio": "Mass of air to mass of fuel for complete burning",
        "Fuel.ethanol_fraction": "Share of ethanol by volume",
        "Fuel.methanol_fraction": "Share of methanol by volume",
        "Fuel.lead": "Whether it is leaded",
        "Limits.compression_minimum": "Least compression ratio",
        "Limits.compression_maximum": "Greatest compression ratio",
        "Limits.compression_spread_maximum": "Greatest difference between cylinders",
        "Limits.compression_tolerance": "How far from its target the compression ratio may be",
        "Limits.displacement_maximum": "Greatest displacement",
        "Limits.squish_minimum": "Least squish clearance",
        "Limits.squish_maximum": "Greatest squish clearance",
        "Limits.piston_above_deck_maximum": "How far the piston may stand out of the block",
        "Limits.casting_thickness_minimum": "Least thickness of a casting after cutting",
        "Limits.head_cut_maximum": "Greatest depth of cut off a head face",
        "Limits.bridge_minimum_iron": "Least bridge, iron without inserts",
        "Limits.bridge_minimum_iron_inserts": "Least bridge between inserts in iron",
        "Limits.bridge_minimum_aluminium": "Least bridge between inserts in aluminium",
        "Limits.valve_to_bore_minimum": "Least gap from an open valve to the cylinder wall",
        "Limits.insert_to_bore_minimum": "Least gap from an insert to the bore's edge",
        "Limits.mean_piston_speed_maximum": "Greatest mean piston speed",
        "Limits.inlet_mach_index_maximum": "Greatest inlet Mach index",
        "Limits.intake_valve_maximum": "Largest intake valve allowed",
        "Limits.exhaust_valve_maximum": "Largest exhaust valve allowed",
        # The build.
        "Build.purpose": "What the engine is for",
        "Build.customer": "Whose it is",
        "Build.short_block": "Tag of the short block",
        "casting": "Tag of the casting",
        "Build.valve_gear": "Tag of the valve gear",
        "Build.breathing": "Tag of the breathing",
        "Build.fuel": "Tag of the fuel",
        "Build.limits": "Tag of the limits it is held to",
        "Build.targets": "What it is to reach",
        "Build.intake": "Valve and seat meant for the intake side",
        "Build.exhaust": "Valve and seat meant for the exhaust side",
        "Build.cuts": "What is to be machined",
        "Build.gasket": "Head gasket, where it is not the short block's",
        "Build.ignition": "Ignition curve, speeds increasing",
        "weather": "The air it breathes",
        "Targets.compression_ratio": "Compression ratio wanted",
        "Targets.maximum_speed": "Highest speed it is to run at",
        "Targets.working_speed_low": "Bottom of the range it works in",
        "Targets.working_speed_high": "Top of the range it works in",
        "Targets.squish": "Squish clearance wanted",
        "Targets.power": "Power wanted",
        "IntendedValve.valve": "Tag of a valve on the shelf",
        "IntendedCuts.head_cut": "Depth of cut off the head face",
        "IntendedCuts.deck_cut": "Depth of cut off the block face",
        "IntendedCuts.reliefs": "Metal to be taken from chambers",
        # Tests, logs and work.
        "build": "Tag of the build",
        "FlowTest.bench": "Which flow bench",
        "FlowTest.direction": "The way the engine flows, or the other",
        "FlowTest.reduction": "How the bench's figures were worked out, if known",
        "FlowTest.bore_used": "Bore of the cylinder fixture",
        "FlowTest.other_valve_open": "Whether the other valve was open",
        "FlowTest.rows": "Flow lift by lift, lifts increasing",
        "PowerPull.place": "Where it was run",
        "PowerPull.measured_at": "Where the torque was taken",
        "PowerPull.correction": "Standard the figures were corrected by, if any",
        "PowerPull.rows": "The points of the pull",
        "EngineLog.entries": "What happened, in order",
        "LogEntry.sort": "What sort of entry",
        "LogEntry.what": "What was done, seen or suffered",
        "LogEntry.running_time": "Running time since the entry before",
        "LogEntry.maximum_speed": "Highest speed seen",
        "WorkOrder.steps": "Steps, in order",
        "WorkStep.what": "What is to be done",
        "WorkStep.feature": "Field of the part it changes, such as `thickness_now`",
        "WorkStep.wanted": "Dimension wanted",
        "WorkStep.tolerance": "How far from it is still good",
        "WorkStep.reached": "Dimension reached",
        "WorkStep.hours": "Time it takes or took",
        "WorkStep.done": "Whether it is done",
    }
)  # fmt: skip
"""Meanings by field; fields left out mean what the glossary says of their quantity."""


def quantity_of(field: FieldInfo) -> str | None:
    """Return the glossary name of a figure's quantity, or None where the field is no figure."""
    marks = (item.name for item in field.metadata if isinstance(item, In | InSeries))
    return next(marks, None)


def meaning_of(model: type[BaseModel], name: str) -> str:
    """Return what a field means, in one line.

    Args:
        model: the record or part it stands in.
        name: the field.

    Raises:
        KeyError: the model has no such field, or nothing is written about it.
    """
    quantity = quantity_of(model.model_fields[name])
    for key in (f"{model.__name__}.{name}", name):
        if key in MEANINGS:
            return MEANINGS[key]
    if quantity is None:
        raise KeyError(f"nothing is written about {model.__name__}.{name}")
    return GLOSSARY[quantity].meaning
