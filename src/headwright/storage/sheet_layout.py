"""Which features an empty sheet asks for, in the order one measures them."""

from __future__ import annotations

from collections.abc import Iterator

from headwright.storage.sheet_cells import Cell

__all__ = ["casting_rows", "flow_rows"]

_VALVE_FIGURES = (
    "x",
    "y",
    "tilt",
    "tilt_direction",
    "head_diameter",
    "insert",
    "insert_diameter",
    "insert_depth",
    "seat_width",
    "seat_angle",
    "seat_depth",
    "throat_diameter",
    "guide_bore",
    "guide_height",
    "stem_diameter",
    "valve_length",
    "installed_height",
    "stem_height",
)
_PORT_FIGURES = ("volume", "length", "flange_width", "flange_height")
_DAMAGED_PLACES = 2


def casting_rows(
    cylinders: int, *, paired_intakes: bool = False
) -> Iterator[str | tuple[str, Cell]]:
    """Yield headings, and the features of a casting with what is known of them already."""
    yield "the casting"
    for name in ("tag", "family", "sort", "material", "condition"):
        yield name, None
    yield "cylinders", cylinders
    for name in ("thickness_new", "thickness_now", "thickness_minimum", "mass", "price"):
        yield name, None
    yield from (("story", None), ("note", None))
    numbers = range(1, cylinders + 1)
    yield "bore centres, as the casting sits on the block"
    yield from _numbered("bore_centres", numbers, ("x", "y"))
    yield "chambers: one pour or more each"
    yield from _numbered(
        "chambers",
        numbers,
        ("volume", "face_area", "depth", "plug.x", "plug.y", "plug.thread_diameter", "plug.reach"),
    )
    yield "valves and seats"
    place = 0
    for number in numbers:
        for side in ("intake", "exhaust"):
            yield from _sided("valves", place, number, side, _VALVE_FIGURES)
            place += 1
    yield "ports"
    yield from _ports(numbers, paired_intakes=paired_intakes)
    yield "pushrod holes"
    place = 0
    for number in numbers:
        for side in ("intake", "exhaust"):
            yield from _sided(
                "pushrod_holes", place, number, side, ("x", "y", "diameter", "wall_to_port")
            )
            place += 1
    yield "damage: sort is crack, lost_material, burnt, corroded, dent, worn or other"
    for place in range(_DAMAGED_PLACES):
        for name in ("sort", "where", "cylinder", "x", "y", "length", "width", "depth"):
            yield f"damage[{place}].{name}", None


def _numbered(name: str, numbers: range, figures: tuple[str, ...]) -> Iterator[tuple[str, Cell]]:
    for place, number in enumerate(numbers):
        yield f"{name}[{place}].cylinder", number
        for figure in figures:
            yield f"{name}[{place}].{figure}", None


def _sided(
    name: str, place: int, number: int, side: str, figures: tuple[str, ...]
) -> Iterator[tuple[str, Cell]]:
    yield f"{name}[{place}].cylinder", number
    yield f"{name}[{place}].side", side
    for figure in figures:
        yield f"{name}[{place}].{figure}", None


def _ports(numbers: range, *, paired_intakes: bool) -> Iterator[tuple[str, Cell]]:
    step = 2 if paired_intakes else 1
    intakes = [tuple(numbers[start : start + step]) for start in range(0, len(numbers), step)]
    ports = [("intake", served) for served in intakes]
    ports += [("exhaust", (number,)) for number in numbers]
    for place, (side, served) in enumerate(ports):
        yield f"ports[{place}].side", side
        for position, number in enumerate(served):
            yield f"ports[{place}].serves[{position}]", number
        for figure in _PORT_FIGURES:
            yield f"ports[{place}].{figure}", None


def flow_rows() -> Iterator[tuple[str, Cell]]:
    """Yield what holds for a whole flow test, with what is usual."""
    for name in ("tag", "casting", "date", "bench", "by", "cylinder", "side"):
        yield name, None
    yield "direction", "forward"
    for name in (
        "depression",
        "reduction",
        "valve_head_diameter",
        "throat_diameter",
        "stem_diameter",
        "bore_used",
        "other_valve_open",
        "air_temperature",
        "air_pressure",
        "note",
    ):
        yield name, None
