"""The whole garment, front and back side by side to scale: its sections where they lie, and how far each is."""

from collections.abc import Sequence

from service.drawing.bands import pinched_band
from service.drawing.panels import Manner, moved, panel_marks
from service.drawing.shown import ShownPanel
from service.drawing.standing import Layout, Standing, fineness, shown_sides, side_by_side
from service.drawing.svg import Attributes, Picture, drawn, lettering, tag
from service.drawing.telling import told_by_key, told_garment
from service.reckoning.shapes import Rect

LETTERS_PX = 11  # on a phone


def garment_map(panels: Sequence[ShownPanel], name: str, prefix: str = "map") -> str:
    """Return the large drawing of a garment as SVG; sections with an address are links.

    `prefix` begins every id, so that two drawings can stand on one page. Raises Wrong when there is no panel.
    """
    layout = side_by_side(panels)
    view = layout.view
    fine = fineness(view.width)
    letters = LETTERS_PX * fine.unit_mm
    has_links = any(section.href for panel in panels for section in panel.sections)
    manner = Manner(fine, pinched_band, told_by_key(panels))
    body = _panels(layout, manner, prefix)
    names = "".join(
        lettering("d-quiet", (middle, view.bottom + letters), side, text_anchor="middle")
        for side, middle in layout.names
    )
    room = Rect(view.left, view.top, view.right, view.bottom + 1.6 * letters)
    words = Picture(
        room, shown_sides(name, layout), told_garment(panels), prefix, "map", fine.unit_mm, letters, has_links=has_links
    )
    return drawn(words, body + names)


def _panels(layout: Layout, manner: Manner, prefix: str) -> str:
    """Every panel where it stands; one that stands on both sides is drawn once and shown again."""
    first: dict[str, tuple[int, Standing]] = {}
    parts: list[str] = []
    for at, one in enumerate(layout.panels):
        if one.panel.key in first:
            number, other = first[one.panel.key]
            again: Attributes = {"href": f"#{prefix}-{number}", "x": one.dx - other.dx, "y": one.dy - other.dy}
            parts.append(tag("use", attributes=again))
        else:
            first[one.panel.key] = (at, one)
            content = panel_marks(one.panel, manner, f"{prefix}-{at}")
            parts.append(moved(content, one.dx, one.dy, f"{prefix}-{at}"))
    return "".join(parts)
