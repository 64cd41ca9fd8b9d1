"""A valve train drawn to scale in side view, at a crank angle, and as what moves in it.

The plane is that of the valve's axis, square to the rocker shaft: x towards the shaft, y up the
valve, from the spring seat. Lengths in millimetres. What the records do not give (the tappet's
height, a guide that was not measured) is drawn dashed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from headwright.physics.rocker import RockerGeometry
from headwright.quantities import System
from headwright.views.text import text_of

if TYPE_CHECKING:
    from headwright.physics.arrays import Array
    from headwright.studies.valve_gear import GearStudy, SideGear

__all__ = ["TrainPicture", "train_picture"]

TAPPET_MM: Final = 30.0
"""Height the tappet is drawn with from its cup to its face."""
FRAME_DEGREES: Final = 4
"""Crank angle from one picture to the next."""

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class TrainPicture:
    """A train to scale. ``moving`` is what each crank angle changes, plain data."""

    svg: str
    says: tuple[tuple[str, str], ...]
    angle: int
    moving: dict[str, Any]


@dataclass(frozen=True, slots=True)
class _Frame:
    """The fixed places of the drawing [mm]."""

    shaft: Point
    along: Point
    across: Point
    cam: Point
    lean: float

    def on_tappet_axis(self, off: float, height: float) -> Point:
        """Place at a height along the tappet's axis, counted from the shaft."""
        return (
            self.shaft[0] + off * self.across[0] + height * self.along[0],
            self.shaft[1] + off * self.across[1] + height * self.along[1],
        )


