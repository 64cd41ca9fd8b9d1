"""The pen the drawings are made with: lines, circles and words in millimetres, as SVG text.

Drawing-office plain: one colour, thin lines. What a line means is told by its pattern: a full
line is known, a dashed one is a guess, a chain line belongs to another part. Lines keep their
width on the screen whatever the size of the drawing. Everything written is escaped.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from html import escape
from typing import Final

__all__ = ["CHAIN", "DASHED", "DOTTED", "FULL", "Pattern", "Pen"]

Pattern = str
FULL: Final[Pattern] = ""
DASHED: Final[Pattern] = "4 3"
CHAIN: Final[Pattern] = "10 3 2 3"
DOTTED: Final[Pattern] = "1 3"

Point = tuple[float, float]
_FONT: Final = "system-ui, 'Segoe UI', 'Noto Sans', 'DejaVu Sans', sans-serif"


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
        layer: what is drawn on now; empty: no layer.
        mark: the thing drawn now; empty: none in particular.
        places: layer and mark of each part.
        right_by, up_by: how far everything drawn now is shifted [mm].
    """

    parts: list[str] = field(default_factory=list)
    left: float = math.inf
    right: float = -math.inf
    low: float = math.inf
    high: float = -math.inf
    layer: str = ""
    mark: str = ""
    places: list[tuple[str, str]] = field(default_factory=list)
    right_by: float = 0.0
    up_by: float = 0.0

    def _add(self, part: str) -> None:
        self.parts.append(part)
        self.places.append((self.layer, self.mark))

    @contextmanager
    def on(self, layer: str, mark: str = "") -> Iterator[None]:
        """Draw on a layer; ``mark`` names a thing on it that can be found again."""
        before = self.layer, self.mark
        self.layer, self.mark = layer, mark
        try:
            yield
        finally:
            self.layer, self.mark = before

    def _x(self, x: float) -> str:
        return _n(x + self.right_by)

    def _y(self, y: float) -> str:
        return _n(-(y + self.up_by))

    def reach(self, x: float, y: float, around: float = 0.0) -> None:
        """Have the sheet take in a place."""
        x, y = x + self.right_by, y + self.up_by
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
        self._add(f'<circle cx="{self._x(x)}" cy="{self._y(y)}" r="{_n(radius)}"{fill}/>')

    @contextmanager
    def shifted(self, right: float, up: float) -> Iterator[None]:
        """Draw somewhere else by a distance."""
        before = self.right_by, self.up_by
        self.right_by, self.up_by = before[0] + right, before[1] + up
        try:
            yield
        finally:
            self.right_by, self.up_by = before

    def disc(self, x: float, y: float, radius: float) -> None:
        """Cover a round place with the paper's colour, to write on."""
        self.reach(x, y, radius)
        self._add(
            f'<circle cx="{self._x(x)}" cy="{self._y(y)}" r="{_n(radius)}" class="paper" '
            'fill="var(--paper)" stroke="none"/>'
        )

    def wide_line(self, points: Sequence[Point], width: float) -> None:
        """Shade a closed line as wide as given, in the drawing's own measure [mm]."""
        for point in points:
            self.reach(*point, width / 2.0)
        path = "L".join(f"{self._x(x)} {self._y(y)}" for x, y in points)
        self._add(
            f'<path d="M{path}Z" stroke-opacity="0.14" stroke-width="{_n(width)}" '
            'class="measured"/>'
        )

    def band(self, x: float, y: float, radius: float, half: float) -> None:
        """Shade the band a circle's edge may lie in, ``half`` either way."""
        self.reach(x, y, radius + half)
        self._add(
            f'<path d="{self._ring(x, y, radius + half)}'
            f'{self._ring(x, y, max(radius - half, 0.01))}" '
            'fill="currentColor" fill-opacity="0.14" fill-rule="evenodd" stroke="none"/>'
        )

    def _ring(self, x: float, y: float, radius: float) -> str:
        half = f"a{_n(radius)} {_n(radius)} 0 1 0"
        wide = _n(2.0 * radius)
        return f"M{self._x(x - radius)} {self._y(y)}{half} {wide} 0{half} -{wide} 0Z"

    def line(
        self, start: Point, end: Point, pattern: Pattern = FULL, *, width: float = 1.0
    ) -> None:
        """Draw a straight line."""
        self.reach(*start)
        self.reach(*end)
        self._add(
            f'<path d="M{self._x(start[0])} {self._y(start[1])}'
            f'L{self._x(end[0])} {self._y(end[1])}"'
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
        path = "L".join(f"{self._x(x)} {self._y(y)}" for x, y in points)
        end = "Z" if closed else ""
        fill = ' fill="currentColor" stroke="none"' if filled else self._stroke(pattern, width)
        self._add(f'<path d="M{path}{end}"{fill}/>')

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
            along = math.radians(turned)
            for end in (start, start + wide):
                self.reach(x + end * math.cos(along), y + end * math.sin(along), size)
        else:
            self.reach(x + start, y)
            self.reach(x + start + wide, y + size)
        turn = f' transform="rotate({_n(-turned)} {self._x(x)} {self._y(y)})"' if turned else ""
        self._add(
            f'<text x="{self._x(x)}" y="{self._y(y)}" font-size="{_n(size)}" '
            f'text-anchor="{anchor}"{turn} fill="currentColor" stroke="none">{escape(text)}</text>'
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
            f'<g fill="none" stroke="currentColor" stroke-linejoin="round" font-family="{_FONT}">'
            + "".join(self._grouped())
            + "</g></svg>"
        )

    def _grouped(self) -> Iterator[str]:
        """Yield the parts, those of one layer and mark together, in the order they were drawn."""
        drawn = zip(self.places, self.parts, strict=True)
        for (layer, mark), group in itertools.groupby(drawn, key=lambda one: one[0]):
            if layer:
                named = f' data-mark="{escape(mark)}"' if mark else ""
                yield f'<g data-layer="{escape(layer)}"{named}>'
            for _, part in group:
                if part.startswith("<text"):
                    yield part
                else:
                    kept = 'class="measured"' in part
                    steady = ' vector-effect="non-scaling-stroke"/>'
                    yield part if kept else part.replace("/>", steady)
            if layer:
                yield "</g>"
