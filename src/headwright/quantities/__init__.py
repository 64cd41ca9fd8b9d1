"""The edge where units begin and end: glossary, parser, formatter.

Inside headwright every figure is a float in SI. Text typed by a builder becomes one through
:func:`parse`; a figure becomes text again through :func:`format_value` or :func:`format_both`.
"""

from __future__ import annotations

from headwright.quantities.format import format_both, format_figure, format_value, json_key
from headwright.quantities.glossary import GLOSSARY, look_up
from headwright.quantities.parse import Reading, parse
from headwright.quantities.quantity import Quantity, System
from headwright.quantities.units import DIMENSIONS, Dimension, Unit

__all__ = [
    "DIMENSIONS",
    "GLOSSARY",
    "Dimension",
    "Quantity",
    "Reading",
    "System",
    "Unit",
    "format_both",
    "format_figure",
    "format_value",
    "json_key",
    "look_up",
    "parse",
]
