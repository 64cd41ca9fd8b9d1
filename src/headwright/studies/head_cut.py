"""The head cut and chamber reliefs that bring every cylinder to the target compression."""

from __future__ import annotations

from dataclasses import dataclass, replace

from headwright.assemble import Derived, Fact, Trial, derive
from headwright.assemble.chamber import chamber_model
from headwright.assemble.facts import best_estimate
from headwright.assemble.trial import CylinderFacts
from headwright.checks.volumes import (
    clearance_facts,
    clearance_of,
    swept_of,
)
from headwright.geometry.volumes import clearance_for_ratio

__all__ = ["NeededCut", "needed_cut", "with_cut"]

LEAST_LEFT_M = 10e-3
"""No casting is of use with less metal than this over the chambers (own judgement, no source)."""

DEEPEST_CUT_M = 15e-3
"""No head is cut deeper than this where neither its depth nor its thickness is known (own
judgement, no source)."""

SMALLEST_RELIEF_M3 = 0.05e-6
"""Below this no one takes a grinder to a chamber (own judgement, no source)."""


@dataclass(frozen=True, slots=True)
class NeededCut:
    """What must be cut to reach the target compression in every cylinder whose chamber is known.

    The head is cut until the cylinder with the most room reaches the target; the others are
    relieved to match. ``cut`` is that depth with its uncertainty; it is negative where all
    chambers are already too small, and then only relieving helps. It is unknown, and
    ``out_of_reach`` says why, where no cut gets there. ``reliefs`` gives the volume to
    come out of each chamber by cylinder [m3]. ``known`` of ``total`` chambers are known;
    ``beyond_pours`` tells that the cut goes deeper than the chambers' model is good for.
    """

    cut: Derived
    deciding_cylinder: int | None = None
    reliefs: tuple[tuple[int, float], ...] = ()
    known: int = 0
    total: int = 0
    beyond_pours: bool = False
    out_of_reach: str = ""

    @property
    def depth(self) -> float | None:
        """Return the depth to cut [m], zero where nothing is to come off; None if unknown."""
        return None if self.cut.value is None else max(0.0, self.cut.value)


def _out_of_reach(trial: Trial, depth: float) -> str:
    """Say why no cut of a depth can be made; empty where it can."""
    depths = [
        (cylinder.chamber.depth.value, cylinder.number)
        for cylinder in trial.cylinders
        if cylinder.chamber.depth.value is not None
    ]
    if depths and depth >= min(depths)[0]:
        return (
            "the target cannot be reached by cutting: "
            f"the chamber of cylinder {min(depths)[1]} is not that deep"
        )
    thickness = trial.thickness_now.value
    if thickness is not None and depth >= thickness - LEAST_LEFT_M:
        return "the target cannot be reached by cutting: the casting is not that thick"
    if depth > DEEPEST_CUT_M:
        return "the target cannot be reached by cutting: no head is cut that deep"
    return ""


def chamber_wanted(trial: Trial, cylinder: CylinderFacts) -> float | None:
    """Return the chamber volume, relief included, that gives the target compression [m3].

    The best estimate alone; None where a figure is missing.
    """
    facts = clearance_facts(trial, cylinder) | {"target": trial.target_ratio}

    def wanted(target: float, **values: float) -> float:
        swept = swept_of(
            values["bore"], values["stroke"], values["rod_length"], values["pin_offset"]
        )
        return clearance_for_ratio(swept, target) - clearance_of({**values, "relief": 0.0}, 0.0)

    return best_estimate(wanted, facts)


def cut_wanted(trial: Trial, cylinder: CylinderFacts) -> Derived:
    """Return the depth of cut at which this one cylinder meets the target compression [m]."""
    model_facts, make = chamber_model(cylinder.chamber)
    facts = clearance_facts(trial, cylinder) | model_facts | {"target": trial.target_ratio}

    def cut(target: float, **values: float) -> float:
        swept = swept_of(
            values["bore"], values["stroke"], values["rod_length"], values["pin_offset"]
        )
        chamber = clearance_for_ratio(swept, target) - clearance_of(values, 0.0)
        return float(make(values).cut_unlimited(chamber))

    return derive("depth_of_cut", cut, facts)


def needed_cut(trial: Trial) -> NeededCut:
    """Find the head cut and the reliefs for the target compression, with uncertainty."""
    total = len(trial.cylinders)
    wanted = [(cylinder, cut_wanted(trial, cylinder)) for cylinder in trial.cylinders]
    usable = [(cylinder, cut) for cylinder, cut in wanted if cut.value is not None]
    if not usable:
        missing = tuple(dict.fromkeys(fact for _, cut in wanted for fact in cut.missing))
        trouble = next((cut.trouble for _, cut in wanted if cut.trouble), "")
        return NeededCut(
            Derived("depth_of_cut", None, missing=missing, trouble=trouble), total=total
        )
    deciding, cut = max(usable, key=lambda pair: pair[1].value or 0.0)
    depth = max(0.0, cut.value or 0.0)
    if trouble := _out_of_reach(trial, depth):
        nothing = Derived("depth_of_cut", None, facts=cut.facts, trouble=trouble)
        return NeededCut(
            nothing, deciding.number, known=len(usable), total=total, out_of_reach=trouble
        )
    reliefs = []
    beyond = False
    for cylinder, _ in usable:
        facts, make = chamber_model(cylinder.chamber)
        model = make({key: fact.value for key, fact in facts.items() if fact.value is not None})
        short = (chamber_wanted(trial, cylinder) or 0.0) - float(model.volume_unlimited(depth))
        if short > SMALLEST_RELIEF_M3:
            reliefs.append((cylinder.number, short))
        beyond = beyond or (depth > 0.0 and model.extrapolates(depth))
    return NeededCut(cut, deciding.number, tuple(reliefs), len(usable), total, beyond)


def with_cut(trial: Trial, needed: NeededCut) -> Trial:
    """Return the trial with the needed cut and the needed reliefs."""
    depth = needed.depth
    if depth is None:
        return trial
    reliefs = dict(needed.reliefs)
    return replace(
        trial,
        solved_cut=needed.cut if depth > 0.0 else None,
        head_cut=Fact("depth_of_cut", "head cut to reach the target", "head cut", depth),
        cylinders=tuple(
            replace(
                cylinder,
                relief_volume=Fact(
                    "relief_volume",
                    f"relief of cylinder {cylinder.number} to reach the target",
                    f"chamber relief, cylinder {cylinder.number}",
                    reliefs[cylinder.number],
                ),
            )
            if cylinder.number in reliefs
            else cylinder
            for cylinder in trial.cylinders
        ),
    )
