"""The bound edge laid out straight: where its strips are joined, and the places that joins keep clear of."""

from service.drawing.pen import Pen
from service.drawing.svg import Picture, box, drawn, lettering, path, said
from service.reckoning.bias import BiasPlan
from service.reckoning.piecing import EdgeToBind
from service.reckoning.shapes import Point, Rect

PX, ROOM_PX, HIGH_PX = 340.0, 26.0, 18.0
LETTERS_PX = 11.0
MOST_JOINS = 60


def bound_edge_drawing(plan: BiasPlan, prefix: str = "edge") -> str:
    """Return the edge to scale along its length, its joins slanted as they are sewn, as SVG; "" without pieces."""
    edge = plan.edge
    if not plan.pieces or len(plan.pieces) > MOST_JOINS:
        return ""
    unit = edge.edge_mm / (PX - 2 * ROOM_PX)
    high = HIGH_PX * unit
    ring = edge.closed
    joins = [
        piece.to_mm % edge.edge_mm if ring else piece.to_mm for piece in (plan.pieces if ring else plan.pieces[:-1])
    ]
    body = (
        box("d-hem", Rect(0, 0, edge.edge_mm, high))
        + "".join(_clear(edge, place_mm, high, unit) for place_mm in edge.keep_clear_at_mm)
        + "".join(_join(at_mm, high, unit) for at_mm in joins)
        + lettering("d-text", (0, -10 * unit), "0")
        + lettering("d-text", (edge.edge_mm, -10 * unit), f"{said(edge.edge_mm)} mm", text_anchor="end")
    )
    number = "1 join" if len(joins) == 1 else f"{len(joins)} joins"
    at = ", ".join(said(at_mm) for at_mm in sorted(joins))
    along = said(edge.edge_mm)
    text = f"{number} along {along} mm, at {at} mm." if joins else f"No joins along {along} mm."
    if edge.keep_clear_at_mm:
        places = ", ".join(said(place) for place in edge.keep_clear_at_mm)
        text += f"\n{said(edge.clear_mm)} mm to each side of {places} mm are to be kept clear."
    view = Rect(-ROOM_PX * unit, -ROOM_PX * unit, edge.edge_mm + ROOM_PX * unit, high + ROOM_PX * unit)
    name = "The bound edge laid straight, with its joins"
    return drawn(Picture(view, name, text, prefix, "close", unit, LETTERS_PX * unit), body)


def _join(at_mm: float, high: float, unit: float) -> str:
    """A join on the straight grain: it slants at 45 degrees to the edge, its middle where it is reckoned."""
    return path("d-done", _line((at_mm - high / 2, high), (at_mm + high / 2, 0.0)), stroke_width=2 * unit)


def _clear(edge: EdgeToBind, place_mm: float, high: float, unit: float) -> str:
    left, right = max(0.0, place_mm - edge.clear_mm), min(edge.edge_mm, place_mm + edge.clear_mm)
    mid = _line((place_mm, -4 * unit), (place_mm, high + 4 * unit))
    return (
        box("d-open", Rect(left, 0, right, high))
        + path("d-pencil", mid, stroke_dasharray=f"{3 * unit:.3f} {2 * unit:.3f}")
        + lettering("d-quiet", (place_mm, high + 18 * unit), "keep clear", text_anchor="middle")
    )


def _line(start: Point, end: Point) -> str:
    pen = Pen(places=3)
    pen.run([start, end])
    return pen.d
