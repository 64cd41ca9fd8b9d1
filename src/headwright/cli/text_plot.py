"""Curves drawn as letters on the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

__all__ = ["PLOT_WIDTH", "across_line", "plot_rows"]

PLOT_WIDTH: Final = 72
MARK: Final = ":"
TOGETHER: Final = "*"

Curve = tuple[str, Sequence[float], float]
"""The letter it is drawn with, its heights, and what stands at the top of the plot."""


def plot_rows(
    across: Sequence[float], curves: Sequence[Curve], rows: int, mark: float | None = None
) -> list[tuple[float, str]]:
    """Draw curves over one axis, each from nought to its own top; two that meet are a star.

    Args:
        across: where the heights stand, rising.
        curves: in the order they are drawn.
        rows: of the plot.
        mark: where a line of colons stands, if anywhere.

    Returns:
        From the top: the share of the height a row stands for, and the row.
    """
    import numpy as np

    grid = [[" "] * PLOT_WIDTH for _ in range(rows)]
    span = max(across[-1] - across[0], 1e-9)
    if mark is not None:
        column = round((mark - across[0]) / span * (PLOT_WIDTH - 1))
        if 0 <= column < PLOT_WIDTH:
            for cells in grid:
                cells[column] = MARK
    places = across[0] + np.arange(PLOT_WIDTH) / (PLOT_WIDTH - 1) * span
    for sign, heights, top in curves:
        for column, height in enumerate(np.interp(places, across, heights)):
            share = min(max(float(height) / top, 0.0), 1.0) if top > 0.0 else 0.0
            row = round((1.0 - share) * (rows - 1))
            free = grid[row][column] in {" ", MARK, sign}
            grid[row][column] = sign if free else TOGETHER
    return [(1.0 - place / (rows - 1), f"|{''.join(cells)}|") for place, cells in enumerate(grid)]


def across_line(across: Sequence[float], indent: int, unit: str = "") -> str:
    """Return the line under a plot that says where it begins and ends."""
    low, high = f"{across[0]:.0f}", f"{across[-1]:.0f} {unit}".rstrip()
    return " " * indent + low + high.rjust(PLOT_WIDTH - len(low))
