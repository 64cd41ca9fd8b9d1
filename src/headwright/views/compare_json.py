"""Two builds side by side as JSON."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from headwright.records.changes import compare_bodies
from headwright.views.compare import body_of, compared_parts
from headwright.views.findings import finding_json, suffixed
from headwright.views.power import power_json
from headwright.views.text import CAUTION

if TYPE_CHECKING:
    from headwright.assemble import Derived
    from headwright.studies.compare import Comparison
    from headwright.studies.compare_power import ComparedPower, PowerComparison, PowerSplit
    from headwright.studies.fair_split import Share

__all__ = ["compare_json"]


def compare_json(comparison: Comparison, power: ComparedPower) -> dict[str, Any]:
    """Return a comparison as one plain document in SI, keys ending in the unit."""
    one, other = comparison.one, comparison.other
    return {
        "one": {"build": one.build, "casting": one.casting, "cut_solved": one.solved},
        "other": {"build": other.build, "casting": other.casting, "cut_solved": other.solved},
        "verdicts": [report.verdict for report in comparison.reports],
        "parts": [
            {
                "what": part.what,
                "one": part.one or None,
                "other": part.other or None,
                "count": part.differing,
            }
            for part in compared_parts(comparison)
        ],
        "changes": [
            {"path": change.path, "one": change.old, "other": change.new}
            for change in compare_bodies(body_of(one.bundle.build), body_of(other.bundle.build))
        ],
        "figures": [
            {
                "what": pair.what,
                "one": _derived(pair.one),
                "other": _derived(pair.other),
                "difference": {
                    "quantity": pair.name,
                    suffixed("value", pair.name): pair.difference,
                },
                "other_is_larger_probability": pair.chance,
            }
            for pair in comparison.figures
        ],
        "findings": [
            {
                "check": pair.check,
                "what": pair.what,
                "turn": pair.turn,
                "other_has_more_room_probability": pair.chance,
                "one": finding_json(pair.one) if pair.one else None,
                "other": finding_json(pair.other) if pair.other else None,
            }
            for pair in comparison.findings
        ],
        "power": _power_json(power.power) if power.power else None,
        "split": _split_json(power.split) if power.split else None,
        "power_trouble": power.trouble or None,
        "speeds_still_to_run": power.wanted,
        "caution": CAUTION,
    }


def _derived(derived: Derived) -> dict[str, Any]:
    name = derived.name
    return {
        "quantity": name,
        suffixed("value", name): derived.value,
        suffixed("uncertainty", name): None if derived.value is None else derived.uncertainty,
    }


def _power_json(power: PowerComparison) -> dict[str, Any]:
    return {
        "is_estimate": True,
        "working_range_rad_s": [power.low, power.high],
        "mean_torque_N_m": list(power.mean_torque),
        "mean_power_W": list(power.mean_power),
        "mean_torque_difference_N_m": power.difference,
        "mean_torque_difference_uncertainty_N_m": power.spread,
        "other_makes_more_probability": power.chance,
        "one": power_json(power.one),
        "other": power_json(power.other),
    }


def _split_json(split: PowerSplit) -> dict[str, Any]:
    def share(one: Share) -> dict[str, Any]:
        return {
            "part": one.part,
            "share_N_m": one.value,
            "changed_first_N_m": one.first,
            "changed_last_N_m": one.last,
            "least_N_m": one.least,
            "most_N_m": one.most,
        }

    return {
        "method": "Shapley value, exact over every subset of the changed parts",
        "parts": [
            {"name": part.name, "one": part.one, "other": part.other} for part in split.parts
        ],
        "mean_torque": [share(one) for one in split.mean],
        "share_uncertainty_N_m": split.spread,
        "at_speed": [
            {
                "speed_rad_s": speed,
                "speed_rpm": speed * 30.0 / math.pi,
                "torque": [share(one) for one in shares],
            }
            for speed, shares in zip(split.speeds, split.at_speed, strict=True)
        ],
    }
