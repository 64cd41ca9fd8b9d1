"""The largest pair of valves a bore, its centres and the metal between them allow.

For heads of diameters Di and De whose inserts (or seats, where none are fitted) are larger by oi
and oe, on centres ci and ce in a bore of radius Rb:

    bridge             |ci - ce| >= (Di + oi + De + oe) / 2 + least bridge
    head to bore       |c| + D / 2 <= Rb - least gap, each valve
    insert to bore     |c| + (D + o) / 2 <= Rb - least gap of inserts, each valve, where asked
    other features     distance - (D + o) / 2 - r >= least wall, where there are any
    class rules        D <= largest allowed

Each centre may be moved from where the casting has it by up to a shift, as an eccentric guide or
a casting with wider centres does. Where the centres stay, every rule is linear in the two
diameters and the answers are exact. Where they move, a pair fits when the two discs the centres
may lie in, cut by the bore's rule, hold two points far enough apart; the furthest two points of
two such regions are found by going from one to the furthest point of the other and back, from
many starts.

"Best" is said by the caller: the largest intake for a given ratio of exhaust to intake head
(:func:`largest_pair`), or all pairs of which neither valve can grow without the other shrinking
(:func:`pairs_on_the_limit`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from headwright.errors import InputError
from headwright.geometry.face import Circle
from headwright.geometry.scalar import require_finite, require_not_negative, require_positive

__all__ = [
    "ValvePair",
    "ValveRoom",
    "bridge_gained",
    "largest_exhaust",
    "largest_pair",
    "pair_that_fits",
    "pairs_on_the_limit",
]

Point = tuple[float, float]
_STARTS: Final = 8
_BISECTIONS: Final = 34
_TINY: Final = 1e-12


@dataclass(frozen=True, slots=True)
class ValveRoom:
    """What two valves of one cylinder have to fit into; positions from the bore's axis.

    Attributes:
        bore: diameter [m].
        intake: centre of the intake valve as the casting has it [m].
        exhaust: centre of the exhaust valve [m].
        bridge_minimum: least metal between the two inserts or seats [m].
        wall_minimum: least gap from a head's edge to the bore [m].
        intake_over: insert diameter over head diameter [m]; nought without an insert.
        exhaust_over: likewise [m].
        insert_wall_minimum: least gap from an insert's edge to the bore [m], negative where it may
            reach beyond; None where it is not asked.
        intake_maximum: largest intake head allowed [m]; None where there is no rule.
        exhaust_maximum: likewise [m].
        intake_shift: how far the intake's centre may be moved [m].
        exhaust_shift: likewise [m].
        others: other round features (plug, water, a neighbour's insert) the inserts keep off.
        others_minimum: least wall to those [m].
    """

    bore: float
    intake: Point
    exhaust: Point
    bridge_minimum: float
    wall_minimum: float = 0.0
    intake_over: float = 0.0
    exhaust_over: float = 0.0
    insert_wall_minimum: float | None = None
    intake_maximum: float | None = None
    exhaust_maximum: float | None = None
    intake_shift: float = 0.0
    exhaust_shift: float = 0.0
    others: tuple[Circle, ...] = ()
    others_minimum: float = 0.0

    def __post_init__(self) -> None:
        require_positive("bore", self.bore, "m")
        for name, point in (("intake", self.intake), ("exhaust", self.exhaust)):
            require_finite(f"{name} centre", math.hypot(*point), "m")
        require_not_negative("intake_over", self.intake_over, "m")
        require_not_negative("exhaust_over", self.exhaust_over, "m")
        require_not_negative("intake_shift", self.intake_shift, "m")
        require_not_negative("exhaust_shift", self.exhaust_shift, "m")
        require_finite("bridge_minimum", self.bridge_minimum, "m")
        require_finite("wall_minimum", self.wall_minimum, "m")

    @property
    def is_fixed(self) -> bool:
        """Tell whether both centres stay where the casting has them."""
        return self.intake_shift == 0.0 and self.exhaust_shift == 0.0


@dataclass(frozen=True, slots=True)
class ValvePair:
    """Two valve heads that fit.

    Attributes:
        intake: head diameter [m].
        exhaust: head diameter [m].
        intake_centre: where its centre comes to lie, from the bore's axis [m].
        exhaust_centre: likewise [m].
        held_by: the rules that stop it from growing, in words.
    """

    intake: float
    exhaust: float
    intake_centre: Point
    exhaust_centre: Point
    held_by: tuple[str, ...]

    @property
    def centres(self) -> float:
        """Distance between the two centres [m]."""
        return math.dist(self.intake_centre, self.exhaust_centre)


def bridge_gained(
    centres_wider: float, intake_smaller: float = 0.0, exhaust_smaller: float = 0.0
) -> float:
    """Metal a bridge gains [m] from wider centres and smaller valves or inserts.

    Wider centres count whole, smaller diameters by half.

    Args:
        centres_wider: by how much the centres lie further apart [m].
        intake_smaller: by how much the intake's insert or seat is smaller [m].
        exhaust_smaller: likewise [m].

    >>> inch = 0.0254  # 0.060 in wider centres, 1.475 in intake down to 1.45 in
    >>> print(f"{bridge_gained(0.060 * inch, 0.025 * inch) / inch:.4f} in")
    0.0725 in
    """
    return centres_wider + (intake_smaller + exhaust_smaller) / 2.0


def pair_that_fits(room: ValveRoom, intake: float, exhaust: float) -> ValvePair | None:
    """Place two heads of given diameters [m], or say with None that they do not fit."""
    placed = _place(room, intake, exhaust)
    if placed is None:
        return None
    return ValvePair(intake, exhaust, *placed, _held_by(room, intake, exhaust, *placed))


def largest_pair(room: ValveRoom, exhaust_over_intake: float) -> ValvePair | None:
    """Find the largest intake valve whose exhaust valve is a given share of it.

    Args:
        room: what they have to fit into.
        exhaust_over_intake: exhaust head diameter over intake head diameter [-].

    Returns:
        The pair; None where not even valves of 5 mm fit.

    Raises:
        QuantityError: a ratio that is not positive.

    >>> room = ValveRoom(0.0746, (0.0173, 0.0), (-0.0173, 0.0), 0.001, 0.00075)
    >>> pair = largest_pair(room, 0.85)
    >>> print(f"{1e3 * pair.intake:.2f} and {1e3 * pair.exhaust:.2f} mm, held by {pair.held_by[0]}")
    36.32 and 30.88 mm, held by bridge
    """
    require_positive("exhaust_over_intake", exhaust_over_intake, "")
    ratio = exhaust_over_intake
    low = 5e-3 * max(1.0, 1.0 / ratio)
    if _place(room, low, ratio * low) is None:
        return None
    if room.is_fixed:
        low = _fixed_largest(room, ratio)
    else:
        high = room.bore
        for _ in range(_BISECTIONS):
            middle = (low + high) / 2.0
            if _place(room, middle, ratio * middle) is None:
                high = middle
            else:
                low = middle
    return pair_that_fits(room, low, ratio * low)


def largest_exhaust(room: ValveRoom, intake: float) -> float | None:
    """Find the largest exhaust head beside an intake head [m]; None where nothing fits."""
    low, high = 5e-3, room.bore
    if _place(room, intake, low) is None:
        return None
    for _ in range(_BISECTIONS):
        middle = (low + high) / 2.0
        if _place(room, intake, middle) is None:
            high = middle
        else:
            low = middle
    return low


def pairs_on_the_limit(
    room: ValveRoom, *, smallest_ratio: float = 0.7, largest_ratio: float = 1.0, count: int = 7
) -> tuple[ValvePair, ...]:
    """List pairs of which neither valve can grow without the other shrinking.

    Args:
        room: what they have to fit into.
        smallest_ratio: of exhaust to intake head to look at [-].
        largest_ratio: likewise [-].
        count: how many ratios, evenly between; pairs one other beats are left out.

    Returns:
        Pairs with the intake rising; none where nothing fits.
    """
    require_positive("smallest_ratio", smallest_ratio, "")
    if largest_ratio < smallest_ratio or count < 2:
        raise InputError("ratios: give a smaller one, a larger one, and two or more between")
    step = (largest_ratio - smallest_ratio) / (count - 1)
    found = [
        pair
        for place in range(count)
        if (pair := largest_pair(room, smallest_ratio + place * step)) is not None
    ]
    kept = [
        pair
        for pair in found
        if not any(
            other.intake >= pair.intake - 1e-7
            and other.exhaust >= pair.exhaust - 1e-7
            and (other.intake > pair.intake + 1e-7 or other.exhaust > pair.exhaust + 1e-7)
            for other in found
        )
    ]
    return tuple(sorted(kept, key=lambda pair: pair.intake))


def _fixed_largest(room: ValveRoom, ratio: float) -> float:
    """Return the largest intake with the centres where they are: every rule is linear."""
    rb = room.bore / 2.0
    sides = (
        (room.intake, room.intake_over, room.intake_maximum, 1.0),
        (room.exhaust, room.exhaust_over, room.exhaust_maximum, ratio),
    )
    overs = (room.intake_over + room.exhaust_over) / 2.0
    apart = math.dist(room.intake, room.exhaust)
    bounds = [2.0 * (apart - room.bridge_minimum - overs) / (1.0 + ratio)]
    for centre, over, most, share in sides:
        off = math.hypot(*centre)
        bounds.append(2.0 * (rb - room.wall_minimum - off) / share)
        if room.insert_wall_minimum is not None and over > 0.0:
            bounds.append((2.0 * (rb - room.insert_wall_minimum - off) - over) / share)
        if most is not None:
            bounds.append(most / share)
        for other in room.others:
            gap = math.dist(centre, (other.centre_x, other.centre_y)) - other.radius
            bounds.append((2.0 * (gap - room.others_minimum) - over) / share)
    return min(bounds)


def _furthest_off(room: ValveRoom, head: float, over: float) -> float:
    """Return how far from the bore's axis a centre may lie [m]; negative where it cannot."""
    rb = room.bore / 2.0
    allowed = rb - room.wall_minimum - head / 2.0
    if room.insert_wall_minimum is not None and over > 0.0:
        allowed = min(allowed, rb - room.insert_wall_minimum - (head + over) / 2.0)
    return allowed


def _place(room: ValveRoom, intake: float, exhaust: float) -> tuple[Point, Point] | None:
    """Find centres at which two heads keep every rule, or None."""
    for head, most in ((intake, room.intake_maximum), (exhaust, room.exhaust_maximum)):
        if most is not None and head > most + _TINY:
            return None
    first = _Lens(room.intake, room.intake_shift, _furthest_off(room, intake, room.intake_over))
    second = _Lens(
        room.exhaust, room.exhaust_shift, _furthest_off(room, exhaust, room.exhaust_over)
    )
    if first.is_empty or second.is_empty:
        return None
    needed = (intake + room.intake_over + exhaust + room.exhaust_over) / 2.0 + room.bridge_minimum
    placed = _furthest_pair(first, second)
    if math.dist(*placed) < needed - _TINY:
        return None
    for centre, ring in (
        (placed[0], intake + room.intake_over),
        (placed[1], exhaust + room.exhaust_over),
    ):
        for other in room.others:
            gap = math.dist(centre, (other.centre_x, other.centre_y)) - other.radius - ring / 2.0
            if gap < room.others_minimum - _TINY:
                return None
    return placed


@dataclass(frozen=True, slots=True)
class _Lens:
    """Where a centre may lie: within ``shift`` of a point and ``off`` of the bore's axis."""

    centre: Point
    shift: float
    off: float

    @property
    def is_empty(self) -> bool:
        return self.off < 0.0 or math.hypot(*self.centre) - self.shift > self.off + _TINY

    def holds(self, point: Point) -> bool:
        near = math.dist(point, self.centre) <= self.shift + 1e-10
        return near and math.hypot(*point) <= self.off + 1e-10

    def corners(self) -> Iterator[Point]:
        """Yield where the two circles cross."""
        apart = math.hypot(*self.centre)
        if apart <= _TINY or self.shift <= 0.0:
            return
        along = (apart**2 + self.off**2 - self.shift**2) / (2.0 * apart)
        square = self.off**2 - along**2
        if square < 0.0:
            return
        unit = (self.centre[0] / apart, self.centre[1] / apart)
        for side in (-math.sqrt(square), math.sqrt(square)):
            yield (
                along * unit[0] - side * unit[1],
                along * unit[1] + side * unit[0],
            )

    def starts(self) -> Iterator[Point]:
        yield from self.corners()
        if self.holds(self.centre):
            yield self.centre
        for place in range(_STARTS if self.shift > 0.0 else 0):
            turn = 2.0 * math.pi * place / _STARTS
            point = (
                self.centre[0] + self.shift * math.cos(turn),
                self.centre[1] + self.shift * math.sin(turn),
            )
            if self.holds(point):
                yield point
            point = (self.off * math.cos(turn), self.off * math.sin(turn))
            if self.holds(point):
                yield point

    def furthest_from(self, other: Point) -> Point:
        """Return the point of the region furthest from another point."""
        if self.shift == 0.0:
            return self.centre
        found = [*self.corners()]
        for middle, radius in ((self.centre, self.shift), ((0.0, 0.0), self.off)):
            apart = math.dist(middle, other)
            if apart > _TINY:
                reach = radius / apart
                point = (
                    middle[0] + reach * (middle[0] - other[0]),
                    middle[1] + reach * (middle[1] - other[1]),
                )
                if self.holds(point):
                    found.append(point)
        if not found:
            return self.centre
        return max(found, key=lambda point: math.dist(point, other))


def _furthest_pair(first: _Lens, second: _Lens) -> tuple[Point, Point]:
    """Return the two points, one of each region, that lie furthest apart."""
    if first.shift == 0.0 and second.shift == 0.0:
        return first.centre, second.centre
    best, best_apart = (first.centre, second.centre), -1.0
    for start in first.starts() if first.shift > 0.0 else (first.centre,):
        one, two = start, second.furthest_from(start)
        apart = math.dist(one, two)
        for _ in range(30):
            one = first.furthest_from(two)
            two = second.furthest_from(one)
            wider = math.dist(one, two)
            if wider <= apart + 1e-13:
                break
            apart = wider
        if math.dist(one, two) > best_apart:
            best, best_apart = (one, two), math.dist(one, two)
    return best


def _held_by(
    room: ValveRoom, intake: float, exhaust: float, first: Point, second: Point
) -> tuple[str, ...]:
    """Name the rules a pair leaves less than a hundredth of a millimetre of."""
    near = 1e-5
    rb = room.bore / 2.0
    rings = intake + room.intake_over + exhaust + room.exhaust_over
    named = []
    if math.dist(first, second) - rings / 2.0 - room.bridge_minimum < near:
        named.append("bridge")
    for side, head, over, centre, most in (
        ("intake", intake, room.intake_over, first, room.intake_maximum),
        ("exhaust", exhaust, room.exhaust_over, second, room.exhaust_maximum),
    ):
        off = math.hypot(*centre)
        if rb - off - head / 2.0 - room.wall_minimum < near:
            named.append(f"{side} to bore")
        inserts = room.insert_wall_minimum
        if inserts is not None and over > 0.0 and rb - off - (head + over) / 2.0 - inserts < near:
            named.append(f"{side} insert to bore")
        if most is not None and most - head < near:
            named.append(f"largest {side} allowed")
        for other in room.others:
            gap = math.dist(centre, (other.centre_x, other.centre_y)) - other.radius
            if gap - (head + over) / 2.0 - room.others_minimum < near:
                named.append(f"{side} to a hole beside it")
                break
    return tuple(named)
