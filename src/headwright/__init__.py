"""Choose, check and prove the cylinder head before metal is cut.

The supported library door::

    import headwright as hw

    hw.load_demo("demo-shop.db")
    with hw.open_book("demo-shop.db") as book:
        ranking = hw.rank_build(book, "sprint-1500")
        for candidate in ranking.candidates:
            print(candidate.casting.tag, candidate.verdict)

Everything named in ``__all__`` is supported; all else may change. Figures inside are SI floats;
:func:`parse` and :func:`format_value` are the way in and out. Names are loaded on first use, so
that the import itself is light.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from headwright.actions import (
        check_build,
        compare_builds,
        compare_power,
        export_to_file,
        import_from_file,
        load_demo,
        open_book,
        plan_of_build,
        rank_build,
    )
    from headwright.errors import HeadwrightError, InputError, QuantityError, RecordError
    from headwright.quantities import format_value, parse
    from headwright.records import Build, Casting, FlowTest, Measured, ShortBlock, read_record

__all__ = [
    "Build",
    "Casting",
    "FlowTest",
    "HeadwrightError",
    "InputError",
    "Measured",
    "QuantityError",
    "RecordError",
    "ShortBlock",
    "check_build",
    "compare_builds",
    "compare_power",
    "export_to_file",
    "format_value",
    "import_from_file",
    "load_demo",
    "open_book",
    "parse",
    "plan_of_build",
    "rank_build",
    "read_record",
]

_HOMES = {
    "headwright.actions": (
        "check_build",
        "compare_builds",
        "compare_power",
        "export_to_file",
        "import_from_file",
        "load_demo",
        "open_book",
        "plan_of_build",
        "rank_build",
    ),
    "headwright.errors": ("HeadwrightError", "InputError", "QuantityError", "RecordError"),
    "headwright.quantities": ("format_value", "parse"),
    "headwright.records": (
        "Build",
        "Casting",
        "FlowTest",
        "Measured",
        "ShortBlock",
        "read_record",
    ),
}
_HOME_OF = {name: home for home, names in _HOMES.items() for name in names}


def __getattr__(name: str) -> Any:
    """Load a supported name from its home when it is first asked for."""
    home = _HOME_OF.get(name)
    if home is None:
        raise AttributeError(f"headwright has no supported name {name!r}; see headwright.__all__")
    value = getattr(import_module(home), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
