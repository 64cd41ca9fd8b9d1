"""Oil running off under gravity: over lips, through holes, passages and channels.

What a drain passes is the least of what its lip lets over (weir), what its mouth lets in (orifice)
and what its passage carries (pipe or open channel with the oil's viscosity). Windage, froth and
crankcase gas that blows up the same passages are left out; they all make it worse, so that every
capacity here is an upper estimate, to be verified on the engine.

* Broad-crested weir: ``Q = (2/3)^1.5 sqrt(g) b h^1.5`` (critical depth on the crest; Chow,
  Open-Channel Hydraulics, ch. 3), times a discharge coefficient.
* Orifice: ``Q = C A sqrt(2 g h)`` (Torricelli).
* Pipe: ``g (h + fall) = (K + f l / D) v^2 / 2``, f after Churchill (1977), which holds from laminar
  through transition to turbulent; in annuli and flat passages the laminar limit keeps its own
  ``f Re`` (Shah and London 1978).
* Channel: uniform flow, ``g S = f v^2 / (8 R)``, laminar limit by symmetry that of a rectangular
  duct twice as high.
* Drowned saddle: Villemonte (1947), ``Q = Q0 (1 - (h2 / h1)^1.5)^0.385``.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from headwright.errors import InputError
from headwright.geometry.drain_back import Drain, drain_level
from headwright.geometry.scalar import require_not_negative, require_positive
from headwright.geometry.tilted_pool import STANDARD_GRAVITY, Upward

__all__ = [
    "BROAD_CREST",
    "MOUTH_LOSS",
    "ORIFICE",
    "OUTLET_LOSS",
    "annulus_laminar_factor",
    "channel_flow",
    "drain_capacity",
    "emptying_time",
    "flat_laminar_factor",
    "friction_factor",
    "orifice_flow",
    "passage_flow",
    "saddle_flow",
    "weir_flow",
]

ORIFICE = 0.61
"""Discharge coefficient of a sharp-edged mouth: Kirchhoff's pi / (pi + 2) for a free jet."""

BROAD_CREST = 0.85
"""Discharge coefficient of a rough, rounded lip of a casting over the ideal broad crest. Common
practice, no source."""

MOUTH_LOSS = 0.5
"""Loss of a square-edged mouth over the velocity head (handbook value, as in Crane TP 410)."""

OUTLET_LOSS = 1.0
"""The velocity head itself, lost at the outlet."""


def weir_flow(
    width: float,
    head: float,
    *,
    gravity: float = STANDARD_GRAVITY,
    coefficient: float = BROAD_CREST,
) -> float:
    """Flow over a broad crest [m3/s].

    Args:
        width: of the crest; the circumference for a round rim [m].
        head: level over the crest, before the drop to it [m]; nothing runs at zero or below.
        gravity: [m/s2].
        coefficient: over the ideal, critical flow [-].

    >>> print(f"{weir_flow(1.0, 1.0, gravity=9.81, coefficient=1.0):.3f}")
    1.705
    """
    if head <= 0.0:
        return 0.0
    return float(coefficient * (2.0 / 3.0) ** 1.5 * math.sqrt(gravity) * width * head**1.5)


def orifice_flow(
    area: float,
    head: float,
    *,
    gravity: float = STANDARD_GRAVITY,
    coefficient: float = ORIFICE,
) -> float:
    """Flow through an opening under a head, C A sqrt(2 g h) [m3/s].

    Args:
        area: of the opening [m2].
        head: over its middle [m]; nothing runs at zero or below.
        gravity: [m/s2].
        coefficient: of discharge [-].
    """
    return coefficient * area * math.sqrt(2.0 * gravity * head) if head > 0.0 else 0.0


def emptying_time(
    surface: float,
    area: float,
    head: float,
    end_head: float = 0.0,
    *,
    gravity: float = STANDARD_GRAVITY,
    coefficient: float = ORIFICE,
) -> float:
    """Time for an upright tank to fall from one head to another through a hole [s].

    Torricelli: ``t = 2 A_s (sqrt(h1) - sqrt(h2)) / (C A sqrt(2 g))``.

    Args:
        surface: of the tank [m2].
        area: of the hole [m2].
        head: at the start [m].
        end_head: at the end [m], not above it.
        gravity: [m/s2].
        coefficient: of discharge [-].

    Raises:
        QuantityError: an area or coefficient not positive, a negative head.
        InputError: the end above the start.

    >>> print(f"{emptying_time(1.0, 0.01, 1.0, gravity=9.81, coefficient=0.6):.2f} s")
    75.25 s
    """
    for name, value in (("surface", surface), ("area", area)):
        require_positive(name, value, "m2")
    require_positive("coefficient", coefficient, "-")
    require_not_negative("end_head", end_head, "m")
    if end_head > head:
        raise InputError(f"end_head: {end_head:g} m is above the start, {head:g} m")
    fall = math.sqrt(head) - math.sqrt(end_head)
    return 2.0 * surface * fall / (coefficient * area * math.sqrt(2.0 * gravity))


