"""One panel as it is marked and worked: block, outline, grain, sections to scale, and how far from the block's edges.

Serves the pages and the papers; marking sheets number their lines on it.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from service.drawing.bands import Fineness, knotted_band
from service.drawing.panels import Manner, panel_marks
from service.drawing.pen import Pen
from service.drawing.shown import ShownPanel
from service.drawing.standing import MOST_BUNDLES, PHONE_PX
from service.drawing.svg import Picture, box, drawn, lettering, mark, path, said, short, tag
from service.drawing.telling import told_by_key, told_garment
from service.reckoning.designs import Direction
from service.reckoning.shapes import Point, Rect

LEFT_PX, TOP_PX, RIGHT_PX, BOTTOM_PX = 22, 22, 48, 30  # room for the measures, on a phone
LETTERS_PX = 11
LEAST_BAND_PX = 7
RINGS_PX = 11  # from one line's number to the next
APART_PX = 12.5  # from one measure to the next beside it
GRAIN_PX, HEAD_PX, GRAIN_WORD_PX = 44, 3, 34  # along the warp: half the arrow at most, half its head, its word
MOTIF_PX = 9  # half a motif
GRAIN_FILLS = 0.36  # of the bare cloth, to either side of its middle
GRAIN_TRIES = (0.3, 0.6, 0.15, 0.45, 0.75, 0.05, 0.9)  # how far across it may stand, where it is wished first


@dataclass(frozen=True, slots=True)
class MarkedLine:
    """A numbered line of a marking sheet: across at so many mm from the block's top, or down from its left."""

    number: int
    direction: Direction
    at_mm: float


Length = Callable[[float], str]
"""How a length in mm is written, with its unit after a blank."""


def in_mm(length_mm: float) -> str:
    """Write a length in mm."""
    return f"{said(length_mm)} mm"


@dataclass(frozen=True, slots=True)
class Sheet:
    """The panel with the size of one px on a phone in mm: everything beside the panel is measured in it."""

    panel: ShownPanel
    unit: float
    length: Length

    @property
    def right(self) -> float:
        """The block's right edge."""
        return self.panel.block_width_mm

    @property
    def bottom(self) -> float:
        """The block's lower edge."""
        return self.panel.block_height_mm


def panel_drawing(
    panel: ShownPanel, prefix: str = "panel", marked: Sequence[MarkedLine] = (), length: Length = in_mm
) -> str:
    """Return the drawing of one panel as SVG, with the numbered lines of a marking sheet if there are any.

    Measures, written by `length`, are from the block's upper and left edges to the middle of each strip.
    """
    unit = panel.block_width_mm / (PHONE_PX - LEFT_PX - RIGHT_PX)
    sheet = Sheet(panel, unit, length)
    view = Rect(-LEFT_PX * unit, -TOP_PX * unit, sheet.right + RIGHT_PX * unit, sheet.bottom + BOTTOM_PX * unit)
    fine = Fineness(view.width / MOST_BUNDLES, LEAST_BAND_PX * unit, unit, places=1 if unit < 1 else 0)
    manner = Manner(fine, knotted_band, told_by_key((panel,)))
    body = (
        box("d-block", Rect(0, 0, sheet.right, sheet.bottom))
        + panel_marks(panel, manner, prefix)
        + _grain(sheet)
        + _size(sheet)
        + _measures_down(sheet)
        + _measures_across(sheet)
        + _marked(sheet, marked)
    )
    size = f"Block {_bare(sheet, sheet.right)} × {length(sheet.bottom)}."
    has_links = any(section.href for section in panel.sections)
    text = f"{size}\n{told_garment((panel,))}"
    return drawn(Picture(view, panel.name, text, prefix, "panel", unit, LETTERS_PX * unit, has_links=has_links), body)


def spread_apart(wanted: Sequence[float], apart: float) -> tuple[float, ...]:
    """Return places in order, each as near as may be to the one wanted, none nearer than `apart` to the one before.

    >>> spread_apart([10, 12, 40], 5)
    (10, 15, 40)
    """
    placed: list[float] = []
    for at in wanted:
        placed.append(max(at, placed[-1] + apart) if placed else at)
    return tuple(placed)


def cloth_at(outline: Sequence[Point], y: float) -> tuple[float, float]:
    """Return the leftmost and the rightmost point of an outline at a height.

    >>> cloth_at(((0, 0), (10, 0), (10, 10), (0, 10)), 5)
    (0.0, 10.0)
    """
    met = _met(outline, y)
    return met[0], met[-1]


