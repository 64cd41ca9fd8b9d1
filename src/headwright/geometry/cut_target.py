"""The cut of the head face that a target needs, and how well it is known."""

from __future__ import annotations

from collections.abc import Mapping

from headwright.errors import QuantityError
from headwright.geometry.chamber_cut import ROUND_OFF, ChamberCutModel
from headwright.geometry.propagate import FirstOrder, first_order
from headwright.geometry.volumes import chamber_for_ratio, compression_ratio

__all__ = ["cut_for_ratio", "ratio_after_cut", "uncertain_cut"]


def ratio_after_cut(
    model: ChamberCutModel, cut: float, swept: float, without_chamber: float
) -> float:
    """Compression ratio after a cut [-].

    Args:
        model: of the chamber.
        cut: depth removed from the face [m].
        swept: swept volume [m^3].
        without_chamber: gasket, deck, crown and the rest of the clearance [m^3].

    Raises:
        QuantityError: the cut is outside the model's limits, or no clearance would be left.
    """
    return compression_ratio(swept, model.volume_after(cut) + without_chamber)


def cut_for_ratio(
    model: ChamberCutModel, ratio: float, swept: float, without_chamber: float
) -> float:
    """Depth of cut that gives a compression ratio [m].

    Args:
        model: of the chamber.
        ratio: wanted compression ratio [-].
        swept: swept volume [m^3].
        without_chamber: gasket, deck, crown and the rest of the clearance [m^3].

    Raises:
        QuantityError: the target lies outside what cutting can reach; the message names the
            lowest and highest ratio within reach.

    >>> from headwright.geometry.chamber_cut import TwoPourModel
    >>> chamber = TwoPourModel(0.0, 36.0e-6, 0.002, 28.0e-6)
    >>> print(f"{1e3 * cut_for_ratio(chamber, 10.5, 360e-6, 6e-6):.3f} mm")
    1.026 mm
    """
    wanted = chamber_for_ratio(swept, ratio, without_chamber)
    lower, upper = 1.0 - ROUND_OFF, 1.0 + ROUND_OFF
    if model.smallest_volume * lower <= wanted <= model.present_volume * upper:
        return model.cut_for(wanted)
    lowest = compression_ratio(swept, model.present_volume + without_chamber)
    highest = compression_ratio(swept, model.smallest_volume + without_chamber)
    if wanted > model.present_volume:
        advice = "The head gives more uncut: open the chamber out, or use a thicker gasket"
    else:
        advice = "Pour the chamber at a greater depth to go further, or use a thinner gasket"
    raise QuantityError(
        "ratio",
        f"{ratio:.6g}",
        f"is {ratio:.6g}; cutting this head reaches {lowest:.4g} (uncut) to {highest:.4g} "
        f"({model.deepest_cut:.6g} m cut). {advice}",
    )


def uncertain_cut(
    model: ChamberCutModel,
    volume: float,
    uncertainties: Mapping[str, float],
    *,
    volume_uncertainty: float = 0.0,
) -> FirstOrder:
    """Depth of cut for a chamber volume, with its first-order standard uncertainty.

    The cut is not held to the model's limits, so that a chamber close to the target can be asked
    about; a negative one means metal to be added.

    Args:
        model: of the chamber.
        volume: wanted [m^3].
        uncertainties: standard uncertainty of the model's ``measurements``, by their names.
        volume_uncertainty: standard uncertainty of the wanted volume [m^3] (from the bore, the
            gasket and the rest of the stack).

    Returns:
        Cut, its standard uncertainty and the contributions [m]; the wanted volume is
        ``wanted_volume`` among them.

    Raises:
        InputError: an uncertainty for something that is not among the measurements.

    >>> from headwright.geometry.chamber_cut import TwoPourModel
    >>> chamber = TwoPourModel(0.0, 36.0e-6, 0.002, 28.0e-6)
    >>> cut = uncertain_cut(chamber, 32e-6, {"first_volume": 0.1e-6, "second_volume": 0.1e-6})
    >>> print(f"{1e3 * cut.value:.3f} mm, u = {1e3 * cut.uncertainty:.4f} mm")
    1.000 mm, u = 0.0177 mm
    """

    def cut(*, wanted_volume: float, **measurements: float) -> float:
        return float(model.with_measurements(**measurements).cut_unlimited(wanted_volume))

    return first_order(
        cut,
        model.measurements() | {"wanted_volume": volume},
        dict(uncertainties) | {"wanted_volume": volume_uncertainty},
    )
