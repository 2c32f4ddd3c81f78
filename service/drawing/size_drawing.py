"""One garment in several sizes, each in a view of the same size: shown equally wide, all are to one scale."""

from collections.abc import Sequence

from service.drawing.bands import Fineness, pinched_band
from service.drawing.panels import Manner, moved, panel_marks
from service.drawing.shown import ShownPanel
from service.drawing.standing import Layout, side_by_side
from service.drawing.svg import Picture, drawn
from service.drawing.telling import told_by_key
from service.reckoning.shapes import Rect

DRAWN_PX = 170  # about how wide one is shown
MOST_BUNDLES = 40  # across one drawing
LEAST_BAND_PX = 3


def size_drawings(sizes: Sequence[Sequence[ShownPanel]], names: Sequence[str], prefix: str = "size") -> tuple[str, ...]:
    """Return the front of each size as SVG, in the middle of its view and standing on the view's lower edge.

    A garment without a front is drawn from the back. Raises Wrong for a size without a panel.
    """
    layouts = [side_by_side(_front(panels)) for panels in sizes]
    wide = max((layout.view.width for layout in layouts), default=0.0)
    high = max((layout.view.height for layout in layouts), default=0.0)
    return tuple(
        _drawn(layout, (wide, high), name, f"{prefix}-{at}")
        for at, (layout, name) in enumerate(zip(layouts, names, strict=True))
    )


def _front(panels: Sequence[ShownPanel]) -> Sequence[ShownPanel]:
    return [panel for panel in panels if panel.side != "back"] or panels


def _drawn(layout: Layout, size: tuple[float, float], name: str, prefix: str) -> str:
    wide, high = size
    own = layout.view
    middle = (own.left + own.right) / 2
    view = Rect(middle - wide / 2, own.bottom - high, middle + wide / 2, own.bottom)
    unit = wide / DRAWN_PX
    fine = Fineness(wide / MOST_BUNDLES, LEAST_BAND_PX * unit, unit, places=0)
    manner = Manner(fine, pinched_band, told_by_key([one.panel for one in layout.panels]))
    body = "".join(
        moved(panel_marks(one.panel, manner, f"{prefix}-{at}"), one.dx, one.dy, f"{prefix}-{at}")
        for at, one in enumerate(layout.panels)
    )
    width, height = (round(own.width / 10), round(own.height / 10))
    text = f"Drawn about {width} by {height} cm, to one scale with the other sizes."
    return drawn(Picture(view, name, text, prefix, "size", unit, 11 * unit), body)