def _met(outline: Sequence[Point], y: float) -> list[float]:
    """How far across a level line meets the outline, from the left."""
    sides = [(a, b) for a, b in pairwise((*outline, outline[0])) if (a[1] > y) != (b[1] > y)]
    return sorted(a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1]) for a, b in sides)


def _grain(sheet: Sheet) -> str:
    """An arrow along the warp, in the widest stretch of plain cloth, where it crosses neither outline nor motif."""
    unit = sheet.unit
    stretch = _plain_cloth(sheet.panel)
    left, right = _between_strips_down(sheet.panel, sum(stretch) / 2)
    tried = [(x, *_bare_at(sheet, x, stretch)) for part in GRAIN_TRIES for x in [left + part * (right - left)]]
    x, top, bottom = max(tried, key=lambda each: min(each[2] - each[1], GRAIN_PX / GRAIN_FILLS * unit))
    if bottom - top < LETTERS_PX * unit:  # too small a panel for the word
        x, top, bottom = (left + right) / 2, *stretch
    half = min((bottom - top) * GRAIN_FILLS, GRAIN_PX * unit)
    middle = (top + bottom) / 2
    pen = Pen()
    pen.run(((x, middle - half), (x, middle + half)))
    for end, way in ((middle - half, 1), (middle + half, -1)):
        pen.run(((x - HEAD_PX * unit, end + 5 * way * unit), (x, end), (x + HEAD_PX * unit, end + 5 * way * unit)))
    word = lettering("d-quiet", (x + 5 * unit, middle + 3.5 * unit), "warp")
    return path("d-pencil", pen.d) + word


def _bare_at(sheet: Sheet, x: float, stretch: tuple[float, float]) -> tuple[float, float]:
    """The longest piece of a stretch down the cloth where an arrow at `x` and its word lie on bare cloth."""
    unit = sheet.unit
    left, right = x - HEAD_PX * unit, x + GRAIN_WORD_PX * unit
    motifs = [point for section in sheet.panel.sections for point in section.place.points]
    near = sorted(y for across, y in motifs if left - MOTIF_PX * unit < across < right + MOTIF_PX * unit)
    taken = [stretch[:1] * 2, *((y - MOTIF_PX * unit, y + MOTIF_PX * unit) for y in near), stretch[1:] * 2]
    bare = [(before[1], after[0]) for before, after in pairwise(taken)]
    for at in (left, x, (x + right) / 2, right):
        cloth = _cloth_down(sheet.panel.outline, at)
        bare = [(max(a, c), min(b, d)) for a, b in bare for c, d in cloth]
    return max(bare, key=lambda piece: piece[1] - piece[0], default=(0.0, 0.0))


def _cloth_down(outline: Sequence[Point], x: float) -> list[tuple[float, float]]:
    """Where a line down the panel lies on its cloth, from the top."""
    met = _met([(y, across) for across, y in outline], x)
    return list(zip(met[::2], met[1::2], strict=True))


def _plain_cloth(panel: ShownPanel) -> tuple[float, float]:
    """The upper and lower edge of the widest stretch without strips across."""
    cloth = panel.extent
    strips = sorted((strip.top, strip.bottom) for strip in _strips(panel, "across"))
    return _widest_gap([(cloth.top, cloth.top), *strips, (cloth.bottom, cloth.bottom)])


def _between_strips_down(panel: ShownPanel, y: float) -> tuple[float, float]:
    """The left and right edge of the widest stretch of cloth at a height without strips down."""
    left, right = cloth_at(panel.outline, y)
    strips = sorted((strip.left, strip.right) for strip in _strips(panel, "down") if strip.top < y < strip.bottom)
    return _widest_gap([(left, left), *strips, (right, right)])


def _widest_gap(taken: Sequence[tuple[float, float]]) -> tuple[float, float]:
    gaps = [(before[1], after[0]) for before, after in pairwise(taken)]
    return max(gaps, key=lambda gap: gap[1] - gap[0])


