"""Reading drawings back: parsed as XML, their paths counted and measured."""

import re
from collections.abc import Iterator
from xml.etree import ElementTree as ET

from service.reckoning.shapes import Rect

SVG = "{http://www.w3.org/2000/svg}"
NUMBER = re.compile(r"-?(?:\d+\.?\d*|\.\d+)")
COMMAND = re.compile(r"([A-Za-z])([^A-Za-z]*)")
AXES = {"m": 2, "l": 2, "q": 4, "c": 6, "h": 1, "v": 1}


def read(svg: str) -> ET.Element:
    """The drawing as a tree."""
    return ET.fromstring(svg)


def inked(root: ET.Element, ink: str) -> list[ET.Element]:
    """Every element of one class."""
    return [element for element in root.iter() if element.get("class") == ink]


def paths(root: ET.Element, ink: str) -> str:
    """All path data in one ink."""
    return "".join(element.get("d", "") for element in inked(root, ink))


def strokes(d: str) -> int:
    """How many lines a path draws without lifting the pen."""
    return sum(letter in "Mm" for letter in d)


def points(d: str) -> Iterator[tuple[float, float]]:
    """The points a path passes, from its steps."""
    x = y = 0.0
    start = (0.0, 0.0)
    for command, written in COMMAND.findall(d):
        numbers = [float(number) for number in NUMBER.findall(written)]
        if command == "z":
            x, y = start
            continue
        if command == "M":
            x = y = 0.0
        steps = AXES[command.lower()]
        for at in range(0, len(numbers), steps):
            part = numbers[at : at + steps]
            x += 0.0 if command == "v" else part[-2] if steps > 1 else part[0]
            y += 0.0 if command == "h" else part[-1]
            if command in "Mm":
                start = (x, y)
            yield round(x, 3), round(y, 3)


def extent(d: str) -> Rect:
    """The rectangle round a path's points."""
    across, down = zip(*points(d), strict=True)
    return Rect(min(across), min(down), max(across), max(down))


def view(root: ET.Element) -> Rect:
    """What the drawing shows, in its own units."""
    left, top, width, height = (float(number) for number in root.attrib["viewBox"].split())
    return Rect(left, top, left + width, top + height)
