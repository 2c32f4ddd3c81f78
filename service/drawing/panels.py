"""One panel of a drawing: its cloth, its outline, and its sections clipped to it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from service.drawing.bands import Fineness, Stretch, stretch
from service.drawing.lines import at_length, line_marks, point_marks, tuck_marks
from service.drawing.pen import Pen
from service.drawing.shown import ShownPanel, ShownSection
from service.drawing.svg import box, group, mark, path, short, tag, titled
from service.reckoning.designs import Direction
from service.reckoning.outlines import length_of
from service.reckoning.shapes import Rect

MOST_OF_THE_ROOM = 0.8  # of the way to the next strip that one drawn wider may take
TARGET_PX = 24  # on a phone: what a finger or pointer hits round a strip or point, where there is room

DrawBand = Callable[[Stretch, ShownSection, Fineness], str]


@dataclass(frozen=True, slots=True)
class Manner:
    """How panels are drawn: how fine, how a band looks, and what is said of each section, by its key."""

    fine: Fineness
    draw_band: DrawBand
    told: Mapping[str, str]


def panel_marks(panel: ShownPanel, manner: Manner, prefix: str) -> str:
    """Return a panel's cloth, outline and sections, on its block."""
    fine = manner.fine
    pen = Pen(places=fine.places)
    pen.run(panel.outline, closed=True)
    shape = f"{prefix}-shape"
    clip = tag("clipPath", tag("use", attributes={"href": f"#{shape}"}), {"id": f"{prefix}-clip"})
    within = "".join(_strips(panel, section, manner) for section in panel.sections if section.place.strips)
    upon = "".join(_upon(section, manner) for section in panel.sections if not section.place.strips)
    return (
        path("d-piece", pen.d, id=shape)
        + (clip + group(within, {"clip-path": f"url(#{prefix}-clip)"}) if within else "")
        + upon
        + "".join(_pin(section, manner) for section in panel.sections if section.needs_hand)
    )


def moved(content: str, dx: float, dy: float, id_: str) -> str:
    """Return markup moved by so many mm, to be found by its id."""
    return group(content, {"id": id_, "transform": f"translate({short(dx)} {short(dy)})"})


def _strips(panel: ShownPanel, section: ShownSection, manner: Manner) -> str:
    """The strips of a band or tuck."""
    fine, marks, targets = manner.fine, "", ""
    for strip in section.place.strips:
        direction: Direction = section.direction or "across"
        room = _room(panel, strip, direction)
        own = _across(strip, direction)
        width = max(own[1] - own[0], min(fine.width_mm, MOST_OF_THE_ROOM * room))
        lie = stretch(strip, direction, width, flipped=_first_edge_above(panel, section, own))
        marks += manner.draw_band(lie, section, fine) if section.is_band else tuck_marks(lie, section, fine)
        targets += box("d-hit", stretch(strip, direction, max(width, min(TARGET_PX * fine.unit_mm, room))).rect)
    return _linked(section, marks, targets, manner)


def _upon(section: ShownSection, manner: Manner) -> str:
    """Lines and points, which lie upon the outline or the cloth."""
    fine = manner.fine
    if section.place.points:
        half = TARGET_PX * fine.unit_mm / 2
        targets = "".join(mark("circle", "d-hit", cx=x, cy=y, r=half) for x, y in section.place.points)
        return _linked(section, point_marks(section, fine), targets, manner)
    return _linked(section, line_marks(section, fine), "", manner)


def _linked(section: ShownSection, marks: str, targets: str, manner: Manner) -> str:
    inside = titled(manner.told[section.key]) + marks
    if not marks:
        return ""
    if not section.href:
        return group(inside, {"class": "d-section"})
    return tag("a", inside + targets, {"class": "d-section", "href": section.href})


def _room(panel: ShownPanel, strip: Rect, direction: Direction) -> float:
    """How far it is from a strip's middle to the middle of the next one beside it, and the edge of the cloth."""
    own = sum(_across(strip, direction)) / 2
    others = [
        abs(sum(_across(other, direction)) / 2 - own)
        for section in panel.sections
        if section.direction == direction
        for other in section.place.strips
        if other is not strip and _beside(strip, other, direction)
    ]
    return min(others, default=1e9)


def _beside(one: Rect, other: Rect, direction: Direction) -> bool:
    if direction == "across":
        return one.left < other.right and other.left < one.right
    return one.top < other.bottom and other.top < one.bottom


def _first_edge_above(panel: ShownPanel, section: ShownSection, own: tuple[float, float]) -> bool:
    """Whether the strip's first edge, its fold or hem, is its upper or left one."""
    middle = sum(own) / 2
    down = section.direction == "down"
    if section.place.lines:
        fold = section.place.lines[0][0]
        return (fold[0] if down else fold[1]) < middle
    cloth = panel.extent
    return middle < ((cloth.left + cloth.right) if down else (cloth.top + cloth.bottom)) / 2


def _across(strip: Rect, direction: Direction) -> tuple[float, float]:
    return (strip.top, strip.bottom) if direction == "across" else (strip.left, strip.right)


def _pin(section: ShownSection, manner: Manner) -> str:
    """A pin stuck in where a hand is needed now."""
    x, y = place_reached(section)
    unit = manner.fine.unit_mm
    head = (x + 9 * unit, y - 15 * unit)
    pen = Pen()
    pen.run(((x, y), head))
    shaft = path("d-here", pen.d, stroke_width=1.6 * unit)
    top = mark("circle", "d-here-fill", cx=head[0], cy=head[1], r=3.4 * unit)
    return group(titled(manner.told[section.key]) + shaft + top)


def place_reached(section: ShownSection) -> tuple[float, float]:
    """Return the point on the panel where the work has got to, in mm on its block."""
    place = section.place
    done = section.done_fraction if section.worked_from == "start" else 1 - section.done_fraction
    if place.strips:
        strip = place.strips[0]
        if section.direction == "down":
            return (strip.left + strip.right) / 2, strip.top + done * strip.height
        return strip.left + done * strip.width, (strip.top + strip.bottom) / 2
    if place.points:
        return place.points[min(int(section.done_fraction * len(place.points)), len(place.points) - 1)]
    return at_length(place.lines[0], done * length_of(place.lines[0]))