def train_picture(study: GearStudy, side: SideGear, system: System, at: int) -> TrainPicture | None:
    """Draw one side's train; None where its geometry is not known.

    Args:
        study: of the build.
        side: which valve's train.
        system: whose units are written.
        at: crank angle after firing top dead centre [whole degrees].
    """
    geometry, base = side.train.geometry, side.cam.base_radius.value
    if geometry is None or base is None:
        return None
    follower = side.cam.follower_radius.value or math.inf
    roller = side.cam.sort == "roller" and math.isfinite(follower)
    lash = side.train.lash.value or 0.0
    lean = geometry.tappet_angle
    cup = 1e3 * float(geometry.cup_height(geometry.base_angle(lash)))
    frame = _Frame(
        shaft=(1e3 * geometry.shaft_to_valve, 1e3 * geometry.shaft_height),
        along=(-math.sin(lean), math.cos(lean)),
        across=(math.cos(lean), math.sin(lean)),
        cam=(0.0, 0.0),
        lean=lean,
    )
    gap = TAPPET_MM + 1e3 * (base + (follower if roller else 0.0))
    cam = frame.on_tappet_axis(1e3 * geometry.shaft_to_tappet, cup - gap)
    frame = _Frame(frame.shaft, frame.along, frame.across, cam, lean)
    moving = _moving(study, side, geometry, frame, system)
    place = round(at / FRAME_DEGREES) % (720 // FRAME_DEGREES)
    svg = _svg(study, side, geometry, frame, moving, place, 1e3 * follower if roller else None)
    says = tuple((name, moving["says"][key][place]) for name, key in _SAYS)
    return TrainPicture(svg, says, place * FRAME_DEGREES, moving)


_SAYS: Final = (
    ("Crank", "angle"),
    ("Valve lift", "valve"),
    ("Tappet lift", "tappet"),
    ("Ratio", "ratio"),
    ("Contact on the tip", "tip"),
    ("Spring load", "spring"),
    ("Force at the cam, highest speed", "force"),
)


def _moving(
    study: GearStudy,
    side: SideGear,
    geometry: RockerGeometry,
    frame: _Frame,
    system: System,
) -> dict[str, Any]:
    """Return everything that changes with crank angle, a picture every few degrees."""
    from headwright.assemble.valve_gear_forces import forces

    train = side.train
    every = 2 * FRAME_DEGREES
    lash = train.lash.value or 0.0
    tappet = train.tappet_lift[::every]
    motion = geometry.motion(tappet, lash)
    psi = math.pi - geometry.arm_angle - motion.angle
    ball = [
        (
            frame.shaft[0] + 1e3 * geometry.pushrod_arm * math.cos(float(one)),
            frame.shaft[1] + 1e3 * geometry.pushrod_arm * math.sin(float(one)),
        )
        for one in psi
    ]
    base = 1e3 * float(geometry.cup_height(geometry.base_angle(lash)))
    off = 1e3 * geometry.shaft_to_tappet
    cup = [frame.on_tappet_axis(off, base + 1e3 * float(lift)) for lift in tappet]
    turned = np.degrees(geometry.shut_angle - motion.angle)
    degrees = np.degrees(train.crank_angles[::every])
    speed = study.trial.maximum_speed.value
    cam_force: Array | None = None
    spring = None
    if side.speeds:
        spring = _over_cycle(side, forces(train, side.moving, 0.0).spring, degrees)
        if speed is not None:
            cam_force = _over_cycle(side, forces(train, side.moving, speed).cam, degrees)
    says = {
        "angle": [f"{angle:.0f}°" for angle in degrees],
        "valve": [text_of(float(v), "valve_lift", system) for v in motion.valve_lift],
        "tappet": [text_of(float(v), "lobe_lift", system) for v in tappet],
        "ratio": [f"{float(v):.3f}" for v in motion.ratio],
        "tip": [_where(float(v), system) for v in motion.tip_offset],
        "spring": _loads(spring, degrees, system),
        "force": _loads(cam_force, degrees, system),
    }
    return {
        "degrees": [round(float(angle)) for angle in degrees],
        "cam": _short(-0.5 * degrees),
        "tappet": [
            _two(lift * frame.along[0] * 1e3, lift * frame.along[1] * 1e3) for lift in tappet
        ],
        "rocker": _short(turned),
        "valve": _short(-1e3 * motion.valve_lift),
        "ball": [_two(*one) for one in ball],
        "cup": [_two(*one) for one in cup],
        "shaft": _two(*frame.shaft),
        "centre": _two(*frame.cam),
        "says": says,
    }


def _over_cycle(side: SideGear, force: Array, degrees: Array) -> Array:
    """Spread a force over the whole cycle; not a number where the valve is shut."""
    own = np.degrees(side.moving.crank_angles)
    open_now = np.isin(np.round(degrees, 3), np.round(own, 3))
    return np.where(open_now, np.interp(degrees, own, force), np.nan)


def _loads(force: Array | None, degrees: Array, system: System) -> list[str]:
    if force is None:
        return ["not known"] * degrees.size
    return [
        "valve shut" if math.isnan(value) else text_of(float(value), "spring_load", system)
        for value in force
    ]


def _where(offset: float, system: System) -> str:
    if abs(offset) < 5e-6:
        return "on the valve's axis"
    to = "towards the shaft" if offset > 0.0 else "away from the shaft"
    return f"{text_of(abs(offset), 'tip_travel', system)} {to}"


def _short(values: Array) -> list[float]:
    return [round(float(value), 3) for value in values]


def _two(x: float, y: float) -> list[float]:
    return [round(float(x), 3), round(float(y), 3)]


# ---------------------------------------------------------------------------- the drawing itself


def _lobe_outline(side: SideGear, roller: float | None) -> list[Point]:
    """Outline of the lobe about the cam's centre [mm]; cam angle 0 lies along x."""
    train = side.train
    angle = 0.5 * train.crank_angles[::6]
    base = 1e3 * (side.cam.base_radius.value or 0.0)
    lift = 1e3 * train.tappet_lift[::6]
    slope = 2e3 * train.tappet_velocity[::6]
    if roller is None:
        out, aside = base + lift, slope
    else:
        pitch = base + roller + lift
        size = np.hypot(pitch, slope)
        out, aside = pitch - roller * pitch / size, roller * slope / size
    x = out * np.cos(angle) - aside * np.sin(angle)
    y = out * np.sin(angle) + aside * np.cos(angle)
    return [(float(one), float(two)) for one, two in zip(x, y, strict=True)]


def _n(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


def _path(points: Sequence[Point], *, closed: bool = False) -> str:
    return "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in points) + ("Z" if closed else "")


def _svg(
    study: GearStudy,
    side: SideGear,
    geometry: RockerGeometry,
    frame: _Frame,
    moving: dict[str, Any],
    place: int,
    roller: float | None,
) -> str:
    tip = 1e3 * geometry.tip_height
    stem, head, length, depth = _valve_sizes(study, side)
    seat_y = tip - length
    face = 1e3 * (side.cam.face_radius.value or 0.011)
    half = face if roller is None else max(roller, 6.0)
    parts = [
        *_fixed(study, side, geometry, frame, seat_y),
        _group("cam", _lobe(side, frame, roller), _turn(moving["cam"][place], frame.cam)),
        _group(
            "tappet", _tappet(geometry, side, frame, half, roller), _shift(moving["tappet"][place])
        ),
        _group(
            "valve", _valve(tip, stem, head, length, depth), _shift([0, moving["valve"][place]])
        ),
        _spring_path(tip - depth, moving["valve"][place]),
        f'<path class="pushrod" d="{_path([moving["ball"][place], moving["cup"][place]])}"/>',
        _group("rocker", _rocker(geometry, frame), _turn(moving["rocker"][place], frame.shaft)),
    ]
    left = -0.5 * head - 10.0
    right = max(frame.shaft[0] + 1e3 * geometry.pushrod_arm, frame.cam[0]) + face + 22.0
    top = max(frame.shaft[1], tip) + 24.0
    low = min(seat_y - 14.0, frame.cam[1] - 1e3 * (side.cam.base_radius.value or 0.02) - 14.0)
    title = f"{side.side.capitalize()} valve train, to scale"
    words = (
        f"Side view square to the rocker shaft at {moving['degrees'][place]} degrees of crank "
        f"after firing top dead centre: cam, tappet, pushrod, rocker, spring and valve; valve lift "
        f"{moving['says']['valve'][place]}, rocker ratio {moving['says']['ratio'][place]}."
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing" role="img" '
        f'aria-labelledby="train-title train-words" viewBox="{_n(left)} {_n(-top)} '
        f'{_n(right - left)} {_n(top - low)}">'
        f'<title id="train-title">{escape(title)}</title>'
        f'<desc id="train-words">{escape(words)}</desc>'
        f'<g transform="scale(1 -1)" fill="none" stroke="currentColor" stroke-width=".5" '
        f'stroke-linejoin="round">{"".join(parts)}</g></svg>'
    )


def _valve_sizes(study: GearStudy, side: SideGear) -> tuple[float, float, float, float]:
    """Stem, head, length and retainer depth [mm]; usual ones where nobody measured."""
    bundle = study.trial.bundle
    valve = bundle.valve(side.side)
    place = study.trial.casting.valve(side.train.cylinder, side.side)
    stem = (valve and valve.stem_diameter) or (place and place.stem_diameter)
    head = (valve and valve.head_diameter) or (place and place.head_diameter)
    length = (valve and valve.length) or (place and place.valve_length)
    nest = side.train.springs
    tip = side.train.rocker.facts["tip_height"].value or 0.0
    depth = 7e-3
    if nest and nest[0].installed.value is not None:
        shim = bundle.valve_gear.shim_thickness if bundle.valve_gear else None
        depth = tip - nest[0].installed.value - (shim.value if shim else 0.0)
    return (
        1e3 * stem.value if stem else 7.0,
        1e3 * head.value if head else 35.0,
        1e3 * length.value if length else 100.0,
        1e3 * depth,
    )


def _fixed(
    study: GearStudy, side: SideGear, geometry: RockerGeometry, frame: _Frame, seat_y: float
) -> list[str]:
    """What stands still: axes, spring seat, guide, shaft, cam centre."""
    from headwright.assemble.valve_gear_rocker import guide_facts

    height, length = guide_facts(study.trial, side.side, side.train.cylinder)
    top = 1e3 * (height.value if height.value is not None else 0.012)
    low = top - 1e3 * (length.value or 0.045)
    known = height.is_measured and length.is_measured
    dash = "" if known else ' stroke-dasharray="2 1.5"'
    axis = ' stroke-dasharray="5 1.5 1 1.5" stroke-width=".25"'
    x, y = frame.shaft
    low_axis = frame.on_tappet_axis(1e3 * geometry.shaft_to_tappet, frame.cam[1] - y - 18.0)
    high_axis = frame.on_tappet_axis(1e3 * geometry.shaft_to_tappet, 6.0)
    guide = [(-5.5, top), (5.5, top), (5.5, low), (-5.5, low)]
    stem = [(0.0, 1e3 * geometry.tip_height + 16.0), (0.0, seat_y - 8.0)]
    return [
        f'<path d="{_path(stem)}"{axis}/>',
        f'<path d="{_path([low_axis, high_axis])}"{axis}/>',
        f'<path d="M-18 0H18"/><path class="guide" d="{_path(guide, closed=True)}"{dash}/>',
        f'<circle cx="{_n(x)}" cy="{_n(y)}" r="7"/>',
        f'<path d="M{_n(x - 2)} {_n(y)}H{_n(x + 2)}M{_n(x)} {_n(y - 2)}V{_n(y + 2)}"/>',
    ]


def _lobe(side: SideGear, frame: _Frame, roller: float | None) -> str:
    """The lobe, drawn so that cam angle 0 points up the tappet's axis."""
    turn = 0.5 * math.pi + frame.lean
    x0, y0 = frame.cam
    points = [
        (
            x0 + x * math.cos(turn) - y * math.sin(turn),
            y0 + x * math.sin(turn) + y * math.cos(turn),
        )
        for x, y in _lobe_outline(side, roller)
    ]
    base = 1e3 * (side.cam.base_radius.value or 0.0)
    return (
        f'<path d="{_path(points, closed=True)}" fill="var(--paper)"/>'
        f'<circle cx="{_n(x0)}" cy="{_n(y0)}" r="{_n(base)}" stroke-dasharray="1 1.5"/>'
        f'<path d="M{_n(x0 - 2)} {_n(y0)}H{_n(x0 + 2)}M{_n(x0)} {_n(y0 - 2)}V{_n(y0 + 2)}"/>'
    )


def _tappet(
    geometry: RockerGeometry,
    side: SideGear,
    frame: _Frame,
    half: float,
    roller: float | None,
) -> str:
    lash = side.train.lash.value or 0.0
    cup = 1e3 * float(geometry.cup_height(geometry.base_angle(lash)))
    off = 1e3 * geometry.shaft_to_tappet
    corners = [
        frame.on_tappet_axis(off + half, cup + 4.0),
        frame.on_tappet_axis(off + half, cup - TAPPET_MM + (half if roller else 0.0)),
        frame.on_tappet_axis(off - half, cup - TAPPET_MM + (half if roller else 0.0)),
        frame.on_tappet_axis(off - half, cup + 4.0),
    ]
    drawn = f'<path d="{_path(corners, closed=True)}" stroke-dasharray="3 1.5"/>'
    if roller is None:
        face = [
            frame.on_tappet_axis(off - half, cup - TAPPET_MM),
            frame.on_tappet_axis(off + half, cup - TAPPET_MM),
        ]
        return drawn + f'<path d="{_path(face)}" stroke-width="1"/>'
    x, y = frame.on_tappet_axis(off, cup - TAPPET_MM)
    return drawn + f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(roller)}" fill="var(--paper)"/>'


def _valve(tip: float, stem: float, head: float, length: float, depth: float) -> str:
    half, radius, low = 0.5 * stem, 0.5 * head, tip - length
    outline = [
        (-half, tip),
        (half, tip),
        (half, low + 9.0),
        (half + 2.5, low + 5.0),
        (radius - 1.5, low + 3.0),
        (radius, low + 1.2),
        (radius, low),
        (-radius, low),
        (-radius, low + 1.2),
        (-radius + 1.5, low + 3.0),
        (-half - 2.5, low + 5.0),
        (-half, low + 9.0),
    ]
    plate = [(-15.0, tip - depth), (15.0, tip - depth), (12.0, tip - depth + 3.0)]
    plate += [(-12.0, tip - depth + 3.0)]
    return (
        f'<path d="{_path(outline, closed=True)}" fill="var(--paper)"/>'
        f'<path d="{_path(plate, closed=True)}"/>'
    )


def _spring_path(height: float, lift: float) -> str:
    """Coils between the spring seat and the retainer; squeezed as the valve opens."""
    turns = 9
    points: list[Point] = []
    for step in range(turns + 1):
        at = height * step / turns
        points.append((-14.0 if step % 2 == 0 else 14.0, at))
    share = (height + lift) / height if height > 0.0 else 1.0
    return (
        f'<path class="spring" data-height="{_n(height)}" d="{_path(points)}" '
        f'vector-effect="non-scaling-stroke" transform="scale(1 {share:.4f})"/>'
    )


def _rocker(geometry: RockerGeometry, frame: _Frame) -> str:
    """The rocker as it stands with its tip on the shut valve."""
    phi = geometry.shut_angle
    psi = math.pi - geometry.arm_angle - phi
    x, y = frame.shaft
    tip = (
        x - 1e3 * geometry.valve_arm * math.cos(phi),
        y + 1e3 * geometry.valve_arm * math.sin(phi),
    )
    ball = (
        x + 1e3 * geometry.pushrod_arm * math.cos(psi),
        y + 1e3 * geometry.pushrod_arm * math.sin(psi),
    )
    radius = 1e3 * geometry.tip_radius
    return (
        f'<path d="{_path([tip, frame.shaft, ball])}" stroke-width="1"/>'
        f'<circle cx="{_n(tip[0])}" cy="{_n(tip[1])}" r="{_n(radius)}"/>'
        f'<circle cx="{_n(ball[0])}" cy="{_n(ball[1])}" r="3.5" fill="var(--paper)"/>'
        f'<circle cx="{_n(x)}" cy="{_n(y)}" r="10"/>'
    )


def _group(name: str, content: str, transform: str) -> str:
    return f'<g class="{name}" transform="{transform}">{content}</g>'


def _turn(degrees: float, centre: Point) -> str:
    return f"rotate({_n(degrees)} {_n(centre[0])} {_n(centre[1])})"


def _shift(by: Sequence[float]) -> str:
    return f"translate({_n(by[0])} {_n(by[1])})"
