"""The cutting plan as every face shows it: steps, before and after, what is left; and as JSON."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from headwright.assemble.facts import weakest
from headwright.quantities import System
from headwright.views.findings import SuggestionRow, enter_row, suffixed
from headwright.views.text import CAUTION, FigureText, chance_text, figure_text, text_of

if TYPE_CHECKING:
    from headwright.records.measured import Provenance
    from headwright.studies.cutting import (
        Conflict,
        CuttingPlan,
        PlanStep,
        Relaxation,
        Tolerance,
    )

__all__ = [
    "LANDS",
    "NOT_POSSIBLE",
    "PlanView",
    "StepRow",
    "money_text",
    "plan_json",
    "plan_line",
    "plan_view",
]

NOT_POSSIBLE: Final = (
    "Nothing can be reckoned yet: no chamber volume, no gasket or no piston height is known. "
    "Measure them first."
)
LANDS: Final = "lands inside every limit"
GAP_WORDS: Final = "proven: no plan with this gasket loses less"
PARTS: Final = {"gasket": "gasket", "intake_valve": "valve", "exhaust_valve": "valve"}
SWITCHABLE: Final = (
    "head_cut",
    "deck_cut",
    "relief",
    "plug_boss",
    "gasket",
    "intake_seat",
    "exhaust_seat",
    "intake_pocket",
    "exhaust_pocket",
    "intake_valve",
    "exhaust_valve",
)


@dataclass(frozen=True, slots=True)
class StepRow:
    """One step of the plan, written out; ``key`` names it in a pin, empty where nothing can."""

    number: int
    key: str
    step: str
    name: str
    words: str
    amount: FigureText
    tolerance: str
    breaks: str
    hit: str
    reason: str
    hours: str
    money: str
    caution: str
    pinned: bool


@dataclass(frozen=True, slots=True)
class FigureRow:
    """One figure before and after, with what it must keep; floats are for drawing [SI]."""

    what: str
    before: str
    after: str
    limits: str
    value_before: float
    value_after: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class SwitchRow:
    """A step that may be ruled out: its name, its words, whether it is, and why it is not open."""

    step: str
    words: str
    forbidden: bool
    why: str


@dataclass(frozen=True, slots=True)
class PlanView:
    """A plan, written out."""

    build: str
    purpose: str
    casting: str
    reached: bool
    answer: str
    steps: tuple[StepRow, ...]
    figures: tuple[FigureRow, ...]
    left: tuple[tuple[str, FigureText, str], ...]
    landing: str
    by_numbers: str
    each: tuple[tuple[str, str], ...]
    measure: tuple[SuggestionRow, ...]
    machining: tuple[tuple[str, str], ...]
    others: tuple[tuple[str, ...], ...]
    conflict: tuple[str, ...]
    troubles: tuple[str, ...]
    notes: tuple[str, ...]
    switches: tuple[SwitchRow, ...]
    gaskets: tuple[str, ...]
    total_hours: str
    total_money: str
    metal: str
    objective: str
    caution: str = CAUTION


def money_text(money: float | None, currency: str) -> str:
    """Write a sum in the shop's currency; empty where the book holds no rate."""
    return "" if money is None else f"{money:.0f} {currency}"


def _currency(plan: CuttingPlan) -> str:
    shop = plan.trial.bundle.shop
    return shop.currency if shop else "shop currency"


def plan_line(plan: CuttingPlan | None, system: System) -> str:
    """Write a plan in one line: cost, metal, probability; or what stands against one."""
    if plan is None:
        return "no plan yet: too little is known"
    if plan.conflict is not None:
        return "no plan keeps every limit; " + _relax_words(plan.conflict.relaxations, system)
    if plan.failing:
        return f"no plan: {plan.failing[0].what[:1].lower()}{plan.failing[0].what[1:]} fails"
    words = _in_short(plan, system)
    metal = text_of(plan.figures.metal, "metal_lost", system)
    money = money_text(plan.money, _currency(plan)) or f"{plan.hours / 3600.0:.1f} h"
    chance = chance_text(plan.landing.probability)
    lands = f"lands {chance}" if chance else "odds not known: figures missing"
    near = "" if plan.miss < 0.01 else f"; {100.0 * plan.miss:.0f} % of the tolerance off the aim"
    return f"{words}; metal {metal}; {money}; {lands}{near}"


