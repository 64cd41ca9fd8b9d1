"""The pen the drawings are made with: lines, circles and words in millimetres, as SVG text.

Drawing-office plain: one colour, thin lines. What a line means is told by its pattern: a full
line is known, a dashed one is a guess, a chain line belongs to another part. Lines keep their
width on the screen whatever the size of the drawing. Everything written is escaped.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Final

__all__ = ["CHAIN", "DASHED", "FULL", "Pattern", "Pen"]

Pattern = str
FULL: Final[Pattern] = ""
DASHED: Final[Pattern] = "4 3"
CHAIN: Final[Pattern] = "10 3 2 3"
DOTTED: Final[Pattern] = "1 3"

Point = tuple[float, float]


def _n(number: float) -> str:
    """Write a coordinate to a hundredth of a millimetre."""
    text = f"{number:.2f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


@dataclass
class Pen:
    """Collects the parts of a drawing. Coordinates are millimetres, y upwards.

    Attributes:
        parts: what has been drawn, SVG text.
        left, right, low, high: how far the drawing reaches [mm].
    """

    parts: list[str] = field(default_factory=list)
    left: float = math.inf
    right: float = -math.inf
    low: float = math.inf
    high: float = -math.inf

    def reach(self, x: float, y: float, around: float = 0.0) -> None:
        """Have the sheet take in a place."""
        self.left, self.right = min(self.left, x - around), max(self.right, x + around)
        self.low, self.high = min(self.low, y - around), max(self.high, y + around)

    def _stroke(self, pattern: Pattern, width: float) -> str:
        dash = f' stroke-dasharray="{pattern}"' if pattern else ""
        thick = f' stroke-width="{_n(width)}"' if width != 1.0 else ""
        return f"{dash}{thick}"

    def circle(
        self,
        x: float,
        y: float,
        radius: float,
        pattern: Pattern = FULL,
        *,
        width: float = 1.0,
        filled: bool = False,
    ) -> None:
        """Draw a circle."""
        self.reach(x, y, radius)
        fill = ' fill="currentColor" stroke="none"' if filled else self._stroke(pattern, width)
        self.parts.append(f'<circle cx="{_n(x)}" cy="{_n(-y)}" r="{_n(radius)}"{fill}/>')

    def line(
        self, start: Point, end: Point, pattern: Pattern = FULL, *, width: float = 1.0
    ) -> None:
        """Draw a straight line."""
        self.reach(*start)
        self.reach(*end)
        self.parts.append(
            f'<path d="M{_n(start[0])} {_n(-start[1])}L{_n(end[0])} {_n(-end[1])}"'
            f"{self._stroke(pattern, width)}/>"
        )

    def polygon(
        self,
        points: Sequence[Point],
        pattern: Pattern = FULL,
        *,
        closed: bool = True,
        width: float = 1.0,
        filled: bool = False,
    ) -> None:
        """Draw straight lines from point to point, back to the first where it is closed."""
        for point in points:
            self.reach(*point)
        path = "L".join(f"{_n(x)} {_n(-y)}" for x, y in points)
        end = "Z" if closed else ""
        fill = ' fill="currentColor" stroke="none"' if filled else self._stroke(pattern, width)
        self.parts.append(f'<path d="M{path}{end}"{fill}/>')

    def cross(self, x: float, y: float, size: float) -> None:
        """Draw the small cross of a centre."""
        self.line((x - size, y), (x + size, y))
        self.line((x, y - size), (x, y + size))

    def words(
        self,
        x: float,
        y: float,
        text: str,
        size: float = 4.0,
        *,
        anchor: str = "middle",
        turned: float = 0.0,
    ) -> None:
        """Write words; ``turned`` counts degrees anticlockwise."""
        wide = 0.6 * size * len(text)
        start = {"start": 0.0, "middle": -wide / 2.0, "end": -wide}[anchor]
        if turned:
            self.reach(x, y, size)
        else:
            self.reach(x + start, y)
            self.reach(x + start + wide, y + size)
        turn = f' transform="rotate({_n(-turned)} {_n(x)} {_n(-y)})"' if turned else ""
        self.parts.append(
            f'<text x="{_n(x)}" y="{_n(-y)}" font-size="{_n(size)}" '
            f'text-anchor="{anchor}"{turn}>{escape(text)}</text>'
        )

    def arrow(self, tip: Point, direction: float, size: float = 2.2) -> None:
        """Draw the filled head of a dimension line that points along ``direction`` [rad]."""
        back = direction + math.pi
        wings = [
            (
                tip[0] + size * math.cos(back + turn),
                tip[1] + size * math.sin(back + turn),
            )
            for turn in (-0.26, 0.26)
        ]
        self.polygon([tip, *wings], filled=True)

    def dimension(self, start: Point, end: Point, text: str, *, size: float = 4.0) -> None:
        """Draw a dimension line between two places, its words above the middle."""
        angle = math.atan2(end[1] - start[1], end[0] - start[0])
        length = math.hypot(end[0] - start[0], end[1] - start[1])
        self.line(start, end)
        if length > 6.0:
            self.arrow(start, angle + math.pi)
            self.arrow(end, angle)
        middle = ((start[0] + end[0]) / 2.0, (start[1] + end[1]) / 2.0)
        self.words(middle[0], middle[1] + 1.2, text, size)

    def narrow_dimension(
        self, start: Point, end: Point, words_at: Point, text: str, *, size: float = 4.0
    ) -> None:
        """Draw a dimension too narrow for its words: arrows from outside, a leader to the words."""
        angle = math.atan2(end[1] - start[1], end[0] - start[0])
        along = (math.cos(angle), math.sin(angle))
        for tip, sense in ((start, -1.0), (end, 1.0)):
            tail = (tip[0] + sense * 5.0 * along[0], tip[1] + sense * 5.0 * along[1])
            self.line(tail, tip)
            self.arrow(tip, angle if sense < 0.0 else angle + math.pi, 1.8)
        middle = ((start[0] + end[0]) / 2.0, (start[1] + end[1]) / 2.0)
        below = -1.0 if words_at[1] > middle[1] else size
        self.line(middle, (words_at[0], words_at[1] + below), DOTTED)
        self.words(words_at[0], words_at[1], text, size)

    def svg(
        self, name: str, title: str, description: str, *, margin: float = 6.0, labelled: bool = True
    ) -> str:
        """Return the drawing.

        Args:
            name: begins the identifiers inside it; one word.
            title: of the drawing.
            description: what it shows, for those who cannot see it.
            margin: round the drawing [mm].
            labelled: whether it speaks for itself; otherwise it is mere decoration.
        """
        if not self.parts:
            self.reach(0.0, 0.0, 10.0)
        left, top = self.left - margin, -self.high - margin
        wide = self.right - self.left + 2.0 * margin
        tall = self.high - self.low + 2.0 * margin
        heading = (
            f'role="img" aria-labelledby="{name}-title {name}-words">'
            f'<title id="{name}-title">{escape(title)}</title>'
            f'<desc id="{name}-words">{escape(description)}</desc>'
            if labelled
            else 'aria-hidden="true">'
        )
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing" width="{_n(wide)}mm" '
            f'height="{_n(tall)}mm" viewBox="{_n(left)} {_n(top)} {_n(wide)} {_n(tall)}" '
            f"{heading}"
            '<g fill="none" stroke="currentColor" stroke-linejoin="round">'
            + "".join(
                part.replace("/>", ' vector-effect="non-scaling-stroke"/>')
                for part in self.parts
                if not part.startswith("<text")
            )
            + "</g><g fill=\"currentColor\" font-family=\"system-ui, 'Segoe UI', 'Noto Sans', "
            "'DejaVu Sans', sans-serif\">"
            + "".join(part for part in self.parts if part.startswith("<text"))
            + "</g></svg>"
        )
