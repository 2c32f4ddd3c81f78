"""Work measured in cm on a band, close to: marked, edge-stitched, basted or secured, and how far it has got."""

from service.drawing.close_parts import CLOTH, LETTERS, STRIP, VIEW, WIDTH, headline, here, weave
from service.drawing.lines import Line, split
from service.drawing.pen import Pen
from service.drawing.shown import ShownBand
from service.drawing.svg import Picture, box, drawn, path, said
from service.reckoning.asked import Wrong, above_zero, not_below
from service.reckoning.outlines import length_of
from service.reckoning.shapes import Rect

LIES = Rect(44, 72, WIDTH - 44, 150)  # the whole band, foreshortened
TITLES = {
    "mark": "The band's lines, each along one thread",
    "edge_stitch": "The stop line, every stitch on its thread",
    "baste": "Along the fold, thread over thread",
    "secure": "The open ends, before the cloth is cut",
}
DONE_WORDS = {"mark": "marked", "edge_stitch": "edge-stitched", "baste": "basted", "secure": "secured"}


def length_close_up(band: ShownBand, operation: str, done_cm: float, quantity_cm: float, prefix: str = "close") -> str:
    """Return the whole band with the lines that this operation works, `done_cm` of `quantity_cm` of them done.

    Raises Wrong when it is not an operation in cm on a band, or the band has no line for it.
    """
    if operation not in TITLES:
        raise Wrong("operation", f"must be one of {', '.join(TITLES)}, not {operation!r}")
    fraction = not_below("done_cm", done_cm) / above_zero("quantity_cm", quantity_cm)
    lines = _lines(band, operation)
    if not lines:
        raise Wrong("operation", f"there is nothing to {operation} on this band")
    words = _words(operation, min(done_cm, quantity_cm), quantity_cm)
    body = (
        headline(f"{words[0].upper()}{words[1:]}", TITLES[operation])
        + weave(CLOTH, 9, 4)
        + box("d-gap" if operation == "secure" else "d-cloth", LIES)
        + _outline(band)
        + _worked(lines, min(1.0, fraction))
        + _whole_length(min(1.0, fraction), quantity_cm)
    )
    return drawn(Picture(VIEW, band.name, f"{words}. {TITLES[operation]}.", prefix, "close", 1, LETTERS), body)


def _words(operation: str, done_cm: float, quantity_cm: float) -> str:
    return f"{said(done_cm)} of {said(quantity_cm)} cm {DONE_WORDS[operation]}"


def _lines(band: ShownBand, operation: str) -> tuple[Line, ...]:
    """The lines that are worked, in order, along the band as it is drawn."""
    start = ((LIES.left, LIES.top), (LIES.left, LIES.bottom))
    end = ((LIES.right, LIES.top), (LIES.right, LIES.bottom))
    ends = {"start": start, "end": end}
    stops = () if band.closed_round else tuple(ends[at] for at in band.ends_at)
    if operation == "edge_stitch":
        return stops
    if operation == "secure":
        return () if band.closed_round else tuple(line for at, line in ends.items() if at not in band.ends_at)
    below = ((LIES.left, LIES.bottom), (LIES.right, LIES.bottom))
    if operation == "baste":
        return (below,)
    return (((LIES.left, LIES.top), (LIES.right, LIES.top)), below, *stops)


def _outline(band: ShownBand) -> str:
    """The band's two edges, and its stop lines."""
    pen = Pen()
    for y in (LIES.top, LIES.bottom):
        pen.run(((LIES.left, y), (LIES.right, y)))
    for line in _lines(band, "edge_stitch"):
        pen.run(line)
    return path("d-pencil", pen.d, stroke_width=1, stroke_dasharray="2 3")


def _worked(lines: tuple[Line, ...], fraction: float) -> str:
    """The done part in firm stitches, the rest in fine ones, and a point where the work has got to."""
    lengths = [length_of(line) for line in lines]
    left = fraction * sum(lengths)
    done, rest = Pen(), Pen()
    for line, length in zip(lines, lengths, strict=True):
        for pen, part in zip((done, rest), split(line, max(0.0, min(1.0, left / length))), strict=True):
            if part:
                pen.run(part)
        left -= length
    return path("d-bind", rest.d, stroke_width=2, stroke_dasharray="2 6") + path(
        "d-bound", done.d, stroke_width=3.4, stroke_dasharray="7 2"
    )


def _whole_length(fraction: float, quantity_cm: float) -> str:
    at = STRIP.left + fraction * STRIP.width
    done = Rect(STRIP.left, STRIP.top + 5, at, STRIP.bottom - 3)
    rule = Pen()
    rule.run(((STRIP.left, STRIP.bottom), (STRIP.right, STRIP.bottom)))
    for tick in range(11):
        x = STRIP.left + tick * STRIP.width / 10
        rule.run(((x, STRIP.bottom), (x, STRIP.top + (4 if tick % 5 else 0))))
    left_over = "All done" if fraction >= 1 else f"{said((1 - fraction) * quantity_cm)} cm left"
    marks = box("d-fill", done) + path("d-pencil", rule.d, stroke_width=1.2)
    return marks + here(at, left_over, ends=("0", f"{said(quantity_cm)} cm"))