def _in_short(plan: CuttingPlan, system: System) -> str:
    """Write what is done, without reasons."""
    parts = [f"{side} valves {tag}" for side, tag in plan.valves]
    if not plan.problem.gaskets[plan.amounts.gasket].present:
        parts.append(f"gasket {plan.gasket}")
    if plan.amounts.deck_cut > 0.0:
        parts.append(f"block face {text_of(plan.amounts.deck_cut, 'depth_of_cut', system)}")
    depth = plan.needed.depth
    if depth:
        parts.append(f"head {text_of(depth, 'depth_of_cut', system)}")
    relieved = sum(1 for value in plan.amounts.reliefs if value > 0.0)
    if relieved:
        parts.append(f"{relieved} chamber{'s' if relieved > 1 else ''} relieved")
    for side, sunk, deeper in zip(
        ("intake", "exhaust"), plan.amounts.seats, plan.amounts.pockets, strict=True
    ):
        if sunk > 0.0:
            parts.append(f"{side} seats {text_of(sunk, 'depth_of_cut', system)}")
        if deeper > 0.0:
            parts.append(f"{side} pockets {text_of(deeper, 'depth_of_cut', system)}")
    opened = sum(1 for value in plan.amounts.bosses if value > 0.0)
    if opened:
        parts.append(f"{opened} plug bosses opened")
    return ", ".join(parts) or "nothing to cut"


def plan_view(plan: CuttingPlan, system: System) -> PlanView:
    """Write a plan out."""
    currency = _currency(plan)
    landing = plan.landing
    return PlanView(
        build=plan.trial.build.tag,
        purpose=plan.trial.build.purpose,
        casting=plan.trial.casting.tag,
        reached=plan.reached,
        answer=_answer(plan, system),
        steps=tuple(
            _step_row(place, step, plan, system, currency)
            for place, step in enumerate(plan.steps, start=1)
        ),
        figures=_figure_rows(plan, system),
        left=tuple(
            (item.what, figure_text(item.value, item.name, system), item.note) for item in plan.left
        ),
        landing=chance_text(landing.probability),
        by_numbers=chance_text(landing.by_numbers),
        each=tuple((what, chance_text(chance)) for what, chance in landing.each[:8]),
        measure=tuple(
            SuggestionRow(
                gain.what,
                gain.path.split(":", 1)[0],
                f"known exactly it would add {100.0 * gain.gain:.0f} points",
                enter_row(gain.fact) if gain.fact is not None else None,
            )
            for gain in landing.measure
        ),
        machining=tuple(
            (gain.what, f"done exactly it would add {100.0 * gain.gain:.0f} points")
            for gain in landing.machining
        ),
        others=tuple(
            (
                item.gasket,
                text_of(item.head_cut, "depth_of_cut", system),
                text_of(item.deck_cut, "depth_of_cut", system),
                text_of(item.metal, "metal_lost", system),
                chance_text(item.probability),
            )
            for item in plan.others
        ),
        conflict=_conflict_lines(plan.conflict, system) if plan.conflict else (),
        troubles=tuple(
            f"{_words(item.first)} should come before {_lower(_words(item.then))}: {item.why}"
            for item in plan.troubles
        ),
        notes=_notes(plan, system),
        switches=_switches(plan),
        gaskets=tuple(item.name for item in plan.problem.gaskets),
        total_hours=f"{plan.hours / 3600.0:.1f} h",
        total_money=money_text(plan.money, currency),
        metal=text_of(plan.figures.metal, "metal_lost", system),
        objective=_objective(plan, system),
    )


def _words(step: str) -> str:
    from headwright.studies.cutting.steps import WORDS

    return WORDS.get(step, step)


def _lower(words: str) -> str:
    return words[:1].lower() + words[1:]


def _answer(plan: CuttingPlan, system: System) -> str:
    if plan.conflict is not None:
        return "No plan keeps everything that is asked."
    if plan.failing:
        what = plan.failing[0].what
        return f"{what} fails, and no valve on the shelf mends it. The steps below reach the rest."
    if not any(step.amount is not None for step in plan.steps):
        return "Nothing has to be cut: the parts as they are meant reach every target."
    chance = chance_text(plan.landing.probability)
    lands = f" It {LANDS} with a probability of {chance}." if chance else ""
    aim = ""
    if plan.miss >= 0.01 and plan.problem.ratio is not None:
        low, high = min(plan.figures.ratios), max(plan.figures.ratios)
        aim = (
            f" The compression wanted is not hit, only come near: "
            f"{text_of(low, 'compression_ratio', system)} to "
            f"{text_of(high, 'compression_ratio', system)}."
        )
    cost = money_text(plan.money, _currency(plan))
    priced = f", {cost}" if cost else ""
    hours = f"{plan.hours / 3600.0:.1f} h"
    metal = text_of(plan.figures.metal, "metal_lost", system)
    done = _in_short(plan, system)
    done = f"{done[:1].upper()}{done[1:]}"
    return f"{done}: {hours}{priced}, {metal} of metal lost.{aim}{lands}"


