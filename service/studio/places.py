"""Where sections and outlines lie, written into one column and read back: lengths in mm, to a thousandth."""

import json
from collections.abc import Iterable

from service.reckoning.plans import PanelPlace
from service.reckoning.shapes import Place, Point, Rect


def write_places(places: Iterable[PanelPlace]) -> str:
    """Places by panel as compact JSON.

    >>> write_places([PanelPlace("front", Place(strips=(Rect(0, 10, 240, 19.144),)))])
    '[["front",[[0,10,240,19.144]],[],[]]]'
    """
    written = [
        [
            spot.panel,
            [[_mm(edge) for edge in (r.left, r.top, r.right, r.bottom)] for r in spot.place.strips],
            [[[_mm(x), _mm(y)] for x, y in line] for line in spot.place.lines],
            [[_mm(x), _mm(y)] for x, y in spot.place.points],
        ]
        for spot in places
    ]
    return json.dumps(written, separators=(",", ":"))


def read_places(text: str) -> tuple[PanelPlace, ...]:
    """The places that `write_places` wrote.

    >>> read_places('[["front",[[0,10,240,19.144]],[],[]]]')[0].place.strips[0].bottom
    19.144
    """
    return tuple(
        PanelPlace(
            panel,
            Place(
                tuple(Rect(*strip) for strip in strips),
                tuple(tuple((x, y) for x, y in line) for line in lines),
                tuple((x, y) for x, y in points),
            ),
        )
        for panel, strips, lines, points in json.loads(text)
    )


def write_outline(points: Iterable[Point]) -> str:
    """An outline as SVG points.

    >>> write_outline([(0.0, 0.0), (120.5, 80.25)])
    '0,0 120.5,80.25'
    """
    return " ".join(f"{_mm(x)},{_mm(y)}" for x, y in points)


def read_outline(text: str) -> tuple[Point, ...]:
    """The points of an outline as `write_outline` wrote it.

    >>> read_outline("0,0 120.5,80.25")
    ((0.0, 0.0), (120.5, 80.25))
    """
    pairs = (pair.split(",") for pair in text.split())
    return tuple((float(x), float(y)) for x, y in pairs)


def _mm(value: float) -> float | int:
    rounded = round(value, 3)
    return int(rounded) if rounded == int(rounded) else rounded
