"""A chance as a thread that runs to the stop line of its day: its knot sits before the line, on it, or past it."""

from collections.abc import Sequence

from service.drawing.pen import Pen
from service.drawing.svg import mark, path, tag

WIDTH, HEIGHT = 40.0, 16.0
DAY = 25.0
KNOT = 3.0
UNSURE, DOUBTFUL = 0.7, 0.4
# the least chance that the word is used for, the word, and where the knot sits
LEVELS: Sequence[tuple[float, str, float]] = (
    (0.9, "well in time", 8),
    (UNSURE, "likely in time", 17),
    (DOUBTFUL, "touch and go", DAY),
    (0.15, "likely late", 31),
    (0.0, "late unless something changes", 36.5),
)


def chance_word(chance: float) -> str:
    """Return a chance in words.

    >>> chance_word(0.93), chance_word(0.5), chance_word(0.01)
    ('well in time', 'touch and go', 'late unless something changes')
    """
    return _level(chance)[1]


def chance_mark(chance: float) -> str:
    """Return the thread as SVG; the word stands beside it, so that it is not read out."""
    at = _level(chance)[2]
    middle = HEIGHT / 2
    thread, past, day = Pen(), Pen(), Pen()
    thread.run(((1, middle), (min(at, DAY), middle)))
    if at > DAY:
        past.run(((DAY, middle), (at, middle)))
    day.run(((DAY - 1.2, 1), (DAY - 1.2, HEIGHT - 1)))
    day.run(((DAY + 1.2, 1), (DAY + 1.2, HEIGHT - 1)))
    body = (
        path("d-pencil", day.d)
        + path("d-working", thread.d, stroke_width=1.6)
        + path("d-working", past.d, stroke_width=1.6, stroke_dasharray="2 2.4")
        + mark("circle", "d-fill" if at < DAY else "d-here-fill", cx=at, cy=middle, r=KNOT)
    )
    return tag(
        "svg",
        body,
        {
            "class": "d-chance",
            "viewBox": f"0 0 {WIDTH:g} {HEIGHT:g}",
            "width": WIDTH,
            "height": HEIGHT,
            "aria-hidden": "true",
            "focusable": "false",
            "fill": "none",
        },
    )


def _level(chance: float) -> tuple[float, str, float]:
    return next((level for level in LEVELS if chance >= level[0]), LEVELS[-1])
