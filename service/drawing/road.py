"""A piece's road to its day as one thread: today, the likely day, a surer one, and the stop line of the wanted day."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from service.drawing.pen import Pen
from service.drawing.svg import Picture, drawn, lettering, mark, path
from service.reckoning.dates import shown_percent
from service.reckoning.shapes import Rect

WIDTH, HEIGHT, SIDE = 340.0, 86.0, 16.0
WANTED, LIKELY, THREAD, TODAY, SURE = 12.0, 28.0, 44.0, 64.0, 78.0  # the lines of lettering and the thread between
LEAST_DAYS = 7
LETTER = 6.7  # how wide a letter is at most, in the mean of a line
LONGER = 1.7  # in how many times the length the same may be said in another language


@dataclass(frozen=True, slots=True)
class Road:
    """The days of one piece. `sure` is kept eight times in ten; `said` writes a day, its year if wished."""

    name: str
    today: date
    likely: date
    sure: date
    wanted: date
    chance: float
    said: Callable[[date, bool], str]


def day_words(road: Road, day: date) -> str:
    """Return a day in few letters, with its year when that is another than today's."""
    return road.said(day, day.year != road.today.year)


def road_words(road: Road) -> str:
    """Return the road in one sentence."""
    likely, sure, wanted = (day_words(road, day) for day in (road.likely, road.sure, road.wanted))
    chance = shown_percent(road.chance)
    return (
        f"Likely done on {likely}, eight times in ten by {sure}; wanted on {wanted}, kept with a chance of {chance} %."
    )


def road_drawing(road: Road, prefix: str) -> str:
    """Return the road as SVG."""
    days = (road.today, road.likely, road.sure, road.wanted)
    first = min(days)
    px = (WIDTH - 2 * SIDE) / max(LEAST_DAYS, (max(days) - first).days)
    today, likely, sure, wanted = (SIDE + (day - first).days * px for day in days)
    whole, rest, ground, line, leads = (Pen() for _ in range(5))
    ground.run(((SIDE, THREAD), (WIDTH - SIDE, THREAD)))
    whole.run(((today, THREAD), (likely, THREAD)))
    rest.run(((likely, THREAD), (sure, THREAD)))
    label = _label(likely, f"likely {day_words(road, road.likely)}", wanted)
    for edge in (wanted - 1.5, wanted + 1.5):
        line.run(((edge, (LIKELY if label.may_cover(wanted) else WANTED) + 4), (edge, THREAD + 10)))
    leads.run(((likely, LIKELY + 3), (likely, THREAD)))
    leads.run(((sure, THREAD), (sure, SURE - 11)))
    leads.run(((today, THREAD), (today, TODAY - 11)))
    body = (
        path("d-weave", ground.d)
        + path("d-pencil", leads.d, stroke_width=0.6)
        + path("d-thread" if likely <= wanted else "d-here", line.d, stroke_width=1.6)
        + path("d-working", whole.d, stroke_width=2)
        + path("d-working", rest.d, stroke_width=2, stroke_dasharray="3 4")
        + mark("circle", "d-open", cx=today, cy=THREAD, r=3)
        + mark("circle", "d-open", cx=sure, cy=THREAD, r=4)
        + mark("circle", "d-fill", cx=likely, cy=THREAD, r=4.5)
        + _label(wanted, f"wanted {day_words(road, road.wanted)}").at(WANTED, "d-text")
        + label.at(LIKELY, "d-text")
        + _label(today, "today").at(TODAY, "d-quiet")
        + _label(sure, f"8 times in 10 by {day_words(road, road.sure)}").at(SURE, "d-quiet")
    )
    picture = Picture(
        Rect(0, 0, WIDTH, HEIGHT), f"{road.name}: the road to its day", road_words(road), prefix, "road", 1, 11
    )
    return drawn(picture, body)


@dataclass(frozen=True, slots=True)
class _Label:
    """Words at a point of the thread, held where the sheet ends near them; longer ones go on to its middle."""

    words: str
    left: float

    @property
    def long(self) -> float:
        return len(self.words) * LETTER

    @property
    def held_right(self) -> bool:
        return self.left + self.long / 2 > WIDTH / 2

    def may_cover(self, x: float) -> bool:
        more = (LONGER - 1) * self.long
        begins = self.left - more if self.held_right else self.left
        return begins < x < begins + LONGER * self.long

    def at(self, y: float, ink: str) -> str:
        if self.held_right:
            return lettering(ink, (self.left + self.long, y), self.words, text_anchor="end")
        return lettering(ink, (self.left, y), self.words, text_anchor="start")


def _label(x: float, words: str, beside: float | None = None) -> _Label:
    """Letter a point of the thread so that its words stay on the sheet, and off a line where there is room."""
    long = len(words) * LETTER
    left = x - long / 2
    if beside is not None and left < beside < left + long:
        left = x - long if x < beside else x
    most = LONGER * long
    bounds = (most - long, WIDTH - long) if left + long / 2 > WIDTH / 2 else (0.0, WIDTH - most)
    return _Label(words, max(bounds[0], min(left, bounds[1])))
