"""Clipping and withdrawing close to: the threads that run along the band, those gone, and the one that is next."""

from dataclasses import dataclass
from itertools import product

from service.drawing.close_parts import (
    BAND,
    CLOTH,
    LETTERS,
    STRIP,
    VIEW,
    WIDTH,
    Count,
    headline,
    here,
    needle,
    weave,
)
from service.drawing.pen import Pen
from service.drawing.rows import part_of
from service.drawing.shown import ShownBand
from service.drawing.svg import Picture, box, drawn, lettering, mark, path
from service.reckoning.asked import Wrong, whole
from service.reckoning.shapes import Rect

MOST_THREADS = 12
STOP_AT = 92.0  # px from the left to the stop line
STANDING_APART = 13.0
MOST_MARKS = 80
CLIPPED_PX = 12.0


@dataclass(frozen=True, slots=True)
class Passing:
    """One pass over the threads of a band: `words` say which, `count` how many are done."""

    operation: str
    words: str
    count: Count
    has_stop_line: bool

    @property
    def shown(self) -> int:
        """How many threads are drawn."""
        return min(self.count.whole, MOST_THREADS)

    @property
    def first(self) -> int:
        """The first thread drawn: the next one with its neighbours."""
        return min(max(self.count.done - self.shown // 2, 0), self.count.whole - self.shown)

    def level(self, thread: int) -> float:
        """How far down a thread lies: the first nearest the band's first edge, which is drawn below."""
        apart = BAND.height / (self.shown + 1)
        return BAND.bottom - (thread - self.first + 1) * apart


def threads_close_up(band: ShownBand, operation: str, done: int, prefix: str = "close") -> str:
    """Return the close-up of clipping or withdrawing when `done` are done, over all passes of the band.

    Raises Wrong when the band has no such pass, or fewer threads.
    """
    passes = passes_of(band, operation)
    each = whole("withdraw_threads", band.withdraw_threads)
    whole("done", done, 0, each * len(passes))
    at = min(done // each, len(passes) - 1)
    one = ("clip", "clips") if operation == "clip" else ("thread", "threads")
    has_stop_line = bool(band.ends_at) and not band.closed_round
    passing = Passing(operation, passes[at], Count(done - at * each, each, *one), has_stop_line)
    body = (
        headline(_next_words(passing), passing.words)
        + _ground(passing)
        + _threads(passing)
        + _stop_line(passing)
        + _hand(passing)
        + _whole_length(passing)
    )
    text = f"{_next_words(passing)}. {passing.words}. {passing.count.words}."
    return drawn(Picture(VIEW, band.name, text, prefix, "close", 1, LETTERS), body)


def passes_of(band: ShownBand, operation: str) -> tuple[str, ...]:
    """Return what each pass is called: a tuck band has two strips, and a clip is made at every stop line."""
    strips = ("First strip", "Second strip") if band.kind == "tuck_band" else ("",)
    if operation == "withdraw":
        return tuple(strip or "From the first edge on" for strip in strips)
    if operation != "clip":
        raise Wrong("operation", f"must be clip or withdraw, not {operation!r}")
    if band.closed_round:
        ends: tuple[str, ...] = ("once a thread",)
    else:
        ends = (("at the stop line",), ("at one stop line", "at the other stop line"))[len(band.ends_at) == 2]
        ends = ends[: len(band.ends_at)]
    if not ends:
        raise Wrong("operation", "a band that runs out at both ends has no thread to clip")
    words = [f"{strip}, {end}" if strip else end.capitalize() for strip, end in product(strips, ends)]
    return tuple(f"{each}, seen from the back" for each in words)


def _next_words(passing: Passing) -> str:
    count = passing.count
    if count.is_done:
        return count.words
    verb = "clip" if passing.operation == "clip" else "withdraw"
    return f"Next: {verb} thread {count.done + 1} of {count.whole}"


def _ground(passing: Passing) -> str:
    """Cloth round the band, and the standing threads across it."""
    left = STOP_AT if passing.has_stop_line else 0.0
    standing = Pen()
    x = left + STANDING_APART / 2
    while x < WIDTH:
        standing.run(((x, BAND.top), (x, BAND.bottom)))
        x += STANDING_APART
    edges = Pen()
    for y in (BAND.top, BAND.bottom):
        edges.run(((left, y), (WIDTH, y)))
    cloth = weave(CLOTH, STANDING_APART, left + STANDING_APART / 2)
    gap = box("d-gap", Rect(left, BAND.top, WIDTH, BAND.bottom))
    lines = path("d-edge", edges.d, stroke_width=1.4) + path("d-pencil", standing.d, stroke_width=1.6)
    return cloth + gap + lines


def _threads(passing: Passing) -> str:
    """The threads along the band: clipped ones with a gap behind the stop line, withdrawn ones gone."""
    left = STOP_AT if passing.has_stop_line else 0.0
    cut = left + 6 if passing.has_stop_line else WIDTH / 2 - CLIPPED_PX
    open_ones, clipped, coming = Pen(), Pen(), Pen()
    for thread in range(passing.first, passing.first + passing.shown):
        y = passing.level(thread)
        if thread == passing.count.done:
            coming.run(((0, y), (WIDTH, y)))
        elif thread > passing.count.done:
            open_ones.run(((0, y), (WIDTH, y)))
        elif passing.operation == "clip":
            clipped.run(((0, y), (cut, y)))
            clipped.move(cut + CLIPPED_PX, y - 3)
            clipped.bend((cut + CLIPPED_PX + 5, y), (cut + CLIPPED_PX + 14, y))
            clipped.line(WIDTH, y)
        elif passing.has_stop_line:
            clipped.run(((0, y), (left + 4, y)))
    return (
        path("d-thread", open_ones.d, stroke_width=2.6)
        + path("d-done", clipped.d, stroke_width=2.6)
        + path("d-here", coming.d, stroke_width=3.2)
    )


def _stop_line(passing: Passing) -> str:
    if not passing.has_stop_line:
        return ""
    stitches = Pen()
    y = BAND.top - 6
    while y <= BAND.bottom + 6:
        stitches.run(((STOP_AT, y), (STOP_AT - 10, y)))
        y += 5
    stitches.run(((STOP_AT, BAND.top - 8), (STOP_AT, BAND.bottom + 8)))
    word = lettering("d-quiet", (STOP_AT, CLOTH.top + 15), "stop line", text_anchor="middle")
    return path("d-knot", stitches.d, stroke_width=1.8) + word


def _hand(passing: Passing) -> str:
    """Scissors at the thread to clip, or a needle that lifts the thread to withdraw."""
    if passing.count.is_done:
        return ""
    y = passing.level(passing.count.done)
    if passing.operation == "withdraw":
        return needle((WIDTH / 2 + 62, y + 30), (WIDTH / 2 - 14, y - 7))
    x = STOP_AT + 12 if passing.has_stop_line else WIDTH / 2
    return _scissors(x, y)


def _scissors(x: float, y: float) -> str:
    """Small scissors with their points at the thread, coming from the lower right."""
    blades = Pen()
    for tip, bow in (((-4.0, -4.0), (50.0, 26.0)), ((2.0, -7.0), (33.0, 43.0))):
        blades.run(((x + tip[0], y + tip[1]), (x + bow[0], y + bow[1])))
    bows = "".join(
        mark("circle", "d-needle", cx=x + dx, cy=y + dy, r=7.5, stroke_width=2) for dx, dy in ((57, 30), (37, 50))
    )
    return path("d-here", blades.d, stroke_width=2.6) + bows


def _whole_length(passing: Passing) -> str:
    """All threads of this pass in a row: open ones to be seen, of the done ones only a point is left."""
    count = passing.count
    marks = min(count.whole, MOST_MARKS)
    done = part_of(marks, count.done / count.whole)
    apart = STRIP.width / marks
    standing, gone = Pen(), Pen()
    for at in range(marks):
        x = STRIP.left + (at + 0.5) * apart
        if at < done:
            gone.run(((x, STRIP.bottom - 3), (x + 0.1, STRIP.bottom - 3)))
        else:
            standing.run(((x, STRIP.top), (x, STRIP.bottom)))
    at_place = STRIP.left + count.done / count.whole * STRIP.width
    return (
        path("d-knot", gone.d, stroke_width=3.4)
        + path("d-thread", standing.d, stroke_width=1.6)
        + here(at_place, count.words, ends=("1", str(count.whole)))
    )