def _objective(plan: CuttingPlan, system: System) -> str:
    if plan.conflict is not None:
        return ""
    bound = text_of(max(plan.bound, 0.0), "metal_lost", system)
    sure = GAP_WORDS if plan.proven else f"no plan loses less than {bound}"
    return (
        "Least metal lost, counted as depth off the head face: the head cut, three times the deck "
        "cut, relief over the chamber's opening, four times the seats, twice the pockets. "
        f"{sure[:1].upper()}{sure[1:]}."
    )


def _step_row(
    number: int, step: PlanStep, plan: CuttingPlan, system: System, currency: str
) -> StepRow:
    words = step.words + (f", cylinder {step.cylinder}" if step.cylinder else "")
    if step.part:
        words += f": {step.part}"
    key = f"{step.step}.{step.cylinder}" if step.cylinder else step.step
    pinnable = step.amount is not None and step.step not in {"pushrods", "stand_shim"}
    tolerance, breaks = _tolerance_words(step.tolerance, step.quantity, system)
    hit = ""
    if step.repeatability is not None and step.quantity:
        name = "relief_volume" if step.quantity == "relief_volume" else "work_dimension"
        hit = f"± {text_of(step.repeatability, name, system)}, {step.repeatability_source}"
    first = next(item for item in plan.steps if item.step == step.step) is step
    return StepRow(
        number=number,
        key=key if pinnable else "",
        step=step.step,
        name=step.words,
        words=words,
        amount=_amount(step, plan, system),
        tolerance=tolerance,
        breaks=breaks,
        hit=hit,
        reason=step.reason if first else "",
        hours=f"{step.hours / 3600.0:.2f} h",
        money=money_text(step.money, currency),
        caution=step.caution if first else "",
        pinned=step.pinned,
    )


def _amount(step: PlanStep, plan: CuttingPlan, system: System) -> FigureText:
    if step.amount is None:
        return FigureText("", "", "", is_guess=False)
    provenance: Provenance | None = None
    uncertainty = None
    if step.step == "head_cut" and plan.conflict is None:
        provenance = weakest(plan.needed.cut.facts)
        uncertainty = plan.needed.cut.uncertainty or None
    return figure_text(
        step.amount, step.quantity, system, uncertainty=uncertainty, provenance=provenance
    )


def _tolerance_words(tolerance: Tolerance | None, quantity: str, system: System) -> tuple[str, str]:
    if tolerance is None:
        return "", ""
    name = "relief_volume" if quantity == "relief_volume" else "work_dimension"
    parts, breaks = [], []
    for sign, value, what in (
        ("−", tolerance.short, tolerance.short_breaks),
        ("+", tolerance.beyond, tolerance.beyond_breaks),
    ):
        if value is not None:
            parts.append(f"{sign} {text_of(value, name, system)}")
            breaks.append(what)
    return ", ".join(parts) or "wide", "; ".join(dict.fromkeys(breaks))


