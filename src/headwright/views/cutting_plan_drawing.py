"""Before and after a cutting plan, drawn: where every figure stood, where it goes, what to keep.

An empty ring is before, a full dot after; the bar is what must be kept, open where there is no
limit on that side.
"""

from __future__ import annotations

from headwright.views.cutting_plan import FigureRow, PlanView
from headwright.views.drawing_pen import DASHED, Pen

__all__ = ["before_after_drawing"]

ROW_MM = 10.0
LEFT_MM = 70.0
WIDE_MM = 90.0
DOT_MM = 1.7


def before_after_drawing(view: PlanView) -> str:
    """Return the drawing of a plan's figures as SVG."""
    pen = Pen()
    rows = [row for row in view.figures if row.low is not None or row.high is not None]
    for place, row in enumerate(rows):
        _draw_row(pen, row, -ROW_MM * place)
    low = -ROW_MM * len(rows)
    pen.circle(LEFT_MM, low, DOT_MM)
    pen.words(LEFT_MM + 4.0, low - 1.3, "before", 3.6, anchor="start")
    pen.circle(LEFT_MM + 24.0, low, DOT_MM, filled=True)
    pen.words(LEFT_MM + 28.0, low - 1.3, "after", 3.6, anchor="start")
    pen.line((LEFT_MM + 44.0, low), (LEFT_MM + 54.0, low), width=3.0)
    pen.words(LEFT_MM + 57.0, low - 1.3, "to keep", 3.6, anchor="start")
    pen.reach(LEFT_MM + WIDE_MM + 44.0, low)
    told = "; ".join(
        f"{row.what} {row.before} to {row.after}, to keep {row.limits}" for row in rows
    )
    return pen.svg("before-after", "Before and after", told or "Nothing to draw.")


def _draw_row(pen: Pen, row: FigureRow, level: float) -> None:
    known = [
        value
        for value in (row.value_before, row.value_after, row.low, row.high)
        if value is not None
    ]
    low, high = min(known), max(known)
    room = 0.12 * (high - low) or abs(high) * 0.05 or 1.0
    low, high = low - room, high + room

    def at(value: float) -> float:
        return LEFT_MM + WIDE_MM * (value - low) / (high - low)

    pen.words(LEFT_MM - 3.0, level - 1.3, row.what, 3.6, anchor="end")
    pen.line((LEFT_MM, level), (LEFT_MM + WIDE_MM, level), DASHED)
    left = LEFT_MM if row.low is None else at(row.low)
    right = LEFT_MM + WIDE_MM if row.high is None else at(row.high)
    pen.line((left, level), (right, level), width=3.0)
    for value in (row.low, row.high):
        if value is not None:
            pen.line((at(value), level - 2.4), (at(value), level + 2.4))
    pen.circle(at(row.value_before), level, DOT_MM)
    pen.circle(at(row.value_after), level, DOT_MM, filled=True)
    words = f"{row.before} → {row.after}" if row.before != row.after else row.after
    pen.words(LEFT_MM + WIDE_MM + 4.0, level - 1.3, words, 3.6, anchor="start")
