"""Lines written as text the way SVG writes them: point lists, and path data with absolute commands.

SVG is an open standard (W3C, Scalable Vector Graphics 2, chapters "Paths" and "Basic Shapes"). Of its path
data the absolute commands M L H V C Q Z are read, one unbroken line each; curves become short segments.
"""

import math
import re
from collections.abc import Callable

from service.reckoning.asked import Wrong
from service.reckoning.shapes import Point

FLATNESS_MM = 0.25  # a drawn pencil line is wider
MOST_TEXT = 20_000
MOST_POINTS = 4_000
FURTHEST_MM = 100_000

Move = Callable[[Point, tuple[Point, Point]], Point]

_TOKEN = re.compile(r"[\s,]*([A-Za-z]|[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d{1,2})?)[\s,]*", re.ASCII)
_TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "Q": 4, "Z": 0}


def line_of(text: str, field: str = "outline") -> tuple[Point, ...]:
    """Return the points of a line written as SVG points or as SVG path data; a closing Z adds no point.

    Raises Wrong naming `field` for anything else.

    >>> line_of("0,0 30,0 30,40")
    ((0.0, 0.0), (30.0, 0.0), (30.0, 40.0))
    >>> line_of("M 0,0 H 30 V 40 Z")
    ((0.0, 0.0), (30.0, 0.0), (30.0, 40.0))
    """
    tokens = _tokens(text, field)
    if not tokens:
        raise Wrong(field, "needs at least one point")
    points = _path(tokens, field) if is_path(tokens[0]) else _pairs(tokens, field)
    if len(points) > MOST_POINTS:
        raise Wrong(field, f"has {len(points)} points; at most {MOST_POINTS} are read")
    return points


def moved_line(text: str, move: Move) -> str:
    """Return a line written as text with every point moved; a path keeps its commands, H and V where they still fit.

    `move` takes a point and the two ends of its stretch: a curve's guiding points lie between its ends, every other
    point is both ends itself. Raises Wrong as `line_of` does.

    >>> moved_line("M 0,0 H 30 Q 30,20 0,20 Z", lambda point, ends: (2 * point[0], point[1]))
    'M 0,0 H 60 Q 60,20 0,20 Z'
    """
    tokens = _tokens(text, "outline")
    if not is_path(text):
        return " ".join(_written(move(point, (point, point))) for point in _pairs(tokens, "outline"))
    line_of(text)
    parts: list[str] = []
    here = there = (0.0, 0.0)
    for command, numbers in _commands(tokens, "outline"):
        points = _points_of(command, numbers, here)
        if not points:
            parts.append(command)
            continue
        ends = (here, points[-1]) if command in "CQ" else (points[-1], points[-1])
        gone = [move(point, ends) for point in points[:-1]] + [move(points[-1], (points[-1], points[-1]))]
        parts.append(_command(command, gone, there))
        here, there = points[-1], gone[-1]
    return " ".join(parts)


def is_path(text: str) -> bool:
    """Whether the text is path data rather than a list of points.

    >>> is_path("M 0,0 L 1,1"), is_path("0,0 1,1")
    (True, False)
    """
    return text.lstrip()[:1].isalpha()


def _tokens(text: str, field: str) -> list[str]:
    if len(text) > MOST_TEXT:
        raise Wrong(field, f"is longer than {MOST_TEXT} letters")
    tokens, at = [], 0
    while at < len(text.rstrip()):
        match = _TOKEN.match(text, at)
        if match is None:
            raise Wrong(field, f'must be points ("x,y x,y") or a path ("M x,y L x,y …"), not {text[at : at + 12]!r}')
        tokens.append(match.group(1))
        at = match.end()
    far = next((word for word in tokens if not word.isalpha() and abs(float(word)) > FURTHEST_MM), None)
    if far is not None:
        raise Wrong(field, f"has a point further out than {FURTHEST_MM} mm")
    return tokens


def _pairs(tokens: list[str], field: str) -> tuple[Point, ...]:
    if len(tokens) % 2 or any(token.isalpha() for token in tokens):
        raise Wrong(field, "must have an x and a y for every point")
    numbers = [float(token) for token in tokens]
    return tuple(zip(numbers[::2], numbers[1::2], strict=True))


