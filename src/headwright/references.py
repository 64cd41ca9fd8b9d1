"""Bibliography: short keys used in docstrings and results, with full citations.

``checked`` says how far a source was followed: ``read`` (the page or abstract was seen while the
relation was written), ``library`` (the relation was checked against an independent computer
implementation or data set) or ``memory`` (cited from memory; constants recomputed and tested for
consistency, page numbers not verified).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from headwright.errors import InputError

__all__ = ["REFERENCES", "Reference", "cite"]


@dataclass(frozen=True, slots=True)
class Reference:
    """One source.

    Attributes:
        key: short name, such as ``heywood``.
        authors: as printed, surnames first names abbreviated.
        title: of the work.
        where: journal, publisher or report number.
        year: of publication.
        checked: ``read``, ``library`` or ``memory``; see the module's head.
    """

    key: str
    authors: str
    title: str
    where: str
    year: int
    checked: Literal["read", "library", "memory"]

    def __str__(self) -> str:
        return f"{self.authors}: {self.title}. {self.where}, {self.year}."


_ALL = (
    Reference(
        "annand",
        "W. J. D. Annand",
        "Heat transfer in the cylinders of reciprocating internal combustion engines",
        "Proc. IMechE 177, p. 973",
        1963,
        "memory",
    ),
    Reference(
        "annand-roe",
        "W. J. D. Annand, G. E. Roe",
        "Gas Flow in the Internal Combustion Engine",
        "Foulis",
        1974,
        "memory",
    ),
    Reference(
        "barnes-moss",
        "H. W. Barnes-Moss",
        "A designer's viewpoint",
        "IMechE C343/73, Passenger Car Engines",
        1975,
        "memory",
    ),
    Reference(
        "blizard-keck",
        "N. C. Blizard, J. C. Keck",
        "Experimental and theoretical investigation of turbulent burning model for internal "
        "combustion engines",
        "SAE 740191",
        1974,
        "memory",
    ),
    Reference(
        "chen-flynn",
        "S. K. Chen, P. F. Flynn",
        "Development of a single cylinder compression ignition research engine",
        "SAE 650733",
        1965,
        "memory",
    ),
    Reference(
        "din70020",
        "DIN",
        "DIN 70020: Road vehicles, automotive engineering; engine power",
        "Deutsches Institut für Normung",
        1976,
        "memory",
    ),
    Reference(
        "douaud-eyzat",
        "A. M. Douaud, P. Eyzat",
        "Four-octane-number method for predicting the anti-knock behavior of fuels and engines",
        "SAE 780080",
        1978,
        "memory",
    ),
    Reference(
        "eppes-livengood-taylor",
        "R. Eppes, J. C. Livengood, C. F. Taylor",
        "The effect of changing the ratio of exhaust-valve flow capacity to inlet-valve flow "
        "capacity on volumetric efficiency and output of a single-cylinder engine",
        "NACA TN 1365",
        1947,
        "read",
    ),
    Reference(
        "ferguson-kirkpatrick",
        "C. R. Ferguson, A. T. Kirkpatrick",
        "Internal Combustion Engines: Applied Thermosciences, ch. 2 (finite heat release)",
        "Wiley",
        2001,
        "memory",
    ),
    Reference(
        "fox-cheng-heywood",
        "J. W. Fox, W. K. Cheng, J. B. Heywood",
        "A model for predicting residual gas fraction in spark-ignition engines",
        "SAE 931025",
        1993,
        "memory",
    ),
    Reference(
        "gault",
        "R. J. Gault, D. J. Thornhill, R. Fleck, D. O. Mackey, G. F. Chatfield",
        "Alternative method to evaluate discharge coefficients",
        "SAE Trans. 113, p. 1080",
        2004,
        "read",
    ),
    Reference(
        "gordon-mcbride",
        "S. Gordon, B. J. McBride",
        "Computer Program for Calculation of Complex Chemical Equilibrium Compositions and "
        "Applications I: Analysis",
        "NASA RP-1311",
        1994,
        "library",
    ),
    Reference(
        "heywood",
        "J. B. Heywood",
        "Internal Combustion Engine Fundamentals",
        "McGraw-Hill",
        1988,
        "memory",
    ),
    Reference(
        "hohenberg",
        "G. F. Hohenberg",
        "Advanced approaches for heat transfer calculations",
        "SAE 790825",
        1979,
        "memory",
    ),
    Reference(
        "iapws-saturation",
        "W. Wagner, A. Pruss",
        "International equations for the saturation properties of ordinary water substance. "
        "Revised according to the International Temperature Scale of 1990",
        "J. Phys. Chem. Ref. Data 22, p. 783",
        1993,
        "library",
    ),
    Reference(
        "iso1585",
        "ISO",
        "ISO 1585: Road vehicles; engine test code; net power",
        "International Organization for Standardization",
        2020,
        "memory",
    ),
    Reference(
        "iso5167-2",
        "ISO",
        "ISO 5167-2: Measurement of fluid flow by means of pressure differential devices "
        "inserted in circular cross-section conduits running full; part 2, orifice plates",
        "International Organization for Standardization",
        2003,
        "library",
    ),
    Reference(
        "iso2533",
        "ISO",
        "ISO 2533: Standard atmosphere",
        "International Organization for Standardization",
        1975,
        "memory",
    ),
    Reference(
        "lemmon-jacobsen",
        "E. W. Lemmon, R. T. Jacobsen",
        "Viscosity and thermal conductivity equations for nitrogen, oxygen, argon, and air",
        "Int. J. Thermophysics 25, p. 21",
        2004,
        "library",
    ),
    Reference(
        "livengood-stanitz",
        "J. C. Livengood, J. D. Stanitz",
        "The effect of inlet-valve design, size, and lift on the air capacity and output of a "
        "four-stroke engine",
        "NACA TN 915",
        1943,
        "memory",
    ),
    Reference(
        "livengood-wu",
        "J. C. Livengood, P. C. Wu",
        "Correlation of autoignition phenomena in internal combustion engines and rapid "
        "compression machines",
        "5th Symposium (International) on Combustion, p. 347",
        1955,
        "memory",
    ),
    Reference(
        "maier",
        "A. Maier, T. H. Sheldrake, D. Wilcock",
        "Geometric parameters influencing flow in an axisymmetric IC engine inlet port assembly: "
        "part II",
        "J. Fluids Engineering 122",
        2000,
        "read",
    ),
    Reference(
        "metghalchi-keck",
        "M. Metghalchi, J. C. Keck",
        "Burning velocities of mixtures of air with methanol, isooctane, and indolene at high "
        "pressure and temperature",
        "Combustion and Flame 48, p. 191",
        1982,
        "read",
    ),
    Reference(
        "mcbride",
        "B. J. McBride, S. Gordon, M. A. Reno",
        "Coefficients for Calculating Thermodynamic and Transport Properties of Individual Species",
        "NASA TM-4513",
        1993,
        "library",
    ),
    Reference(
        "patton",
        "K. J. Patton, R. G. Nitschke, J. B. Heywood",
        "Development and evaluation of a friction model for spark-ignition engines",
        "SAE 890836",
        1989,
        "memory",
    ),
    Reference(
        "prausnitz",
        "R. C. Reid, J. M. Prausnitz, B. E. Poling",
        "The Properties of Gases and Liquids, 4th ed.",
        "McGraw-Hill",
        1987,
        "library",
    ),
    Reference(
        "rhodes-keck",
        "D. B. Rhodes, J. C. Keck",
        "Laminar burning speed measurements of indolene-air-diluent mixtures at high pressures "
        "and temperatures",
        "SAE 850047",
        1985,
        "memory",
    ),
    Reference(
        "j1349",
        "SAE",
        "SAE J1349: Engine power test code; spark ignition and compression ignition; net power "
        "rating (June 1990 form)",
        "Society of Automotive Engineers",
        1990,
        "read",
    ),
    Reference(
        "j607",
        "SAE",
        "SAE J607: Small spark ignition engine test code",
        "Society of Automotive Engineers",
        1974,
        "memory",
    ),
    Reference(
        "shigley",
        "R. G. Budynas, J. K. Nisbett",
        "Shigley's Mechanical Engineering Design",
        "McGraw-Hill",
        2011,
        "memory",
    ),
    Reference(
        "poulos",
        "S. G. Poulos, J. B. Heywood",
        "The effect of chamber geometry on spark-ignition engine combustion",
        "SAE 830334",
        1983,
        "memory",
    ),
    Reference(
        "tabaczynski",
        "R. J. Tabaczynski, C. R. Ferguson, K. Radhakrishnan",
        "A turbulent entrainment model for spark-ignition engine combustion",
        "SAE 770647",
        1977,
        "memory",
    ),
    Reference(
        "taylor",
        "C. F. Taylor",
        "The Internal-Combustion Engine in Theory and Practice, vol. 1",
        "MIT Press",
        1966,
        "memory",
    ),
    Reference(
        "vdi2230",
        "VDI",
        "VDI 2230 part 1: Systematic calculation of highly stressed bolted joints",
        "Verein Deutscher Ingenieure",
        2015,
        "memory",
    ),
    Reference(
        "hairer-geometric",
        "E. Hairer, C. Lubich and G. Wanner",
        "Geometric Numerical Integration, 2nd ed.",
        "Springer",
        2006,
        "memory",
    ),
    Reference(
        "schwager-poschel",
        "T. Schwager and T. Pöschel",
        "Coefficient of restitution and linear-dashpot model revisited",
        "Granular Matter 9, 465-469",
        2007,
        "memory",
    ),
    Reference(
        "wahl",
        "A. M. Wahl",
        "Mechanical Springs, 2nd ed.",
        "McGraw-Hill",
        1963,
        "memory",
    ),
    Reference(
        "woschni",
        "G. Woschni",
        "A universally applicable equation for the instantaneous heat transfer coefficient in the "
        "internal combustion engine",
        "SAE 670931",
        1967,
        "memory",
    ),
    Reference(
        "keck",
        "J. C. Keck",
        "Turbulent flame structure and speed in spark-ignition engines",
        "19th Symposium (International) on Combustion, p. 1451",
        1982,
        "memory",
    ),
    Reference(
        "anderson-octane",
        "J. E. Anderson, D. M. DiCicco, J. M. Ginder, U. Kramer, T. G. Leone, H. E. Raney-Pablo, "
        "T. J. Wallington",
        "High octane number ethanol-gasoline blends: quantifying the potential benefits in the "
        "United States",
        "Fuel 97, p. 585",
        2012,
        "memory",
    ),
    Reference(
        "mcgeehan",
        "J. A. McGeehan",
        "A literature review of the effects of piston and ring friction and lubricating oil "
        "viscosity on fuel economy",
        "SAE 780673",
        1978,
        "memory",
    ),
    Reference(
        "sandoval-heywood",
        "D. Sandoval, J. B. Heywood",
        "An improved friction model for spark-ignition engines",
        "SAE 2003-01-0725",
        2003,
        "memory",
    ),
    Reference(
        "astm-d341",
        "ASTM",
        "D341: Viscosity-temperature charts for liquid petroleum products",
        "ASTM International",
        2009,
        "memory",
    ),
    Reference(
        "nist-sp811",
        "A. Thompson, B. N. Taylor",
        "Guide for the Use of the International System of Units",
        "NIST Special Publication 811",
        2008,
        "memory",
    ),
    Reference(
        "engelman",
        "H. W. Engelman",
        "Design of a tuned intake manifold",
        "ASME 73-WA/DGP-2",
        1973,
        "memory",
    ),
    Reference(
        "kastner",
        "L. J. Kastner, T. J. Williams, J. B. White",
        "Poppet inlet valve characteristics and their influence on the induction process",
        "Proc. IMechE 178, part 1, p. 955",
        1963,
        "memory",
    ),
    Reference(
        "wmo-8",
        "WMO",
        "Guide to Instruments and Methods of Observation",
        "World Meteorological Organization, No. 8",
        2018,
        "memory",
    ),
)

REFERENCES: Mapping[str, Reference] = MappingProxyType({item.key: item for item in _ALL})
"""Every source by its key."""


def cite(key: str) -> str:
    """The full citation of a source.

    Args:
        key: one of :data:`REFERENCES`.

    Raises:
        InputError: no such key.

    >>> cite("heywood")
    'J. B. Heywood: Internal Combustion Engine Fundamentals. McGraw-Hill, 1988.'
    """
    try:
        return str(REFERENCES[key])
    except KeyError:
        raise InputError(
            f"reference key: {key!r} is not in the bibliography; known are "
            f"{', '.join(sorted(REFERENCES))}"
        ) from None
