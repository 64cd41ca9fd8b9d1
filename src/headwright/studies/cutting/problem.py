"""What a cutting plan may change and what it must keep, as plain SI figures of one trial."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final, Literal

from headwright.assemble import Fact, Trial
from headwright.assemble.chamber import chamber_as_known
from headwright.assemble.facts import intended, known
from headwright.checks.families import SQUISH_NEAR_M
from headwright.checks.limits import COMMON_PRACTICE, find_limit
from headwright.errors import InputError
from headwright.geometry.chamber_cut import ChamberCutModel, CurveModel, FaceAreaModel
from headwright.geometry.volumes import circle_area, disc_volume, swept_volume_with_offset
from headwright.records.cutting import CuttingWishes
from headwright.studies.cutting.steps import USUAL_WORK
from headwright.studies.head_cut import DEEPEST_CUT_M, LEAST_LEFT_M

__all__ = [
    "CHAMBER_NEAR_M3",
    "Amounts",
    "Bound",
    "CutProblem",
    "CylinderCase",
    "GasketOption",
    "SideCase",
    "ValveClearance",
    "curvature_bound",
    "cut_problem",
    "slope_of",
]

CHAMBER_NEAR_M3: Final = 0.3e-6
"""How near the chamber volume wanted is near. Common practice, no source."""

SIDES: Final[tuple[Literal["intake", "exhaust"], ...]] = ("intake", "exhaust")


@dataclass(frozen=True, slots=True)
class Bound:
    """Something that must be kept: a limit, a target, a pin, a step ruled out.

    ``name`` is the glossary quantity of ``value`` [SI]; ``weight`` orders relaxations of equal
    number: what the builder chose gives way before what the metal or the rules demand.
    """

    key: str
    words: str
    value: float
    name: str
    source: str
    weight: float = 1.0


@dataclass(frozen=True, slots=True)
class GasketOption:
    """One gasket that may be fitted [SI]."""

    name: str
    thickness: float
    volume: float
    thickness_fact: Fact
    bore_fact: Fact
    volume_fact: Fact | None = None
    price: float | None = None
    present: bool = False


@dataclass(frozen=True, slots=True)
class CylinderCase:
    """One cylinder whose chamber is known [SI].

    ``fixed`` is the clearance without gasket, chamber, relief and what the block face takes away.
    """

    number: int
    swept: float
    bore_area: float
    model: ChamberCutModel
    fixed: float
    below_deck: float
    relief_least: float = 0.0
    opening: float = 1e-3


@dataclass(frozen=True, slots=True)
class SideCase:
    """The valves of one side: head area, pocket area, and the clearance to the piston, if known.

    ``clearance`` is the least travel left to the piston along the valve, nothing cut and the
    gasket meant fitted; ``per_cut`` what it loses for each metre the head comes nearer.
    """

    side: Literal["intake", "exhaust"]
    seat_area: float = 0.0
    pocket_area: float = 0.0
    clearance: float | None = None
    per_cut: float = 1.0
    seat_most: float = 0.0
    pocket_most: float = 0.0


@dataclass(frozen=True, slots=True)
class ValveClearance:
    """Least travel left to a side's valves before they touch the piston, and the least asked.

    Both are along the valve's axis. ``now`` holds with nothing cut and the gasket meant [m];
    ``least`` [m] with whose it is. ``per_cut`` is the travel lost for each metre the head comes
    nearer: one over the cosine of the valve's lean.
    """

    now: float
    least: float
    source: str
    per_cut: float = 1.0


@dataclass(frozen=True, slots=True)
class Amounts:
    """By how much each step is made [SI]; ``gasket`` is the place of the option."""

    gasket: int = 0
    head_cut: float = 0.0
    deck_cut: float = 0.0
    seats: tuple[float, float] = (0.0, 0.0)
    pockets: tuple[float, float] = (0.0, 0.0)
    reliefs: tuple[float, ...] = ()
    bosses: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class CutProblem:
    """The whole question [SI].

    ``bounds`` holds what must be kept by key; ``pinned`` amounts by step (or ``relief.2``);
    ``closed`` why a step is not open. ``missing`` names figures without which something could not
    be asked.
    """

    cylinders: tuple[CylinderCase, ...]
    gaskets: tuple[GasketOption, ...]
    sides: tuple[SideCase, SideCase]
    bounds: Mapping[str, Bound]
    ratio: float | None
    ratio_near: float
    deck_spare: float
    relief_most: float
    boss_most: float
    cut_most: float
    thickness: float | None
    pinned: Mapping[str, float] = field(default_factory=dict)
    pinned_gasket: int | None = None
    closed: Mapping[str, str] = field(default_factory=dict)
    unknown_chambers: tuple[int, ...] = ()
    missing: tuple[str, ...] = ()
    heights: tuple[float, ...] = ()
    """Every piston below the block face [m], of cylinders whose chamber is not known too."""

    @property
    def count(self) -> int:
        """Return how many cylinders are known."""
        return len(self.cylinders)

    def limit(self, key: str) -> float | None:
        """Return the value of a bound, None where it is not asked."""
        bound = self.bounds.get(key)
        return None if bound is None else bound.value

    def options(self) -> tuple[int, ...]:
        """Return the places of the gaskets that may be chosen."""
        if self.pinned_gasket is not None:
            return (self.pinned_gasket,)
        if "gasket" in self.closed:
            return tuple(i for i, item in enumerate(self.gaskets) if item.present)
        return tuple(range(len(self.gaskets)))


def slope_of(model: ChamberCutModel, cut: float) -> float:
    """Return dV/dz of a chamber at a depth [m2], negative."""
    step = 1e-7
    below = model.volume_unlimited(cut - step)
    return float((model.volume_unlimited(cut + step) - below) / (2.0 * step))


def curvature_bound(model: ChamberCutModel, low: float, high: float) -> float:
    """Return the greatest size of V'' of a chamber between two depths [m], exactly or above it."""
    if isinstance(model, FaceAreaModel):
        return abs(model.area_taper)
    if not isinstance(model, CurveModel):
        return 0.0
    curve = model._curve
    found = 0.0
    for place in range(len(model.cuts) - 1):
        start, end = model.cuts[place], model.cuts[place + 1]
        if end < low or start > high:
            continue
        width, rise = end - start, model.volumes[place + 1] - model.volumes[place]
        one, two = float(curve.slopes[place]) * width, float(curve.slopes[place + 1]) * width
        second, third = 3.0 * rise - 2.0 * one - two, one + two - 2.0 * rise
        ends = max(abs(2.0 * second), abs(2.0 * second + 6.0 * third))
        found = max(found, ends / width**2)
    return found


def cut_problem(
    trial: Trial,
    wishes: CuttingWishes | None = None,
    *,
    clearances: Mapping[str, ValveClearance] | None = None,
) -> CutProblem:
    """Put the question of a trial: best estimates, limits, what may be done and what may not.

    Args:
        trial: the build on its casting; its head cut does not matter, for it is what is sought.
        wishes: pins and forbidden steps; those of the build where left out.
        clearances: of each side's valves to the piston, where they are known.

    Raises:
        InputError: a pin names a gasket, a cylinder or a valve that is not there.
    """
    wishes = trial.build.plan if wishes is None else wishes
    known_cases, unknown = _cylinders(trial)
    gaskets = _gaskets(trial)
    pinned, pinned_gasket = _pins(trial, wishes, gaskets, known_cases)
    closed: dict[str, str] = dict.fromkeys(wishes.forbidden, "forbidden")
    spare = trial.short_block.deck_metal_spare
    if trial.deck_cut.value and "deck_cut" not in pinned and "deck_cut" not in closed:
        pinned["deck_cut"] = trial.deck_cut.value
    if spare is None and "deck_cut" not in pinned:
        closed.setdefault("deck_cut", "how much the block face has to spare is not known")
    if trial.build.gasket is not None and pinned_gasket is None:
        closed.setdefault("gasket", "the build names its gasket")
    elif len(gaskets) < 2:
        closed.setdefault("gasket", "the shop lists no other gasket for this engine")
    bounds = _bounds(trial, pinned, closed, clearances or {})
    missing = []
    if trial.thickness_now.value is None:
        missing.append(trial.thickness_now.what)
    near = find_limit(trial, "compression_tolerance")
    boss = _most(trial, "plug_boss", volume=True)
    return CutProblem(
        cylinders=known_cases,
        gaskets=gaskets,
        sides=_sides(trial, clearances or {}),
        bounds=bounds,
        ratio=trial.target_ratio.value,
        ratio_near=near.value if near else math.inf,
        deck_spare=spare.value if spare else pinned.get("deck_cut", 0.0),
        relief_most=_most(trial, "relief", volume=True) or 0.0,
        boss_most=boss or 0.0,
        cut_most=_cut_most(trial),
        thickness=trial.thickness_now.value,
        pinned=pinned,
        pinned_gasket=pinned_gasket,
        closed=closed,
        unknown_chambers=unknown,
        missing=tuple(missing),
        heights=tuple(
            item.below_deck.value for item in trial.cylinders if item.below_deck.value is not None
        ),
    )


def _cylinders(trial: Trial) -> tuple[tuple[CylinderCase, ...], tuple[int, ...]]:
    found, unknown = [], []
    for cylinder in trial.cylinders:
        model = chamber_as_known(cylinder.chamber)
        parts = (
            cylinder.bore.value,
            trial.stroke.value,
            trial.rod_length.value,
            trial.pin_offset.value,
            cylinder.below_deck.value,
            cylinder.crown_volume.value,
            cylinder.crevice_volume.value,
        )
        if model is None or any(part is None for part in parts):
            unknown.append(cylinder.number)
            continue
        bore, stroke, rod, offset, below, crown, crevice = (float(part or 0.0) for part in parts)
        deck = math.copysign(disc_volume(bore, abs(below)), below)
        found.append(
            CylinderCase(
                number=cylinder.number,
                swept=swept_volume_with_offset(bore, stroke, rod, offset),
                bore_area=circle_area(bore),
                model=model,
                fixed=deck + crown + crevice,
                below_deck=below,
                relief_least=cylinder.relief_volume.value or 0.0,
                opening=max(-slope_of(model, 0.0), 1e-6),
            )
        )
    return tuple(found), tuple(unknown)


def _gaskets(trial: Trial) -> tuple[GasketOption, ...]:
    """Return the gasket that is meant and the others the shop can get, thinnest first."""
    options = []
    thickness, bore = trial.gasket_thickness, trial.gasket_bore
    if thickness.value is not None:
        volume = trial.gasket_volume
        filled = volume.value if volume is not None else None
        if filled is None and bore.value is not None:
            filled = disc_volume(bore.value, thickness.value)
        if filled is not None:
            name = "the gasket meant"
            options.append(
                GasketOption(name, thickness.value, filled, thickness, bore, volume, present=True)
            )
    shop = trial.bundle.shop
    for place, item in enumerate(shop.gaskets if shop else ()):
        if item.family not in {None, trial.short_block.family}:
            continue
        at = f"shop {shop.tag if shop else ''}: gaskets[{place}]."
        thick = known(item.thickness, "gasket_thickness", at + "thickness", f"gasket {item.name}")
        hole = bore
        if item.bore is not None:
            hole = known(item.bore, "gasket_bore", at + "bore", f"bore of gasket {item.name}")
        bores = [one.bore.value for one in trial.cylinders if one.bore.value is not None]
        if thick.value is None or hole.value is None or hole.value < max(bores, default=0.0):
            continue
        same = options and options[0].present and abs(thick.value - options[0].thickness) < 5e-6
        if same:
            options[0] = replace(
                options[0], name=item.name, price=item.price.value if item.price else None
            )
            continue
        options.append(
            GasketOption(
                item.name,
                thick.value,
                disc_volume(hole.value, thick.value),
                thick,
                hole,
                price=item.price.value if item.price else None,
            )
        )
    return tuple(options)


def _pins(
    trial: Trial,
    wishes: CuttingWishes,
    gaskets: tuple[GasketOption, ...],
    cylinders: tuple[CylinderCase, ...],
) -> tuple[dict[str, float], int | None]:
    pinned: dict[str, float] = {}
    chosen: int | None = None
    numbers = [item.number for item in cylinders]
    for pin in wishes.pinned:
        if pin.step == "gasket":
            names = [item.name for item in gaskets]
            if pin.part not in names:
                msg = f"pin gasket: {pin.part!r} is not one of: {', '.join(names) or 'none'}"
                raise InputError(msg)
            chosen = names.index(pin.part)
        elif pin.step in {"intake_valve", "exhaust_valve"}:
            continue
        elif pin.volume is not None:
            for number in [pin.cylinder] if pin.cylinder else numbers:
                if number not in numbers:
                    msg = (
                        f"pin {pin.step}.{number}: the chamber of cylinder {number} is not known; "
                        f"known are {', '.join(map(str, numbers)) or 'none'}"
                    )
                    raise InputError(msg)
                pinned[f"{pin.step}.{number}"] = pin.volume.value
        elif pin.depth is not None:
            pinned[pin.step] = pin.depth.value
    return pinned, chosen


def _most(trial: Trial, step: str, *, volume: bool = False) -> float | None:
    shop = trial.bundle.shop
    work = shop.operation(step) if shop else None
    figure = (work.most_volume if volume else work.most_depth) if work else None
    if figure is not None:
        return figure.value
    return USUAL_WORK[step].most


def _sides(trial: Trial, clearances: Mapping[str, ValveClearance]) -> tuple[SideCase, SideCase]:
    first = trial.cylinders[0] if trial.cylinders else None
    made = []
    for side in SIDES:
        head = first.valve(side).head_diameter.value if first else None
        pockets = [item for item in trial.short_block.piston.pockets if item.side == side]
        pocket = pockets[0].diameter.value if pockets and pockets[0].diameter else None
        made.append(
            SideCase(
                side=side,
                seat_area=circle_area(head) if head else 0.0,
                pocket_area=circle_area(pocket) if pocket else 0.0,
                clearance=clearances[side].now if side in clearances else None,
                per_cut=clearances[side].per_cut if side in clearances else 1.0,
                seat_most=(_most(trial, f"{side}_seat") or 0.0) if head else 0.0,
                pocket_most=(_most(trial, f"{side}_pocket") or 0.0) if pocket else 0.0,
            )
        )
    return made[0], made[1]


def _cut_most(trial: Trial) -> float:
    """Return how deep the head could be cut at all [m]."""
    depths = [
        cylinder.chamber.depth.value * 0.98
        for cylinder in trial.cylinders
        if cylinder.chamber.depth.value is not None
    ]
    most = min([DEEPEST_CUT_M, *depths])
    if trial.thickness_now.value is not None:
        most = min(most, trial.thickness_now.value - LEAST_LEFT_M)
    return max(most, 0.0)


_LIMITS: Final = (
    ("compression_minimum", "compression_ratio", "least compression"),
    ("compression_maximum", "compression_ratio", "highest compression"),
    ("compression_spread_maximum", "compression_spread", "spread of compression"),
    ("squish_minimum", "squish_clearance", "least squish clearance"),
    ("squish_maximum", "squish_clearance", "largest squish clearance"),
    ("piston_above_deck_maximum", "piston_above_deck", "piston above the block face"),
    ("casting_thickness_minimum", "casting_thickness", "thickness of casting to keep"),
    ("head_cut_maximum", "depth_of_cut", "deepest head cut"),
)


def _bounds(
    trial: Trial,
    pinned: Mapping[str, float],
    closed: Mapping[str, str],
    clearances: Mapping[str, ValveClearance],
) -> dict[str, Bound]:
    bounds: dict[str, Bound] = {}
    for key, name, words in _LIMITS:
        limit = find_limit(trial, key)
        if limit is not None:
            bounds[key] = Bound(key, words, limit.value, name, limit.source, weight=1.5)
    of_build = "target of the build"
    if trial.target_ratio.value is not None:
        bounds["compression_target"] = Bound(
            "compression_target",
            "compression wanted",
            trial.target_ratio.value,
            "compression_ratio",
            of_build,
        )
    if trial.target_squish.value is not None:
        wanted = trial.target_squish.value
        for key, sign in (("squish_wanted_low", -1.0), ("squish_wanted_high", 1.0)):
            bounds[key] = Bound(
                key,
                "squish clearance wanted",
                wanted + sign * SQUISH_NEAR_M,
                "squish_clearance",
                f"{of_build}, near is {COMMON_PRACTICE}",
            )
    wanted_volume = trial.build.targets.chamber_volume
    if wanted_volume is not None:
        bounds["chamber_target"] = Bound(
            "chamber_target",
            "chamber volume wanted",
            wanted_volume.value,
            "chamber_volume",
            of_build,
        )
    most = _most(trial, "relief", volume=True)
    if most is not None:
        bounds["relief_most"] = Bound(
            "relief_most",
            "most taken out of one chamber",
            most,
            "relief_volume",
            "shop" if _shop_says(trial, "relief") else COMMON_PRACTICE,
        )
    spare = trial.short_block.deck_metal_spare
    if spare is not None:
        bounds["deck_spare"] = Bound(
            "deck_spare",
            "metal the block face has to spare",
            spare.value,
            "deck_metal_spare",
            f"short block {trial.short_block.tag}",
            weight=1.5,
        )
    for side, asked in clearances.items():
        bounds[f"{side}_clearance"] = Bound(
            f"{side}_clearance",
            f"{side} valve to piston",
            asked.least,
            "valve_to_piston",
            asked.source,
            weight=1.5,
        )
    for step, value in pinned.items():
        name = "relief_volume" if "." in step else "depth_of_cut"
        bounds[f"pin:{step}"] = Bound(f"pin:{step}", f"pin on {step}", value, name, "the builder")
    for step, why in closed.items():
        name = "relief_volume" if step in {"relief", "plug_boss"} else "depth_of_cut"
        bounds[f"shut:{step}"] = Bound(f"shut:{step}", f"{step} not made", 0.0, name, why)
    return bounds


def _shop_says(trial: Trial, step: str) -> bool:
    shop = trial.bundle.shop
    work = shop.operation(step) if shop else None
    return work is not None and (work.most_volume is not None or work.most_depth is not None)


def as_step_fact(name: str, path: str, what: str, value: float, spread: float) -> Fact:
    """Return the amount of a step as a fact: meant exactly, reached with the shop's spread."""
    return replace(
        intended(Fact(name, path, what, value)), uncertainty=spread, note="as the plan has it"
    )