def _figure_rows(plan: CuttingPlan, system: System) -> tuple[FigureRow, ...]:
    problem, before, after = plan.problem, plan.before, plan.figures
    limit = problem.limit
    rows: list[FigureRow] = []

    def add(
        what: str, name: str, one: float, other: float, low: float | None, high: float | None
    ) -> None:
        parts = [
            f"{sign} {text_of(value, name, system)}"
            for sign, value in (("≥", low), ("≤", high))
            if value is not None
        ]
        rows.append(
            FigureRow(
                what,
                text_of(one, name, system),
                text_of(other, name, system),
                ", ".join(parts),
                one,
                other,
                low,
                high,
            )
        )

    low, high = limit("compression_minimum"), limit("compression_maximum")
    if problem.ratio is not None:
        low = max(low or 0.0, problem.ratio - problem.ratio_near)
        high = min(high or 1e9, problem.ratio + problem.ratio_near)
    for place, case in enumerate(problem.cylinders):
        what = f"Compression, cylinder {case.number}"
        add(what, "compression_ratio", before.ratios[place], after.ratios[place], low, high)
    if problem.count > 1:
        most = limit("compression_spread_maximum")
        name = "compression_spread"
        add("Spread of compression", name, before.spread, after.spread, None, most)
    for place, case in enumerate(problem.cylinders):
        what = f"Chamber volume, cylinder {case.number}"
        add(what, "chamber_volume", before.chambers[place], after.chambers[place], None, None)
    if after.squish:
        least = _tightest(max, limit("squish_minimum"), limit("squish_wanted_low"))
        most = _tightest(min, limit("squish_maximum"), limit("squish_wanted_high"))
        name = "squish_clearance"
        add("Squish clearance, least", name, min(before.squish), min(after.squish), least, most)
        add("Squish clearance, largest", name, max(before.squish), max(after.squish), least, most)
    if before.thickness is not None and after.thickness is not None:
        least = limit("casting_thickness_minimum")
        name = "casting_thickness"
        add("Casting thickness", name, before.thickness, after.thickness, least, None)
    for place, side in enumerate(problem.sides):
        now, then = before.clearances[place], after.clearances[place]
        if now is not None and then is not None:
            least = limit(f"{side.side}_clearance")
            name = "valve_to_piston"
            add(f"{side.side.capitalize()} valve to piston", name, now, then, least, None)
    return tuple(rows)


def _tightest(choose: Any, *values: float | None) -> float | None:
    known = [value for value in values if value is not None]
    return choose(known) if known else None


def _relax_words(relaxations: tuple[Relaxation, ...], system: System) -> str:
    return "relax " + " and ".join(_relaxation(item, system) for item in relaxations)


def _relaxation(item: Relaxation, system: System) -> str:
    bound = item.bound
    if bound.key.startswith("shut:"):
        amount = text_of(item.needed, bound.name, system) if item.needed else ""
        step = _lower(_words(bound.key.partition(":")[2]))
        return f"allow to {step} {amount} ({bound.source})".replace("  ", " ")
    needed = text_of(item.needed, bound.name, system)
    return f"{bound.words} {text_of(bound.value, bound.name, system)} to {needed} ({bound.source})"


def _conflict_lines(conflict: Conflict, system: System) -> tuple[str, ...]:
    words = _relax_words(conflict.relaxations, system)
    sure = ", and nothing less will do" if conflict.proven else ""
    lines = [f"It would do to {words}{sure}."]
    lines += [f"Or {_relax_words(other, system)}." for other in conflict.others]
    return tuple(lines)


def _notes(plan: CuttingPlan, system: System) -> tuple[str, ...]:
    notes = []
    problem = plan.problem
    if problem.unknown_chambers:
        numbers = ", ".join(map(str, problem.unknown_chambers))
        notes.append(
            f"Reckoned from {problem.count} of {problem.count + len(problem.unknown_chambers)} "
            f"cylinders; measure the chamber of {numbers} before anything is cut."
        )
    if plan.landing.unknown:
        few = ", ".join(plan.landing.unknown[:4])
        more = len(plan.landing.unknown) - 4
        rest = f" and {more} more" if more > 0 else ""
        notes.append(f"No probability can be given without: {few}{rest}.")
    if problem.missing:
        notes.append(f"Not asked, because it is not known: {', '.join(problem.missing)}.")
    if plan.needed.beyond_pours:
        notes.append("The cut goes deeper than the chambers were measured: pour them there first.")
    if any(value > 1.5e-6 for value in plan.amounts.reliefs):
        notes.append(
            "More than 1.5 cc out of one chamber: measure the wall to the water first (common "
            "practice, no source)."
        )
    if any(step.step == "relief" for step in plan.steps) and plan.amounts.head_cut > 0.0:
        notes.append(
            "Take the relief below the depth of the head cut: metal above it goes with the face "
            "and counts for nothing."
        )
    notes += [
        "Pushrod length against the rod that keeps the rocker's geometry now: "
        f"{text_of(step.amount, 'pushrod_change', system)}; measure with an adjustable rod."
        for step in plan.steps
        if step.step == "pushrods"
    ]
    notes += [
        f"{_words(step)}: not open, {why}."
        for step, why in problem.closed.items()
        if why != "forbidden"
    ]
    if not any(item.clearance is not None for item in problem.sides):
        notes.append(
            "Valve to piston was not asked: check it with the clearances of this build before the "
            "head is cut, for every cut brings the valves nearer."
        )
    return tuple(notes)


