"""Which limit counts: the build's own set, the casting's maker, or the default of the trade.

Every default here is common practice without a source; a shop that knows better enters its own.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from headwright.assemble import Trial
from headwright.checks.finding import Limit

__all__ = ["COMMON_PRACTICE", "DEFAULTS", "DefaultLimit", "find_limit", "limits_of"]

COMMON_PRACTICE: Final = "common practice, no source"


@dataclass(frozen=True, slots=True)
class DefaultLimit:
    """A default limit in SI; ``value`` None means that only the shop or the maker can say."""

    bound: Literal["minimum", "maximum"]
    value: float | None
    why: str


DEFAULTS: Final[Mapping[str, DefaultLimit]] = MappingProxyType(
    {
        "compression_minimum": DefaultLimit("minimum", None, "a class rule or the fuel asks it"),
        "compression_maximum": DefaultLimit("maximum", None, "a class rule or the fuel asks it"),
        "compression_spread_maximum": DefaultLimit(
            "maximum", 0.20, "cylinders pull unevenly and one knocks first"
        ),
        "compression_tolerance": DefaultLimit("maximum", 0.25, "how near the target is near"),
        "displacement_maximum": DefaultLimit("maximum", None, "a class rule asks it"),
        "squish_minimum": DefaultLimit(
            "minimum", 0.90e-3, "steel rods stretch and crowns rock; less and the piston touches"
        ),
        "squish_maximum": DefaultLimit("maximum", 1.50e-3, "more and the squish does nothing"),
        "piston_above_deck_maximum": DefaultLimit(
            "maximum", 0.30e-3, "the crown edge must stay clear of the gasket's fire ring"
        ),
        "casting_thickness_minimum": DefaultLimit(
            "minimum", None, "the deck must stay stiff enough to hold the gasket"
        ),
        "head_cut_maximum": DefaultLimit("maximum", None, "the shop's own limit for one cut"),
        "bridge_minimum_iron": DefaultLimit(
            "minimum", 1.00e-3, "seats cut in the iron itself; less and the bridge cracks"
        ),
        "bridge_minimum_iron_inserts": DefaultLimit(
            "minimum", 1.50e-3, "iron between two pressed inserts"
        ),
        "bridge_minimum_aluminium": DefaultLimit(
            "minimum", 1.50e-3, "aluminium between two pressed inserts; 2.5 mm preferred"
        ),
        "valve_to_bore_minimum": DefaultLimit(
            "minimum", 0.75e-3, "less and the wall masks the valve, or the valve touches it"
        ),
        "insert_to_bore_minimum": DefaultLimit(
            "minimum", None, "the gasket's fire ring must bear on metal outside the insert"
        ),
        "mean_piston_speed_maximum": DefaultLimit(
            "maximum", 25.0, "race engines with forged pistons run 24 to 26 m/s"
        ),
        "inlet_mach_index_maximum": DefaultLimit(
            "maximum", 0.60, "above about 0.5 to 0.6 the cylinder no longer fills"
        ),
        "intake_valve_maximum": DefaultLimit("maximum", None, "a class rule asks it"),
        "exhaust_valve_maximum": DefaultLimit("maximum", None, "a class rule asks it"),
        "intake_to_piston_minimum": DefaultLimit(
            "minimum", 2.03e-3, "0.080 in, found by hand at rest with steel rods; 1.8 to 2.5 mm"
        ),
        "exhaust_to_piston_minimum": DefaultLimit(
            "minimum", 2.54e-3, "0.100 in, found by hand at rest with steel rods; 2.3 to 3.2 mm"
        ),
        "running_to_piston_minimum": DefaultLimit(
            "minimum",
            1.0e-3,
            "rods stretched at the highest speed; what heat, flutter and wear may still take",
        ),
        "overspeed_to_piston_minimum": DefaultLimit(
            "minimum",
            0.25e-3,
            "ten per cent above the highest speed, a missed shift: it must not touch",
        ),
        "valve_to_pocket_minimum": DefaultLimit(
            "minimum", 1.27e-3, "0.050 in round the valve; 1.0 to 1.5 mm"
        ),
        "valve_to_valve_minimum": DefaultLimit(
            "minimum", 1.5e-3, "stems bend and guides wear; less and the heads meet when one floats"
        ),
        "retainer_to_guide_minimum": DefaultLimit(
            "minimum", 1.52e-3, "0.060 in at full lift; less and the seal is beaten off"
        ),
        "rocker_to_retainer_minimum": DefaultLimit(
            "minimum", 0.75e-3, "0.030 in; a rocker that touches lets the collets go"
        ),
        "shrouded_share_maximum": DefaultLimit(
            "maximum",
            0.45,
            "judged at a lift of a quarter of the head; more and a smaller valve flows as well",
        ),
        "insert_to_plug_minimum": DefaultLimit(
            "minimum", 1.5e-3, "the metal between seat and plug cracks first"
        ),
        "insert_to_water_minimum": DefaultLimit(
            "minimum", 3.0e-3, "an insert needs a wall that does not give way"
        ),
        "chamber_to_gasket_minimum": DefaultLimit(
            "minimum", 0.0, "the fire ring must not stand over a hollow"
        ),
        "insert_to_gasket_minimum": DefaultLimit(
            "minimum", None, "the fire ring should bear outside the insert"
        ),
        "plug_thread_minimum": DefaultLimit(
            "minimum", -2.5e-3, "bare threads of the casting burn and shroud the spark"
        ),
        "plug_thread_maximum": DefaultLimit(
            "maximum", 0.5e-3, "bare threads of the plug glow in the chamber"
        ),
        "pushrod_wall_minimum": DefaultLimit(
            "minimum", 1.5e-3, "cores shift; thinner and the port breaks into the oil"
        ),
        "port_mach_maximum": DefaultLimit(
            "maximum", 0.40, "the flow peaks at about 1.6 times its mean and chokes near 0.6"
        ),
        "pushrod_clearance_minimum": DefaultLimit(
            "minimum", 0.5e-3, "a rod that rubs wears through and bends"
        ),
        "bind_margin_minimum": DefaultLimit(
            "minimum", 1.0e-3, "coils must not touch when the valve overshoots; 0.75 to 1.5 mm"
        ),
        "seat_load_minimum": DefaultLimit("minimum", None, "the shop knows what its engines ask"),
        "open_load_maximum": DefaultLimit("maximum", None, "cam and tappet makers' figures rule"),
        "spring_reserve_minimum": DefaultLimit(
            "minimum", 1.15, "a train that bends and springs that surge ask for more than mass does"
        ),
        "spring_fatigue_minimum": DefaultLimit(
            "minimum", 1.0, "below one the wire is outside the line of test results"
        ),
        "surge_order_minimum": DefaultLimit(
            "minimum", 6.0, "low harmonics of the cam are strong and set the coils swinging"
        ),
        "contact_stress_maximum_flat": DefaultLimit(
            "maximum", 1.1e9, "chilled iron on hardened iron or steel with sliding contact"
        ),
        "contact_stress_maximum_roller": DefaultLimit(
            "maximum", 1.7e9, "hardened steel under a roller"
        ),
        "tappet_face_minimum": DefaultLimit(
            "minimum", 0.5e-3, "the lobe must not run on the tappet's edge"
        ),
        "lobe_curvature_minimum": DefaultLimit(
            "minimum", 2.0e-3, "a sharper nose loses its oil film and its hardness"
        ),
        "tip_travel_maximum": DefaultLimit(
            "maximum", 1.5e-3, "more wears the guide; half the lift over the arm gives the least"
        ),
        "tip_margin_minimum": DefaultLimit(
            "minimum", 0.8e-3, "the contact must not run off the edge of the stem"
        ),
        "float_margin_minimum": DefaultLimit(
            "minimum", 1.05, "the gear must hold the cam a little beyond the highest speed"
        ),
        "seating_velocity_maximum": DefaultLimit(
            "maximum", 1.5, "race engines; seats and valves live long below about 0.5 m/s"
        ),
        "bounce_maximum": DefaultLimit(
            "maximum", 0.15e-3, "a valve that bounces leaks, heats its edge and loses charge"
        ),
        "missed_shift_float_maximum": DefaultLimit(
            "maximum",
            math.radians(30.0),
            "at 10 % over the highest speed; long flight bends pushrods where it lands",
        ),
        "missed_shift_bounce_maximum": DefaultLimit(
            "maximum", 0.25e-3, "at 10 % over the highest speed; 0.010 in"
        ),
        "drain_margin_minimum": DefaultLimit(
            "minimum", 1.3, "froth and gas blown up the drains take a good share of them"
        ),
        "oil_on_top_maximum": DefaultLimit(
            "maximum", None, "what the sump can spare before the pickup draws air"
        ),
        "parked_pool_maximum": DefaultLimit(
            "maximum", None, "what may run over the side, or down the guides, is the shop's to say"
        ),
    }
)


def find_limit(trial: Trial, name: str) -> Limit | None:
    """Return the limit that counts for a trial, or None where nobody has set one."""
    default = DEFAULTS[name]
    own = trial.bundle.limits
    figure = getattr(own, name) if own else None
    if figure is not None:
        return Limit(name, figure.value, default.bound, figure.source)
    if name == "casting_thickness_minimum" and trial.casting.thickness_minimum is not None:
        least = trial.casting.thickness_minimum
        whose = least.source or f"casting {trial.casting.tag} ({least.provenance})"
        return Limit(name, least.value, default.bound, whose)
    if default.value is None:
        return None
    return Limit(name, default.value, default.bound, COMMON_PRACTICE, is_default=True)


def limits_of(trial: Trial, *names: str) -> list[Limit]:
    """Return those of some limits that count for a trial; the others nobody has set."""
    return [limit for name in names if (limit := find_limit(trial, name)) is not None]
