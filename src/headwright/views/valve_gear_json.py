"""A build's valve gear as one JSON document in SI."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from headwright.views.findings import finding_json
from headwright.views.text import CAUTION
from headwright.views.valve_gear import GEAR_CAUTIONS

if TYPE_CHECKING:
    from headwright.assemble import Derived
    from headwright.studies.valve_gear import GearStudy, SideGear

__all__ = ["gear_json"]


def gear_json(study: GearStudy) -> dict[str, Any]:
    """Return a study as one plain document in SI, keys ending in the unit."""
    return {
        "build": study.trial.build.tag,
        "casting": study.trial.casting.tag,
        "is_estimate": True,
        "verdict": study.verdict,
        "findings": [finding_json(finding) for finding in study.findings],
        "lobe_separation_rad": _value(study.separation),
        "cam_advance_rad": _value(study.advance),
        "overlap_area_m_rad": study.overlap,
        "sides": [_side_json(side) for side in study.sides],
        "cautions": [*GEAR_CAUTIONS, CAUTION],
    }


def _value(derived: Derived | None) -> float | None:
    return None if derived is None else derived.value


def _listed(values: Iterable[float]) -> list[float]:
    return [float(f"{value:.9g}") for value in values]


def _side_json(side: SideGear) -> dict[str, Any]:
    train, rocker, table = side.train, side.rocker, side.train.lobe.table
    return {
        "side": side.side,
        "cylinder": f"cylinder {train.cylinder}",
        "lobe_basis": train.lobe.basis,
        "centreline_rad": train.lobe.centreline.value,
        "lash_m": train.lash.value,
        "crank_angle_rad": _listed(train.crank_angles[::2]),
        "tappet_lift_m": _listed(train.tappet_lift[::2]),
        "valve_lift_m": _listed(train.valve_lift[::2]),
        "tappet_velocity_m_per_rad": _listed(train.tappet_velocity[::2]),
        "tappet_acceleration_m_per_rad2": _listed(train.tappet_acceleration[::2]),
        "residual_rms_m": None if table is None else table.rms_residual,
        "residuals_m": [] if table is None else _listed(table.residuals),
        "timing": [
            {
                "at": one.at,
                "lift_m": one.lift,
                "opens_rad": one.opens,
                "closes_rad": one.closes,
                "duration_rad": one.duration,
            }
            for one in side.timing
        ],
        "rocker": None
        if rocker is None
        else {
            "tip_travel_m": rocker.travel,
            "tip_middle_m": rocker.middle,
            "least_tip_travel_m": rocker.least_travel,
            "ratios": list(rocker.ratios),
            "shaft_rise_wanted_m": rocker.shaft_rise,
            "pushrod_change_with_it_m": rocker.pushrod_change,
            "pushrod_change_for_cuts_m": rocker.cut_pushrod_change,
        },
        "springs": [
            {
                "cylinder": f"cylinder {one.cylinder}",
                "installed_height_m": one.installed.value,
                "seat_load_N": one.seat_load.value,
                "open_load_N": one.open_load.value,
                "bind_margin_m": one.bind_margin.value,
            }
            for one in side.springs
        ],
        "wires": [
            {
                "spring": one.spring.tag,
                "rate_N_per_m": one.spring.rate.value,
                "shut_stress_Pa": one.shut_stress,
                "lifted_stress_Pa": one.lifted_stress,
                "fatigue_reserve": one.reserve.value,
                "surge_frequency_Hz": one.frequency,
                "surge_order": one.order.value,
            }
            for one in side.wires
        ],
        "rigid_separation_speed_rad_per_s": side.separation.value,
        "rigid_separation_speed_uncertainty_rad_per_s": (
            side.separation.uncertainty if side.separation.value is not None else None
        ),
        "speeds": [
            {
                "speed_rad_s": one.speed,
                "spring_reserve": one.reserve,
                "least_cam_force_N": one.least_force,
                "greatest_cam_force_N": one.greatest_force,
                "contact_pressure_Pa": one.pressure,
                "valve_acceleration_off_seat_m_s2": one.opening,
                "valve_acceleration_to_seat_m_s2": one.closing,
            }
            for one in side.speeds
        ],
    }
