"""The clearance volume of a cylinder from its parts, summed in this one place."""

from __future__ import annotations

import math
from collections.abc import Mapping

from headwright.geometry.volumes import ClearanceStack, disc_volume

__all__ = ["clearance_of"]


def clearance_of(values: Mapping[str, float], chamber_volume: float) -> float:
    """Return the clearance volume of a cylinder at top dead centre [m3].

    Args:
        values: ``bore``, ``below_deck`` and ``deck_cut`` [m]; ``relief``, ``crown`` and
            ``crevice`` [m3]; and either ``gasket_volume`` [m3] or ``gasket_bore`` and
            ``gasket_thickness`` [m]. Others are left alone.
        chamber_volume: Of the chamber after the cut, without the relief [m3].

    >>> values = {"bore": 0.1016, "below_deck": 0.000254, "deck_cut": 0.0, "relief": 0.0,
    ...           "crown": 5e-6, "crevice": 0.0, "gasket_bore": 0.104, "gasket_thickness": 0.001}
    >>> print(f"{1e6 * clearance_of(values, 64e-6):.5f} cc")
    79.55413 cc
    """
    gasket = values.get("gasket_volume")
    if gasket is None:
        gasket = disc_volume(values["gasket_bore"], values["gasket_thickness"])
    below = values["below_deck"] - values["deck_cut"]
    deck = math.copysign(disc_volume(values["bore"], abs(below)), below)
    return ClearanceStack(
        chamber_volume=chamber_volume + values["relief"],
        gasket_volume=gasket,
        deck_volume=deck,
        crown_volume=values["crown"],
        crevice_volume=values["crevice"],
    ).total
