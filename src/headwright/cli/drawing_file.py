"""Writing a drawing to a file, and reading which layers are to be left out."""

from __future__ import annotations

from pathlib import Path

from headwright.errors import InputError
from headwright.views.face_scene import LAYERS

__all__ = ["layers_named", "write_drawing"]


def layers_named(words: str) -> frozenset[str]:
    """Read a list of layers such as ``water,oil``.

    Raises:
        InputError: a layer there is none of.

    >>> sorted(layers_named("water, oil"))
    ['oil', 'water']
    """
    names = [word.strip() for word in words.split(",") if word.strip()]
    for name in names:
        if name not in LAYERS:
            raise InputError(f"layer: {name[:40]!r} is none of: {', '.join(LAYERS)}")
    return frozenset(names)


def write_drawing(target: Path, drawing: str, *, replace: bool) -> None:
    """Write a drawing to a file.

    Raises:
        InputError: the name does not end in ``.svg``, or the file is there and may not be replaced.
        OSError: the system does not let it be written.
    """
    if target.suffix.lower() != ".svg":
        raise InputError(f"{target}: drawings are SVG files; give a name that ends in .svg")
    try:
        with target.open("w" if replace else "x", encoding="utf-8", newline="\n") as file:
            file.write('<?xml version="1.0" encoding="UTF-8"?>\n' + drawing + "\n")
    except FileExistsError:
        raise InputError(f"{target} is there already; --replace writes over it") from None