def _switches(plan: CuttingPlan) -> tuple[SwitchRow, ...]:
    forbidden = set(plan.wishes.forbidden)
    return tuple(
        SwitchRow(
            step,
            _words(step),
            step in forbidden,
            "" if step in forbidden else plan.problem.closed.get(step, ""),
        )
        for step in SWITCHABLE
    )


# ---------------------------------------------------------------------------- JSON


def plan_json(plan: CuttingPlan | None) -> dict[str, Any]:
    """Return a plan as one plain document in SI."""
    if plan is None:
        return {"reached": False, "trouble": NOT_POSSIBLE, "caution": CAUTION}
    landing = plan.landing
    return {
        "build": plan.trial.build.tag,
        "casting": plan.trial.casting.tag,
        "is_estimate": True,
        "reached": plan.reached,
        "steps": [_step_json(step) for step in plan.steps],
        "before": _figures_json(plan, after=False),
        "after": _figures_json(plan, after=True),
        "metal_lost_m": plan.figures.metal,
        "least_metal_m": plan.bound if plan.conflict is None else None,
        "proven": plan.proven,
        "aim_missed_by_share_of_tolerance": plan.miss,
        "hours_s": plan.hours,
        "money": plan.money,
        "currency": _currency(plan),
        "landing_probability": landing.probability,
        "landing_by_numbers_probability": landing.by_numbers,
        "landing_samples": landing.samples,
        "landing_unknown": list(landing.unknown),
        "measure_next": [
            {"path": gain.path, "what": gain.what, "gain": gain.gain} for gain in landing.measure
        ],
        "machining": [
            {"path": gain.path, "what": gain.what, "gain": gain.gain} for gain in landing.machining
        ],
        "left": [
            {"what": item.what, suffixed("value", item.name): item.value} for item in plan.left
        ],
        "other_gaskets": [
            {
                "gasket": item.gasket,
                "head_cut_m": item.head_cut,
                "deck_cut_m": item.deck_cut,
                "metal_lost_m": item.metal,
                "landing_probability": item.probability,
            }
            for item in plan.others
        ],
        "conflict": _conflict_json(plan.conflict),
        "failing": [finding.what for finding in plan.failing],
        "order_troubles": [
            {"first": item.first, "then": item.then, "why": item.why} for item in plan.troubles
        ],
        "caution": CAUTION,
    }


def _step_json(step: PlanStep) -> dict[str, Any]:
    body: dict[str, Any] = {
        "step": step.step,
        "cylinder": step.cylinder,
        "part": step.part or None,
        "reason": step.reason,
        "hours_s": step.hours,
        "hours_source": step.hours_source,
        "money": step.money,
        "pinned": step.pinned,
        "caution": step.caution,
    }
    if step.quantity:
        body[suffixed("amount", step.quantity)] = step.amount
        name = step.quantity
        tolerance = step.tolerance
        body[suffixed("tolerance_short", name)] = tolerance.short if tolerance else None
        body[suffixed("tolerance_beyond", name)] = tolerance.beyond if tolerance else None
        body[suffixed("repeatability", name)] = step.repeatability
    return body


def _figures_json(plan: CuttingPlan, *, after: bool) -> dict[str, Any]:
    figures = plan.figures if after else plan.before
    return {
        "cylinders": [
            {
                "cylinder": case.number,
                "compression_ratio": figures.ratios[place],
                "chamber_volume_m3": figures.chambers[place],
            }
            for place, case in enumerate(plan.problem.cylinders)
        ],
        "compression_spread": figures.spread,
        "squish_clearance_m": list(figures.squish),
        "casting_thickness_m": figures.thickness,
        "piston_above_deck_m": figures.above_deck,
    }


def _conflict_json(conflict: Conflict | None) -> dict[str, Any] | None:
    if conflict is None:
        return None

    def told(relaxations: tuple[Relaxation, ...]) -> list[dict[str, Any]]:
        return [
            {
                "bound": item.bound.key,
                "what": item.bound.words,
                "quantity": item.bound.name,
                suffixed("limit", item.bound.name): item.bound.value,
                suffixed("value", item.bound.name): item.needed,
                "source": item.bound.source,
            }
            for item in relaxations
        ]

    return {
        "relax": told(conflict.relaxations),
        "or": [told(other) for other in conflict.others],
        "proven_smallest": conflict.proven,
    }
