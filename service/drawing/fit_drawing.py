"""Fit on the day: what is likely and what to cut for, on a rule for each measure, with the size classes."""

from dataclasses import dataclass

from service.drawing.pen import Pen
from service.drawing.svg import Picture, box, drawn, lettering, path, said
from service.reckoning.fit import CLASS_STEP_CM, SMALLEST_CLASS_CM, Fit, Span
from service.reckoning.fit_garment import LARGEST_CLASS_CM, MadeFor
from service.reckoning.lengths import CM_PER_INCH, CountUnit
from service.reckoning.shapes import Rect

WIDTH, SIDE = 340.0, 14.0
ROW = 80.0
RULE = 48.0
MARGIN = 0.35  # of what is to be allowed for, left free on each side


@dataclass(frozen=True, slots=True)
class Row:
    """One measure: its words, its span in the unit shown, and where a garment's own size lies, if known."""

    words: str
    unit: str
    span: Span
    per_unit: float
    made_for: float | None = None


def fit_drawing(fit: Fit, made_for: MadeFor | None = None, prefix: str = "fit", *, unit: CountUnit = "cm") -> str:
    """Return three rules as SVG: thick what is likely, thin what to cut for, a stroke at the middle."""
    known = made_for or MadeFor()
    mm_per_unit = 10 * CM_PER_INCH if unit == "in" else 10.0
    rows = tuple(
        Row(words, unit, span, mm_per_unit, None if made_for_cm is None else made_for_cm * 10 / mm_per_unit)
        for words, span, made_for_cm in (
            ("Length", fit.length_mm, known.length_cm),
            ("Head", fit.head_mm, known.head_cm),
        )
    )
    rows = (
        *rows,
        Row("Weight", "kg", fit.weight_g, 1000),
    )
    body = "".join(_row(row, at * ROW) for at, row in enumerate(rows))
    text = "\n".join(f"{_words(row)}." for row in rows)
    view = Rect(0, 0, WIDTH, len(rows) * ROW)
    return drawn(Picture(view, "The child on the day", text, prefix, "close", 1.2, 11), body)


def _words(row: Row) -> str:
    low, high = (said(value / row.per_unit) for value in row.span.likely)
    least, most = (said(value / row.per_unit) for value in row.span.allow)
    return f"{row.words}: likely {low} to {high} {row.unit}, cut for {least} to {most}"


def _row(row: Row, top: float) -> str:
    low, high = (value / row.per_unit for value in row.span.allow)
    spare = MARGIN * (high - low)
    ends = [low - spare, high + spare]
    if row.made_for is not None:
        ends = [min(ends[0], row.made_for - spare), max(ends[1], row.made_for + spare)]
    px = (WIDTH - 2 * SIDE) / (ends[1] - ends[0])

    def at(value: float) -> float:
        return SIDE + (value - ends[0]) * px

    y = top + RULE
    likely = [at(value / row.per_unit) for value in row.span.likely]
    middle = at(row.span.middle / row.per_unit)
    rule, strokes = Pen(places=2), Pen(places=2)
    rule.run(((SIDE, y), (WIDTH - SIDE, y)))
    strokes.run(((middle, y - 9), (middle, y + 9)))
    return (
        lettering("d-text", (SIDE, top + 14), _words(row))
        + path("d-pencil", rule.d)
        + box("d-hem", Rect(at(low), y - 4, at(high), y + 4))
        + box("d-fill", Rect(likely[0], y - 4, likely[1], y + 4))
        + path("d-working", strokes.d, stroke_width=2)
        + _ticks(row, ends, at(ends[0]), px, y)
        + _made_for(row, y, None if row.made_for is None else at(row.made_for))
    )


def _ticks(row: Row, ends: list[float], left: float, px: float, y: float) -> str:
    """The size classes along the length; whole units along the others."""
    if row.words == "Length":
        values = list(range(SMALLEST_CLASS_CM, LARGEST_CLASS_CM + 1, CLASS_STEP_CM))
    else:
        values = list(range(int(ends[0]), int(ends[1]) + 2))
    shown = [value for value in values if ends[0] <= value <= ends[1]]
    every = 1 + len(shown) // 9
    pen, words = Pen(places=2), ""
    for value in shown[::every]:
        x = left + (value - ends[0]) * px
        pen.run(((x, y), (x, y + 8)))
        words += lettering("d-quiet", (x, y + 20), str(value), text_anchor="middle")
    return path("d-pencil", pen.d) + words


def _made_for(row: Row, y: float, x: float | None) -> str:
    if x is None or row.made_for is None:
        return ""
    pen = Pen(places=2)
    pen.run(((x, y - 20), (x, y + 6)))
    anchor = "end" if x > WIDTH / 2 else "start"
    gap = -4 if anchor == "end" else 4
    words = f"made for up to {said(row.made_for)}"
    return path("d-thread", pen.d, stroke_width=2) + lettering("d-text", (x + gap, y - 13), words, text_anchor=anchor)
