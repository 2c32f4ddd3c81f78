"""A piece's road to its day as one thread: today, the likely day, a surer one, and the stop line of the wanted day."""

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
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "June", "July", "Aug", "Sept", "Oct", "Nov", "Dec")


@dataclass(frozen=True, slots=True)
class Road:
    """The days of one piece. `sure` is the day that is kept eight times in ten."""

    name: str
    today: date
    likely: date
    sure: date
    wanted: date
    chance: float


def day_words(day: date, today: date) -> str:
    """Return a day in few letters, with its year when that is another.

    >>> day_words(date(2026, 12, 3), date(2026, 11, 25)), day_words(date(2027, 1, 3), date(2026, 11, 25))
    ('3 Dec', '3 Jan 2027')
    """
    year = "" if day.year == today.year else f" {day.year}"
    return f"{day.day} {MONTHS[day.month - 1]}{year}"


def road_words(road: Road) -> str:
    """Return the road in one sentence."""
    likely, sure, wanted = (day_words(day, road.today) for day in (road.likely, road.sure, road.wanted))
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
    label = _label(likely, f"likely {day_words(road.likely, road.today)}", wanted)
    for edge in (wanted - 1.5, wanted + 1.5):
        line.run(((edge, (LIKELY if label.left < wanted < label.right else WANTED) + 4), (edge, THREAD + 10)))
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
        + _label(wanted, f"wanted {day_words(road.wanted, road.today)}").at(WANTED, "d-text")
        + label.at(LIKELY, "d-text")
        + _label(today, "today").at(TODAY, "d-quiet")
        + _label(sure, f"8 times in 10 by {day_words(road.sure, road.today)}").at(SURE, "d-quiet")
    )
    picture = Picture(
        Rect(0, 0, WIDTH, HEIGHT), f"{road.name}: the road to its day", road_words(road), prefix, "road", 1, 11
    )
    return drawn(picture, body)


@dataclass(frozen=True, slots=True)
class _Label:
    """Words at a point of the thread, and how far they reach."""

    words: str
    left: float

    @property
    def right(self) -> float:
        return self.left + len(self.words) * LETTER

    def at(self, y: float, ink: str) -> str:
        return lettering(ink, ((self.left + self.right) / 2, y), self.words, text_anchor="middle")


def _label(x: float, words: str, beside: float | None = None) -> _Label:
    """Letter a point of the thread so that its words stay on the sheet, and off a line where there is room."""
    long = len(words) * LETTER
    left = x - long / 2
    if beside is not None and left < beside < left + long:
        left = x - long if x < beside else x
    return _Label(words, max(0.0, min(left, WIDTH - long)))
