"""What every close-up of a band shares: its view, its headline, the whole length with the place marked, the needle."""

import math
from dataclasses import dataclass

from service.drawing.bands import Fineness
from service.drawing.pen import Pen
from service.drawing.svg import lettering, mark, path
from service.reckoning.shapes import Point, Rect

WIDTH, HEIGHT = 360.0, 292.0  # px on a phone
SIDE = 14.0
BAND = Rect(0, 66, WIDTH, 164)  # where the band lies in it
CLOTH = Rect(0, 34, WIDTH, 206)
NUMBERS_AT = 221.0
STRIP = Rect(SIDE, 244, WIDTH - SIDE, 262)
LETTERS = 12.5
FINE = Fineness(pitch_mm=5, width_mm=10, unit_mm=1)
VIEW = Rect(0, 0, WIDTH, HEIGHT)


@dataclass(frozen=True, slots=True)
class Count:
    """How many of one pass are done, and what they are called, one and several; `within` names the part counted."""

    done: int
    whole: int
    one: str
    several: str
    within: str = ""

    @property
    def is_done(self) -> bool:
        """Whether none is left."""
        return self.done >= self.whole

    @property
    def words(self) -> str:
        """How many are done and left."""
        if self.is_done:
            return f"All {self.whole} {self.several} done"
        named = self.one if self.done == 1 else self.several
        left = self.whole - self.done
        if self.within == "row":
            return f"{self.done} {named} of this row done, {left} left"
        if self.within == "edge":
            return f"{self.done} {named} of this edge done, {left} left"
        return f"{self.done} {named} done, {left} left"


def headline(words: str, below: str, *, leftwards: bool | None = None) -> str:
    """Return the two lines over a close-up, and an arrow the way the work runs if it has one."""
    lines = lettering("d-text", (SIDE, 14), words, font_weight=600) + lettering("d-quiet", (SIDE, 29), below)
    if leftwards is None:
        return lines
    tail, tip = (WIDTH - SIDE, WIDTH - SIDE - 40) if leftwards else (WIDTH - SIDE - 40, WIDTH - SIDE)
    back = 7 if leftwards else -7
    pen = Pen()
    pen.run(((tail, 24), (tip, 24)))
    pen.run(((tip + back, 19), (tip, 24), (tip + back, 29)))
    return lines + path("d-here", pen.d, stroke_width=1.8)


def weave(area: Rect, apart: float, first: float) -> str:
    """Return plain cloth with its threads just to be seen, those that stand `apart` from `first` on."""
    pen = Pen()
    x = first + math.ceil((area.left - first) / apart) * apart
    while x < area.right:
        pen.run(((x, area.top), (x, area.bottom)))
        x += apart
    y = area.top + 3
    while y < area.bottom:
        pen.run(((area.left, y), (area.right, y)))
        y += 5
    return mark("rect", "d-cloth", x=area.left, y=area.top, width=max(0.0, area.width), height=area.height) + path(
        "d-weave", pen.d, stroke_width=0.8
    )


def here(at: float, words: str, *, ends: tuple[str, str]) -> str:
    """Return the mark of the place reached over the whole-length strip, and what stands under it."""
    tip = (at, STRIP.top - 2)
    wedge = Pen()
    wedge.run((tip, (at - 5, STRIP.top - 10), (at + 5, STRIP.top - 10)), closed=True)
    foot = STRIP.bottom + 15
    return (
        path("d-here-fill", wedge.d)
        + lettering("d-quiet", (STRIP.left, foot), ends[0])
        + lettering("d-quiet", (STRIP.right, foot), ends[1], text_anchor="end")
        + lettering("d-text", (WIDTH / 2, foot), words, text_anchor="middle")
    )


def needle(eye: Point, tip: Point) -> str:
    """Return a needle from its eye to its tip."""
    length = math.dist(eye, tip)
    along = ((tip[0] - eye[0]) / length, (tip[1] - eye[1]) / length)
    side = (-along[1], along[0])

    def at(run: float, off: float) -> Point:
        return eye[0] + along[0] * run + side[0] * off, eye[1] + along[1] * run + side[1] * off

    body = Pen()
    body.move(*at(0, 0))
    body.sway(at(0, 2.6), at(8, 2.6), at(16, 2.1))
    body.line(*tip)
    body.line(*at(16, -2.1))
    body.sway(at(8, -2.6), at(0, -2.6), at(0, 0))
    hole = Pen()
    hole.run((at(4, 0), at(10, 0)))
    return path("d-needle", body.d, stroke_width=1.3) + path("d-here", hole.d, stroke_width=1.3)