def _path(tokens: list[str], field: str) -> tuple[Point, ...]:
    points: list[Point] = []
    for command, numbers in _commands(tokens, field):
        if (command == "M") != (not points):
            raise Wrong(field, "must begin with M and be one unbroken line")
        points += _segment(command, numbers, points[-1] if points else (0.0, 0.0))
        if len(points) > MOST_POINTS:
            raise Wrong(field, f"has more than {MOST_POINTS} points")
    return tuple(_without_repeats(points))


def _commands(tokens: list[str], field: str) -> list[tuple[str, list[float]]]:
    """Each command with its numbers; a command followed by more numbers than it takes is repeated."""
    found: list[tuple[str, list[float]]] = []
    at = 0
    while at < len(tokens):
        command = tokens[at]
        takes = _TAKES.get(command)
        if takes is None:
            raise Wrong(field, f"{command!r} is not read in a path: use M L H V C Q Z")
        end = at + 1
        while end < len(tokens) and not tokens[end].isalpha():
            end += 1
        numbers = [float(token) for token in tokens[at + 1 : end]]
        if (takes == 0) != (not numbers) or (takes and len(numbers) % takes):
            raise Wrong(field, f"{command} takes {takes} numbers, not {len(numbers)}")
        if command == "Z" and end < len(tokens):
            raise Wrong(field, "must end at Z")
        found += [
            ("L" if command == "M" and start else command, numbers[start : start + takes])
            for start in range(0, max(len(numbers), 1), takes or 1)
        ]
        at = end
    return found


def _segment(command: str, numbers: list[float], here: Point) -> list[Point]:
    if command == "Z":
        return []
    if command == "H":
        return [(numbers[0], here[1])]
    if command == "V":
        return [(here[0], numbers[0])]
    ends = list(zip(numbers[::2], numbers[1::2], strict=True))
    if command == "C":
        return _cubic(here, ends[0], ends[1], ends[2])
    if command == "Q":
        (x0, y0), (x1, y1), (x2, y2) = here, ends[0], ends[1]
        first = (x0 + 2 / 3 * (x1 - x0), y0 + 2 / 3 * (y1 - y0))
        second = (x2 + 2 / 3 * (x1 - x2), y2 + 2 / 3 * (y1 - y2))
        return _cubic(here, first, second, (x2, y2))
    return ends


def _points_of(command: str, numbers: list[float], here: Point) -> list[Point]:
    """The points that a command names, guiding points first."""
    if command == "H":
        return [(numbers[0], here[1])]
    if command == "V":
        return [(here[0], numbers[0])]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def _command(command: str, points: list[Point], before: Point) -> str:
    """A command written out; one straight across or down that no longer is so becomes an L."""
    x, y = points[-1]
    if command == "H" and y == before[1]:
        return f"H {x:.10g}"
    if command == "V" and x == before[0]:
        return f"V {y:.10g}"
    letter = "L" if command in "HV" else command
    return f"{letter} {' '.join(_written(point) for point in points)}"


def _written(point: Point) -> str:
    return f"{point[0]:.10g},{point[1]:.10g}"


def _cubic(start: Point, first: Point, second: Point, end: Point) -> list[Point]:
    """Short segments of a cubic curve that stray from it by at most `FLATNESS_MM`.

    A chord over a piece of length 1/n strays by at most max |second derivative| / (8 n²).
    """
    bend = 6 * max(
        math.hypot(a[0] - 2 * b[0] + c[0], a[1] - 2 * b[1] + c[1])
        for a, b, c in ((start, first, second), (first, second, end))
    )
    pieces = min(max(1, math.ceil(math.sqrt(bend / (8 * FLATNESS_MM)))), MOST_POINTS)
    return [_at(start, first, second, end, piece / pieces) for piece in range(1, pieces + 1)]


def _at(start: Point, first: Point, second: Point, end: Point, t: float) -> Point:
    s = 1 - t
    a, b, c, d = s * s * s, 3 * s * s * t, 3 * s * t * t, t * t * t
    return (
        round(a * start[0] + b * first[0] + c * second[0] + d * end[0], 3),
        round(a * start[1] + b * first[1] + c * second[1] + d * end[1], 3),
    )


def _without_repeats(points: list[Point]) -> list[Point]:
    kept = [point for at, point in enumerate(points) if at == 0 or point != points[at - 1]]
    return kept[:-1] if len(kept) > 1 and kept[-1] == kept[0] else kept
