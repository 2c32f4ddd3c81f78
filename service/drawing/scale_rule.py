"""A bar of 100 mm and a rule of single threads, one unit to the mm: to hold against the cloth when printed."""

from service.drawing.pen import Pen
from service.drawing.svg import Picture, drawn, lettering, path, said, short
from service.reckoning.asked import above_zero
from service.reckoning.shapes import Rect

BAR_MM = 100.0
SIDE_MM = 4.0
WIDTH_MM = BAR_MM + 2 * SIDE_MM
ROW_MM = 13.0
LETTERS_MM = 3.2
LINE_MM = 0.15
MOST_THREADS = 300


def scale_rule(warp_per_cm: float, weft_per_cm: float, prefix: str = "rule") -> str:
    """Return the bar and both rules as SVG; printed `WIDTH_MM` wide it is true to size."""
    above_zero("warp_per_cm", warp_per_cm)
    above_zero("weft_per_cm", weft_per_cm)
    body = _bar() + _threads(1, "warp", warp_per_cm) + _threads(2, "weft", weft_per_cm)
    text = f"100 mm; {said(warp_per_cm)} warp threads and {said(weft_per_cm)} weft threads to the cm, one stroke each."
    view = Rect(0, 0, WIDTH_MM, 3 * ROW_MM + 2)
    title = "A bar of 100 mm and a rule of threads"
    return drawn(Picture(view, title, text, prefix, "rule", LINE_MM, LETTERS_MM), body)


def _bar() -> str:
    pen = Pen(places=2)
    pen.run(((SIDE_MM, 8), (SIDE_MM + BAR_MM, 8)))
    for mm in range(101):
        high = 4.0 if mm % 10 == 0 else 2.8 if mm % 5 == 0 else 1.8
        pen.run(((SIDE_MM + mm, 8), (SIDE_MM + mm, 8 - high)))
    words = "".join(lettering("d-text", (SIDE_MM + cm * 10, 11.6), str(cm), text_anchor="middle") for cm in range(11))
    return path("d-working", pen.d) + words + lettering("d-text", (SIDE_MM, 3), "100 mm, in cm")


def _threads(row: int, system: str, per_cm: float) -> str:
    """A stroke a thread, longer every fifth and tenth, numbered by tens as far as the bar reaches."""
    base = row * ROW_MM + 8
    threads = min(MOST_THREADS, int(BAR_MM * per_cm / 10 + 1e-9))
    pen, words, gap = Pen(places=2), "", 10 / per_cm
    every = 10 if gap * 10 > 4.5 else 50 if gap * 50 > 4.5 else 100
    for thread in range(threads + 1):
        x = SIDE_MM + thread * gap
        high = 4.0 if thread % 10 == 0 else 2.8 if thread % 5 == 0 else 1.8
        pen.run(((x, base), (x, base - high)))
        if thread % every == 0:
            words += lettering("d-text", (x, base + 3.6), str(thread), text_anchor="middle")
    label = lettering("d-text", (SIDE_MM, base - 5), f"{system}, {short(per_cm, 2)} threads to the cm")
    return path("d-working", pen.d) + words + label
