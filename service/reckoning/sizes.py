"""Sizes of one design: by the child's height, a blouse by the bust, a square by its side, and what grows by how much.

Of a child's height the table is the WHO Child Growth Standards (Geneva 2006, 2007): the age whose median lying length
is that height, girls and boys taken together, and the median head and weight at that age. That girths grow as the root
of weight by length is geometry: a body of the same build weighs as its girth squared times its length. No table of
chests was found that may be used; how the rest grows is common practice, no source.
"""

import math
import re
from dataclasses import dataclass, replace
from functools import cache
from typing import Literal

from service.reckoning.asked import Wrong
from service.reckoning.designs import Design
from service.reckoning.fit_garment import class_named
from service.reckoning.grading import Growth, grown
from service.reckoning.growth_tables import LAST_DAY, What, lms_on

SizedBy = Literal["height", "bust", "side"]

HEIGHTS_CM = (56, 62, 68, 74, 80, 86)
BUSTS_CM = (80, 84, 88, 92, 96, 100)
SIDES_CM = (20, 24, 28, 32, 36, 40)
SMALLEST_CM, LARGEST_CM = 50, 86  # the classes whose whole range the table reaches
LENGTH_BY_BUST = 0.25  # how much of a bust's growth the lengths take: common practice, no source

_BUST = re.compile(r"\bbust (\d{2,3})\b", re.IGNORECASE)
_SIDE = re.compile(r"\b(\d{1,3}) cm square\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class SizeRange:
    """What a design is sized by, the size it is drawn up in, and the sizes it can be had in, in cm."""

    by: SizedBy
    own_cm: int
    sizes_cm: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Body:
    """A child of that height by the medians: its age in days, its head in mm, and its girth in no unit but itself."""

    age_days: int
    head_mm: float
    girth: float


def size_range(size: str) -> SizeRange | None:
    """Return the sizes of a design from its size in words; None where they name no height, bust or side of a square.

    >>> size_range("68, three to six months").sizes_cm
    (56, 62, 68, 74, 80, 86)
    >>> size_range("Bust 90 cm").sizes_cm, size_range("one size")
    ((80, 84, 88, 90, 92, 96, 100), None)
    """
    bust, side, height = _BUST.search(size), _SIDE.search(size), class_named(size)
    if bust and BUSTS_CM[0] <= int(bust[1]) <= BUSTS_CM[-1]:
        return _range("bust", int(bust[1]), BUSTS_CM)
    if side and SIDES_CM[0] <= int(side[1]) <= SIDES_CM[-1]:
        return _range("side", int(side[1]), SIDES_CM)
    if not bust and not side and height is not None and SMALLEST_CM <= height <= LARGEST_CM:
        return _range("height", height, HEIGHTS_CM)
    return None


def sized(design: Design, size_cm: int) -> Design:
    """Return the design in another of its sizes; its own size is the design as it stands.

    Blocks, outlines and places grow; threads withdrawn, bundles, tucks, hems, bindings and seams stay, so that bands
    are carried to whole bundles again when the design is planned. Raises Wrong("size") for a size it cannot be had in.
    """
    sizes = size_range(design.size)
    if sizes is None:
        raise Wrong("size", "names no height (56 to 86), bust or side of a square, so nothing can be scaled from it")
    if size_cm not in sizes.sizes_cm:
        raise Wrong("size", f"must be one of {', '.join(str(one) for one in sizes.sizes_cm)}, not {size_cm}")
    if size_cm == sizes.own_cm:
        return design
    told = f"Scaled by rule from “{design.size}”: sew it in cheap cloth first."
    return replace(
        grown(design, growth(sizes, size_cm)),
        size=size_words(sizes, size_cm),
        note=f"{design.note}\n{told}" if design.note else told,
    )


def growth(sizes: SizeRange, size_cm: int) -> Growth:
    """Return by how much a design grows from its own size to another.

    >>> growth(SizeRange("height", 56, HEIGHTS_CM), 86)
    Growth(across=1.245, down=1.536, head=1.256)
    """
    ratio = size_cm / sizes.own_cm
    if sizes.by == "side":
        return Growth(ratio, ratio, ratio)
    if sizes.by == "bust":  # the head a blouse goes over stays as it is
        return Growth(ratio, 1 + LENGTH_BY_BUST * (ratio - 1), 1)
    was, now = body_of(sizes.own_cm), body_of(size_cm)
    return Growth(round(now.girth / was.girth, 3), round(ratio, 3), round(now.head_mm / was.head_mm, 3))


@cache
def body_of(height_cm: int) -> Body:
    """Return the median child of that height; raises Wrong beyond the table.

    >>> body = body_of(74)
    >>> body.age_days, round(body.head_mm)
    (344, 453)
    """
    age = next((day for day in range(LAST_DAY + 1) if _median("length", day) >= 10 * height_cm), None)
    if age is None or height_cm < SMALLEST_CM:
        raise Wrong("size", f"the table of heights goes from {SMALLEST_CM} to {LARGEST_CM} cm")
    return Body(age, _median("head", age), math.sqrt(_median("weight", age) / height_cm))


def size_words(sizes: SizeRange, size_cm: int) -> str:
    """Return a size as it is written in a design.

    >>> size_words(SizeRange("height", 68, HEIGHTS_CM), 74), size_words(SizeRange("side", 28, SIDES_CM), 32)
    ('74, body length up to 74 cm', '32 cm square')
    """
    if sizes.by == "bust":
        return f"Bust {size_cm} cm"
    return f"{size_cm} cm square" if sizes.by == "side" else f"{size_cm}, body length up to {size_cm} cm"


def _range(by: SizedBy, own_cm: int, usual: tuple[int, ...]) -> SizeRange:
    """The usual sizes and the design's own; a usual one only 1 cm from its own is no size of its own."""
    return SizeRange(by, own_cm, tuple(sorted({own_cm, *(size for size in usual if abs(size - own_cm) != 1)})))


def _median(what: What, day: int) -> float:
    return (lms_on(what, "girl", day).median + lms_on(what, "boy", day).median) / 2
