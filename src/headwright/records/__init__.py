"""What the shop knows: frozen documents, checked on the way in, every figure with its provenance.

``KINDS`` maps each kind to its model; :func:`read_record` reads any of them.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Final

from headwright.errors import InputError, Problem, RecordError
from headwright.records.base import Record
from headwright.records.breathing import Breathing
from headwright.records.build import Build
from headwright.records.casting import Casting
from headwright.records.fuel import Fuel
from headwright.records.limits import Limits
from headwright.records.measured import Measured
from headwright.records.shop import Instrument, MeasuringSession, Shop
from headwright.records.short_block import ShortBlock
from headwright.records.shown import shown
from headwright.records.tests_and_logs import EngineLog, FlowTest, PowerPull, WorkOrder
from headwright.records.valve_gear import Cam, Rocker, Spring, Valve, ValveGear

__all__ = [
    "KINDS",
    "Breathing",
    "Build",
    "Cam",
    "Casting",
    "EngineLog",
    "FlowTest",
    "Fuel",
    "Instrument",
    "Limits",
    "Measured",
    "MeasuringSession",
    "PowerPull",
    "Record",
    "Rocker",
    "Shop",
    "ShortBlock",
    "Spring",
    "Valve",
    "ValveGear",
    "WorkOrder",
    "kind_named",
    "read_record",
]

KINDS: Final[Mapping[str, type[Record]]] = MappingProxyType(
    {
        model.kind: model
        for model in (
            Shop,
            Instrument,
            Casting,
            ShortBlock,
            Cam,
            Rocker,
            Spring,
            Valve,
            ValveGear,
            Breathing,
            Fuel,
            Limits,
            Build,
            FlowTest,
            PowerPull,
            EngineLog,
            WorkOrder,
            MeasuringSession,
        )
    }
)
"""Every kind of record, in an order in which later kinds may refer to earlier ones."""


def kind_named(word: str) -> str:
    """Return the kind a builder means: ``castings``, ``casting``, ``blocks``, ``flow-tests``.

    Raises:
        InputError: no such kind; the message lists them.
    """
    plain = word.strip().lower().replace("-", "_").replace(" ", "_")
    for kind, model in KINDS.items():
        if plain in {kind, model.plural} or plain in _SHORT_NAMES.get(kind, ()):
            return kind
    names = [model.plural for model in KINDS.values()]
    close = difflib.get_close_matches(plain, names, n=1)
    hint = f"; did you mean {close[0]}?" if close else f"; kinds: {', '.join(names)}"
    raise InputError(f"kind: {word[:60]!r} is no kind of record{hint}")


_SHORT_NAMES: Final = {
    "short_block": ("block", "blocks"),
    "engine_log": ("log", "logs"),
    "power_pull": ("pull", "pulls"),
    "flow_test": ("flow", "flows"),
}


def read_record(body: Mapping[str, Any], **context: Any) -> Record:
    """Read a record of any kind from plain data with a ``kind`` field.

    Args:
        body: the fields.
        context: see :meth:`Record.read`.

    Raises:
        RecordError: with all problems found, each with its path.
    """
    if not isinstance(body, Mapping):
        raise RecordError([Problem("record", "must be a table of fields")])
    kind = body.get("kind")
    if kind is None:
        raise RecordError([Problem("record.kind", f"is missing; one of: {', '.join(KINDS)}")])
    model = KINDS.get(kind) if isinstance(kind, str) else None
    if model is None:
        raise RecordError(
            [Problem("record.kind", f"{shown(kind)} is not one of: {', '.join(KINDS)}")]
        )
    return model.read(body, **context)
