"""Probabilities of breach against plain sampling of the records' figures.

The formulas are written out here a second time, on arrays; every figure is drawn from a normal
distribution once, and the share of draws beyond a limit is what the finding should have said
(JCGM 101:2008). The difference allowed is four standard errors of the sampling and 0.005 for the
slight curvature that first-order propagation leaves out.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from typing import Any, cast

import numpy as np
import pytest
from numpy.typing import NDArray

from headwright.assemble import Fact, Trial, gather, make_trial
from headwright.checks import Finding, run_checks
from headwright.demo import demo_records
from headwright.records import Build, Casting, FlowTest, Record
from headwright.studies.head_cut import needed_cut, with_cut

Array = NDArray[np.float64]
SAMPLES = 20_000


class Draws:
    """Draws of facts: the same fact is drawn once, wherever it is used."""

    def __init__(self, seed: int) -> None:
        self.generator = np.random.default_rng(seed)
        self.drawn: dict[Fact, Array] = {}

    def __call__(self, fact: Fact) -> Array:
        assert fact.value is not None
        if fact not in self.drawn:
            normal = self.generator.standard_normal(SAMPLES)
            self.drawn[fact] = fact.value + fact.uncertainty * normal
        return self.drawn[fact]


def chamber(of: Any, cut: Array, draw: Draws) -> Array:
    """Volume left in a chamber by a cut, from two pours or from its opening and depth."""
    if of.pours:
        (d1, v1), (d2, v2) = [(draw(depth), draw(volume)) for depth, volume in of.pours]
        return v1 - (v1 - v2) / (d2 - d1) * (cut - d1)
    volume, area = draw(of.volume), draw(of.face_area)
    if (
        of.depth.value is None
        or not 0.4 < of.volume.value / (of.face_area.value * of.depth.value) < 1.0
    ):
        return volume - area * cut
    depth = draw(of.depth)
    taper = 2.0 * (area * depth - volume) / depth**2
    return volume - area * cut + taper * cut**2 / 2.0


def ratio(trial: Trial, cylinder: Any, draw: Draws) -> Array:
    bore, stroke, rod = draw(cylinder.bore), draw(trial.stroke), draw(trial.rod_length)
    pin = draw(trial.pin_offset)
    travel = np.sqrt((rod + stroke / 2) ** 2 - pin**2) - np.sqrt((rod - stroke / 2) ** 2 - pin**2)
    clearance = (
        chamber(cylinder.chamber, draw(trial.head_cut), draw)
        + draw(cylinder.relief_volume)
        + math.pi / 4 * draw(trial.gasket_bore) ** 2 * draw(trial.gasket_thickness)
        + math.pi / 4 * bore**2 * (draw(cylinder.below_deck) - draw(trial.deck_cut))
        + draw(cylinder.crown_volume)
        + draw(cylinder.crevice_volume)
    )
    return 1.0 + math.pi / 4 * bore**2 * travel / clearance


def metal(first: Any, second: Any, draw: Draws) -> Array:
    rings = [
        item.insert_diameter if item.insert else item.head_diameter for item in (first, second)
    ]
    apart = np.hypot(draw(first.x) - draw(second.x), draw(first.y) - draw(second.y))
    return apart - (draw(rings[0]) + draw(rings[1])) / 2


def wall(cylinder: Any, valve: Any, diameter: Fact, draw: Draws) -> Array:
    off = np.hypot(draw(valve.x) - draw(cylinder.bore_x), draw(valve.y) - draw(cylinder.bore_y))
    return (draw(cylinder.bore) - draw(diameter)) / 2 - off


def sampled(trial: Trial, draw: Draws) -> dict[tuple[str, str], Array]:
    """Draw every figure a finding is about, by check and place."""
    found: dict[tuple[str, str], Array] = {
        ("thickness", "casting"): draw(trial.thickness_now) - draw(trial.head_cut),
        ("piston_speed", "short block"): draw(trial.stroke) * draw(trial.maximum_speed) / math.pi,
    }
    ratios = []
    for cylinder in trial.cylinders:
        at = f"cylinder {cylinder.number}"
        ratios.append(ratio(trial, cylinder, draw))
        found["compression", at] = ratios[-1]
        below = draw(cylinder.below_deck) - draw(trial.deck_cut)
        found["squish", at] = below + draw(trial.gasket_thickness)
        found["deck", at] = -below
        found["bridge", at] = metal(cylinder.intake, cylinder.exhaust, draw)
        for valve in (cylinder.intake, cylinder.exhaust):
            spot = f"{at} {valve.side}"
            found["valve_to_bore", spot] = wall(cylinder, valve, valve.head_diameter, draw)
            found["insert_to_bore", spot] = wall(cylinder, valve, valve.insert_diameter, draw)
    for left, right in itertools.pairwise(trial.cylinders):
        for one in (left.intake, left.exhaust):
            for two in (right.intake, right.exhaust):
                name = f"{one.side} {left.number} to {two.side} {right.number}"
                found["bridge", f"between cylinders: {name}"] = metal(one, two, draw)
    every = np.array(ratios)
    found["compression_spread", "all cylinders"] = every.max(axis=0) - every.min(axis=0)
    return found


def limits_of(finding: Finding, trial: Trial) -> list[tuple[str, float]]:
    """Return the limits a finding was held to, read from the build and its rules again."""
    if finding.check != "compression":
        assert finding.limit is not None
        own = [(finding.limit.bound, finding.limit.value)]
        rules = trial.bundle.limits
        if finding.check == "squish" and rules is not None:
            own = []
            if rules.squish_minimum:
                own.append(("minimum", rules.squish_minimum.value))
            own.append(("maximum", rules.squish_maximum.value if rules.squish_maximum else 1.5e-3))
        return own
    rules, target = trial.bundle.limits, trial.target_ratio.value
    assert rules is not None
    assert target is not None
    near = rules.compression_tolerance.value if rules.compression_tolerance else 0.25
    limits = [("minimum", target - near), ("maximum", target + near)]
    if rules.compression_minimum:
        limits.append(("minimum", rules.compression_minimum.value))
    if rules.compression_maximum:
        limits.append(("maximum", rules.compression_maximum.value))
    return limits


def breached(values: Array, limits: list[tuple[str, float]]) -> float:
    beyond = np.zeros(SAMPLES, dtype=bool)
    for bound, limit in limits:
        beyond |= values < limit if bound == "minimum" else values > limit
    return float(beyond.mean())


@pytest.fixture(scope="module")
def on_demo() -> Callable[[str, str], Trial]:
    records = demo_records()
    by_tag: dict[tuple[str, str], Record] = {(one.kind, one.tag): one for one in records}

    def make(build: str, casting: str) -> Trial:
        bundle = gather(
            cast("Build", by_tag["build", build]),
            lambda kind, tag: by_tag.get((kind, tag)),
            [one for one in records if isinstance(one, FlowTest)],
        )
        plain = make_trial(bundle.on(cast("Casting", by_tag["casting", casting])))
        return with_cut(plain, needed_cut(plain))

    return make


SAMPLED = {
    "thickness",
    "piston_speed",
    "compression",
    "compression_spread",
    "squish",
    "deck",
    "bridge",
    "valve_to_bore",
    "insert_to_bore",
}
"""Families drawn here; the others are sampled with their own tests."""


@pytest.mark.reference
@pytest.mark.parametrize(
    ("build", "casting"),
    [
        ("sprint-1500", "AL-01"),
        ("sprint-1500", "LI-02"),
        ("launch-1535", "EI-03"),
        ("launch-1535", "EI-19"),
    ],
)
def test_probability_of_breach_is_the_share_of_draws_beyond(
    on_demo: Callable[[str, str], Trial], build: str, casting: str
) -> None:
    trial = on_demo(build, casting)
    draws = sampled(trial, Draws(seed=11))
    compared = open_ones = 0
    for finding in run_checks(trial):
        if finding.value is None or finding.check not in SAMPLED:
            continue
        chance = finding.probability_of_breach
        if chance is None:
            continue
        values = draws[finding.check, finding.where]
        share = breached(values, limits_of(finding, trial))
        error = 4.0 * math.sqrt(max(share * (1.0 - share), 1.0 / SAMPLES) / SAMPLES)
        if finding.check == "compression_spread":
            error *= math.sqrt(2.0)  # both sides are sampled
        assert chance == pytest.approx(share, abs=error + 0.005), (finding.what, chance, share)
        if finding.check != "compression_spread":
            assert finding.value == pytest.approx(np.median(values), abs=5 * values.std() / 100)
        compared += 1
        open_ones += 0.02 < chance < 0.98
    assert compared >= 20
    assert open_ones >= 2, "the case must have findings that are not clear-cut"
