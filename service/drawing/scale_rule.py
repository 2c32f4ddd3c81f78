"""A bar of 100 mm or 4 inches and a rule of single threads, one unit to the mm: to hold against the cloth."""

from collections.abc import Mapping
from dataclasses import dataclass

from service.drawing.pen import Pen
from service.drawing.svg import Picture, drawn, lettering, path, said, short
from service.reckoning.asked import above_zero
from service.reckoning.lengths import CM_PER_INCH, CountUnit, count_in
from service.reckoning.shapes import Rect

SIDE_MM = 4.0
ROW_MM = 13.0
LETTERS_MM = 3.2
LINE_MM = 0.15
MOST_THREADS = 300


@dataclass(frozen=True, slots=True)
class Bar:
    """The bar of a studio's unit: how long, in so many units, each parted into so many strokes; `told` above it."""

    length_mm: float
    units: int
    strokes: int
    told: str
    title: str

    @property
    def width_mm(self) -> float:
        """How wide the drawing is printed to be true to size."""
        return self.length_mm + 2 * SIDE_MM


BARS: Mapping[CountUnit, Bar] = {
    "cm": Bar(100.0, 10, 10, "100 mm, in cm", "A bar of 100 mm and a rule of threads"),
    "in": Bar(4 * 10 * CM_PER_INCH, 4, 16, "4 inches, in sixteenths", "A bar of 4 inches and a rule of threads"),
}


def scale_rule(
    warp_per_cm: float, weft_per_cm: float, prefix: str = "rule", *, unit: CountUnit = "cm", count: CountUnit = "cm"
) -> str:
    """Return the bar and both rules as SVG, lengths and counts in those units; true to size at the bar's width."""
    above_zero("warp_per_cm", warp_per_cm)
    above_zero("weft_per_cm", weft_per_cm)
    bar = BARS[unit]
    body = _bar(bar) + _threads(1, "warp", warp_per_cm, bar, count) + _threads(2, "weft", weft_per_cm, bar, count)
    warp, weft = (said(count_in(per_cm, count)) for per_cm in (warp_per_cm, weft_per_cm))
    to_the = "to the inch" if count == "in" else "to the cm"
    text = f"One stroke for each thread: {warp} warp threads and {weft} weft threads {to_the}."
    view = Rect(0, 0, bar.width_mm, 3 * ROW_MM + 2)
    return drawn(Picture(view, bar.title, text, prefix, "rule", LINE_MM, LETTERS_MM), body)


def _bar(bar: Bar) -> str:
    pen = Pen(places=2)
    pen.run(((SIDE_MM, 8), (SIDE_MM + bar.length_mm, 8)))
    apart = bar.length_mm / bar.units / bar.strokes
    for at in range(bar.units * bar.strokes + 1):
        high = 4.0 if at % bar.strokes == 0 else 2.8 if at % (bar.strokes // 2) == 0 else 1.8
        pen.run(((SIDE_MM + at * apart, 8), (SIDE_MM + at * apart, 8 - high)))
    words = "".join(
        lettering("d-text", (SIDE_MM + at * apart * bar.strokes, 11.6), str(at), text_anchor="middle")
        for at in range(bar.units + 1)
    )
    return path("d-working", pen.d) + words + lettering("d-text", (SIDE_MM, 3), bar.told)


def _threads(row: int, system: str, per_cm: float, bar: Bar, count: CountUnit) -> str:
    """A stroke a thread, longer every fifth and tenth, numbered by tens as far as the bar reaches."""
    base = row * ROW_MM + 8
    threads = min(MOST_THREADS, int(bar.length_mm * per_cm / 10 + 1e-9))
    pen, words, gap = Pen(places=2), "", 10 / per_cm
    every = 10 if gap * 10 > 4.5 else 50 if gap * 50 > 4.5 else 100
    for thread in range(threads + 1):
        x = SIDE_MM + thread * gap
        high = 4.0 if thread % 10 == 0 else 2.8 if thread % 5 == 0 else 1.8
        pen.run(((x, base), (x, base - high)))
        if thread % every == 0:
            words += lettering("d-text", (x, base + 3.6), str(thread), text_anchor="middle")
    said_count = short(count_in(per_cm, count), 2)
    label = f"{system}, {said_count} threads to the {'inch' if count == 'in' else 'cm'}"
    return path("d-working", pen.d) + words + lettering("d-text", (SIDE_MM, base - 5), label)