def friction_factor(
    reynolds: float, relative_roughness: float = 0.0, laminar_factor: float = 64.0
) -> float:
    """Darcy friction factor of any passage [-], Churchill (1977).

    ``f = 8 [ (8/Re)^12 + (A + B)^-1.5 ]^(1/12)``, ``A = (2.457 ln 1/[(7/Re)^0.9 + 0.27 e])^16``,
    ``B = (37530/Re)^16``. A passage that is not round takes the Reynolds number that gives it its
    own laminar ``f Re``.

    Args:
        reynolds: with the hydraulic diameter [-].
        relative_roughness: over the hydraulic diameter [-].
        laminar_factor: f times Re in laminar flow: 64 in a round pipe [-].

    Raises:
        QuantityError: the Reynolds number is not positive.
    """
    require_positive("reynolds", reynolds, "-")
    effective = reynolds * 64.0 / laminar_factor
    if effective < 20.0:
        return 64.0 / effective  # the other terms are below round-off, and overflow soon
    rough = (7.0 / effective) ** 0.9 + 0.27 * relative_roughness
    turbulent = (2.457 * math.log(1.0 / rough)) ** 16 + (37530.0 / effective) ** 16
    return float(8.0 * ((8.0 / effective) ** 12 + turbulent**-1.5) ** (1.0 / 12.0))


def annulus_laminar_factor(ratio: float) -> float:
    """Darcy f times Re of laminar flow in a concentric annulus [-]; 64 without a rod, 96 at last.

    ``64 (1-r)^2 / (1 + r^2 + (1-r^2)/ln r)`` with Re on the hydraulic diameter (Shah and London
    1978, from the exact velocity profile). A rod that leans against one side lets more through.

    Args:
        ratio: of the rod's diameter to the hole's, from 0 to below 1 [-].
    """
    if ratio <= 1e-9:
        return 64.0
    if ratio > 0.9995:
        return 96.0
    return 64.0 * (1.0 - ratio) ** 2 / (1.0 + ratio**2 + (1.0 - ratio**2) / math.log(ratio))


def flat_laminar_factor(aspect: float) -> float:
    """Darcy f times Re of laminar flow in a rectangular duct [-]; 96 for a wide gap.

    Polynomial in the ratio of the sides (Shah and London 1978, within 0.05 % of the series).

    Args:
        aspect: shorter side over longer, 0 to 1 [-].
    """
    terms = (1.0, -1.3553, 1.9467, -1.7012, 0.9564, -0.2537)
    return 96.0 * sum(term * aspect**power for power, term in enumerate(terms))


def passage_flow(
    diameter: float,
    length: float,
    drive: float,
    kinematic_viscosity: float,
    *,
    rod_diameter: float = 0.0,
    gravity: float = STANDARD_GRAVITY,
    roughness: float = 0.0,
    losses: float = MOUTH_LOSS + OUTLET_LOSS,
    most: float = math.inf,
) -> float:
    """Flow through a passage that runs full [m3/s].

    Solves ``g drive = (K + f l/D_h) v^2/2`` for v by bisection; without viscosity losses this is
    Torricelli's flow, in a long thin passage that of Hagen and Poiseuille.

    Args:
        diameter: of the passage [m].
        length: of it [m].
        drive: head over the mouth plus fall to the outlet [m].
        kinematic_viscosity: of the oil [m2/s].
        rod_diameter: of a rod standing in it [m].
        gravity: [m/s2].
        roughness: of the wall [m].
        losses: of mouth and outlet over the velocity head [-].
        most: what comes to it at all [m3/s].

    Raises:
        QuantityError: a size or viscosity that is not positive.
        InputError: the rod does not go through.

    >>> flow = passage_flow(0.004, 1.0, 0.1, 1e-4, losses=0.0)
    >>> poiseuille = 3.141592653589793 * 9.80665 * 0.1 * 0.004**4 / (128 * 1e-4 * 1.0)
    >>> print(f"{flow / poiseuille:.6f}")
    1.000000
    """
    require_positive("diameter", diameter, "m")
    require_positive("kinematic_viscosity", kinematic_viscosity, "m2/s")
    require_not_negative("length", length, "m")
    if drive <= 0.0:
        return 0.0
    if rod_diameter >= diameter:
        raise InputError(
            f"rod_diameter: {1e3 * rod_diameter:.2f} mm does not go through a passage of "
            f"{1e3 * diameter:.2f} mm; check both"
        )
    hydraulic = diameter - rod_diameter
    area = math.pi / 4.0 * (diameter**2 - rod_diameter**2)
    factor = annulus_laminar_factor(rod_diameter / diameter)
    slimness = length / hydraulic

    def surplus(speed: float) -> float:
        reynolds = max(speed * hydraulic / kinematic_viscosity, 1e-12)
        lost = losses + friction_factor(reynolds, roughness / hydraulic, factor) * slimness
        return gravity * drive - lost * speed**2 / 2.0

    if math.isfinite(most) and surplus(most / area) >= 0.0:
        return most
    return area * _root(surplus, math.sqrt(2.0 * gravity * drive / max(losses, 1e-6)))


