"""A pen that writes path data: steps from point to point, in as few characters as its rounding allows.

Every step is measured from where the pen really stands after rounding, so that a long row of bundles never drifts.
"""

from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Self

from service.drawing.svg import short
from service.reckoning.shapes import Point


class Pen:
    """Writes SVG path data; `turned` swaps along and across, for strips that run down the cloth.

    >>> pen = Pen()
    >>> pen.run([(10, 20), (30, 20), (30.04, 45.5)])
    >>> pen.d
    'M10 20h20v25.5'
    """

    def __init__(self, *, places: int = 1, turned: bool = False) -> None:
        self._places = places
        self._turned = turned
        self._whole = 10**places
        self._at = (0, 0)
        self._parts: list[str] = []

    @property
    def d(self) -> str:
        """The path data written so far."""
        return "".join(self._parts)

    def move(self, x: float, y: float) -> None:
        """Lift the pen and set it down at a point."""
        self._write("m" if self._parts else "M", [(x, y)])

    def line(self, x: float, y: float) -> None:
        """Draw a straight line to a point."""
        (x0, y0), (x1, y1) = self._at, self._rounded((x, y))
        if x0 == x1 and y0 == y1:
            return
        if x0 == x1 or y0 == y1:
            way, by = ("v", y1 - y0) if x0 == x1 else ("h", x1 - x0)
            self._parts.append(way + _written(by, self._places))
            self._at = (x1, y1)
        else:
            self._write("l", [(x, y)])

    def bend(self, by: Point, to: Point) -> None:
        """Draw a curve to a point, pulled towards another."""
        self._write("q", [by, to])

    def sway(self, first: Point, second: Point, to: Point) -> None:
        """Draw a curve to a point that leaves towards the first point and arrives from the second."""
        self._write("c", [first, second, to])

    def run(self, points: Sequence[Point], *, closed: bool = False) -> None:
        """Draw straight lines through points."""
        self.move(*points[0])
        for point in points[1:]:
            self.line(*point)
        if closed:
            self._parts.append("z")
            self._at = self._rounded(points[0])

    def shape(self) -> Self:
        """Return a pen of the same make to draw, from 0,0, a shape that is stamped many times."""
        return type(self)(places=self._places, turned=self._turned)

    def stamp(self, x: float, y: float, shape: "Pen") -> None:
        """Draw a shape that begins at a point."""
        self.move(x, y)
        self._parts += shape._parts  # noqa: SLF001  (a pen of the same make)
        self._at = (self._at[0] + shape._at[0], self._at[1] + shape._at[1])  # noqa: SLF001

    def _write(self, command: str, points: Iterable[Point]) -> None:
        x, y = self._at
        numbers: list[int] = []
        for point in points:
            self._at = self._rounded(point)
            numbers += (self._at[0] - x, self._at[1] - y)
        self._parts.append(command + _joined(numbers, self._places))

    def _rounded(self, point: Point) -> tuple[int, int]:
        x, y = (point[1], point[0]) if self._turned else point
        return round(x * self._whole), round(y * self._whole)


def _joined(numbers: Sequence[int], places: int) -> str:
    words = [_written(number, places) for number in numbers]
    return words[0] + "".join(word if word[0] == "-" else f" {word}" for word in words[1:])


@lru_cache(maxsize=20_000)
def _written(number: int, places: int) -> str:
    return short(number / 10**places, places)