def _size(sheet: Sheet) -> str:
    """The block's width above it and its height at its left."""
    unit = sheet.unit
    y, x = -7 * unit, -7 * unit
    pen = Pen()
    for ends in (((0, y), (sheet.right, y)), ((x, 0), (x, sheet.bottom))):
        pen.run(ends)
    for at in (0, sheet.right):
        pen.run(((at, y - 3 * unit), (at, y + 3 * unit)))
    for at in (0, sheet.bottom):
        pen.run(((x - 3 * unit, at), (x + 3 * unit, at)))
    across = lettering("d-text", (sheet.right / 2, y - 4 * unit), sheet.length(sheet.right), text_anchor="middle")
    turn = f"rotate(-90 {short(x - 4 * unit)} {short(sheet.bottom / 2)})"
    down = lettering(
        "d-text",
        (x - 4 * unit, sheet.bottom / 2),
        sheet.length(sheet.bottom),
        text_anchor="middle",
        transform=turn,
    )
    return path("d-pencil", pen.d) + across + down


def _measures_down(sheet: Sheet) -> str:
    """How far each strip across lies from the block's upper edge, at its right."""
    unit = sheet.unit
    middles = _middles(sheet.panel, "across")
    pen, words = Pen(), ""
    for (at, end), place in zip(middles, spread_apart([at for at, _ in middles], APART_PX * unit), strict=True):
        pen.run(((end + 3 * unit, at), (sheet.right + 4 * unit, at), (sheet.right + 10 * unit, place)))
        words += lettering("d-text", (sheet.right + 12 * unit, place + 3.5 * unit), _bare(sheet, at))
    return path("d-pencil", pen.d, stroke_dasharray=_dots(unit)) + words


def _measures_across(sheet: Sheet) -> str:
    """How far each strip down lies from the block's left edge, under it."""
    unit = sheet.unit
    middles = _middles(sheet.panel, "down")
    pen, words = Pen(), ""
    for (at, end), place in zip(middles, spread_apart([at for at, _ in middles], 2.7 * APART_PX * unit), strict=True):
        pen.run(((at, end + 3 * unit), (at, sheet.bottom + 4 * unit), (place, sheet.bottom + 12 * unit)))
        words += lettering("d-text", (place, sheet.bottom + 23 * unit), _bare(sheet, at), text_anchor="middle")
    return path("d-pencil", pen.d, stroke_dasharray=_dots(unit)) + words


def _bare(sheet: Sheet, at_mm: float) -> str:
    """A length without its unit."""
    return sheet.length(at_mm).rpartition(" ")[0]


def _middles(panel: ShownPanel, direction: Direction) -> list[tuple[float, float]]:
    """Each strip's middle from the block's edge, and where it ends towards its measure, in order."""
    strips = _strips(panel, direction)
    if direction == "across":
        return sorted({((strip.top + strip.bottom) / 2, strip.right) for strip in strips})
    return sorted({((strip.left + strip.right) / 2, strip.bottom) for strip in strips})


def _strips(panel: ShownPanel, direction: Direction) -> Iterable[Rect]:
    return (strip for section in panel.sections if section.direction == direction for strip in section.place.strips)


def _dots(unit: float) -> str:
    return f"{short(unit)} {short(2 * unit)}"


def _marked(sheet: Sheet, lines: Sequence[MarkedLine]) -> str:
    """Numbered lines right across the block; their numbers in rings at the ends, none over another."""
    found = ""
    for direction, limit in (("across", sheet.bottom), ("down", sheet.right)):
        own = sorted((line for line in lines if line.direction == direction), key=lambda line: line.at_mm)
        places = _spread_within([line.at_mm for line in own], RINGS_PX * sheet.unit, limit)
        found += "".join(_ringed(sheet, line, place) for line, place in zip(own, places, strict=True))
    return found


def _spread_within(wanted: Sequence[float], apart: float, limit: float) -> tuple[float, ...]:
    """Places spread apart, moved back where they would stand beyond the limit."""
    placed, last = [], max(limit, apart * len(wanted))
    for at in reversed(spread_apart(wanted, apart)):
        last = min(at, last)
        placed.append(last)
        last -= apart
    return tuple(reversed(placed))


def _ringed(sheet: Sheet, line: MarkedLine, place: float) -> str:
    unit = sheet.unit
    far = sheet.right if line.direction == "across" else sheet.bottom
    pen = Pen(turned=line.direction == "down")
    pen.run(((0.0, place), (12 * unit, line.at_mm), (far, line.at_mm)))
    ring = (0.0, place) if line.direction == "across" else (place, 0.0)
    disc = mark("circle", "d-number", cx=ring[0], cy=ring[1], r=(RINGS_PX / 2 - 0.5) * unit)
    number = lettering(
        "d-number-text", (ring[0], ring[1] + 2.5 * unit), str(line.number), text_anchor="middle", font_size=7 * unit
    )
    return path("d-pencil", pen.d) + tag("g", disc + number)
