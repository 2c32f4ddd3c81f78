"""Where panels stand in the drawing of a garment: front and back beside each other, to one scale, in mm."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from service.drawing.bands import Fineness
from service.drawing.shown import ShownPanel
from service.reckoning.asked import Wrong
from service.reckoning.shapes import Rect

PHONE_PX = 350
MOST_BUNDLES = 72  # across the whole drawing: on a phone some five px each
LEAST_BAND_PX = 6.5  # on a phone
COARSE_MM = 1.5  # a px on a phone from which whole mm are fine enough
BETWEEN = 0.07  # front and back, as a part of a side's width
MARGIN = 0.055  # of the width: the room a pin and the lines need
SIDES = (("front", "Front"), ("back", "Back"))


@dataclass(frozen=True, slots=True)
class Standing:
    """One panel where it stands in the drawing: `dx`, `dy` from its block to the drawing, in mm."""

    panel: ShownPanel
    dx: float
    dy: float

    @property
    def extent(self) -> Rect:
        """The rectangle its outline fits, in the drawing."""
        own = self.panel.extent
        return Rect(own.left + self.dx, own.top + self.dy, own.right + self.dx, own.bottom + self.dy)


@dataclass(frozen=True, slots=True)
class Layout:
    """The panels side by side; each side's name and where its middle is; the view they fill."""

    panels: tuple[Standing, ...]
    names: tuple[tuple[str, float], ...]
    view: Rect


def shown_sides(name: str, layout: "Layout") -> str:
    """Return what the drawing of these sides is called."""
    if len(layout.names) > 1:
        return f"{name}, front and back"
    return f"{name}, front" if layout.names[0][0] == "Front" else f"{name}, back"


def side_by_side(panels: Sequence[ShownPanel]) -> Layout:
    """Return front and back beside each other, their upper edges as they are; raises Wrong without a panel.

    A panel of both sides stands on each side that has panels of its own, or on the front alone.
    """
    if not panels:
        raise Wrong("panels", "a garment needs a panel to be drawn")
    own_sides = {panel.side for panel in panels} - {"both"} or {"front"}
    placed: list[Standing] = []
    names: list[tuple[str, float]] = []
    left = 0.0
    for side, name in SIDES:
        if side not in own_sides:
            continue
        own = [Standing(panel, *panel.at_mm) for panel in panels if panel.side in {side, "both"}]
        bounds = around(one.extent for one in own)
        placed += [Standing(one.panel, one.dx - bounds.left + left, one.dy) for one in own]
        names.append((name, left + bounds.width / 2))
        left += bounds.width * (1 + BETWEEN)
    return Layout(tuple(placed), tuple(names), with_margin(around(one.extent for one in placed)))


def around(boxes: Iterable[Rect]) -> Rect:
    """Return the rectangle round all boxes.

    >>> around([Rect(0, 0, 2, 2), Rect(1, 1, 5, 3)])
    Rect(left=0, top=0, right=5, bottom=3)
    """
    every = tuple(boxes)
    return Rect(
        min(box.left for box in every),
        min(box.top for box in every),
        max(box.right for box in every),
        max(box.bottom for box in every),
    )


def with_margin(view: Rect) -> Rect:
    """Return the view with a little room round it."""
    edge = MARGIN * view.width
    return Rect(view.left - edge, view.top - edge, view.right + edge, view.bottom + edge)


def fineness(width_mm: float) -> Fineness:
    """Return the least to draw in a view so wide."""
    unit = width_mm / PHONE_PX
    return Fineness(width_mm / MOST_BUNDLES, LEAST_BAND_PX * unit, unit, places=1 if unit < COARSE_MM else 0)
