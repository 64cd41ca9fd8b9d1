"""Ways to mend a damaged casting as every face shows them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from headwright.quantities import System
from headwright.views.drawing_pen import CHAIN, DASHED, FULL, Pen
from headwright.views.figures import FigureTable
from headwright.views.text import CAUTION, VERDICT_MARKS, figure_text

if TYPE_CHECKING:
    from headwright.checks import Verdict
    from headwright.checks.finding import Finding
    from headwright.checks.repair import Repair
    from headwright.checks.repair_place import Route
    from headwright.studies.repair import RepairReport

__all__ = [
    "REPAIR_CAUTION",
    "RepairView",
    "RouteRow",
    "WoundView",
    "repair_json",
    "repair_view",
]

REPAIR_CAUTION: Final = (
    "Have the casting tested for cracks before any money is spent on it, and again after. Welding "
    "and brazing of castings is work for an experienced welder, licensed where the law asks it. "
    "Old seats and valves may carry lead: grind wet or with extraction, wear a mask, keep the dust "
    f"off your hands and out of the house. {CAUTION}"
)

VERDICT_WORDS: Final = {
    "good": "sound",
    "close": "sound, at a risk",
    "unknown": "measure first",
    "fails": "leaves too little",
}


@dataclass(frozen=True, slots=True)
class RouteRow:
    """One way to mend a place, written out."""

    mark: str
    verdict: Verdict
    verdict_words: str
    words: str
    leaves: tuple[str, ...]
    work: str
    risk: str
    why_not: str
    best: bool


@dataclass(frozen=True, slots=True)
class WoundView:
    """One damage with every way to mend it; ``svg`` is empty where its place is not known."""

    title: str
    line: str
    routes: tuple[RouteRow, ...]
    svg: str
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RepairView:
    """A damaged casting, written out."""

    casting: str
    build: str
    short_block: str
    mark: str
    verdict: Verdict
    answer: str
    scrap: str
    wounds: tuple[WoundView, ...]
    tables: tuple[FigureTable, ...]
    notes: tuple[str, ...]
    caution: str = REPAIR_CAUTION


def repair_view(report: RepairReport, system: System) -> RepairView:
    """Write the ways to mend a casting out."""
    spare = figure_text(0.5e-3, "metal_between", system).both
    wounds = tuple(
        _wound(repair, line, report.currency, system)
        for repair, line in zip(report.repairs, report.lines, strict=True)
    )
    return RepairView(
        casting=report.casting.tag,
        build=report.build,
        short_block=report.short_block,
        mark=VERDICT_MARKS[report.verdict],
        verdict=report.verdict,
        answer=_answer(report),
        scrap=report.scrap,
        wounds=wounds,
        tables=tuple(
            FigureTable(
                wound.title,
                ("Way", "verdict", "leaves", "work", "why not"),
                tuple(
                    (
                        row.words,
                        f"{row.mark} {row.verdict_words}",
                        "; ".join(row.leaves),
                        row.work,
                        row.why_not,
                    )
                    for row in wound.routes
                ),
            )
            for wound in wounds
        ),
        notes=(
            "A route is sound where all it leaves keeps its limit by the best estimate; at a risk "
            "where a limit is near or the work may spoil the casting.",
            f"An insert takes the damage in with {spare} to spare; the other sizes follow.",
            "Hours are for each repair alone, set up anew: an upper estimate.",
        ),
    )


def _answer(report: RepairReport) -> str:
    count = len(report.repairs)
    if not count:
        return "No open damage is recorded."
    if report.scrap:
        return "No repair leaves enough: scrap."
    damage = "The open damage" if count == 1 else f"All {count} open damages"
    if report.verdict == "unknown":
        return f"{count} open damage{'s' if count > 1 else ''}: measure before deciding."
    work = ""
    if report.hours is not None and report.cost is not None:
        work = (
            f": about {report.hours / 3600.0:.1f} h, {report.cost:.0f} {report.currency}, by the "
            "cheapest sound routes"
        )
    risk = "; at a risk" if report.verdict == "close" else ""
    return f"{damage} can be mended{work}{risk}."


def _work(route: Route, currency: str) -> str:
    if route.hours is None or route.cost is None:
        return "not priced"
    if not route.hours:
        return "none"
    return f"{route.hours / 3600.0:.1f} h, {route.cost:.0f} {currency}".rstrip()


def _leaves(finding: Finding, system: System) -> str:
    if finding.value is None or finding.quantity is None:
        return f"{finding.what}: {finding.advice or 'not known'}"
    value = figure_text(
        finding.value, finding.quantity, system, uncertainty=finding.uncertainty
    ).both
    limit = ""
    if finding.limit is not None:
        word = "at least" if finding.limit.bound == "minimum" else "at most"
        least = figure_text(finding.limit.value, finding.quantity, system).first
        limit = f", {word} {least} ({finding.limit.source})"
    return f"{VERDICT_MARKS[finding.verdict]} {finding.what}: {value}{limit}"


def _wound(repair: Repair, line: str, currency: str, system: System) -> WoundView:
    place = repair.place
    missing = [fact.what for fact in (*place.facts.values(), place.depth) if not fact.is_known]
    for route in repair.routes:
        missing += [fact.what for one in route.findings for fact in one.measure]
    depth = figure_text(
        place.depth.value,
        "damage_depth",
        system,
        uncertainty=place.depth.uncertainty,
        provenance=place.depth.provenance,
    )
    return WoundView(
        title=f"{place.words}, {depth.both} deep" if place.depth.is_known else place.words,
        line=line,
        routes=tuple(
            RouteRow(
                VERDICT_MARKS[route.verdict],
                route.verdict,
                VERDICT_WORDS[route.verdict],
                route.words,
                tuple(_leaves(one, system) for one in route.findings if one.quantity),
                _work(route, currency),
                route.risk,
                route.why_not,
                route is repair.best,
            )
            for route in repair.routes
        ),
        svg=_drawing(repair, system),
        missing=tuple(dict.fromkeys(missing)),
    )


def _drawing(repair: Repair, system: System) -> str:
    """Draw the damage between its valves, with the insert that takes it in; empty if not placed."""
    from headwright.checks.layout import ring_diameter
    from headwright.checks.repair_inserts import insert_sizes
    from headwright.checks.repair_place import damage_patches

    place, cylinder = repair.place, repair.place.cylinder
    if cylinder is None or not place.is_placed:
        return ""
    pen = Pen()
    for valve in (cylinder.intake, cylinder.exhaust):
        ring = ring_diameter(valve)
        if valve.x.value is None or valve.y.value is None or ring.value is None:
            continue
        x, y = 1e3 * valve.x.value, 1e3 * valve.y.value
        guess = {valve.x.provenance, ring.provenance} & {"estimated", "assumed"}
        pen.circle(x, y, 500.0 * ring.value, DASHED if guess else FULL, width=1.4)
        pen.cross(x, y, 2.0)
        pen.words(x, y + 3.0, f"{valve.side} {cylinder.number}", 3.4)
    if cylinder.bore_x.value is not None and cylinder.bore_y.value is not None:
        pen.circle(
            1e3 * cylinder.bore_x.value,
            1e3 * cylinder.bore_y.value,
            500.0 * (cylinder.bore.value or 0.0) or 1.0,
            CHAIN,
        )
    for side, size in insert_sizes(place, cylinder).items():
        valve = cylinder.valve(side)
        if valve.x.value is None or valve.y.value is None:
            continue
        x, y = 1e3 * valve.x.value, 1e3 * valve.y.value
        pen.circle(x, y, 500.0 * size, "2 2")
        words = figure_text(size, "insert_diameter", system).both
        up = 1.0 if side == "intake" else -1.0
        at = y + up * 500.0 * size + (2.0 if up > 0.0 else -5.0)
        pen.words(x, at, f"insert {words}", 3.4)
    for patch in damage_patches(place):
        corners = [(1e3 * x, 1e3 * y) for x, y in patch.corners]
        pen.polygon(corners, width=2.0)
        pen.line(corners[0], corners[2], width=0.8)
        pen.line(corners[1], corners[3], width=0.8)
    words = (
        f"{place.words}: the damage crossed, seats in full lines, the insert that would take it in "
        "dotted, the bore in a chain line."
    )
    name = "wound-" + "-".join(str(number) for number in place.numbers)
    return pen.svg(name, place.words, words)


def repair_json(report: RepairReport) -> dict[str, Any]:
    """Return the ways to mend a casting as one plain document in SI."""
    return {
        "casting": report.casting.tag,
        "build": report.build or None,
        "short_block": report.short_block,
        "verdict": report.verdict,
        "scrap": report.scrap or None,
        "work_s": report.hours,
        "cost": report.cost,
        "currency": report.currency or None,
        "damages": [
            {
                "numbers": list(repair.place.numbers),
                "what": repair.place.words,
                "depth_m": repair.place.depth.value,
                "line": line,
                "best": repair.best.kind if repair.best else None,
                "routes": [
                    {
                        "kind": route.kind,
                        "words": route.words,
                        "verdict": route.verdict,
                        "sound": route.sound,
                        "work_s": route.hours,
                        "cost": route.cost,
                        "risk": route.risk,
                        "why_not": route.why_not or None,
                        "findings": [_finding_json(one) for one in route.findings],
                    }
                    for route in repair.routes
                ],
            }
            for repair, line in zip(report.repairs, report.lines, strict=True)
        ],
        "caution": REPAIR_CAUTION,
    }


def _finding_json(finding: Finding) -> dict[str, Any]:
    return {
        "what": finding.what,
        "verdict": finding.verdict,
        "quantity": finding.quantity,
        "value_m": finding.value,
        "uncertainty_m": finding.uncertainty,
        "limit_m": finding.limit.value if finding.limit else None,
        "limit_source": finding.limit.source if finding.limit else None,
        "probability_of_breach": finding.probability_of_breach,
        "measure": [fact.what for fact in finding.measure],
    }
