"""Swept, clearance and trapped volumes, compression ratio, deck and squish of one cylinder.

Sign conventions
----------------
* ``piston_below_deck`` is positive when the piston stops **below** the block face, negative when it
  stands proud of it.
* Crown volume is positive for a dish and valve pockets (adds clearance), negative for a dome.

The algebraic formulas take floats, arrays and values of the ``uncertainties`` package.
Volumes are at the dimensions given: cold parts, still; a running engine differs by thermal growth,
rod stretch and bearing clearances.

Source: Heywood, *Internal Combustion Engine Fundamentals*, ch. 2, eqs. 2.1 to 2.5 (from memory);
the stack of clearances is plain addition.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from math import inf, pi

import numpy as np

from headwright.geometry.crank_slider import CrankSlider, pin_travel
from headwright.geometry.scalar import (
    Scalar,
    best_estimate,
    lowest,
    plain,
    require,
    require_finite,
    require_not_negative,
    require_positive,
)

__all__ = [
    "ClearanceStack",
    "chamber_for_ratio",
    "circle_area",
    "clearance_for_ratio",
    "compression_ratio",
    "crevice_volume",
    "cylinder_volume",
    "disc_volume",
    "piston_below_deck",
    "squish_area",
    "squish_clearance",
    "swept_volume",
    "swept_volume_with_offset",
    "trapped_compression_ratio",
    "trapped_volume",
]


def circle_area(diameter: Scalar) -> Scalar:
    """Area of a circle [m^2], pi/4 D^2, from its diameter [m] (not negative)."""
    require_not_negative("diameter", diameter, "m")
    area: Scalar = pi / 4.0 * diameter**2
    return area


def disc_volume(diameter: Scalar, thickness: Scalar) -> Scalar:
    """Volume of a flat disc [m^3]: a gasket's opening, or the space above a piston below deck.

    Args:
        diameter: [m], not negative.
        thickness: [m]; a negative one (piston proud of the deck) gives a negative volume.

    Raises:
        QuantityError: the diameter is negative, or a figure is not finite.

    >>> print(f"{1e6 * disc_volume(0.104, 0.001):.5f} cc")
    8.49487 cc
    """
    require_finite("thickness", thickness, "m")
    return circle_area(diameter) * thickness


def swept_volume(bore: Scalar, stroke: Scalar) -> Scalar:
    """Swept volume of one cylinder [m^3], pi/4 B^2 S.

    Args:
        bore: [m].
        stroke: true travel of the piston [m] (``CrankSlider.stroke`` when the pin is offset).

    Raises:
        QuantityError: a length is not positive and finite.

    >>> print(f"{1e6 * swept_volume(0.1016, 0.0889):.4f} cc")
    720.7407 cc
    """
    require_positive("bore", bore, "m")
    require_positive("stroke", stroke, "m")
    return circle_area(bore) * stroke


def swept_volume_with_offset(
    bore: Scalar, crank_stroke: Scalar, rod_length: Scalar, pin_offset: Scalar | float
) -> Scalar:
    """Swept volume of one cylinder whose pin is offset [m^3].

    S = sqrt((l + r)^2 - d^2) - sqrt((l - r)^2 - d^2), r half the crank's stroke.

    Args:
        bore: [m].
        crank_stroke: stroke of the crankshaft, twice its throw [m].
        rod_length: between centres [m].
        pin_offset: to either side [m].

    Raises:
        QuantityError: a length is not positive and finite, or the rod is too short.
    """
    require_positive("crank_stroke", crank_stroke, "m")
    require_positive("rod_length", rod_length, "m")
    radius = crank_stroke / 2.0
    longest_reach = best_estimate(radius) + abs(best_estimate(pin_offset))
    require(
        best_estimate(rod_length) > longest_reach,
        "rod_length",
        rod_length,
        "m",
        "longer than half the stroke plus the pin offset",
    )
    top, bottom = pin_travel(radius, rod_length, pin_offset)
    return swept_volume(bore, top - bottom)


def crevice_volume(bore: Scalar, top_land_clearance: Scalar, top_land_height: Scalar) -> Scalar:
    """Volume of the gap round the top land, crown edge down to the top ring [m^3].

    pi c (B - c) h. A burette poured over the piston with grease round the edge leaves it out; an
    unsealed one includes it: count it once.

    Args:
        bore: [m].
        top_land_clearance: radial gap of the land in the bore [m], less than half the bore.
        top_land_height: from the crown edge to the top of the top ring [m].

    Raises:
        QuantityError: the gap does not fit the bore, or a figure is negative or not finite.
    """
    require_positive("bore", bore, "m")
    require_not_negative("top_land_clearance", top_land_clearance, "m")
    require_not_negative("top_land_height", top_land_height, "m")
    require(
        best_estimate(top_land_clearance) < best_estimate(bore) / 2.0,
        "top_land_clearance",
        top_land_clearance,
        "m",
        "less than half the bore",
        "It is the gap on one side.",
    )
    volume: Scalar = pi * top_land_clearance * (bore - top_land_clearance) * top_land_height
    return volume


@dataclass(frozen=True)
class ClearanceStack:
    """What makes up the clearance volume of one cylinder at top dead centre, each part in m^3.

    Args:
        chamber_volume: combustion chamber in the head, plug and valves fitted [m^3].
        gasket_volume: opening of the compressed gasket, fire ring included [m^3].
        deck_volume: bore above a piston below deck; negative for one standing proud [m^3].
        crown_volume: dish and pockets positive, dome negative [m^3].
        crevice_volume: gap round the top land, if not in the crown volume [m^3].
        other_volume: anything else, such as a plug set back or a bored-out adapter [m^3].

    >>> stack = ClearanceStack.from_dimensions(
    ...     chamber_volume=64e-6, bore=0.1016, gasket_bore=0.104, gasket_thickness=0.001,
    ...     piston_below_deck=0.000254, crown_volume=5e-6)
    >>> print(f"{1e6 * stack.total:.5f} cc")
    79.55413 cc
    """

    chamber_volume: float
    gasket_volume: float
    deck_volume: float
    crown_volume: float = 0.0
    crevice_volume: float = 0.0
    other_volume: float = 0.0

    def __post_init__(self) -> None:
        for part, value in self.__dict__.items():
            require_finite(part, value, "m3")

    @classmethod
    def from_dimensions(
        cls,
        *,
        chamber_volume: float,
        bore: float,
        gasket_bore: float,
        gasket_thickness: float,
        piston_below_deck: float,
        crown_volume: float = 0.0,
        crevice_volume: float = 0.0,
        other_volume: float = 0.0,
    ) -> ClearanceStack:
        """Make one from measured dimensions.

        Args:
            chamber_volume: [m^3].
            bore: of the cylinder; the space above the piston is reckoned with it [m].
            gasket_bore: diameter of the gasket opening [m] (for an opening that is not round, the
                diameter of the circle of equal area).
            gasket_thickness: compressed [m].
            piston_below_deck: crown below the block face; negative if proud of it [m].
            crown_volume: dish and pockets positive, dome negative [m^3].
            crevice_volume: top land [m^3].
            other_volume: [m^3].

        Raises:
            QuantityError: bore not positive, gasket size negative, or a figure not finite.
        """
        require_positive("bore", bore, "m")
        require_not_negative("gasket_bore", gasket_bore, "m")
        require_not_negative("gasket_thickness", gasket_thickness, "m")
        return cls(
            chamber_volume=chamber_volume,
            gasket_volume=disc_volume(gasket_bore, gasket_thickness),
            deck_volume=disc_volume(bore, piston_below_deck),
            crown_volume=crown_volume,
            crevice_volume=crevice_volume,
            other_volume=other_volume,
        )

    @property
    def without_chamber(self) -> float:
        """Everything but the chamber [m^3]; may be negative with a tall dome."""
        return (
            self.gasket_volume
            + self.deck_volume
            + self.crown_volume
            + self.crevice_volume
            + self.other_volume
        )

    @property
    def total(self) -> float:
        """Clearance volume [m^3].

        Raises:
            QuantityError: the parts do not leave any volume.
        """
        total = self.chamber_volume + self.without_chamber
        require_positive(
            "clearance volume", total, "m3", "Check the sign of the dome and the piston below deck."
        )
        return total

    def parts(self) -> dict[str, float]:
        """The parts by name [m^3], in the order of the stack."""
        return {part.name: getattr(self, part.name) for part in fields(self)}


def compression_ratio(swept: Scalar, clearance: Scalar) -> Scalar:
    """Geometric compression ratio [-], (Vs + Vc) / Vc.

    Args:
        swept: swept volume of the cylinder [m^3].
        clearance: its clearance volume [m^3].

    Raises:
        QuantityError: a volume is not positive and finite.

    >>> print(f"{compression_ratio(720.7407e-6, 79.55413e-6):.5f}")
    10.05975
    """
    require_positive("swept", swept, "m3")
    require_positive("clearance", clearance, "m3")
    return 1.0 + swept / clearance


def clearance_for_ratio(swept: Scalar, ratio: Scalar) -> Scalar:
    """Clearance volume that gives a compression ratio [m^3], Vs / (ratio - 1).

    Args:
        swept: swept volume of the cylinder [m^3].
        ratio: wanted compression ratio [-], greater than 1.

    Raises:
        QuantityError: the volume is not positive, or the ratio not greater than 1.
    """
    require_positive("swept", swept, "m3")
    best = best_estimate(ratio)
    require(
        (best > 1.0) & (best < inf),
        "ratio",
        ratio,
        "",
        "greater than 1 and finite",
        "Give it as volume ratio, such as 10.5 for 10.5:1.",
    )
    return swept / (ratio - 1.0)


def chamber_for_ratio(swept: Scalar, ratio: Scalar, without_chamber: Scalar) -> Scalar:
    """Chamber volume that gives a compression ratio [m^3].

    Args:
        swept: swept volume of the cylinder [m^3].
        ratio: wanted compression ratio [-].
        without_chamber: the rest of the clearance (``ClearanceStack.without_chamber``) [m^3].

    Raises:
        QuantityError: gasket, deck and crown alone already take up the whole clearance; the message
            names the highest ratio that leaves a chamber.

    >>> print(f"{1e6 * chamber_for_ratio(720.7407e-6, 10.05975, 15.55413e-6):.3f} cc")
    64.000 cc
    """
    require_finite("without_chamber", without_chamber, "m3")
    chamber = clearance_for_ratio(swept, ratio) - without_chamber
    left = best_estimate(chamber)
    if not bool(np.all(left > 0.0)):
        require(
            left > 0.0,
            "ratio",
            ratio,
            "",
            f"below {lowest(1.0 + swept / without_chamber):.4g}",
            "Gasket, deck and crown alone take up the clearance: use a thinner gasket, "
            "a lower block deck or a smaller dish.",
        )
    return chamber


def cylinder_volume(
    bore: float, motion: CrankSlider, clearance: Scalar | float, angle: Scalar
) -> Scalar:
    """Volume above the piston at a crank angle [m^3], Vc + pi/4 B^2 x.

    Args:
        bore: [m].
        motion: crank, rod and pin.
        clearance: clearance volume [m^3].
        angle: crank angle after true top dead centre [rad], float or array.

    Raises:
        QuantityError: bore or clearance is not positive and finite.
    """
    require_positive("bore", bore, "m")
    require_positive("clearance", clearance, "m3")
    volume: Scalar = plain(clearance + circle_area(bore) * motion.position(angle))
    return volume


def trapped_volume(
    bore: float, motion: CrankSlider, clearance: float, closing_angle: float
) -> float:
    """Volume in the cylinder when the intake valve closes [m^3].

    Args:
        bore: [m].
        motion: crank, rod and pin.
        clearance: clearance volume [m^3].
        closing_angle: intake closing after the true top dead centre at which the intake stroke
            begins [rad]: "60 degrees after bottom" on a degree wheel is 240 degrees.

    Raises:
        QuantityError: closing lies outside half a turn either side of bottom dead centre, or bore
            or clearance is not positive.
    """
    require(
        (closing_angle > 0.0) & (closing_angle < 2.0 * pi),
        "closing_angle",
        closing_angle,
        "rad",
        "between 0 and 2 pi rad after top dead centre",
        "Count it from the top dead centre at the start of the intake stroke.",
    )
    return cylinder_volume(bore, motion, clearance, closing_angle)


def trapped_compression_ratio(
    bore: float, motion: CrankSlider, clearance: float, closing_angle: float
) -> float:
    """Compression from intake closing to top dead centre [-], V(closing) / Vc.

    A figure of geometry: it says nothing of how full the cylinder is at that moment.

    Args:
        bore: [m].
        motion: crank, rod and pin.
        clearance: clearance volume [m^3].
        closing_angle: as in ``trapped_volume`` [rad].

    >>> motion = CrankSlider.from_stroke(0.0889, 0.1524)
    >>> print(f"{trapped_compression_ratio(0.1016, motion, 79.55413e-6, pi * 240 / 180):.4f}")
    8.2984
    """
    return trapped_volume(bore, motion, clearance, closing_angle) / clearance


def piston_below_deck(
    block_height: Scalar,
    crank_radius: Scalar,
    rod_length: Scalar,
    pin_height: Scalar,
    pin_offset: Scalar | float = 0.0,
) -> Scalar:
    """Distance of the piston below the block face at top dead centre [m].

    h_block - sqrt((l + r)^2 - d^2) - h_pin; positive below the face, negative proud of it.

    Args:
        block_height: from crank centre to block face [m].
        crank_radius: throw of the crankshaft, half its stroke [m].
        rod_length: between centres [m].
        pin_height: of the piston, pin axis to the flat of the crown [m].
        pin_offset: to either side [m].

    Raises:
        QuantityError: a length is not positive and finite.

    >>> print(f"{1e3 * piston_below_deck(0.2286, 0.04445, 0.1524, 0.0315):.3f} mm")
    0.250 mm
    """
    for field, length in (
        ("block_height", block_height),
        ("crank_radius", crank_radius),
        ("rod_length", rod_length),
        ("pin_height", pin_height),
    ):
        require_positive(field, length, "m")
    top, _ = pin_travel(crank_radius, rod_length, pin_offset)
    return block_height - top - pin_height


def squish_clearance(
    piston_below_deck: Scalar,
    gasket_thickness: Scalar,
    head_recess: Scalar | float = 0.0,
    crown_recess: Scalar | float = 0.0,
) -> Scalar:
    """Gap between piston and head over the squish area at top dead centre, cold and still [m].

    Args:
        piston_below_deck: the crown's datum flat below the block face; negative if proud of it [m].
        gasket_thickness: compressed [m].
        head_recess: squish face of the head above its joint face; negative if it stands below [m].
        crown_recess: squish land of the piston below the datum flat; negative if above [m].

    Returns:
        Gap [m]; zero or less means contact.

    >>> print(f"{1e3 * squish_clearance(0.000254, 0.001):.3f} mm")
    1.254 mm
    """
    require_finite("piston_below_deck", piston_below_deck, "m")
    require_not_negative("gasket_thickness", gasket_thickness, "m")
    return piston_below_deck + gasket_thickness + head_recess + crown_recess


def squish_area(bore: Scalar, chamber_area_in_bore: Scalar) -> Scalar:
    """Flat area of the head over the bore [m^2]: bore area less the chamber's opening within it.

    Args:
        bore: [m].
        chamber_area_in_bore: area of the chamber's outline at the joint face, as far as it lies
            inside the bore [m^2].

    Raises:
        QuantityError: the opening is larger than the bore.
    """
    require_positive("bore", bore, "m")
    require_not_negative("chamber_area_in_bore", chamber_area_in_bore, "m2")
    over_bore = circle_area(bore)
    require(
        best_estimate(chamber_area_in_bore) <= best_estimate(over_bore),
        "chamber_area_in_bore",
        chamber_area_in_bore,
        "m2",
        "not more than the area of the bore",
        "Leave out what lies outside the bore circle.",
    )
    return over_bore - chamber_area_in_bore
