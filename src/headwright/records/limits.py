"""A set of limits the checks hold a build to: class rules, shop limits, makers' figures.

A limit left out falls back on the default of the check, which is marked as common practice.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, ClassVar

from headwright.errors import Problem
from headwright.records.base import Record, Text
from headwright.records.measured import Figure, In, Measured

__all__ = ["Limits"]


class Limits(Record):
    """Limits by name; ``source`` of each figure says whose limit it is."""

    kind: ClassVar[str] = "limits"
    title: ClassVar[str] = "Limits"
    plural: ClassVar[str] = "limits"

    story: Text = ""
    compression_minimum: Annotated[Figure, In("compression_ratio", intended=True)] = None
    compression_maximum: Annotated[Figure, In("compression_ratio", intended=True)] = None
    compression_spread_maximum: Annotated[Figure, In("compression_spread", intended=True)] = None
    compression_tolerance: Annotated[Figure, In("compression_spread", intended=True)] = None
    displacement_maximum: Annotated[Figure, In("displacement", intended=True)] = None
    squish_minimum: Annotated[Figure, In("squish_clearance", intended=True)] = None
    squish_maximum: Annotated[Figure, In("squish_clearance", intended=True)] = None
    piston_above_deck_maximum: Annotated[Figure, In("piston_above_deck", intended=True)] = None
    casting_thickness_minimum: Annotated[Figure, In("casting_thickness", intended=True)] = None
    head_cut_maximum: Annotated[Figure, In("depth_of_cut", intended=True)] = None
    bridge_minimum_iron: Annotated[Figure, In("bridge", intended=True)] = None
    bridge_minimum_iron_inserts: Annotated[Figure, In("bridge", intended=True)] = None
    bridge_minimum_aluminium: Annotated[Figure, In("bridge", intended=True)] = None
    valve_to_bore_minimum: Annotated[Figure, In("valve_to_bore", intended=True)] = None
    insert_to_bore_minimum: Annotated[Figure, In("valve_to_bore", intended=True)] = None
    mean_piston_speed_maximum: Annotated[Figure, In("mean_piston_speed", intended=True)] = None
    inlet_mach_index_maximum: Annotated[Figure, In("inlet_mach_index", intended=True)] = None
    intake_valve_maximum: Annotated[Figure, In("valve_head_diameter", intended=True)] = None
    exhaust_valve_maximum: Annotated[Figure, In("valve_head_diameter", intended=True)] = None
    intake_to_piston_minimum: Annotated[Figure, In("valve_to_piston", intended=True)] = None
    exhaust_to_piston_minimum: Annotated[Figure, In("valve_to_piston", intended=True)] = None
    running_to_piston_minimum: Annotated[Figure, In("valve_to_piston", intended=True)] = None
    overspeed_to_piston_minimum: Annotated[Figure, In("valve_to_piston", intended=True)] = None
    valve_to_pocket_minimum: Annotated[Figure, In("valve_to_pocket", intended=True)] = None
    valve_to_valve_minimum: Annotated[Figure, In("valve_to_valve", intended=True)] = None
    retainer_to_guide_minimum: Annotated[Figure, In("retainer_to_guide", intended=True)] = None
    rocker_to_retainer_minimum: Annotated[Figure, In("rocker_to_retainer", intended=True)] = None
    shrouded_share_maximum: Annotated[Figure, In("shrouded_share", intended=True)] = None
    insert_to_plug_minimum: Annotated[Figure, In("metal_between", intended=True)] = None
    insert_to_water_minimum: Annotated[Figure, In("metal_between", intended=True)] = None
    chamber_to_gasket_minimum: Annotated[Figure, In("fire_ring_land", intended=True)] = None
    insert_to_gasket_minimum: Annotated[Figure, In("fire_ring_land", intended=True)] = None
    plug_thread_minimum: Annotated[Figure, In("plug_thread_out", intended=True)] = None
    plug_thread_maximum: Annotated[Figure, In("plug_thread_out", intended=True)] = None
    pushrod_wall_minimum: Annotated[Figure, In("metal_between", intended=True)] = None
    port_mach_maximum: Annotated[Figure, In("port_mach", intended=True)] = None
    pushrod_clearance_minimum: Annotated[Figure, In("pushrod_clearance", intended=True)] = None
    bind_margin_minimum: Annotated[Figure, In("bind_margin", intended=True)] = None
    seat_load_minimum: Annotated[Figure, In("spring_load", intended=True)] = None
    open_load_maximum: Annotated[Figure, In("spring_load", intended=True)] = None
    spring_reserve_minimum: Annotated[Figure, In("spring_reserve", intended=True)] = None
    spring_fatigue_minimum: Annotated[Figure, In("fatigue_reserve", intended=True)] = None
    surge_order_minimum: Annotated[Figure, In("surge_order", intended=True)] = None
    contact_stress_maximum_flat: Annotated[Figure, In("contact_stress", intended=True)] = None
    contact_stress_maximum_roller: Annotated[Figure, In("contact_stress", intended=True)] = None
    tappet_face_minimum: Annotated[Figure, In("tappet_face_margin", intended=True)] = None
    lobe_curvature_minimum: Annotated[Figure, In("lobe_curvature", intended=True)] = None
    tip_travel_maximum: Annotated[Figure, In("tip_travel", intended=True)] = None
    tip_margin_minimum: Annotated[Figure, In("tip_margin", intended=True)] = None
    float_margin_minimum: Annotated[Figure, In("float_margin", intended=True)] = None
    seating_velocity_maximum: Annotated[Figure, In("seating_velocity", intended=True)] = None
    bounce_maximum: Annotated[Figure, In("bounce_height", intended=True)] = None
    missed_shift_float_maximum: Annotated[Figure, In("float_angle", intended=True)] = None
    missed_shift_bounce_maximum: Annotated[Figure, In("bounce_height", intended=True)] = None
    drain_margin_minimum: Annotated[Figure, In("drain_margin", intended=True)] = None
    oil_on_top_maximum: Annotated[Figure, In("oil_volume", intended=True)] = None
    parked_pool_maximum: Annotated[Figure, In("oil_volume", intended=True)] = None

    def given(self) -> dict[str, Measured]:
        """Return the limits that are set, by name."""
        return {
            name: value
            for name in type(self).model_fields
            if isinstance(value := getattr(self, name), Measured)
        }

    def contradictions(self) -> Iterator[Problem]:
        """Yield limits without a source, and minimums above their maximums."""
        limits = self.given()
        for name, limit in limits.items():
            if not limit.source.strip():
                yield Problem(
                    f"limits.{name}.source",
                    "a limit must say whose it is, such as a class rule, the maker or the shop",
                )
        for low, high in (
            ("compression_minimum", "compression_maximum"),
            ("squish_minimum", "squish_maximum"),
        ):
            if low in limits and high in limits and limits[low].value > limits[high].value:
                yield Problem(f"limits.{low}", f"is above {high}")
