"""What remains of a damaged casting after each repair, and whether any repair is sound."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from headwright.assemble import Derived, Trial
from headwright.checks import families
from headwright.checks.finding import Finding, judge, plain_finding
from headwright.checks.repair_place import Place, Route, place_of
from headwright.checks.repair_routes import routes_for
from headwright.records.casting import Damage

__all__ = [
    "Repair",
    "check_damage",
    "check_repair",
    "one_line",
    "repairs_of",
    "scrap_reason",
    "tightest",
]


@dataclass(frozen=True, slots=True)
class Repair:
    """One open damage with every way to mend it, the best first.

    ``best`` is the cheapest sound route, None where none is.
    """

    place: Place
    routes: tuple[Route, ...]
    best: Route | None

    @property
    def unknown(self) -> bool:
        """Tell whether a route might do once something is measured."""
        return self.best is None and any(one.verdict == "unknown" for one in self.routes)


def repairs_of(trial: Trial) -> tuple[Repair, ...]:
    """Return the open damages of a trial's casting with the ways to mend them."""
    found = []
    for damages in _together(trial):
        place = place_of(trial, damages)
        routes = routes_for(trial, place)
        found.append(Repair(place, routes, next((one for one in routes if one.sound), None)))
    return tuple(found)


def _together(trial: Trial) -> list[dict[int, Damage]]:
    """Part the open damages into those that must be mended together: all of one bridge."""
    groups: dict[object, dict[int, Damage]] = {}
    for number, damage in enumerate(trial.casting.damage):
        if damage.open:
            bridge = damage.feature == "bridge" and damage.cylinder is not None
            key = ("bridge", damage.cylinder) if bridge else number
            groups.setdefault(key, {})[number] = damage
    return list(groups.values())


def tightest(route: Route) -> Finding | None:
    """Return the finding of a route nearest to its limit; None where none is a figure."""
    return min(
        (one for one in route.findings if one.margin is not None),
        key=lambda one: (-(one.probability_of_breach or 0.0), one.margin or 0.0),
        default=None,
    )


def scrap_reason(repairs: tuple[Repair, ...]) -> str:
    """Say why a casting is scrap; empty where it is not, or where something is yet to measure."""
    hopeless = [one for one in repairs if one.best is None and not one.unknown]
    return " ".join(
        f"{one.place.words}: no repair leaves enough ("
        + "; ".join(
            dict.fromkeys(
                f"{route.words}: {route.why_not}" for route in one.routes if route.why_not
            )
        )
        + ")."
        for one in hopeless
    )


def one_line(repair: Repair, currency: str = "") -> str:
    """Write the cheapest sound route of one damage on one line."""
    best = repair.best
    if best is None:
        if repair.unknown:
            asked = next(one for one in repair.routes if one.verdict == "unknown")
            return (
                f"No sound route yet. {asked.words[:1].upper()}{asked.words[1:]}: {asked.why_not}"
            )
        return "No route leaves enough metal: scrap, or an ornament."
    left = tightest(best)
    words = f"Cheapest sound route: {best.words}"
    if left is not None and left.value is not None:
        words += f"; {left.what[:1].lower()}{left.what[1:]} {1e3 * left.value:.2f} mm"
    if best.hours and best.cost is not None:
        words += f"; about {best.hours / 3600.0:.1f} h, {best.cost:.0f} {currency}".rstrip()
    if best.verdict == "close":
        words += "; at a risk"
    return words + "."


def check_damage(trial: Trial) -> Iterator[Finding]:
    """Is anything broken that the cut does not clean up? Says the cheapest sound route too."""
    found = list(families.check_damage(trial))
    lines = _lines(trial) if any(one.verdict != "good" for one in found) else {}
    for one in found:
        line = lines.get((one.what, one.where))
        told = line and one.verdict in {"close", "fails"}
        yield replace(one, advice=f"{one.advice} {line}") if told else one


def _lines(trial: Trial) -> dict[tuple[str, str], str]:
    currency = trial.bundle.shop.currency if trial.bundle.shop else ""
    lines = {}
    for repair in repairs_of(trial):
        for number in repair.place.numbers:
            damage = trial.casting.damage[number]
            what = f"{damage.sort.replace('_', ' ').capitalize()}: {damage.where}"
            where = f"cylinder {damage.cylinder}" if damage.cylinder else "casting"
            lines[what, where] = one_line(repair, currency)
    return lines


def check_repair(trial: Trial) -> Iterator[Finding]:
    """Does any repair of each open damage leave enough? Asked where there is damage."""
    for repair in repairs_of(trial):
        what = f"Repair of {repair.place.words[:1].lower()}{repair.place.words[1:]}"
        where = (
            f"cylinder {repair.place.damage.cylinder}"
            if repair.place.damage.cylinder
            else "casting"
        )
        if repair.best is not None:
            tight = tightest(repair.best)
            verdict = repair.best.verdict
            if tight is None:
                yield plain_finding("repair", what, where, verdict, one_line(repair))
            else:
                yield replace(
                    tight,
                    check="repair",
                    what=f"{what}: {repair.best.words}: {tight.what[:1].lower()}{tight.what[1:]}",
                    where=where,
                    verdict=verdict,
                    advice=repair.best.risk if verdict != "good" else "",
                )
        elif repair.unknown:
            asked = next(one for one in repair.routes if one.verdict == "unknown")
            facts = tuple(dict.fromkeys(fact for one in asked.findings for fact in one.measure))
            yield judge(
                "repair", what, where, Derived("repair_left", None, facts=facts, missing=facts), []
            )
        else:
            yield plain_finding("repair", what, where, "fails", scrap_reason((repair,)))
