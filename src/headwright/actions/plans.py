"""The cutting plan of a build."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, cast

from pydantic import ValidationError

from headwright.actions.gathering import bundle_of_tag
from headwright.errors import InputError, Problem, RecordError
from headwright.quantities import System, parse
from headwright.records import Build, Casting, Measured
from headwright.records.cutting import (
    CUTTING_STEPS,
    CYLINDER_STEPS,
    PART_STEPS,
    CuttingStep,
    CuttingWishes,
    PinnedStep,
)

if TYPE_CHECKING:
    from headwright.storage.repository import Book
    from headwright.studies.cutting import CuttingPlan

__all__ = ["plan_of_build", "wishes_of_build"]

MOST_PINS = 40
FOLLOW = frozenset({"pushrods", "stand_shim"})
"""Steps whose amount follows from the others."""


def plan_of_build(
    book: Book,
    tag: str,
    *,
    casting: str | None = None,
    wishes: CuttingWishes | None = None,
    brief: bool = False,
) -> CuttingPlan | None:
    """Make the cutting plan of a build on its casting, or on another.

    Args:
        book: the open book.
        tag: the build's tag.
        casting: plan for this casting instead; needed where the build names none.
        wishes: pinned and forbidden steps and their order; the build's own where left out.
        brief: leave out tolerances, what to measure and the other gaskets.

    Returns:
        The plan; None where too little is known to reckon anything.

    Raises:
        UnknownRecordError: no such build or casting.
        RecordError: the build names no casting and none is given.
        InputError: a pin names something that is not there.
    """
    from headwright.assemble import make_trial
    from headwright.studies.cutting import make_plan

    bundle = bundle_of_tag(book, tag)
    if casting is not None:
        bundle = bundle.on(cast("Casting", book.get("casting", casting)))
    return make_plan(make_trial(bundle), wishes, brief=brief)


def wishes_of_build(
    book: Book,
    tag: str,
    *,
    pins: Iterable[str] = (),
    forbidden: Iterable[str] = (),
    order: Sequence[str] = (),
    system: System = "inch",
) -> CuttingWishes:
    """Put what is wished now over what the build settles itself.

    Args:
        book: the open book.
        tag: the build's tag.
        pins: such as ``head_cut=1.2 mm``, ``relief.2=0.5 cc``, ``gasket=NAME``; an empty value
            takes a pin of the build away.
        forbidden: names of steps; ``-step`` allows one the build forbids.
        order: names of steps in the order wished; the build's own where empty.
        system: whose units a bare number has.

    Raises:
        UnknownRecordError: no such build.
        InputError: no such step, an amount that cannot be read, a step pinned and forbidden at
            once.
    """
    own = cast("Build", book.get("build", tag)).plan
    kept = {(pin.step, pin.cylinder): pin for pin in own.pinned}
    ruled_out = dict.fromkeys(own.forbidden)
    for text in pins:
        pin, taken_away = _pin(text, system)
        kept.pop((pin.step, pin.cylinder), None)
        if not taken_away:
            kept[pin.step, pin.cylinder] = pin
            ruled_out.pop(pin.step, None)
    for name in forbidden:
        if name.startswith("-"):
            ruled_out.pop(_step_named(name[1:]), None)
            continue
        step = _step_named(name)
        ruled_out[step] = None
    ordered = tuple(dict.fromkeys(_step_named(name) for name in order)) or own.order
    if len(kept) > MOST_PINS:
        raise InputError(f"pin: {len(kept)} steps are pinned; at most {MOST_PINS}")
    wishes = CuttingWishes(pinned=tuple(kept.values()), forbidden=tuple(ruled_out), order=ordered)
    problems = list(wishes.problems("plan"))
    if problems:
        raise RecordError([Problem(one.path, one.message) for one in problems])
    return wishes


def _step_named(name: str) -> CuttingStep:
    wanted = name.strip().replace("-", "_").lower()
    found = next((step for step in CUTTING_STEPS if step == wanted), None)
    if found is not None:
        return found
    near = difflib.get_close_matches(wanted[:60], CUTTING_STEPS, n=1)
    hint = f"; did you mean {near[0]}?" if near else f"; one of: {', '.join(CUTTING_STEPS)}"
    raise InputError(f"plan: {name[:60]!r} is no step{hint}")


def _pin(text: str, system: System) -> tuple[PinnedStep, bool]:
    """Read ``step=value``; return the pin, and whether it is one to be taken away."""
    left, mark, value = text.partition("=")
    name, _, number = left.strip().partition(".")
    step = _step_named(name)
    if not mark:
        raise InputError(f"pin: {text[:60]!r} has no value; write {step}=1.2 mm")
    if step in FOLLOW:
        raise InputError(f"pin: {step} follows from the other steps; pin those")
    cylinder: int | None = None
    if number:
        if step not in CYLINDER_STEPS:
            raise InputError(f"pin: {step} is the same for every cylinder; write {step}=...")
        if not (number.isascii() and number.isdigit() and 1 <= int(number) <= 12):
            raise InputError(f"pin: {number[:20]!r} is no cylinder; write {step}.2=0.5 cc")
        cylinder = int(number)
    value = value.strip()
    if not value:
        return PinnedStep(step=step, cylinder=cylinder), True
    if step in PART_STEPS:
        try:
            return PinnedStep(step=step, part=value), False
        except ValidationError:
            raise InputError(
                f"pin {step}: {ascii(value)[:60]} is no name; 1 to 120 characters on one line"
            ) from None
    name = "relief_volume" if step in CYLINDER_STEPS else "depth_of_cut"
    amount = parse(value, name, system=system)
    unit = "m3" if step in CYLINDER_STEPS else "m"
    figure = Measured(value=amount.value, unit=unit, provenance="assumed", note="pinned")
    if step in CYLINDER_STEPS:
        return PinnedStep(step=step, cylinder=cylinder, volume=figure), False
    return PinnedStep(step=step, depth=figure), False
