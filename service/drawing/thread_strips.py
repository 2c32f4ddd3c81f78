"""The same width on two cloths: their threads side by side to scale, so that it is seen what a conversion does."""

from service.drawing.pen import Pen
from service.drawing.svg import Picture, box, drawn, lettering, path, short
from service.reckoning.counts import Conversion
from service.reckoning.shapes import Rect

WIDTH = 360.0  # px on a phone
SIDE = 1.0
STRIP = 44.0
TOPS = (20.0, 94.0)
MOST_THREADS_DRAWN = 240


def thread_strips(found: Conversion, from_threads: int | None, prefix: str = "strips") -> str:
    """Return both widths to one scale with their threads; `from_threads` are left out when a width was asked for.

    Returns nothing for more threads than can be told apart, or none.
    """
    if not found.threads or max(found.threads, from_threads or 0) > MOST_THREADS_DRAWN:
        return ""
    px_per_mm = (WIDTH - 2 * SIDE) / max(found.width_mm, found.actual_width_mm)
    wanted, actual = found.width_mm * px_per_mm, found.actual_width_mm * px_per_mm
    first = (
        f"{from_threads} threads, {short(found.width_mm, 2)} mm" if from_threads else f"{short(found.width_mm, 2)} mm"
    )
    second = f"{found.threads} threads, {short(found.actual_width_mm, 2)} mm"
    body = (
        _strip(TOPS[0], wanted, from_threads or 0, f"As it is: {first}")
        + _strip(TOPS[1], actual, found.threads, f"On the other cloth: {second}")
        + _ends_at(SIDE + wanted)
    )
    view = Rect(0, 0, WIDTH, TOPS[1] + STRIP + 6)
    return drawn(
        Picture(view, "The width on both cloths, to one scale", f"{first}; {second}.", prefix, "close", 1.2), body
    )


def _strip(top: float, width: float, threads: int, words: str) -> str:
    lines, outline = Pen(places=2), Pen()
    for thread in range(threads):
        along = SIDE + (thread + 0.5) * width / threads
        lines.run(((along, top), (along, top + STRIP)))
    outline.run(((SIDE, top), (SIDE + width, top), (SIDE + width, top + STRIP), (SIDE, top + STRIP)), closed=True)
    return (
        lettering("d-text", (SIDE, top - 6), words)
        + box("d-gap", Rect(SIDE, top, SIDE + width, top + STRIP))
        + path("d-thread", lines.d)
        + path("d-edge", outline.d)
    )


def _ends_at(along: float) -> str:
    """The wanted width's end, carried down to the other strip."""
    line = Pen()
    line.run(((along, TOPS[0] + STRIP), (along, TOPS[1] + STRIP + 5)))
    return path("d-here", line.d, stroke_dasharray="4 3")