def _root(surplus: Callable[[float], float], guess: float) -> float:
    """Find where a falling function of speed crosses nothing, by bisection."""
    low, high = 0.0, guess * 1.0001
    for _ in range(60):
        middle = (low + high) / 2.0
        if surplus(middle) > 0.0:
            low = middle
        else:
            high = middle
        if high - low < 1e-11 * high:
            break
    return (low + high) / 2.0


def channel_flow(
    width: float,
    depth: float,
    slope: float,
    kinematic_viscosity: float,
    *,
    gravity: float = STANDARD_GRAVITY,
    roughness: float = 0.0,
) -> float:
    """Uniform flow in an open rectangular channel [m3/s].

    ``g S = f v^2 / (8 R)`` with R the wetted area over the wetted length. A free surface carries no
    shear, so the laminar limit is that of a duct twice as high; a wide one gives the falling film
    ``g S h^3 / (3 nu)`` per width (Nusselt).

    Args:
        width: of the channel [m].
        depth: of the oil [m].
        slope: fall over length along the effective gravity [-]; nothing runs uphill.
        kinematic_viscosity: of the oil [m2/s].
        gravity: [m/s2].
        roughness: of the wall [m].

    Raises:
        QuantityError: width or viscosity not positive.
    """
    require_positive("width", width, "m")
    require_positive("kinematic_viscosity", kinematic_viscosity, "m2/s")
    if depth <= 0.0 or slope <= 0.0:
        return 0.0
    radius = width * depth / (width + 2.0 * depth)
    hydraulic = 4.0 * radius
    high = 2.0 * depth
    factor = flat_laminar_factor(min(high, width) / max(high, width))

    def surplus(speed: float) -> float:
        reynolds = max(speed * hydraulic / kinematic_viscosity, 1e-12)
        friction = friction_factor(reynolds, roughness / hydraulic, factor)
        return gravity * slope - friction * speed**2 / (8.0 * radius)

    inviscid = gravity * slope * depth**2 / kinematic_viscosity + math.sqrt(
        8.0 * gravity * slope * radius / 0.004
    )
    return width * depth * _root(surplus, inviscid)


def saddle_flow(
    width: float,
    head: float,
    head_behind: float = 0.0,
    *,
    gravity: float = STANDARD_GRAVITY,
    coefficient: float = BROAD_CREST,
) -> float:
    """Flow over a crest that may be drowned from behind [m3/s], Villemonte (1947).

    Args:
        width: of the crest [m].
        head: level over it upstream [m].
        head_behind: level over it downstream [m]; below the crest it does not matter.
        gravity: [m/s2].
        coefficient: over the ideal broad crest [-].
    """
    free = weir_flow(width, head, gravity=gravity, coefficient=coefficient)
    if head_behind <= 0.0 or free == 0.0:
        return free
    if head_behind >= head:
        return 0.0
    return float(free * (1.0 - (head_behind / head) ** 1.5) ** 0.385)


def drain_capacity(
    up: Upward,
    drain: Drain,
    level: float,
    kinematic_viscosity: float,
    *,
    crest: float = BROAD_CREST,
    mouth: float = ORIFICE,
) -> float:
    """What one drain passes with oil standing at a level [m3/s].

    The least of lip, mouth and passage. A passage without a length is a plain hole.

    Args:
        up: which way is up.
        drain: the drain.
        level: of the oil [m].
        kinematic_viscosity: of the oil [m2/s].
        crest: discharge coefficient of the lip [-].
        mouth: of the mouth [-].
    """
    # Heads are measured along the upward direction, in which gravity acts.
    head = level - drain_level(up, drain)
    if head <= 0.0:
        return 0.0
    if drain.mouth != "hole":
        over = weir_flow(drain.width, head, gravity=up.gravity, coefficient=crest)
        if drain.mouth == "channel" and drain.length > 0.0:
            carried = channel_flow(
                drain.width,
                head,
                max(drain.fall * up.z, 0.0) / drain.length,
                kinematic_viscosity,
                gravity=up.gravity,
            )
            return min(over, carried)
        return over
    gap = math.pi / 4.0 * (drain.diameter**2 - drain.rod_diameter**2)
    let_in = min(
        weir_flow(math.pi * drain.diameter, head, gravity=up.gravity, coefficient=crest),
        orifice_flow(gap, head, gravity=up.gravity, coefficient=mouth),
    )
    if drain.length <= 0.0:
        return let_in
    return passage_flow(
        drain.diameter,
        drain.length,
        head + max(drain.fall * up.z, 0.0),
        kinematic_viscosity,
        rod_diameter=drain.rod_diameter,
        gravity=up.gravity,
        most=let_in,
    )
