"""An invented engine with valve gear whose clearances are known in closed form.

The cam follows ``h (1 - 35/16 u^2 + 35/16 u^6 - 21/16 u^10 + 5/16 u^14)`` in every crank degree and
the rocker is a plain ratio, so that lift, crown and gap can be written down and searched by brute
force.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from headwright.assemble import Trial, make_trial
from headwright.records import Cam, ValveGear

from .makers import Body, bundle, m, merged, rocker, valves_of

LOBE_MM = 7.0
HALF_SPAN_DEG = 150.0
CENTRE_DEG = 106.0
RATIO = 1.5
LASH_MM = 0.3
SEAT_MM = 6.0
RIM_MM, OUTSIDE_MM = 1.2, 0.3
GASKET_MM, DECK_MM = 1.0, 0.254
STROKE_MM, ROD_MM = 88.9, 152.4


def lobe(degrees: Any) -> Any:
    """Lobe lift [mm] at crank degrees from full lift."""
    u = np.minimum(np.abs(degrees) / HALF_SPAN_DEG, 1.0)
    return LOBE_MM * (1.0 + (-35 * u**2 + 35 * u**6 - 21 * u**10 + 5 * u**14) / 16.0)


def lift(degrees: Any, side: str, *, later: float = 0.0, lash: float = LASH_MM) -> Any:
    """Valve lift [mm] at crank degrees from gas-exchange top dead centre."""
    centre = CENTRE_DEG if side == "intake" else -CENTRE_DEG
    return np.maximum(RATIO * lobe(degrees - centre - later) - lash, 0.0)


def down(degrees: Any) -> Any:
    """Piston below top dead centre [mm], by the triangle of crank and rod."""
    turn, radius = np.radians(degrees), STROKE_MM / 2.0
    height = radius * np.cos(turn) + np.sqrt(ROD_MM**2 - (radius * np.sin(turn)) ** 2)
    return radius + ROD_MM - height


def flat_gap(side: str, **look: Any) -> float:
    """Least gap between an upright valve and a flat crown [mm], by brute force in 1/100 degrees."""
    degrees = np.arange(-60.0, 60.0, 0.01)
    face = -SEAT_MM + RIM_MM + OUTSIDE_MM + lift(degrees, side, **look)
    return float((GASKET_MM + DECK_MM + down(degrees) - face).min())


def cam_body() -> Body:
    degrees = np.arange(-160.0, 161.0)
    lobes = [
        {
            "side": side,
            "centreline": m(f"{CENTRE_DEG} deg", "0.5 deg"),
            "lift_angles": {"values": degrees.tolist(), "unit": "deg", "provenance": "measured"},
            "lifts": {
                "values": [float(one) for one in lobe(degrees)],
                "unit": "mm",
                "uncertainty": 0.002,
                "provenance": "measured",
            },
        }
        for side in ("intake", "exhaust")
    ]
    lobes[0]["closes"] = m("70 deg", "0.5 deg")
    return {"tag": "CAM", "family": "invented", "checking_lift": m("0.3 mm"), "lobes": lobes}


def gear_body() -> Body:
    return {
        "tag": "GEAR",
        "cam": "CAM",
        "rocker": "ROCKER",
        "intake_lash_hot": m(f"{LASH_MM} mm", "0.02 mm"),
        "exhaust_lash_hot": m(f"{LASH_MM} mm", "0.02 mm"),
        "retainer_hub": m("3 mm", "0.05 mm"),
        "seal_height": m("2 mm", "0.05 mm"),
        "rocker_to_retainer": m("1.5 mm", "0.1 mm"),
    }


def valves(cylinders: int, changes: Mapping[str, Any] | None = None) -> list[Body]:
    own = {
        "seat_depth": m(f"{SEAT_MM} mm", "0.05 mm"),
        "tilt": m("0 deg", "0 deg"),
        "seat_angle": m("45 deg", "0.1 deg"),
        "installed_height": m("40 mm", "0.1 mm"),
        "guide_height": m("14 mm", "0.1 mm"),
    }
    return [
        merged(merged(valve, own), changes or {})
        for number in range(1, cylinders + 1)
        for valve in valves_of(number)
    ]


def clear_trial(
    *,
    of_valves: Mapping[str, Any] | None = None,
    of_block: Mapping[str, Any] | None = None,
    of_build: Mapping[str, Any] | None = None,
    of_gear: Mapping[str, Any] | None = None,
    of_casting: Mapping[str, Any] | None = None,
    cylinders: int = 1,
    **parts: Any,
) -> Trial:
    """A build whose seat, rim, deck, gasket, cam and lash are those written above."""
    given = of_block or {}
    flat = {"piston": {"crown": "flat", "crown_volume": m("0 cc", "0.1 cc")}}
    found = bundle(
        of_block=merged(flat, given) | {key: None for key, one in given.items() if one is None},
        of_casting=merged({"valves": valves(cylinders, of_valves)}, of_casting or {}),
        of_build=of_build,
        cylinders=cylinders,
        cam=Cam.read(cam_body()),
        rocker=rocker(str(RATIO)),
        valve_gear=ValveGear.read(merged(gear_body(), of_gear or {})),
        **parts,
    )
    return make_trial(found)


LEAN = math.radians(12.0)
"""A lean for tests of leaning valves [rad]."""
